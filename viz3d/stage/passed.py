"""The floor that a walker passes over: where both feet, and canes, stand on it from edge to edge of the picture.

Question answered: which marks are the footprints of a pass, in a view that sees the floor as a line, and in one from
above?

Pure data. The floor stays while the person goes: prints are there from the first frame on. Views along the way walked
see none of it. The studied side's prints are darker, as in the card of footprints.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.solution.passing import prints_passed, tips_passed
from viz3d.stage import drawing as d
from viz3d.stage.canvas import Canvas
from viz3d.stage.drawing import Mark, Shape2D, Stroke, Words, closed
from viz3d.stage.frame import letter

_LEVEL, _ALONG = 0.01, 0.3
"""The floor is a line where a view looks down on it less than this, and the way is seen where it runs across more."""
SIGNS = 40.0
"""What prints and their letters need under the floor's line, u."""
_BELOW, _THICK, _SIGN = 5.0, 8.0, 36.0
"""How far under the floor's line a print begins, how thick it is, and where its letter stands, u."""


def passed_line(sheet: Canvas) -> list[Mark]:
    """Prints under the floor's line, each as long as its foot; where canes stand as dots."""
    gait = sheet.plan.gait
    if gait is None or not _seen(sheet) or abs(float(sheet.camera.toward[1])) > _LEVEL:
        return []
    u, t, c = sheet.u, sheet.t, sheet.colours
    top = float(sheet.camera.project(np.zeros(3))[1]) + _BELOW * u
    marks: list[Mark] = []
    for one in prints_passed(gait):
        across = _page(sheet, one.outline)[:, 0]
        left, right = float(across.min()), float(across.max())
        box = np.array([[left, top], [right, top], [right, top + _THICK * u], [left, top + _THICK * u]])
        tone = c["ink" if one.side == sheet.plan.side else "soft"]
        marks += [
            Shape2D(box, tone, role="footprint", opacity=0.85 if one.side == sheet.plan.side else 0.4),
            Stroke(closed(box), tone, 1.4 * u),
            Words(0.5 * (left + right), top + _SIGN * t, letter(sheet, one.side), 20 * t, tone, "SemiBold", "middle"),
        ]
    for x, _ in _page(sheet, tips_passed(gait)):
        marks.append(Shape2D(d.disc(np.array([x, top + 0.5 * _THICK * u]), 6 * u), c["hand"], 1.5 * u, "tip"))
    return marks


def passed_floor(sheet: Canvas) -> list[Mark]:
    """Prints on a floor that is seen from above, beneath everything else."""
    gait = sheet.plan.gait
    if gait is None or not _seen(sheet) or abs(float(sheet.camera.toward[1])) <= _LEVEL:
        return []
    u, c = sheet.u, sheet.colours
    marks: list[Mark] = []
    for one in prints_passed(gait):
        outline, own = _page(sheet, one.outline), one.side == sheet.plan.side
        marks += [
            Shape2D(outline, c["soft"], role="footprint", opacity=0.4 if own else 0.18),
            Stroke(closed(outline), c["ink"] if own else c["soft"], 1.6 * u),
        ]
    for tip in _page(sheet, tips_passed(gait)):
        marks.append(Shape2D(d.disc(tip, 6 * u), c["hand"], 1.5 * u, "tip"))
    return marks


def _seen(sheet: Canvas) -> bool:
    """True where the view looks across the way walked."""
    return sheet.view != "joint" and abs(float(sheet.camera.right[0])) > _ALONG


def _page(sheet: Canvas, places: Array) -> Array:
    """Places (P, 2) of the floor, forward and right, in pixels."""
    return sheet.camera.project(np.column_stack([places[:, 0], np.zeros(len(places)), places[:, 1]]))
