"""A walk on the page: its cycle as a curve with what was measured, its footprints, the ground's push under the foot.

Question answered: which marks show where in its cycle a walk is, and what the floor has to do with it?

Pure data, like the other cards. The band behind the curve goes from the lowest to the highest that ten people's
instrumented hips read at their higher peak, the boxes in it hold mean and standard deviation where a peak comes; their
whole curves are not ours to show, and those times are from memory, so their edges are dashed and it is said.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence

import numpy as np

from viz3d.arrays import Array
from viz3d.solution.gait import EVENTS, Gait
from viz3d.stage import drawing as d
from viz3d.stage.camera import Camera
from viz3d.stage.canvas import Canvas
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words
from viz3d.stage.figure import SHAFT
from viz3d.stage.frame import letter
from viz3d.stage.plan import Plan
from viz3d.stage.polygon import card_heading
from viz3d.stage.type import text_width, wrap
from viz3d.words.message import force, message

_BAND, _BOX = 0.16, 0.30
_ROOM, _TOLD = 0.37, 17.0
"""Room for words over the swing, of the cycle, and size of what is said of the measured peaks, u."""
_ACROSS = 0.3
"""The main view looks across the way walked where its right is more than this along it."""
_BESIDE, _OWN, _CUTS = 12.0, 4.0, 60
"""How far the ground's number stands from arrows and least from its own, u; points along an arrow looked at."""
_EARLY, _APART = 0.15, 9.0
"""Names of events before this share of the cycle stand right of their ticks; room between two names, u of type."""
_ROWS = {"heel_strike": 1, "foot_flat": 0, "mid_stance": 1, "push_off": 0, "toe_off": 1}
"""Event -> row of its name under the curve."""


def cycle_marks(sheet: Canvas, box: Box, i: int, gait: Gait) -> list[Mark]:
    """Joint force over one cycle: the part gone in its colour, a dot at this frame, the measured peaks behind."""
    u, t, c, voice = sheet.u, sheet.t, sheet.colours, sheet.theme.voice
    one, step, unit = voice.force_axis(sheet.plan.body_weight)
    size = sheet.plan.body_weight / one
    most = step * float(np.ceil(max(np.nanmax(gait.joint), gait.measured.highest) * size / step + 1e-9))
    highest = voice.tick(most, 0 if most == round(most) else 1)
    left, right = box.left + max(62 * t, text_width(highest, 24 * t) + 22 * u), box.right - 20 * u
    top, bottom = box.top + 60 * u + 28 * t, box.bottom - 62 * t
    share = np.linspace(0.0, 1.0, len(gait.joint))

    def at(x: Array | float, y: Array | float) -> Array:
        across = left + (right - left) * np.asarray(x, dtype=float)
        return np.stack(np.broadcast_arrays(across, bottom + (top - bottom) * np.asarray(y) * size / most), axis=-1)

    low = gait.measured.lowest
    marks: list[Mark] = [
        *card_heading(sheet.theme, u, box, sheet.say(message("card.cycle", unit=message(f"unit.{unit}")))),
        *_measured(sheet, gait, at),
        *_measured_words(sheet, box, right, float(at(1.0, low)[1])),
        Stroke(np.array([[left, top], [left, bottom], [right, bottom]]), c["ink"], 1.8 * u),
        Words(left - 9 * u, top + 9 * t, highest, 24 * t, c["ink"], "Regular", "end"),
        Words(left - 9 * u, bottom + 4 * t, voice.tick(0.0, 0), 24 * t, c["ink"], "Regular", "end"),
        *_events(sheet, gait, at, bottom),
    ]
    line = at(share, gait.joint)
    now = round(float(gait.phase[i]) * (len(share) - 1))
    marks.append(Stroke(line, c["soft"], 2.0 * u, opacity=0.55, role="curve"))
    if now > 0:
        marks.append(Stroke(line[: now + 1], c["joint"], 4.0 * u, halo=1.5 * u, role="curve so far"))
    marks.append(Shape2D(d.disc(line[now], 7 * u), c["joint"], 2.5 * u, "curve now"))
    return marks


