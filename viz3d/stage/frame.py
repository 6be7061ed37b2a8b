"""What frames every picture: title, R and L marks, scale bars, floor.

Question answered: which words and signs surround the figure, and where?

Pure data.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from viz3d.arrays import Array
from viz3d.stage import drawing as d
from viz3d.stage.camera import Camera
from viz3d.stage.canvas import Canvas
from viz3d.stage.crop import half_reach, reach_of
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words, closed, unit_of
from viz3d.stage.plan import Plan
from viz3d.stage.scales import axis_scale
from viz3d.stage.theme import Theme
from viz3d.stage.type import Face, shortened, text_width, wrap
from viz3d.units import UNITS
from viz3d.words.message import Amount, message, small_length

_SIDES = 152.0
"""Height of the side signs, u."""
_SOLE = 0.11
"""Width at which a lift under a foot is drawn, m."""
_HEAD = 0.20
"""Half the room that a head takes, hair and sway and all, m."""
_ACROSS = 0.3
"""A view sees the way walked where it runs across the page more than this."""
_EDGE = 30.0
"""How far a floor that somebody passes over goes on beyond the pass, u: labels begin soon after."""
_LIFTED = 0.015
"""A foot whose ankle is so much higher than the other one is lifted, m."""
_BAR = {"cm": 0.10, "in": 4 * UNITS["length"]["in"]}
"""Length of the scale bar, m."""


def title_marks(sheet: Canvas, i: int, bare: bool = False) -> list[Mark]:
    """Title, view and stance, and a word where an arrow does not stand in its place; ``bare``: the title alone."""
    u, t, c, face = sheet.u, sheet.t, sheet.colours, sheet.theme.face
    room = (sheet.cards.left if sheet.cards.shown else sheet.width) - 96 * u
    beside = min(room, _beside_the_head(sheet))
    for size in (46 * t, 40 * t, 34 * t, 28 * t):
        lines = wrap(sheet.plan.title, room, size, "Bold", face)
        if len(lines) == 1:
            break
    marks: list[Mark] = [Words(48 * u, 76 * u, shortened(lines, room, size, "Bold", face), size, c["ink"], "Bold")]
    y = 80 * u + 34 * t
    ticks = "rest" in sheet.hushed and len(set(sheet.plan.subtitles)) > 1
    rows, size = _subtitle_type(sheet.subtitles, beside, t, face)
    if not (bare or ticks):
        lines = wrap(sheet.say(sheet.plan.subtitles[i]), beside, size, face=face)
        marks += [Words(48 * u, y + 31 * t * k, line, size, c["soft"]) for k, line in enumerate(lines)]
    y += 31 * t * rows  # with or without its words, so that the note below never moves through them
    if not bare and any(sheet.figure.stands_aside(arrow, i) for arrow in sheet.figure.arrows()):
        note = sheet.say(message("frame.aside"))
        for k, line in enumerate(wrap(note, room, 26 * t, "SemiBold", face)):
            marks.append(Words(48 * u, y + (2 + 31 * k) * t, line, 26 * t, c["soft"]))
    return marks


def _beside_the_head(sheet: Canvas) -> float:
    """Room for words under the title, pixels: left of the head, where that is as high as they are."""
    if not sheet.whole or sheet.camera.project(reach_of(sheet.plan))[:, 1].min() > 80 * sheet.u + 42 * sheet.t:
        return np.inf
    return float(sheet.camera.at[0] - _HEAD * sheet.camera.scale - 48 * sheet.u)


def title_height(plan: Plan, size: tuple[int, int], theme: Theme, aside: bool) -> float:
    """Where a narrow page's title and subtitle end, pixels; ``aside``: with the note that an arrow stands aside."""
    u = unit_of(size)
    t, room = u * theme.text, size[0] - 96 * u
    said = [theme.voice.say(words) for words in dict.fromkeys(plan.subtitles)]
    lines = max(len(wrap(words, room, 24 * t, face=theme.face)) for words in said)
    note = wrap(theme.voice.say(message("frame.aside")), room, 26 * t, "SemiBold", theme.face) if aside else []
    return 80 * u + (34 + 31 * (lines - 1) + 34 * len(note)) * t + 12 * u


