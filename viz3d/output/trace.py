"""Smooth closed outlines of areas of a grid.

Question answered: along which lines does an area begin and end, in as few points as look the same?

An area is softened a little before its half-way line is followed, so that no stair of the grid is left; points that
move a line by less than a tenth of a pixel are dropped.
"""

from __future__ import annotations

import contourpy
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from viz3d.arrays import Array
from viz3d.output.visible import FineGrid

SOFT = 0.8
"""How far an area is softened, points of the grid (standard deviation)."""
_SAME = 0.07
"""A point nearer than this to the line between its neighbours is dropped, pixels."""
_ROUNDS = 12


def softened(area: NDArray[np.bool_] | Array, width: float = SOFT) -> Array:
    """An area, or a field, softened: 0.5 along the border of an area."""
    return np.asarray(gaussian_filter(area.astype(np.float32), width, truncate=3.0, mode="constant"), dtype=float)


def spread(field: Array, area: NDArray[np.bool_], width: float = SOFT) -> Array:
    """A field known on an area only, softened without what lies outside."""
    return np.asarray(softened(np.where(area, field, 0.0), width) / np.maximum(softened(area, width), 1e-3))


def outlines(
    level: Array, at: float, grid: FineGrid, corner: tuple[int, int] = (0, 0), small: float = 1.5
) -> list[Array]:
    """Closed outlines (P, 2), pixels of the page, of where ``level`` is above ``at``; even-odd, holes included.

    Parameters
    ----------
    level : (rows, columns) values on a part of the grid; ``at`` is not reached outside.
    corner : its first row and column. small : areas under this are left out, square pixels.
    """
    above = level > at
    rows, columns = (np.flatnonzero(above.any(axis=axis)) for axis in (1, 0))
    if len(rows) == 0:
        return []
    top, left = max(rows[0] - 1, 0), max(columns[0] - 1, 0)
    part = level[top : rows[-1] + 2, left : columns[-1] + 2]
    framed = np.full((part.shape[0] + 2, part.shape[1] + 2), at - 1e-3)
    framed[1:-1, 1:-1] = part
    move = np.array([corner[1] + left - 1, corner[0] + top - 1], dtype=float)
    lines = [np.asarray(line) + move for line in contourpy.contour_generator(z=framed).lines(at)]
    places = [grid.to_page(line[: -1 : 2 if len(line) > 24 else 1]) for line in lines if len(line) > 6]
    return thinned([p for p in places if abs(_signed_area(p)) > small])


def _signed_area(points: Array) -> float:
    x, y = points[:, 0], points[:, 1]
    return float((x[:-1] @ y[1:] - y[:-1] @ x[1:] + x[-1] * y[0] - y[-1] * x[0]) / 2)


def thinned(lines: list[Array]) -> list[Array]:
    """Closed lines (P, 2) without the points that hardly bend them."""
    if not lines:
        return []
    line = np.repeat(np.arange(len(lines)), [len(p) for p in lines])
    points = np.concatenate(lines)
    off = np.zeros(len(points))
    for _ in range(_ROUNDS):
        before, after = _neighbours(line)
        count = np.bincount(line)
        chord, side = points[after] - points[before], points - points[before]
        length = np.maximum(np.hypot(chord[:, 0], chord[:, 1]), 1e-9)
        bend = np.abs(chord[:, 0] * side[:, 1] - chord[:, 1] * side[:, 0]) / length + off
        drop = (bend < _SAME) & (bend <= bend[before]) & (bend < bend[after])
        drop &= ~drop[before] & (count[line] > 5)
        if not drop.any():
            break
        for near in (before[drop], after[drop]):  # what a dropped point was off by is owed by its neighbours
            off[near] = np.maximum(off[near], bend[drop])
        points, line, off = points[~drop], line[~drop], off[~drop]
    return np.split(points, np.flatnonzero(np.diff(line)) + 1)


def _neighbours(line: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Indices of the points before and after each, on closed lines kept one after the other."""
    index = np.arange(len(line))
    before, after = index - 1, index + 1
    first = np.flatnonzero(np.diff(line, prepend=-1))
    last = np.append(first[1:], len(line)) - 1
    before[first], after[last] = last, first
    return before, after