def _measured(sheet: Canvas, gait: Gait, at: Callable[[float, float], Array]) -> list[Mark]:
    """The measured peaks: lowest to highest as a band, mean and deviation as boxes at their times, said in words."""
    u, c, measured = sheet.u, sheet.colours, gait.measured

    def box(start: float, end: float, low: float, high: float) -> Array:
        return np.stack([at(start, low), at(end, low), at(end, high), at(start, high)])

    whole = box(0.0, 1.0, measured.lowest, measured.highest)
    marks: list[Mark] = [Shape2D(whole, c["soft"], role="measured", opacity=_BAND)]
    mean = sum(measured.usual) / 2.0
    for start, end in measured.times:
        edge = box(start, end, *measured.usual)
        marks += [
            Shape2D(edge, c["soft"], role="deviation", opacity=_BOX),
            Stroke(d.closed(edge), c["ink"], 1.4 * u, (4 * u, 3 * u)),
            Stroke(np.stack([at(start, mean), at(end, mean)]), c["ink"], 2.0 * u),
        ]
    return marks


def _measured_words(sheet: Canvas, box: Box, right: float, low: float) -> list[Mark]:
    """What band and boxes are, under the heading, and over the swing that the boxes' times are from memory."""
    u, t, c, face = sheet.u, sheet.t, sheet.colours, sheet.theme.face
    told, room = sheet.say(message("card.measured_peaks")), box.right - box.left - 38 * u
    size = _TOLD * t * min(1.0, room / text_width(told, _TOLD * t, face=face))
    marks: list[Mark] = [Words(box.left + 20 * u, box.top + 44 * u + 20 * t, told, size, c["soft"])]
    times = wrap(sheet.say(message("card.measured_times")), _ROOM * (right - box.left - 62 * t), _TOLD * t, face=face)
    for k, line in enumerate(times):
        marks.append(Words(right - 2 * u, low + (18 + 18 * k) * t, line, _TOLD * t, c["soft"], "Regular", "end"))
    return marks


def _events(sheet: Canvas, gait: Gait, at: Callable[[float, float], Array], bottom: float) -> list[Mark]:
    """Ticks and names of the cycle's events under the curve; a name makes way for the one before it in its row."""
    u, t, c, face = sheet.u, sheet.t, sheet.colours, sheet.theme.face
    marks: list[Mark] = []
    taken = dict.fromkeys(_ROWS.values(), -np.inf)
    for name in EVENTS:
        share = gait.events[name]
        if not np.isfinite(share):
            continue
        x = float(at(share, 0.0)[0])
        row = _ROWS[name]
        marks.append(Stroke(np.array([[x, bottom], [x, bottom + (6 + 20 * row) * t]]), c["ink"], 1.6 * u))
        words = sheet.say(message(f"event.{name}"))
        wide = text_width(words, 18 * t, face=face)
        x = max(x + 3 * u if share < _EARLY else x - wide / 2, taken[row] + _APART * t)
        taken[row] = x + wide
        marks.append(Words(x, bottom + (24 + 20 * row) * t, words, 18 * t, c["soft"], "Regular", "start", 2 * u))
    return marks