@lru_cache(maxsize=8)
def _subtitle_type(told: frozenset[str], room: float, t: float, face: Face) -> tuple[int, float]:
    """Most lines of what stands under the title in any frame, and their size: a little smaller before they break."""
    if all(len(wrap(words, room, 26 * t, face=face)) == 1 for words in told):
        return 1, 26 * t
    return max(len(wrap(words, room, 24 * t, face=face)) for words in told), 24 * t


def _sides(sheet: Canvas) -> list[tuple[Array, str, str]]:
    """Place, letter and word of the side signs; none where the view shows one side."""
    across = sheet.camera.right[2]
    if sheet.view == "joint":
        return []
    if abs(across) < 0.3:
        ahead = np.sign(sheet.camera.right[0])
        places = sheet.camera.at[0] + np.array([1.0, -1.0]) * ahead * 336 * sheet.u
        words = [sheet.say(message(f"frame.{way}")) for way in ("front", "back")]
        y = _SIDES * sheet.u + (76 if sheet.whole else 38) * sheet.t  # below the note that an arrow stands aside
        return [(np.array([x, y]), "", word) for x, word in zip(places, words, strict=True)]
    x = sheet.camera.at[0] + np.array([1.0, -1.0]) * np.sign(across) * 336 * sheet.u
    y = _SIDES * sheet.u + (sheet.t - sheet.u) * 60
    right, left = ((letter(sheet, side), sheet.say(message(f"frame.{side}"))) for side in ("right", "left"))
    return [(np.array([x[0], y]), *right), (np.array([x[1], y]), *left)]


def letter(sheet: Canvas, side: str) -> str:
    """The letter that marks the person's right or left side."""
    return sheet.say(message(f"frame.{side}_letter"))


def side_boxes(sheet: Canvas) -> list[Box]:
    """What the side signs cover."""
    u, t = sheet.u, sheet.t
    boxes = []
    for at, sign, word in _sides(sheet):
        wide = text_width(word, 24 * t, "Medium", sheet.theme.face)
        left, right = (at[0] - 26 * t, at[0] + 26 * t) if sign else (at[0] - wide / 2, at[0] + wide / 2)
        beside = (wide + 10 * u) * bool(sign)
        out = at[0] < sheet.camera.at[0]
        boxes.append(Box(left - beside * out, at[1] - 26 * t, right + beside * (not out), at[1] + 26 * t))
    return boxes


