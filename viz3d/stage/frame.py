"""What frames every picture: title, R and L marks, scale bars and the caption band.

Question answered: which words and signs surround the figure, and where?

Pure data.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.stage import drawing as d
from viz3d.stage.canvas import Canvas
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words, closed, unit_of
from viz3d.stage.plan import Plan
from viz3d.stage.scales import axis_scale
from viz3d.stage.theme import Theme
from viz3d.stage.type import shortened, text_width, wrap
from viz3d.units import UNITS
from viz3d.words.message import Amount, message

_BAR = {"cm": 0.10, "in": 4 * UNITS["length"]["in"]}
"""Length of the scale bar, m."""


def title_marks(sheet: Canvas, i: int) -> list[Mark]:
    """Title, view and stance, and a word where an arrow does not stand in its place."""
    u, t, c, face = sheet.u, sheet.t, sheet.colours, sheet.theme.face
    room = (sheet.cards.left if sheet.cards.shown else sheet.width) - 96 * u
    for size in (46 * t, 40 * t, 34 * t, 28 * t):
        lines = wrap(sheet.plan.title, room, size, "Bold", face)
        if len(lines) == 1:
            break
    marks: list[Mark] = [Words(48 * u, 76 * u, shortened(lines, room, size, "Bold", face), size, c["ink"], "Bold")]
    y = 80 * u + 34 * t
    for line, size in _subtitle(sheet, i, room):
        marks.append(Words(48 * u, y, line, size, c["soft"]))
        y += 31 * t
    if any(sheet.figure.stands_aside(arrow, i) for arrow in sheet.figure.arrows()):
        note = sheet.say(message("frame.aside"))
        for k, line in enumerate(wrap(note, room, 26 * t, "SemiBold", face)):
            marks.append(Words(48 * u, y + (5 + 32 * k) * t, line, 26 * t, c["ink"], "SemiBold"))
    return marks


def _subtitle(sheet: Canvas, i: int, room: float) -> list[tuple[str, float]]:
    """View and stance: lines with their size, a little smaller before they are broken."""
    words, face, t = sheet.say(sheet.plan.subtitles[i]), sheet.theme.face, sheet.t
    lines, size = wrap(words, room, 26 * t, face=face), 26 * t
    if len(lines) > 1:
        lines, size = wrap(words, room, 24 * t, face=face), 24 * t
    return [(line, size) for line in lines]


def _sides(sheet: Canvas) -> list[tuple[Array, str, str]]:
    """Place, letter and word of the side signs; none where the view shows one side."""
    across = sheet.camera.right[2]
    if sheet.view == "joint":
        return []
    if abs(across) < 0.3:
        ahead = np.sign(sheet.camera.right[0])
        places = sheet.camera.at[0] + np.array([1.0, -1.0]) * ahead * 336 * sheet.u
        words = [sheet.say(message(f"frame.{way}")) for way in ("front", "back")]
        return [(np.array([x, 148 * sheet.u]), "", word) for x, word in zip(places, words, strict=True)]
    x = sheet.camera.at[0] + np.array([1.0, -1.0]) * np.sign(across) * 336 * sheet.u
    y = 148 * sheet.u + (sheet.t - sheet.u) * 60
    right, left = ((letter(sheet, side), sheet.say(message(f"frame.{side}"))) for side in ("right", "left"))
    return [(np.array([x[0], y]), *right), (np.array([x[1], y]), *left)]


def letter(sheet: Canvas, side: str) -> str:
    """The letter that marks the person's right or left side."""
    return sheet.say(message(f"frame.{side}_letter"))


def side_boxes(sheet: Canvas) -> list[Box]:
    """What the side signs cover."""
    u, t = sheet.u, sheet.t
    return [Box(p[0] - 46 * t, p[1] - 26 * t, p[0] + 46 * t, p[1] + 6 * u + 58 * t) for p, _, _ in _sides(sheet)]