def footprint_marks(sheet: Canvas, box: Box, i: int, gait: Gait, still: bool) -> list[Mark]:
    """The floor from above, walked as the main view shows it: soles, the pressure's way, the body's, canes, and now."""
    u, t, c = sheet.u, sheet.t, sheet.colours
    marks: list[Mark] = [*card_heading(sheet.theme, u, box, sheet.say(message("card.footprints")))]
    ways, stacked = _ways(sheet, box)
    head, foot = 54 * u + 30 * t * (len(marks) - 1), 34 * t + 22 * t * stacked
    points = np.concatenate([*(p.outline for p in gait.prints), gait.pressure, gait.centre, gait.tips])
    low, high = points.min(axis=0), points.max(axis=0)
    room = np.array([box.right - box.left - 56 * u, box.bottom - box.top - head - 6 * u - foot])
    scale = float((room / (high - low)).min())
    middle = np.array([(box.left + box.right) / 2, box.top + head + room[1] / 2])

    ahead = -1.0 if sheet.camera.right[0] < -_ACROSS else 1.0

    def page(places: Array) -> Array:
        """Forward to the right, the walker's right downward; or forward to the left, the walker's right upward."""
        return np.asarray(middle + ahead * (places - (low + high) / 2) * scale)

    for one in gait.prints:
        outline = page(one.outline)
        own = one.side == sheet.plan.side
        marks += [
            Shape2D(outline, c["soft"], role="footprint", opacity=0.35 if own else 0.16),
            Stroke(d.closed(outline), c["ink"] if own else c["soft"], 1.6 * u),
            _foot_letter(sheet, outline, one.side, ahead),
        ]
    for tip in page(gait.tips):
        marks += [Shape2D(d.disc(tip, 6 * u), c["hand"], 1.5 * u, "tip")]
    marks += [*_cane_name(sheet, page(gait.tips)), *_way_walked(sheet, box, ahead)]
    marks += [
        Stroke(page(gait.centre), c["weight"], 2.4 * u, halo=1.0 * u, role="way:centre"),
        Stroke(page(gait.pressure), c["ground"], 2.4 * u, (6 * u, 4 * u), 1.0 * u, "way:pressure"),
    ]
    if not still:
        now = round(float(gait.phase[i]) * (len(gait.centre) - 1))
        marks.append(Shape2D(d.disc(page(gait.centre[now]), 7 * u), c["weight"], 2.5 * u))
        marks.append(Shape2D(d.disc(page(gait.pressure[now]), 6 * u), c["ground"], 2.5 * u))
    return [*marks, *ways]


def _cane_name(sheet: Canvas, tips: Array) -> list[Mark]:
    """What the dots beside the prints are, beside the last of them."""
    if not len(tips):
        return []
    at = tips[int(np.argmax(tips[:, 0]))]
    words = sheet.say(message("card.cane_tip"))
    return [
        Words(float(at[0]) + 12 * sheet.u, float(at[1]) + 6 * sheet.t, words, 18 * sheet.t, sheet.colours["hand"],
              "Medium", "start", 2 * sheet.u)
    ]  # fmt: skip


def _way_walked(sheet: Canvas, box: Box, ahead: float) -> list[Mark]:
    """An arrow in the card's corner: which way the prints go."""
    u, y = sheet.u, box.top + 30 * sheet.u
    ends = np.array([[box.right - 66 * u, y], [box.right - 18 * u, y]])[:: int(ahead)]
    return [Shape2D(d.arrow(ends[0], ends[1], 5 * u), sheet.colours["soft"], role="way")]


def _ways(sheet: Canvas, box: Box) -> tuple[list[Mark], bool]:
    """What the two lines are called, under the prints; True where one stands above the other."""
    u, t, c = sheet.u, sheet.t, sheet.colours
    left, right, y = box.left + 20 * u, box.right - 18 * u, box.bottom - 12 * t
    words = [sheet.say(message(f"card.{key}")) for key in ("centre_way", "pressure_way")]
    stacked = sum(text_width(w, 18 * t, "Medium", sheet.theme.face) for w in words) + 16 * u > right - left
    first = Words(left, y - 22 * t * stacked, words[0], 18 * t, c["weight"], "Medium", "start", 2 * u)
    at, anchor = (left, "start") if stacked else (right, "end")
    return [first, Words(at, y, words[1], 18 * t, c["ground"], "Medium", anchor, 2 * u)], stacked


