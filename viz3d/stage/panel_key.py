"""Names and sizes in rows below a narrow figure, the same rows under every figure of a comparison.

Question answered: which forces and lever arms have a row, how large are its words, and which marks write it?

Between a narrow page's figures there is no room for words that lie on no bone. Each row has a small arrow that points
as the one in the figure does, in its colour and pattern, or a lever arm's line; then its name, then its size. The joint
force has none: it stands under the figure, with its bar. Pixels; pure data.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.errors import InputError
from viz3d.stage import drawing as d
from viz3d.stage.canvas import Canvas
from viz3d.stage.drawing import Box, Mark, Stroke, Words, unit_of
from viz3d.stage.figure import LAYER_OF, rests
from viz3d.stage.label_marks import label_colour
from viz3d.stage.plan import Arrow, Dimension, Plan, Spot
from viz3d.stage.theme import Theme
from viz3d.stage.type import text_width

_TITLE, _HEADING, _MANY_LINES = 110.0, 86.0, 60.0
"""Height of a comparison's title, of its headings, and what these need more over three or four upright panels, u."""
PANEL_GAP, _PANEL = 24.0, 232.0
"""Between two panels, and the least width of one, u."""
_TALL = 1200.0
"""An upright page has at least so many units of height, where its words stay large enough."""
_SIZES = (26.0, 24.0, 22.0, 20.0, 18.0, 17.0)
"""Sizes of type that are tried, u."""
_READ = 20.0
"""Rather than smaller type than this, u, rows take two lines."""
_LEAST = 0.022
"""The smallest of them, share of the page's shorter side."""
_LEADING = 1.22
_SIDE, _SIGN, _GAP, _ABOVE = 12.0, 30.0, 8.0, 10.0
"""Margin at the sides, room of a row's sign, between words, above the first row, u."""
_SHAFT, _TICK = 8.0, 6.0
_APART = 0.15
"""What rows of two lines stand apart, of the size of type."""
_LEVER = "_lever"
"""What is left of a lever arm's key without this is its force's."""
_WAYS = ((1, False), (2, False), (2, True))
"""Lines of a row, and whether a lever arm's is brief."""
_MOST = 0.62
"""So much of the room below the headings the rows take at most."""

Row = Arrow | Dimension | Spot


@dataclass(frozen=True)
class Key:
    """``rows``: keys of forces, each before its lever arm's, from the top. ``size``: of the words, pixels.

    ``lines``: 1, or 2 with the size below the name. ``brief``: of lever arms, below their forces, the size alone.
    """

    rows: tuple[str, ...]
    size: float
    lines: int
    brief: bool
    u: float

    @property
    def tops(self) -> Array:
        """Where each row begins, and the last ends, below the figure, pixels."""
        tall = [self.lines_of(row) * _LEADING + _APART * (self.lines_of(row) > 1) for row in self.rows]
        return np.cumsum([_ABOVE * self.u, *(t * self.size for t in tall)])

    @property
    def height(self) -> float:
        """Height of all rows, pixels."""
        return float(self.tops[-1])

    def lines_of(self, row: str) -> int:
        """Lines of a row."""
        return 1 if self.brief and _LEVER in row else self.lines

    def words(self, row: Row, i: int, theme: Theme, layers: frozenset[str]) -> list[str]:
        """A row's short name, and its size where numbers are shown."""
        name = [] if self.brief and isinstance(row, Dimension) else [row.short or row.label]
        return theme.voice.lines([*name, *(row.values[i][:1] if "numbers" in layers else [])])

    def wide(self, row: Row, words: list[str], theme: Theme) -> float:
        """Width of a row's words, pixels."""
        weights = ("Medium", "Bold") if len(words) > 1 or not isinstance(row, Dimension) else ("Bold",)
        widths = [text_width(w, self.size, weight, theme.face) for w, weight in zip(words, weights, strict=False)]
        return sum(widths) + _GAP * self.u if self.lines == 1 else max(widths)


def key_of(
    plans: Sequence[Plan], frames: Sequence[Sequence[int]], size: tuple[int, int], panel: float, bottom: float,
    theme: Theme, layers: frozenset[str],
) -> Key:  # fmt: skip
    """The key of panels so wide that end at ``bottom``, on a page of this ``size``: the largest type that fits all.

    Raises
    ------
    InputError : there is no room for them.
    """
    told = [
        (row, i)
        for plan, some in zip(plans, frames, strict=True)
        for row in rows_of(plan, layers)
        for i in some
        if not rests(plan, row.key, i)
    ]
    arrows = dict.fromkeys(row.key for row, _ in told if isinstance(row, Arrow))
    levers = dict.fromkeys(row.key for row, _ in told if isinstance(row, Dimension))
    spots = dict.fromkeys(row.key for row, _ in told if isinstance(row, Spot))
    rows = (*(one for key in arrows for one in (key, *(x for x in levers if x.replace(_LEVER, "") == key))), *spots)
    u, least = panel_unit(size, len(plans)), _LEAST * min(size) - 0.5
    room, most = panel - (2 * _SIDE + _SIGN + _GAP) * u, _MOST * (bottom - head_height(size, len(plans)) * u)
    sizes = sorted({s * k for s in _SIZES for k in (u, u * theme.text) if s * k >= least}, reverse=True)
    for floor, (lines, brief), one in itertools.product((_READ * u * theme.text, least), _WAYS, sizes):
        if one < max(floor, least):
            continue
        key = Key(rows, one, lines, brief, u)
        widths = [key.wide(row, key.words(row, i, theme, layers), theme) for row, i in told]
        if key.height <= most and max(widths, default=0.0) <= room:
            return key
    raise InputError(
        "picture.size: too small for these names under their figures; give a larger picture, or show fewer"
    )