def side_marks(sheet: Canvas) -> list[Mark]:
    """R and L, where the view shows both sides; in the joint view a cross of axes."""
    u, t, c = sheet.u, sheet.t, sheet.colours
    if sheet.view == "joint":
        return _axis_cross(sheet)
    marks: list[Mark] = []
    for at, sign, word in _sides(sheet):
        circle = d.disc(at, 24 * t)
        if not sign:
            marks.append(Words(at[0], at[1] + 4 * u + 48 * t, word, 24 * t, c["ink"], "Medium", "middle", 3 * u))
            continue
        marks += [
            Shape2D(circle, c["card"], role="side"),
            Stroke(closed(circle), c["card_line"], 1.6 * u),
            Words(at[0], at[1] + 10 * t, sign, 28 * t, c["ink"], "Bold", "middle"),
            Words(at[0], at[1] + 4 * u + 48 * t, word, 24 * t, c["soft"], "Regular", "middle", 3 * u),
        ]
    return marks


def _axis_cross(sheet: Canvas) -> list[Mark]:
    """Up, front and outward as the close view sees them."""
    u, t, c, long = sheet.u, sheet.t, sheet.colours, 78 * sheet.u
    ways = {"up": (0.0, 1.0, 0.0), "front": (1.0, 0.0, 0.0), "outer": (0.0, 0.0, sheet.plan.sign)}
    spans = {way: sheet.camera.direction(np.array(toward)) for way, toward in ways.items()}
    words = {way: sheet.say(message(f"frame.{way}")) for way in ways}
    wide = {way: text_width(word, 24 * t, "Medium", sheet.theme.face) for way, word in words.items()}
    left = [wide[way] - 1.3 * long * span[0] for way, span in spans.items() if span[0] < 0.0]
    at = np.array([max(170 * u, 24 * u + max(left, default=0.0)), sheet.band.top - 130 * u])
    marks: list[Mark] = []
    for way, span in spans.items():
        tip = at + long * span
        marks.append(Shape2D(d.arrow(at, tip, 5 * u), c["ink"], 2 * u))
        away = tip - at
        beyond = tip + 16 * u * away / max(float(np.hypot(*away)), 1.0)
        anchor = "middle" if abs(away[0]) < 18 * u else "start" if away[0] > 0 else "end"
        down = 18 * u if away[1] > 20 * u else 8 * u
        place = (float(beyond[0]), float(beyond[1] + down))
        marks.append(Words(*place, words[way], 24 * t, c["ink"], "Medium", anchor, 3 * u))
    return marks


def scale_marks(sheet: Canvas) -> list[Mark]:
    """Length and force bars; turned views have a cross of one body weight along each axis."""
    if not sheet.frontal:
        return axis_scale(sheet)
    forces = not sheet.layers <= {"bones", "pressure"}
    label = sheet.theme.voice.one_weight(sheet.plan.body_weight) if forces else ""
    return scale_bars((48 * sheet.u, sheet.band.top - 66 * sheet.u), sheet, label)


def scale_bars(at: tuple[float, float], sheet: Canvas, label: str) -> list[Mark]:
    """A bar of 10 cm or 4 in, and under it one of a body weight; none of force where ``label`` is empty."""
    u, t, c, voice = sheet.u, sheet.t, sheet.colours, sheet.theme.voice
    long = _BAR[voice.units.length]
    marks = _bar(*at, long * sheet.camera.scale, voice.number(Amount(long, "whole_length")), c["soft"], u, t)
    if not label:
        return marks
    return marks + _bar(at[0], at[1] + 40 * u, sheet.per_weight * sheet.plan.body_weight, label, c["ink"], u, t)


def band_height(plan: Plan, size: tuple[int, int], theme: Theme) -> float:
    """Height of a caption band that holds the longest caption and all of the model's words, pixels."""
    u = unit_of(size)
    t, usable = u * theme.text, size[0] - 96 * u
    captions = max((len(wrap(c, usable, 34 * t, "SemiBold", theme.face)) for c in set(plan.captions)), default=0)
    told = (theme.voice.say(words) for words in (plan.model_line, plan.person_line))
    lines = [wrap(words, usable, 24 * t, face=theme.face) for words in told]
    notice = 40 * t if any(plan.notices) or any(plan.notes) else 0.0
    return 44 * u + notice + captions * 44 * t + sum(map(len, lines)) * 32 * t + 30 * u


