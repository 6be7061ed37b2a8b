"""Names in a plate's margins: spread so that none meets another and no two leaders cross.

Question answered: at which height does each name of one margin stand?

Pure data.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from viz3d.arrays import Array
from viz3d.stage.drawing import Box
from viz3d.stage.type import text_width

_NEAR = 0.4
"""A leader passes over a dot where it comes nearer than this, heights of a label."""


def placed_names(
    lines: list[list[str]], places: Array, x: float, left: bool, room: Box, text: float, dots: Array
) -> list[tuple[int, Box, list[str]]]:
    """(index, box, lines) of each label of one margin: spread within ``room``, and ordered so that no two leaders cross
    and none passes over another's dot, wherever order can help; ``dots`` (D, 2): all of this view."""
    wide = [max(text_width(one, text, "Medium") for one in some) for some in lines]
    order = sorted(range(len(lines)), key=lambda k: places[k, 1])

    def spread(order: list[int]) -> tuple[Array, Array]:
        heights = np.array([1.15 * text * len(lines[k]) for k in order])
        wished = np.array([places[k, 1] for k in order]) - heights / 2
        return heights, _spread(wished, heights, 0.45 * text, room.top, room.bottom)

    def faults(order: list[int]) -> int:
        heights, tops = spread(order)
        near = [[x + wide[k] if left else x - wide[k], t + h / 2] for k, t, h in zip(order, tops, heights, strict=True)]
        return _faults(np.array(near), places[order], dots, _NEAR * text)

    left_over = faults(order)
    while left_over:
        others = list(_moved(order))
        found = [faults(some) for some in others]
        if not found or min(found) >= left_over:
            break
        left_over, order = min(found), others[found.index(min(found))]
    heights, tops = spread(order)
    starts = [x if left else x - wide[k] for k in order]
    return [
        (k, Box(start, top, start + wide[k], top + tall), lines[k])
        for k, start, top, tall in zip(order, starts, tops, heights, strict=True)
    ]


def _moved(order: list[int]) -> Iterator[list[int]]:
    """The same order with one of it in another place, nearest places first."""
    for far in range(1, len(order)):
        for i in range(len(order)):
            rest = order[:i] + order[i + 1 :]
            for place in {i - far, i + far} & set(range(len(order))):
                yield [*rest[:place], order[i], *rest[place:]]


def _faults(starts: Array, ends: Array, dots: Array, near: float) -> int:
    """How often leaders (L, 2) to (L, 2) cross, or pass nearer than ``near`` to a dot (D, 2) that is not their own."""
    crossed = sum(_cross(starts[i], ends[i], starts[j], ends[j]) for j in range(len(ends)) for i in range(j))
    way = ends - starts
    length = np.maximum(np.einsum("ij,ij->i", way, way), 1e-9)
    share = np.clip(np.einsum("ldj,lj->ld", dots[None] - starts[:, None], way) / length[:, None], 0.0, 1.0)
    away = np.linalg.norm(dots[None] - starts[:, None] - share[..., None] * way[:, None], axis=-1)
    other = np.linalg.norm(dots[None] - ends[:, None], axis=-1) > 1e-6
    return int(crossed + ((away < near) & other).sum())


def _cross(a: Array, b: Array, c: Array, d: Array) -> bool:
    """True where segments a-b and c-d cross."""

    def turn(p: Array, q: Array, r: Array) -> float:
        return float((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))

    return turn(a, b, c) * turn(a, b, d) < 0 and turn(c, d, a) * turn(c, d, b) < 0


def _spread(tops: Array, heights: Array, gap: float, low: float, high: float) -> Array:
    """Tops moved as little as order allows (least squares), so that no two labels meet and all stay in the panel."""
    from scipy.optimize import isotonic_regression

    if len(tops) == 0:
        return np.zeros(0)
    before = np.concatenate([[0.0], np.cumsum(heights[:-1] + gap)])
    free = isotonic_regression(tops - before).x
    return np.asarray(np.clip(free, low, max(low, high - before[-1] - heights[-1])) + before)
