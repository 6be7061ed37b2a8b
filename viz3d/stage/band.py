"""The caption band: what this step shows, who stands there, what the model is.

Question answered: which words stand below the figure, how large, and how high is the band that holds them?

The caption comes first and is as large as the band allows. The small print runs on from person to model in one
paragraph, at the least size that may be written. A band is at most 14 % of a wide page and 20 % of an upright one,
unless its words (large text, another language) need more. Pure data.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.stage.canvas import Canvas
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words, unit_of
from viz3d.stage.plan import Plan
from viz3d.stage.theme import Theme
from viz3d.stage.type import Face, font, needs_shaping, shortened, text_width, wrap
from viz3d.words.message import Said

WIDE_SHARE, UPRIGHT_SHARE = 0.14, 0.20
"""Share of the page's height that a band takes where its words allow it."""
SMALL = 24.0 / 1080.0
"""Size of the small print against the page's shorter side."""
_WIDE_SIZES = (38.0, 36.0, 34.0, 32.0, 30.0, 28.0, 27.0, 26.0, 25.0)
_TALL_SIZES = (34.0, 31.0, 28.0, 26.0, 24.0, 22.0, 20.0, 18.0)
"""Sizes of a caption that are tried, u of type."""
_LEADING, _SMALL_LEADING = 1.22, 1.2
_NOTICE = 27.0
_LAST_WORDS = 4
"""The small print's last line has so many words at least, where a narrower column gives it them."""


@dataclass(frozen=True)
class Type:
    """Sizes and margins of a band, pixels: at the sides, above and below, the small print's size, a unit of type."""

    side: float
    above: float
    below: float
    small: float
    t: float
    width: float
    rows: int
    """The most lines that a caption may have."""
    sizes: tuple[float, ...]

    @property
    def usable(self) -> float:
        """Width of the words."""
        return self.width - 2 * self.side


def band_type(size: tuple[int, int], theme: Theme, tall: bool) -> Type:
    """The type of a page's band."""
    u = unit_of(size) if tall else size[1] / 1080.0
    small = SMALL * min(size) * theme.text
    sizes = tuple(max(x * u * theme.text, small) for x in (_TALL_SIZES if tall else _WIDE_SIZES))
    return Type(
        48 * u, 9 * u, 13 * u, small, u * theme.text, size[0], 4 if tall else 2, tuple(max(x, small) for x in sizes)
    )


def wide_band(plan: Plan, size: tuple[int, int], theme: Theme) -> float:
    """Height of a wide picture's band, pixels."""
    return _height(plan, band_type(size, theme, False), theme, WIDE_SHARE * size[1])


def tall_band(plan: Plan, size: tuple[int, int], theme: Theme) -> float:
    """Height of a square or upright picture's band, pixels: no higher than its words need."""
    kind = band_type(size, theme, True)
    needed = [_needs(plan, kind, theme, s) for s in kind.sizes]
    return next((x for x in needed if x <= UPRIGHT_SHARE * size[1]), needed[-1])


def _height(plan: Plan, kind: Type, theme: Theme, usual: float) -> float:
    return max(usual, _needs(plan, kind, theme, kind.sizes[-1]))


def _needs(plan: Plan, kind: Type, theme: Theme, size: float) -> float:
    """Height of a band whose captions are of this size."""
    noticed = [a or b for a, b in zip(plan.notices, plan.notes, strict=True)]
    most = 0.0
    for caption, notice in dict.fromkeys(zip(plan.captions, noticed, strict=True)):
        rows = _rows(kind, bool(notice))
        lines = min(rows, len(wrap(caption, kind.usable, size, "SemiBold", theme.face)))
        most = max(most, _caption_height(lines, size) + _notice_height(notice, kind, theme))
    return kind.above + most + _gap(kind) + _small_height(plan, kind, theme) + kind.below


def _rows(kind: Type, notice: bool) -> int:
    """Most lines of a caption: in wide pictures a notice takes the place of one."""
    return 1 if notice and kind.rows == 2 else kind.rows


def _caption_height(lines: int, size: float) -> float:
    return (1.0 + _LEADING * (lines - 1)) * size if lines else 0.0


def _notice_lines(said: str, kind: Type, face: Face) -> tuple[float, list[str]]:
    """Size and lines of a notice: one line, a little smaller where it must be; then several of the least size."""
    told, size = f"▲ {said}", _NOTICE * kind.t
    fits = size * min(1.0, kind.usable / text_width(told, size, "Bold", face))
    if fits >= kind.small:
        return fits, [told]
    return kind.small, wrap(told, kind.usable, kind.small, "Bold", face)


def _notice_height(notice: Said, kind: Type, theme: Theme) -> float:
    if not notice:
        return 0.0
    size, lines = _notice_lines(theme.voice.say(notice), kind, theme.face)
    return (1.15 * len(lines) + 0.05) * size


def _gap(kind: Type) -> float:
    return 0.38 * kind.small


def _small_height(plan: Plan, kind: Type, theme: Theme) -> float:
    return _SMALL_LEADING * kind.small * len(_small_print(plan, kind, theme))