def side_marks(sheet: Canvas) -> list[Mark]:
    """R and L, where the view shows both sides; in the joint view a cross of axes."""
    u, t, c = sheet.u, sheet.t, sheet.colours
    if sheet.view == "joint":
        return _axis_cross(sheet)
    marks: list[Mark] = []
    for at, sign, word in _sides(sheet):
        circle = d.disc(at, 24 * t)
        if not sign:
            marks.append(Words(at[0], at[1] + 9 * t, word, 24 * t, c["ink"], "Medium", "middle", 3 * u))
            continue
        way = -1.0 if at[0] < sheet.camera.at[0] else 1.0
        marks += [
            Shape2D(circle, c["card"], role="side"),
            Stroke(closed(circle), c["card_line"], 1.6 * u),
            Words(at[0], at[1] + 10 * t, sign, 28 * t, c["ink"], "Bold", "middle"),
            Words(
                at[0] + way * (26 * t + 8 * u),
                at[1] + 9 * t,
                word,
                24 * t,
                c["soft"],
                "Regular",
                "end" if way < 0 else "start",
                3 * u,
            ),
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


def bars_width(sheet: Canvas, label: str) -> float:
    """How far the scale bars and their words reach, pixels."""
    voice, face, size = sheet.theme.voice, sheet.theme.face, 24 * sheet.t
    long = _BAR[voice.units.length]
    bars = {
        voice.number(Amount(long, "whole_length")): long * sheet.camera.scale,
        label: sheet.per_weight * sheet.plan.body_weight,
    }
    return max(bar + 14 * sheet.u + text_width(words, size, face=face) for words, bar in bars.items())


def floor_marks(sheet: Canvas, i: int, said: bool = True, room: tuple[float, float] = (-np.inf, np.inf)) -> list[Mark]:
    """The floor and what lifts a foot off it, under a whole figure, where the view sees it as a line.

    ``said``: with the height of that, for which narrow pages have no room. ``room``: from where to where it may reach.
    """
    if abs(float(sheet.camera.toward[1])) > 0.01:
        return []
    reach = float(half_reach(sheet.plan, sheet.camera)[0]) * sheet.camera.scale
    passes = sheet.plan.gait is not None and sheet.plan.gait.passes > 0 and abs(sheet.camera.right[0]) > _ACROSS
    across = reach + _EDGE * sheet.u if passes else max(1.25 * reach, 120 * sheet.u)
    x, y = sheet.camera.at[0], float(sheet.camera.project(np.zeros(3))[1])
    left, right = max(x - across, 12 * sheet.u, room[0]), min(x + across, sheet.width - 12 * sheet.u, room[1])
    ends = np.array([[left, y], [right, y]])
    return [*_lift_marks(sheet, i, said), Stroke(ends, sheet.colours["ground"], 3.5 * sheet.u, role="floor")]


def lift_boxes(plan: Plan, camera: Camera, i: int) -> dict[str, Box]:
    """Side -> where what lifts that foot lies on the page."""
    out: dict[str, Box] = {}
    for side, heights in plan.lifts.items():
        foot = plan.frames[f"{side}_foot"][i, :3, 3]
        low, high = camera.project(np.array([[0.0, 0.0, foot[2]], [0.0, heights[i], foot[2]]]))
        half = _SOLE / 2 * camera.scale
        if heights[i] > 0.0:
            out[side] = Box(float(low[0] - half), float(high[1]), float(low[0] + half), float(low[1]))
    return out


def _lift_marks(sheet: Canvas, i: int, said: bool) -> list[Mark]:
    """What lies under a foot to lift it, with its height."""
    u, t, c = sheet.u, sheet.t, sheet.colours
    marks: list[Mark] = []
    for side, b in lift_boxes(sheet.plan, sheet.camera, i).items():
        outline = np.array([[b.left, b.top], [b.right, b.top], [b.right, b.bottom], [b.left, b.bottom]])
        marks.append(Shape2D(outline, c["hand"], 1.5 * u, "lift"))
        if said:
            right = b.left + b.right > 2 * sheet.camera.at[0]
            words, anchor = sheet.say(small_length(float(sheet.plan.lifts[side][i]))), "start" if right else "end"
            x = b.right + 14 * u if right else b.left - 14 * u
            marks.append(Words(x, b.bottom - 12 * u, words, 22 * t, c["ink"], "SemiBold", anchor, 3 * u, "lift"))
    return marks


def _bar(x: float, y: float, length: float, text: str, colour: str, u: float, t: float) -> list[Mark]:
    ends = np.array([[x, y], [x + length, y]])
    tick = np.array([[0.0, -8 * u], [0.0, 8 * u]])
    return [
        Stroke(ends, colour, 3 * u),
        Stroke(ends[0] + tick, colour, 3 * u),
        Stroke(ends[1] + tick, colour, 3 * u),
        Words(x + length + 14 * u, y + 8 * t, text, 24 * t, colour),
    ]


def lifted_marks(sheet: Canvas, i: int) -> list[Mark]:
    """That the other foot is lifted, outside its thigh bone where the picture ends above the feet."""
    plan, u = sheet.plan, sheet.u
    other = "left" if plan.sign > 0 else "right"
    high = [float(plan.frames[f"{side}_foot"][i, 1, 3]) for side in (other, plan.side)]
    if sheet.whole or sheet.view == "joint" or not sheet.frontal or plan.gait or high[0] - high[1] < _LIFTED:
        return []
    thigh, shank = (sheet.camera.project(plan.frames[f"{other}_{link}"][i, :3, 3]) for link in ("thigh", "shank"))
    said, size = sheet.say(message("frame.lifted")), 24 * sheet.t
    outward = float(np.sign(thigh[0] - sheet.camera.project(plan.hip[i])[0]))
    ends = [m.x + text_width(m.text, m.size, face=sheet.theme.face) for m in scale_marks(sheet) if isinstance(m, Words)]
    for y in (sheet.band.top - 22 * u, sheet.band.top - 22 * u - 1.4 * size):  # over the scale's words if it meets them
        at = float(np.interp(y, [thigh[1], shank[1]], [thigh[0], shank[0]])) + outward * 52 * u
        if outward > 0 or at - text_width(said, size, face=sheet.theme.face) > max(ends, default=0.0) + 12 * u:
            break
    anchor = "start" if outward > 0 else "end"
    return [Words(at, y, said, size, sheet.colours["soft"], "Regular", anchor, 3 * u, "lifted")]
