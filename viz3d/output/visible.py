"""What is seen of solid things through a camera: the nearest triangle at each point of a fine grid.

Question answered: which triangle of which solid does each point of the page show, without any drawing library?

Rows of every triangle that faces the viewer become runs of points; the nearest point wins. Depth and whatever else is
known at the corners runs evenly over a triangle, as in the pixels of a picture. Solids are closed and face outward.
Leaves out: solids that are seen through.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.shapes.surface import Triangles

_RUN = 3_000_000
"""Points looked at in one go: bounds the memory that is used."""
_STEPS = 2**30
"""Steps of depth that are told apart."""
_NOTHING = -1


@dataclass(frozen=True)
class FineGrid:
    """Points of the page: point (row, column) lies at ``low`` + (column + 1/2, row + 1/2) / ``fine``, pixels.

    ``shape``: rows and columns.
    """

    low: Array
    fine: float
    shape: tuple[int, int]

    def of_page(self, page: Array) -> Array:
        """Places on the page (..., 2) in columns and rows of the grid."""
        return np.asarray((page - self.low) * self.fine)

    def to_page(self, points: Array) -> Array:
        """Columns and rows (..., 2), where whole numbers are the grid's own points, as places on the page."""
        return np.asarray((points + 0.5) / self.fine + self.low)