def _small_print(plan: Plan, kind: Type, theme: Theme) -> list[list[tuple[float, str, str]]]:
    """Lines of the small print: pieces with where they begin, their words, their colour."""
    told: list[tuple[Said, str]] = [(plan.person_line, "ink"), (plan.model_line, "soft")]
    parts = [(theme.voice.say(x), tone) for x, tone in told]
    lines = run_on(parts, kind.usable, kind.small, theme.face)
    for width in kind.usable * np.arange(1.0, 0.72, -0.04):  # the last line is no word or two alone
        evened = run_on(parts, float(width), kind.small, theme.face)
        if len(evened) == len(lines) and sum(len(words.split()) for _, words, _ in evened[-1]) >= _LAST_WORDS:
            return evened
    return lines


def run_on(parts: list[tuple[str, str]], width: float, size: float, face: Face) -> list[list[tuple[float, str, str]]]:
    """Texts of different colours set as one paragraph: lines of (x, words, colour).

    Examples
    --------
    >>> from viz3d.stage.type import INTER
    >>> lines = run_on([("One two.", "ink"), ("Three.", "soft")], 500.0, 20.0, INTER)
    >>> [[(words, tone) for _, words, tone in line] for line in lines]
    [[('One two.', 'ink'), ('Three.', 'soft')]]
    """
    lines: list[list[tuple[float, str, str]]] = []
    x = 0.0
    for text, tone in parts:
        first = 0.0 if not lines else x + 0.36 * size
        head, rest = _first_line(text, width - first, size, face)
        if head and lines:
            lines[-1].append((first, head, tone))
        elif head:
            lines.append([(0.0, head, tone)])
        x = first + _drawn_width(head, size, face) if head else x
        for line in wrap(rest, width, size, face=face):
            lines.append([(0.0, line, tone)])
            x = _drawn_width(line, size, face)
    return lines


def _drawn_width(text: str, size: float, face: Face) -> float:
    """How wide a line becomes: pictures of pixels have letters of whole pixels, which may take more room."""
    whole = float(font(face, "Regular", max(6, round(size)), needs_shaping(text)).getlength(text))
    return max(whole, text_width(text, size, face=face))


def _first_line(text: str, room: float, size: float, face: Face) -> tuple[str, str]:
    """What of a text fits into the rest of a line, and what is left."""
    words = text.split()
    fits = 0
    while fits < len(words) and text_width(" ".join(words[: fits + 1]), size, face=face) <= room:
        fits += 1
    return " ".join(words[:fits]), " ".join(words[fits:])


def band_marks(sheet: Canvas, i: int, band: Box | None = None) -> list[Mark]:
    """The band of frame i; ``band``: that of a square or upright picture."""
    c, face, plan = sheet.colours, sheet.theme.face, sheet.plan
    kind = band_type(sheet.size, sheet.theme, band is not None)
    top = (band or sheet.band).top
    outline = np.array(
        [[-2.0, top], [sheet.width + 2.0, top], [sheet.width + 2.0, sheet.height + 2.0], [-2.0, sheet.height + 2.0]]
    )
    marks: list[Mark] = [Shape2D(outline, c["band"]), Stroke(outline[:2], c["card_line"], 2 * sheet.u)]
    small = _small_print(plan, kind, sheet.theme)
    first = sheet.height - kind.below - _SMALL_LEADING * kind.small * len(small)
    for k, line in enumerate(small):
        y = first + (k + 0.9) * _SMALL_LEADING * kind.small
        marks += [Words(kind.side + x, y, words, kind.small, c[tone]) for x, words, tone in line]
    notice, y = plan.notices[i] or plan.notes[i], top + kind.above
    if notice:
        size, lines = _notice_lines(sheet.say(notice), kind, face)
        for k, told in enumerate(lines):
            marks.append(Words(kind.side, y + (0.9 + 1.15 * k) * size, told, size, c["ink"], "Bold"))
        y += 1.15 * size * len(lines) + 0.05 * size
    return marks + _caption(sheet, i, kind, y, first - _gap(kind), bool(notice))


def _caption(sheet: Canvas, i: int, kind: Type, high: float, low: float, notice: bool) -> list[Mark]:
    """The step's caption, as large as fits between two heights, in their middle."""
    face, caption, rows = sheet.theme.face, sheet.plan.captions[i], _rows(kind, notice)
    size, lines = kind.sizes[-1], [caption]
    for size in kind.sizes:
        lines = wrap(caption, kind.usable, size, "SemiBold", face)
        if len(lines) <= rows and _caption_height(len(lines), size) <= low - high + 0.5:
            break
    if len(lines) > rows:
        lines = [*lines[: rows - 1], shortened(lines[rows - 1 :], kind.usable, size, "SemiBold", face)]
    y = high + max(0.0, (low - high - _caption_height(len(lines), size)) / 2) + 0.8 * size
    ink = sheet.colours["ink"]
    return [Words(kind.side, y + k * _LEADING * size, line, size, ink, "SemiBold") for k, line in enumerate(lines)]
