"""Where the names of a sketch's arrows stand, and how much of a page the sketch takes.

Question answered: which place beside each arrow covers no arrow and no other name?

Every writer of sketches asks here, so that names stand alike in all of them. Millimetres of the page, as in
:mod:`viz3d.teach.sketch`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.stage.type import text_width
from viz3d.teach.sketch import Sketch, SketchArrow
from viz3d.words.voice import Voice

LETTERS, MARGIN = 4.6, 4.0
"""Size of letters on paper, and the margin, mm."""
_SHORTEST = 0.1
"""An arrow shorter than this is none, mm."""
Box = tuple[float, float, float, float]
"""Left, bottom, right, top, mm."""


@dataclass(frozen=True)
class PlacedName:
    """An arrow's name in its place."""

    text: str
    box: Box
    role: str


def placed_names(sketch: Sketch, voice: Voice, letters: float) -> list[PlacedName]:
    """Each arrow's name in the first place that is free; ``letters``: their size, mm."""
    out: list[PlacedName] = []
    for arrow in sketch.arrows:
        if not _drawn(arrow):
            continue
        text = voice.say(arrow.name)
        places = list(_places(arrow, text_width(text, letters, "SemiBold"), letters))
        clear = [p for p in places if not any(_crosses(p, a) for a in sketch.arrows)]
        free = [p for p in clear if not any(_meet(p, one.box) for one in out)] or places
        apart = (p for p in free if not any(_on_edge(p, line) for line in sketch.outlines))
        out.append(PlacedName(text, next(apart, free[0]), arrow.role))
    return out


def extent(sketch: Sketch, names: list[PlacedName], letters: float, forces: bool = True) -> Box:
    """What a sketch covers with its names, the scale bar below and a margin; ``forces``: with its arrows."""
    ends = [p for a in sketch.arrows if _drawn(a) for p in (a.tail, a.tip)] if forces else []
    corners = [p for one in names for p in (one.box[:2], one.box[2:])]
    points = np.array([*(p for line in sketch.outlines for p in line.tolist()), *ends, *corners])
    low, high = points.min(axis=0) - MARGIN, points.max(axis=0) + MARGIN
    right = max(float(high[0]), float(low[0]) + sketch.bar + 2 * MARGIN)
    return float(low[0]), float(low[1]) - 3 * letters, right, float(high[1])


def _places(arrow: SketchArrow, width: float, letters: float) -> Iterator[Box]:
    """Where a name may stand: beside the arrow, right or left, from its middle outward."""
    tail, tip = np.array(arrow.tail), np.array(arrow.tip)
    for part in (0.5, 0.35, 0.65, 0.2, 0.8, 0.05, 0.95):
        x, y = tail + part * (tip - tail)
        for away in (2.5, 5.0):
            yield x + away, y - letters / 2, x + away + width, y + letters / 2
            yield x - away - width, y - letters / 2, x - away, y + letters / 2


def _drawn(arrow: SketchArrow) -> bool:
    """True where an arrow is long enough to be seen."""
    return bool(np.hypot(*np.subtract(arrow.tip, arrow.tail)) >= _SHORTEST)


def _on_edge(box: Box, line: Array) -> bool:
    """True where an outline's edge runs through a box."""
    ends = np.roll(line, -1, axis=0)
    points = (line[:, None] + np.linspace(0.0, 1.0, 12)[:, None] * (ends - line)[:, None]).reshape(-1, 2)
    return bool(((points > box[:2]) & (points < box[2:])).all(axis=1).any())


def _meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _crosses(box: Box, arrow: SketchArrow) -> bool:
    """True where an arrow runs through a box, or close by."""
    points = np.linspace(arrow.tail, arrow.tip, 40)
    low, high = np.array(box[:2]) - 1.0, np.array(box[2:]) + 1.0
    return bool(((points > low) & (points < high)).all(axis=1).any())