@dataclass(frozen=True)
class Seen:
    """The nearest triangles on a grid.

    ``triangle`` (rows, columns): index among all solids' triangles, -1 for none. ``solid``: index of its solid,
    -1 for none. ``corners`` (T, 3, 2): every triangle's corners on the grid; ``vertices`` (T, 3): which of its solid's
    vertices they are. ``nearness``: (V,) of each solid. ``first``: first triangle of each solid.
    """

    grid: FineGrid
    triangle: NDArray[np.int32]
    solid: NDArray[np.int32]
    corners: Array
    vertices: Triangles
    nearness: list[Array]
    first: NDArray[np.int64]

    def field(self, values: Array, where: tuple[slice, slice], k: int) -> Array:
        """Values (V,) at the vertices of solid ``k``, at the points of a part of the grid, (rows, columns).

        Points that show another solid hold zero.
        """
        shown, index, (row, column) = self._shown(where, k)
        at_corners = values[self.vertices[index]]
        at = _on_plane(_planes(self.corners[index], at_corners), column, row)
        out = np.zeros(shown.shape)
        out[shown] = np.clip(at, _least(at_corners), _most(at_corners))
        return out

    def depths(self, where: tuple[slice, slice], k: int) -> tuple[Array, Array]:
        """Nearness of solid ``k`` at the points of a part of the grid, (rows, columns); its slopes, (2, rows, columns).

        The slopes are those by row and by column.
        """
        shown, index, (row, column) = self._shown(where, k)
        at_corners = self.nearness[k][self.vertices[index]]
        plane = _planes(self.corners[index], at_corners)
        near, slope = np.zeros(shown.shape), np.zeros((2, *shown.shape))
        near[shown] = np.clip(_on_plane(plane, column, row), _least(at_corners), _most(at_corners))
        slope[:, shown] = plane[:, :0:-1].T
        return near, slope

    def mean_depth(self, where: tuple[slice, slice], k: int) -> float:
        """Nearness of what is shown of solid ``k`` on the whole."""
        index = self.triangle[where][self.solid[where] == k]
        return float(self.nearness[k][self.vertices[index[:: 1 + len(index) // 2000], 0]].mean())

    def _shown(self, where: tuple[slice, slice], k: int) -> tuple[NDArray[np.bool_], NDArray[np.int32], Array]:
        """Where solid ``k`` is shown in a part of the grid, by which triangles, and those points' rows and columns."""
        shown = self.solid[where] == k
        at = np.stack(np.nonzero(shown)) + np.array([[where[0].start + 0.5], [where[1].start + 0.5]])
        return shown, self.triangle[where][shown], at


def seen(grid: FineGrid, solids: list[tuple[Array, Array, Triangles]]) -> Seen:
    """Look at solids, each given by its vertices on the page (V, 2), their nearness (V,) and its triangles (T, 3)."""
    places = [grid.of_page(page) for page, _, _ in solids]
    facing = [_facing(at, triangles, grid.shape) for at, (_, _, triangles) in zip(places, solids, strict=True)]
    counts = [len(f) for f in facing]
    first = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    nearest = np.full(grid.shape[0] * grid.shape[1], _NOTHING, dtype=np.int64)
    if sum(counts) == 0:
        nothing = np.full(grid.shape, _NOTHING, dtype=np.int32)
        return Seen(grid, nothing, nothing, np.zeros((0, 3, 2)), np.zeros((0, 3), dtype=np.int32), [], first)
    corners = np.concatenate([at[f] for at, f in zip(places, facing, strict=True)])
    depth = np.concatenate([d[f] for (_, d, _), f in zip(solids, facing, strict=True)])
    low, high = float(depth.min()), float(depth.max())
    steps = (depth - low) / max(high - low, 1e-9) * _STEPS
    plane, least, most = _planes(corners, steps), _least(steps), _most(steps)
    for index, row, column in _points(corners, grid.shape):
        near = np.clip(_on_plane(plane[index], column + 0.5, row + 0.5), least[index], most[index])
        np.maximum.at(nearest, row * grid.shape[1] + column, (near.astype(np.int64) << 32) | index)
    nearest = nearest.reshape(grid.shape)
    triangle = np.where(nearest == _NOTHING, _NOTHING, nearest & 0xFFFFFFFF).astype(np.int32)
    owner = np.append(np.repeat(np.arange(len(solids)), counts), _NOTHING).astype(np.int32)
    return Seen(grid, triangle, owner[triangle], corners, np.concatenate(facing), [d for _, d, _ in solids], first)


def covered(grid: FineGrid, page: Array, triangles: Triangles) -> NDArray[np.bool_]:
    """The grid's points that a solid covers, wherever it lies in depth."""
    out = np.zeros(grid.shape, dtype=bool)
    at = grid.of_page(page)
    for _, row, column in _points(at[_facing(at, triangles, grid.shape)], grid.shape):
        out[row, column] = True
    return out


def _facing(at: Array, triangles: Triangles, shape: tuple[int, int]) -> Triangles:
    """The triangles that face the viewer and reach into the grid."""
    a, b, c = (at[triangles[:, i]] for i in range(3))
    turn = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    low, high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
    inside = (high[:, 0] > 0.0) & (high[:, 1] > 0.0) & (low[:, 0] < shape[1]) & (low[:, 1] < shape[0])
    return np.asarray(triangles[(turn < 0.0) & inside])


def _planes(corners: Array, values: Array) -> Array:
    """Value = p0 + p1 x + p2 y through the values (T, 3) at corners (T, 3, 2), (T, 3)."""
    a, b, c = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    d1, d2 = values[:, 1] - values[:, 0], values[:, 2] - values[:, 0]
    area = b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0]
    area = np.where(np.abs(area) < 1e-9, -1e-9, area)
    x, y = (d1 * c[:, 1] - d2 * b[:, 1]) / area, (d2 * b[:, 0] - d1 * c[:, 0]) / area
    return np.stack([values[:, 0] - x * a[:, 0] - y * a[:, 1], x, y], axis=-1)


def _on_plane(plane: Array, x: NDArray[Any], y: NDArray[Any]) -> Array:
    return np.asarray(plane[:, 0] + plane[:, 1] * x + plane[:, 2] * y)


def _least(values: Array) -> Array:
    """The least of three numbers each, (T, 3) to (T,)."""
    return np.asarray(np.minimum(np.minimum(values[:, 0], values[:, 1]), values[:, 2]))


def _most(values: Array) -> Array:
    return np.asarray(np.maximum(np.maximum(values[:, 0], values[:, 1]), values[:, 2]))


def _points(
    corners: Array, shape: tuple[int, int]
) -> Iterator[tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]]:
    """Batches of (triangle, row, column) of every grid point inside every triangle (T, 3, 2)."""
    y = corners[..., 1]
    top = np.clip(np.ceil(_least(y) - 0.5), 0, shape[0]).astype(np.int64)
    end = np.clip(np.floor(_most(y) - 0.5) + 1, 0, shape[0]).astype(np.int64)
    index, row = _counted(top, np.maximum(end - top, 0))
    one, other = _crossings(corners, index, row + 0.5)
    start = np.clip(np.ceil(np.minimum(one, other) - 0.5), 0, shape[1]).astype(np.int64)
    stop = np.clip(np.floor(np.maximum(one, other) - 0.5) + 1, 0, shape[1]).astype(np.int64)
    kept = stop > start
    index, row, start, width = index[kept], row[kept], start[kept], (stop - start)[kept]
    batch = np.cumsum(width) // _RUN
    for cut in np.split(np.arange(len(width)), np.flatnonzero(np.diff(batch)) + 1):
        run, column = _counted(start[cut], width[cut])
        yield index[cut][run], row[cut][run], column


def _counted(start: NDArray[np.int64], count: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """For every k, ``count[k]`` whole numbers from ``start[k]`` on: the k of each, and the number."""
    which = np.repeat(np.arange(len(start)), count)
    before = np.cumsum(count) - count
    return which, np.arange(len(which)) + (start - before)[which]


def _crossings(corners: Array, index: NDArray[np.int64], y: NDArray[Any]) -> tuple[Array, Array]:
    """Where the levels ``y`` (R,) cross the triangles ``index`` (R,): on the long edge, and on one of the others."""
    order = np.argsort(corners[..., 1], axis=1)
    a, b, c = (np.take_along_axis(corners, order[:, k, None, None], axis=1)[:, 0] for k in range(3))
    rise = np.stack([(q - p)[:, 1] for p, q in ((a, c), (a, b), (b, c))], axis=-1)
    run = np.stack([(q - p)[:, 0] for p, q in ((a, c), (a, b), (b, c))], axis=-1)
    slope = run / np.maximum(rise, 1e-12)
    ax, ay, bx, by, long, upper, lower = np.concatenate([a, b, slope], axis=1)[index].T
    below = y - by
    return ax + (y - ay) * long, bx + below * np.where(below < 0.0, upper, lower)
