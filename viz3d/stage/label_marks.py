"""A label beside the figure: its name, its values, and the line to what it names.

Question answered: which marks write a placed label in one frame?

Pure data.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.stage import drawing as d
from viz3d.stage.canvas import Canvas
from viz3d.stage.drawing import Mark, Shape2D, Stroke, Words
from viz3d.stage.labels import Placed
from viz3d.stage.plan import Arrow, Item
from viz3d.stage.type import text_width

SHORT, _BESIDE = 44.0, 12.0
"""Arrows shorter than the first have a leader that ends the second beside them, u."""


def label_colour(sheet: Canvas, item: Item) -> str:
    """A force's label has its colour, all others ink."""
    return sheet.colours[item.role if isinstance(item, Arrow) else "ink"]


def label_words(sheet: Canvas, item: Item, place: Placed, i: int, idle: bool) -> list[Mark]:
    """A label's name and values where they stand."""
    colour = label_colour(sheet, item)
    small, halo = 24 * sheet.t, 3 * sheet.u
    anchor = "start" if place.x == place.box.left else "end"
    baseline = place.box.top + small
    marks: list[Mark] = []

    def write(text: str, size: float, tone: str, weight: str) -> None:
        marks.append(Words(place.x, baseline, text, size, tone, weight, anchor, halo, item.key))

    if place.inline:
        return _one_line(sheet, item, place, i, idle)
    for k, line in enumerate(place.name):
        baseline = place.box.top + small + k * 1.25 * small
        write(line, small, sheet.colours["soft" if idle else "ink"], "Regular" if idle else "Medium")
    if "numbers" not in sheet.layers:
        return marks
    if idle:
        baseline += 1.25 * small
        write(sheet.say(item.idle) if isinstance(item, Arrow) else "", small, sheet.colours["soft"], "Regular")
        return marks
    sizes = place.sizes[:1] if sheet.hushed else place.sizes  # while something changes one number rolls
    for k, (text, size) in enumerate(zip(sheet.lines(item, i), sizes, strict=False)):
        baseline += 1.25 * size
        write(
            text,
            size,
            (colour, sheet.colours["ink"])[k] if k < 2 else sheet.colours["soft"],
            ("Bold", "Medium", "Regular")[min(k, 2)],
        )
    return marks


def _one_line(sheet: Canvas, item: Item, place: Placed, i: int, idle: bool) -> list[Mark]:
    """Value and name on one line, the value next to the figure."""
    anchor = "start" if place.x == place.box.left else "end"
    way, halo = (1.0 if anchor == "start" else -1.0), 3 * sheet.u
    size, y = place.sizes[0], place.box.top + place.sizes[0]
    value = "" if idle or "numbers" not in sheet.layers else sheet.lines(item, i)[0]
    beside = text_width(value, size, "Bold", sheet.theme.face) + 10 * sheet.u if value else 0.0
    tone = sheet.colours["soft" if idle else "ink"]
    return [
        Words(place.x, y, value, size, label_colour(sheet, item), "Bold", anchor, halo, item.key),
        Words(place.x + way * beside, y, place.name[0], 24 * sheet.t, tone, "Medium", anchor, halo, item.key),
    ]


def leader_starts(sheet: Canvas, place: Placed) -> Array:
    """Where a label's leader may begin, (K, 2): beside its name, or beside its value, on the figure's side."""
    way = 1.0 if place.x != place.box.left else -1.0
    x, y, first = place.x + way * 10 * sheet.u, place.box.top + 16 * sheet.t, place.sizes[:1]
    lower = [] if place.inline else [y + 30 * sheet.t * (len(place.name) - 1) + 0.5 * s + 22 * sheet.t for s in first]
    return np.array([[x, at] for at in (y, *lower)])


def leader_marks(sheet: Canvas, item: Item, points: Array, span: tuple[Array, Array]) -> list[Mark]:
    """A leader and its dot; to a short arrow it ends beside it, so that nothing of it is covered."""
    if not isinstance(item, Arrow) or float(np.hypot(*(span[1] - span[0]))) >= SHORT * sheet.u:
        return [leader_line(sheet, points), leader_dot(sheet, points[-1])]
    last = points[-1] - points[-2]
    away = max(float(np.hypot(*last)), 1e-9)
    points = np.concatenate([points[:-1], [points[-1] - last * min(1.0, _BESIDE * sheet.u / away)]])
    return [leader_line(sheet, points)]


def leader_line(sheet: Canvas, points: Array) -> Mark:
    """The line from a label to what it names."""
    return Stroke(points, sheet.colours["soft"], 1.5 * sheet.u, halo=1.6 * sheet.u, role="leader")


def leader_dot(sheet: Canvas, end: Array) -> Mark:
    """The dot in which a leader ends, upon what it names."""
    return Shape2D(d.disc(end, 3.6 * sheet.u, 24), sheet.colours["soft"], 1.8 * sheet.u, "dot")