def page_unit(size: tuple[int, int]) -> float:
    """The layout's unit of a comparison's page, pixels: smaller where an upright page is low."""
    return min(unit_of(size), max(size[1] / _TALL, min(size) / 1080.0))


def panel_unit(size: tuple[int, int], count: int) -> float:
    """The same over ``count`` panels: where these are narrow, as small as words may be."""
    least = size[0] / (count * _PANEL + (count - 1) * PANEL_GAP + 80.0)
    return min(page_unit(size), max(least, min(size) / 1080.0))


def heading_height(size: tuple[int, int], count: int) -> float:
    """Height of the headings of ``count`` panels, u."""
    return _HEADING + (_MANY_LINES if size[0] < size[1] and count > 2 else 0.0)


def head_height(size: tuple[int, int], count: int) -> float:
    """Height of title and headings over ``count`` panels, u."""
    return _TITLE + heading_height(size, count)


def rows_of(plan: Plan, layers: frozenset[str]) -> list[Row]:
    """Forces and lever arms of a plan that these layers show from the front or back, but for the joint's."""
    arrows: list[Row] = [a for a in plan.arrows if LAYER_OF[a.role] in layers and a.key != "joint"]
    arrows += [plan.neck.spot] if plan.neck and "bones" in layers else []
    if not {"lever", "numbers"} <= layers:
        return arrows
    return [*arrows, *(x for x in plan.dimensions if LAYER_OF[x.role] in layers)]


def key_marks(sheet: Canvas, key: Key, i: int) -> tuple[list[Mark], dict[str, Box]]:
    """The rows of one frame below its figure, and the boxes of their words; a row of what is not there stays empty."""
    marks: list[Mark] = []
    boxes: dict[str, Box] = {}
    tops = dict(zip(key.rows, sheet.band.top + key.tops, strict=False))
    for row in rows_of(sheet.plan, sheet.layers):
        if row.key in tops and row.role not in sheet.hushed and not rests(sheet.plan, row.key, i):
            at = np.array([(_SIDE + _SIGN / 2) * sheet.u, tops[row.key] + 0.64 * key.size])
            marks += _sign(sheet, row, at, key.size, i)
            told, boxes[row.key] = _told(sheet, key, row, float(tops[row.key]), i)
            marks += told
    return marks, boxes


def _told(sheet: Canvas, key: Key, row: Row, top: float, i: int) -> tuple[list[Mark], Box]:
    """Name and size of a row, and the box round them."""
    words, size = key.words(row, i, sheet.theme, sheet.layers), key.size
    left, right, base = (_SIDE + _SIGN + _GAP) * sheet.u, sheet.width - _SIDE * sheet.u, top + 0.98 * size
    marks: list[Mark] = []
    if len(words) > 1 or not isinstance(row, Dimension):
        marks.append(Words(left, base, words[0], size, sheet.colours["ink"], "Medium", role=row.key))
    value = words[1:] if marks else words
    if value:
        at, anchor = (right, "end") if key.lines == 1 else (left, "start")
        down = base + _LEADING * size * (key.lines_of(row.key) - 1)
        marks.append(Words(at, down, value[0], size, label_colour(sheet, row), "Bold", anchor, role=row.key))
    wide = right - left if key.lines == 1 else key.wide(row, words, sheet.theme)
    return marks, Box(left, top, left + wide, top + (_LEADING * key.lines_of(row.key) - 0.1) * size)


def _sign(sheet: Canvas, row: Row, at: Array, size: float, i: int) -> list[Mark]:
    """A small arrow that points as the figure's does, or a lever arm's line with its force's line at one end."""
    u, c = sheet.u, sheet.colours
    if isinstance(row, Spot):
        corner, out = np.array([-0.4, 0.1]) * size, np.array([[0.36, -0.32], [0.0, 0.46]]) * size
        legs = np.stack([at + corner + out[0], at + corner, at + corner + out[1]])
        return [Stroke(legs, c["ink"], 2.4 * u, role="key")]
    ends = sheet.figure.arrow_ends(row, i) if isinstance(row, Arrow) else sheet.dimension_ends(row, i)
    span = np.subtract(ends[1], ends[0])
    way = span / max(float(np.hypot(*span)), 1e-9)
    half = 0.5 * min(_SIGN * u, size) * way
    if isinstance(row, Arrow):
        pattern = sheet.theme.pattern(row.role)
        return d.filled(d.arrow(at - half, at + half, _SHAFT * u), way, c[row.role], c["card"], pattern, 2.0 * u, "key")
    tick = np.array([-way[1], way[0]]) * _TICK * u
    first, last = (at - half, at + half) if np.isfinite(row.drop) else (at + half, at - half)
    return [
        Stroke(np.stack([first, last]), c["ink"], 2.4 * u, role="key"),
        Stroke(np.stack([last - tick, last + tick]), c["ink"], 2.4 * u, role="key"),
        Stroke(np.stack([first - 1.4 * tick, first + 1.4 * tick]), c[row.role], 3.6 * u, role="key"),
    ]