def _foot_letter(sheet: Canvas, outline: Array, side: str, ahead: float) -> Mark:
    """R or L beside a footprint, away from the line of walking."""
    below = (side == "right") == (ahead > 0.0)
    x, t = float(outline[:, 0].mean()), sheet.t
    y = float(outline[:, 1].max()) + 22 * t if below else float(outline[:, 1].min()) - 9 * t
    tone = sheet.colours["ink" if side == sheet.plan.side else "soft"]
    return Words(x, y, letter(sheet, side), 18 * t, tone, "SemiBold", "middle", 2 * sheet.u)


def ground_marks(sheet: Canvas, i: int, over: Sequence[Mark]) -> list[Mark]:
    """The ground's force on the studied foot, from where it acts upward, with its size clear of leaders ``over`` it."""
    gait = sheet.plan.gait
    if gait is None or "cane" not in sheet.layers or not sheet.whole or abs(float(sheet.camera.toward[1])) > 0.01:
        return []
    size = float(np.linalg.norm(gait.ground[i]))
    if size < 0.02 * sheet.plan.body_weight:
        return []
    tail = sheet.camera.project(gait.place[i])
    u, c = sheet.u, sheet.colours
    tip = tail + sheet.camera.direction(gait.ground[i]) * sheet.figure.per_newton
    outline, pattern = d.arrow(tail, tip, SHAFT["ground"] * u), sheet.theme.pattern("ground")
    marks = d.filled(outline, tip - tail, c["ground"], c["card"], pattern, 3.5 * u, "ground")
    if "numbers" in sheet.layers:
        words = sheet.say(message("card.ground", force=force(size, sheet.plan.body_weight)))
        leaders = [m.points for m in over if isinstance(m, Stroke) and m.role == "leader"]
        marks += _ground_size(sheet, i, words, np.stack([tail, tip]), leaders)
    return marks


def ground_walls(plan: Plan, camera: Camera, per_newton: float, frames: list[int], beside: float) -> list[Box]:
    """Where the ground's arrow and its number lie in some frames, pixels; ``beside``: room for that on each side."""
    gait, boxes = plan.gait, list[Box]()
    if gait is None:
        return boxes
    for i in frames:
        tail = camera.project(gait.place[i])
        ends = np.stack([tail, tail + camera.direction(gait.ground[i]) * per_newton])
        away = np.array([beside, 0.0])
        boxes.append(Box(*(ends.min(axis=0) - away), *(ends.max(axis=0) + away)))
    return boxes


def _ground_size(sheet: Canvas, i: int, words: str, own: Array, leaders: list[Array]) -> list[Mark]:
    """The ground's force in numbers beside its arrow (2, 2), where no arrow and no leader lies; else left out."""
    u, t, (tail, tip) = sheet.u, sheet.t, own
    wide = text_width(words, 20 * t, "SemiBold", sheet.theme.face)
    lines = [*(sheet.figure.arrow_ends(a, i) for a in sheet.figure.arrows())]
    lines += [pair for line in leaders for pair in itertools.pairwise(line)]
    ends = [np.linspace(*line, _CUTS) for line in lines]
    walls = np.concatenate([*ends, np.linspace(tail, tip, _CUTS)])
    near = u * np.repeat([_BESIDE, _OWN], [len(walls) - _CUTS, _CUTS])
    for share, way in itertools.product((1.0, 0.75, 0.5), (-1.0, 1.0)):
        at = tail + share * (tip - tail)
        x, y = float(at[0] + way * _BESIDE * u), float(at[1] + 10 * u)
        box = Box(x - wide if way < 0 else x, y - 15 * t, x if way < 0 else x + wide, y + 2 * t)
        across = np.maximum(box.left - walls[:, 0], walls[:, 0] - box.right)
        down = np.maximum(box.top - walls[:, 1], walls[:, 1] - box.bottom)
        if (np.maximum(across, down) >= near).all():
            anchor = "end" if way < 0 else "start"
            return [Words(x, y, words, 20 * t, sheet.colours["ground"], "SemiBold", anchor, 3 * u, "ground")]
    return []
