"""Names in a plate's margins: spread so that none meets another and no two leaders cross.

Question answered: at which height does each name of one margin stand?

Called by :mod:`viz3d.stage.plate`; pure data.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.stage.drawing import Box
from viz3d.stage.type import text_width


def placed_names(
    lines: list[list[str]], places: Array, x: float, left: bool, panel: Box, text: float
) -> list[tuple[int, Box, list[str]]]:
    """(index, box, lines) of each label of one margin: spread, and ordered so that no two leaders cross."""
    wide = [max(text_width(one, text, "Medium") for one in some) for some in lines]
    order = sorted(range(len(lines)), key=lambda k: places[k, 1])
    heights = tops = np.zeros(0)
    for _ in range(len(lines)):
        heights = np.array([1.15 * text * len(lines[k]) for k in order])
        wished = np.array([places[k, 1] for k in order]) - heights / 2
        tops = _spread(wished, heights, 0.45 * text, panel.top, panel.bottom - 2 * text)
        ends = [(x + wide[k] if left else x - wide[k], t + h / 2) for k, t, h in zip(order, tops, heights, strict=True)]
        crossed = [
            i for i in range(len(order) - 1)
            if _cross(np.array(ends[i]), places[order[i]], np.array(ends[i + 1]), places[order[i + 1]])
        ]  # fmt: skip
        if not crossed:
            break
        i = crossed[0]
        order[i], order[i + 1] = order[i + 1], order[i]
    starts = [x if left else x - wide[k] for k in order]
    return [
        (k, Box(start, top, start + wide[k], top + tall), lines[k])
        for k, start, top, tall in zip(order, starts, tops, heights, strict=True)
    ]


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