def least_band(plan: Plan, size: tuple[int, int], theme: Theme) -> float:
    """Height that a wide picture's band needs for its longest caption, in small letters, and the words below it, px."""
    u = size[1] / 1080.0
    t, usable, face = u * theme.text, size[0] - 96 * u, theme.face
    lines = [min(2, len(wrap(c, usable, 25 * t, "SemiBold", face))) for c in set(plan.captions)]
    said = [len(wrap(theme.voice.say(x), usable, 24 * t, face=face)) for x in (plan.person_line, plan.model_line)]
    notice = 40 * t if any(plan.notices) or any(plan.notes) else 0.0
    words = 32.2 * t * said[0] + 31.2 * t * (said[1] - 1)
    return 10 * u + 36 * t + notice + 31.5 * t * (max(lines, default=1) - 1) + 25 * t + words + 24 * u


def band_marks(sheet: Canvas, i: int, band: Box | None = None) -> list[Mark]:
    """The caption band: what this step shows, who stands there, what the model is; ``band``: not the usual place."""
    u, t, c, face = sheet.u, sheet.t, sheet.colours, sheet.theme.face
    top = (band or sheet.band).top
    box = Box(-2, top, sheet.width + 2, sheet.height + 2)
    edge = np.array([[0.0, top], [sheet.width, top]])
    outline = np.array([[box.left, box.top], [box.right, box.top], [box.right, box.bottom], [box.left, box.bottom]])
    marks: list[Mark] = [Shape2D(outline, c["band"]), Stroke(edge, c["card_line"], 2 * u)]
    usable, small = sheet.width - 96 * u, 24 * t
    foot = wrap(sheet.say(sheet.plan.model_line), usable, small, face=face)
    person = wrap(sheet.say(sheet.plan.person_line), usable, small, face=face)
    low = sheet.height - 24 * u - (len(foot) - 1) * small * 1.3
    for k, line in enumerate(foot):
        marks.append(Words(48 * u, low + k * small * 1.3, line, small, c["soft"]))
    low -= len(person) * small * 1.34
    for k, line in enumerate(person):
        marks.append(Words(48 * u, low + k * small * 1.3, line, small, c["ink"]))
    notice, y = sheet.plan.notices[i] or sheet.plan.notes[i], top + 10 * u + 36 * t
    if notice:
        told = f"▲ {sheet.say(notice)}"
        wide = text_width(told, 27 * t, "Bold", face)
        marks.append(Words(48 * u, top + 8 * u + 27 * t, told, 27 * t * min(1.0, usable / wide), c["ink"], "Bold"))
        y += 40 * t
    return marks + _caption(sheet, i, y, low - 0.78 * small, bool(notice), band is not None)


def _caption(sheet: Canvas, i: int, y: float, low: float, notice: bool, tall: bool) -> list[Mark]:
    """The step's caption from its first baseline ``y`` on, as large as ends above ``low``."""
    u, t, face, usable = sheet.u, sheet.t, sheet.theme.face, sheet.width - 96 * sheet.u
    room = 9 if tall else 1 if notice else 2
    for size in (34 * t,) if tall else (38 * t, 34 * t, 27 * t, 25 * t):
        lines = wrap(sheet.plan.captions[i], usable, size, "SemiBold", face)
        ends = y + (len(lines) - 1) * size * 1.26 + 0.25 * size
        if len(lines) <= room and (len(lines) < 2 or size < 38 * t) and ends <= low:
            break
    if len(lines) > room:
        lines = [*lines[: room - 1], shortened(lines[room - 1 :], usable, size, "SemiBold", face)]
    if len(lines) < 2 and not notice and not tall:
        y += float(np.clip(low - ends, 0.0, 26 * u))
    ink = sheet.colours["ink"]
    return [Words(48 * u, y + k * size * 1.26, line, size, ink, "SemiBold") for k, line in enumerate(lines)]


def _bar(x: float, y: float, length: float, text: str, colour: str, u: float, t: float) -> list[Mark]:
    ends = np.array([[x, y], [x + length, y]])
    tick = np.array([[0.0, -8 * u], [0.0, 8 * u]])
    return [
        Stroke(ends, colour, 3 * u),
        Stroke(ends[0] + tick, colour, 3 * u),
        Stroke(ends[1] + tick, colour, 3 * u),
        Words(x + length + 14 * u, y + 8 * t, text, 24 * t, colour),
    ]
