"""Names in a plate's margins: spread so that none meets another and leaders neither cross nor hide a dot.

Question answered: in which margin, and at which height, does each name of a view stand?

Pure data.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.stage.drawing import Box
from viz3d.stage.type import text_width

_NEAR, _OVER = 0.4, 0.24
"""A leader passes by a dot, and over it, where it comes nearer than this, heights of a label."""
LINE, GAP = 1.15, 0.45
"""Height of a line and least gap between two names, heights of a label."""
_POINTS = 40
"""Points of a leader that are looked at."""
_CLEAR = 0.3
"""A leader begins so far from its name, heights of a label."""

_LIFTS = (-2.0, 2.0, -4.5, 4.5, -7.0, 7.0)
"""Heights of a label by which a name may be wished higher or lower than its dot."""

Sides = tuple[list[int], list[int]]
"""Names of the left and of the right margin, from above."""


@dataclass(frozen=True)
class Order:
    """Who stands in which margin, from above, and by how much each name is wished lower than its dot."""

    sides: Sides
    lifts: tuple[float, ...]


@dataclass(frozen=True)
class Margins:
    """What a view names: ``lines`` of each name, ``places`` (N, 2) of its dot, the ``room`` and the height of a label,
    pixels."""

    lines: list[list[str]]
    places: Array
    room: Box
    text: float

    def placed(self, sides: Sides) -> list[tuple[int, bool, Box]]:
        """(name, whether it stands left, box) of each name: placed so that leaders neither cross nor pass over a dot or
        a name, wherever order, height or the other margin can help; ``sides``: where they stand by themselves."""
        left, right = (sorted(some, key=lambda k: float(self.places[k, 1])) for some in sides)
        order = Order((left, right), (0.0,) * len(self.lines))
        left_over = self._faults(order)
        while left_over:
            others = list(self._others(order))
            found = [self._faults(some) for some in others]
            if not found or min(found) >= left_over:
                break
            left_over, order = min(found), others[found.index(min(found))]
        return [
            (k, side == 0, box)
            for side in (0, 1)
            for k, box in zip(order.sides[side], self._boxes(order, side), strict=True)
        ]

    def _others(self, order: Order) -> Iterator[Order]:
        """One name elsewhere in its margin, nearest places first; one higher or lower; one in the other margin, where
        there is room."""
        (left, right), lifts = order.sides, order.lifts
        yield from (Order((some, right), lifts) for some in _moved(left))
        yield from (Order((left, some), lifts) for some in _moved(right))
        for lift, k in itertools.product(_LIFTS, range(len(lifts))):
            yield Order(order.sides, (*lifts[:k], lift, *lifts[k + 1 :]))
        for side, k in [*((0, k) for k in left), *((1, k) for k in right)]:
            mine, other = [n for n in order.sides[side] if n != k], order.sides[1 - side]
            if self._height([*other, k]) <= self.room.bottom - self.room.top:
                for place in range(len(other) + 1):
                    theirs = [*other[:place], k, *other[place:]]
                    yield Order((mine, theirs) if side == 0 else (theirs, mine), lifts)

    def _height(self, some: list[int]) -> float:
        return self.text * (sum(LINE * len(self.lines[k]) + GAP for k in some) - GAP)

    def _boxes(self, order: Order, side: int) -> list[Box]:
        """Boxes of a margin's names, from above; ``side`` 0 for the left one."""
        text, room, names = self.text, self.room, order.sides[side]
        tall = np.array([LINE * text * len(self.lines[k]) for k in names])
        wished = self.places[names, 1] - tall / 2 + text * np.array([order.lifts[k] for k in names])
        tops = _spread(wished, tall, GAP * text, room.top, room.bottom)
        wide = [max(text_width(one, text, "Medium") for one in self.lines[k]) for k in names]
        starts = [room.left if side == 0 else room.right - w for w in wide]
        return [
            Box(float(x), float(y), float(x + w), float(y + h))
            for x, y, w, h in zip(starts, tops, wide, tall, strict=True)
        ]

    def start(self, box: Box, left: bool) -> Array:
        """Where a name's leader begins, (2,)."""
        clear = _CLEAR * self.text
        return np.array([box.right + clear if left else box.left - clear, (box.top + box.bottom) / 2])

    def _faults(self, order: Order) -> int:
        """How bad the leaders are, see :func:`_faults`."""
        both = [*order.sides[0], *order.sides[1]]
        if not both:
            return 0
        boxes = [(box, side == 0) for side in (0, 1) for box in self._boxes(order, side)]
        starts = np.array([self.start(box, left) for box, left in boxes])
        walls = np.array([(box.left, box.top, box.right, box.bottom) for box, _ in boxes])
        return _faults(starts, self.places[both], walls, self.text)


def _moved(order: list[int]) -> Iterator[list[int]]:
    """The same order with one of it in another place, nearest places first."""
    for far in range(1, len(order)):
        for i in range(len(order)):
            rest = order[:i] + order[i + 1 :]
            for place in {i - far, i + far} & set(range(len(order))):
                yield [*rest[:place], order[i], *rest[place:]]


def _faults(starts: Array, ends: Array, walls: Array, text: float) -> int:
    """How bad leaders (L, 2) to (L, 2) are: 1 for each that passes by the end of another, 3 for each over it, across
    another leader or through a name's box (L, 4)."""
    way = ends - starts
    length = np.maximum(np.einsum("ij,ij->i", way, way), 1e-9)
    share = np.clip(np.einsum("ldj,lj->ld", ends[None] - starts[:, None], way) / length[:, None], 0.0, 1.0)
    away = np.linalg.norm(ends[None] - starts[:, None] - share[..., None] * way[:, None], axis=-1)
    other = np.linalg.norm(ends[None] - ends[:, None], axis=-1) > 1e-6
    first, last = _side_of(starts, way, starts), _side_of(starts, way, ends)
    split = first * last < 0.0
    passed = sum(much * ((away < near * text) & other).sum() for near, much in ((_NEAR, 1), (_OVER, 2)))
    points = starts[:, None, None] + np.linspace(0.0, 1.0, _POINTS)[:, None, None] * way[:, None, None]
    within = np.all((points > walls[:, :2]) & (points < walls[:, 2:]), axis=-1)
    through = np.any(within, axis=1)
    return int(3 * ((split & split.T).sum() // 2 + through.sum()) + passed)


def _side_of(starts: Array, way: Array, points: Array) -> Array:
    """On which side of each line (L,) each point (P,) lies, (L, P)."""
    to = points[None] - starts[:, None]
    return np.asarray(way[:, None, 0] * to[..., 1] - way[:, None, 1] * to[..., 0])


def _spread(tops: Array, heights: Array, gap: float, low: float, high: float) -> Array:
    """Tops moved as little as order allows (least squares), so that no two labels meet and all stay in the panel."""
    from scipy.optimize import isotonic_regression

    if len(tops) == 0:
        return np.zeros(0)
    before = np.concatenate([[0.0], np.cumsum(heights[:-1] + gap)])
    free = isotonic_regression(tops - before).x
    return np.asarray(np.clip(free, low, max(low, high - before[-1] - heights[-1])) + before)
