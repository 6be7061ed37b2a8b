"""Surfaces: from a field to a closed, outward, light triangle mesh.

Question answered: which triangles lie where the field is zero?

Coarse grid first, then a fine grid only in the band near the surface; flying-edges extraction; crumbs
dropped. What is done to the triangles then is :mod:`viz3d.shapes.finish`. Metres out, millimetres in.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from viz3d.arrays import Array
from viz3d.errors import MeshError
from viz3d.shapes.fields import Blended, fold, fold_in_cells, slack

Triangles = NDArray[np.int32]
_BLOCK = 4
_CUBE = 4
"""Blocks along the side of a cube of blocks."""
_STEEP = 0.4
"""Squared gradient, 1 for a true distance, below which a vertex is not moved."""


@dataclass(frozen=True)
class Surface:
    """A triangle mesh: points (V, 3) m, triangles (T, 3), unit normals (V, 3), shade (V,) about 0..1.

    ``warm``: how much of a muscle area's warm tone each vertex has, (V,) in 0..1; None where there is none.
    """

    points: Array
    triangles: Triangles
    normals: Array
    shade: Array
    warm: Array | None = None

    def mirrored(self) -> Surface:
        """The same surface on the other side (z to −z)."""
        flip = np.array([1.0, 1.0, -1.0])
        return Surface(self.points * flip, self.triangles[:, ::-1].copy(), self.normals * flip, self.shade, self.warm)

    def stretched(self, up: float) -> Surface:
        """The same surface with its heights times ``up``."""
        normals = self.normals * np.array([1.0, 1.0 / up, 1.0])
        normals /= np.linalg.norm(normals, axis=1, keepdims=True)
        return Surface(self.points * np.array([1.0, up, 1.0]), self.triangles, normals, self.shade, self.warm)

    def volume(self) -> float:
        """Enclosed volume, m³; positive when the triangles face outward."""
        a, b, c = (self.points[self.triangles[:, i]] for i in range(3))
        return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)


@dataclass(frozen=True)
class SampledField:
    """Sampled field: ``values`` (nx, ny, nz) mm at ``low`` + index × ``step``; good near the surface."""

    low: Array
    step: float
    values: Array

    def at(self, points: Array) -> Array:
        """Field at (P, 3) points by trilinear interpolation, (P,)."""
        from scipy.ndimage import map_coordinates

        place = ((points - self.low) / self.step).T
        return np.asarray(map_coordinates(self.values, place, order=1, mode="nearest"))

    def project(self, points: Array) -> Array:
        """Points moved onto the zero surface: one Newton step along the grid's gradient, at most a third of a cell;
        none where the gradient is weak, in clefts that the grid does not resolve."""
        slope = np.empty_like(points)
        for axis in range(3):
            offset = np.zeros(3)
            offset[axis] = self.step / 2
            slope[:, axis] = (self.at(points + offset) - self.at(points - offset)) / self.step
        square = (slope**2).sum(axis=1, keepdims=True)
        move = np.where(square > _STEEP, self.at(points)[:, None] * slope / np.maximum(square, _STEEP), 0.0)
        length = np.linalg.norm(move, axis=1, keepdims=True)
        return np.asarray(points - move * np.minimum(1.0, self.step / 3 / np.maximum(length, 1e-9)))


def extract(parts: list[Blended], step: float, keep: str = "largest") -> tuple[Array, Triangles, SampledField]:
    """Zero surface of folded parts on a grid of ``step`` mm.

    Returns
    -------
    points (V, 3) mm and triangles (T, 3), closed and outward, and the grid they came from.

    Raises
    ------
    MeshError : nothing there.
    """
    solids = [p.solid for p in parts if not p.carve]
    low = np.min([s.low for s in solids], axis=0) - 3 * step * _BLOCK / 2
    high = np.max([s.high for s in solids], axis=0) + 3 * step * _BLOCK / 2
    blocks = np.ceil((high - low) / (step * _BLOCK)).astype(int) + 1
    coarse = _coarse(parts, low + step * (_BLOCK - 1) / 2, step * _BLOCK, blocks)
    fine_shape = blocks * _BLOCK
    values = np.repeat(np.repeat(np.repeat(np.clip(coarse.reshape(blocks), -50, 50), _BLOCK, 0), _BLOCK, 1), _BLOCK, 2)
    near = np.abs(coarse) < step * _BLOCK * 1.35 + 1.0
    inner = _indices(np.full(3, _BLOCK))
    index = (_indices(blocks)[near][:, None, :] * _BLOCK + inner[None]).reshape(-1, 3)
    values[index[:, 0], index[:, 1], index[:, 2]] = fold_in_cells(parts, low + index * step, step * _BLOCK)
    points, triangles = _contour(values, low, step, tuple(int(n) for n in fine_shape))
    if len(triangles) == 0:
        raise MeshError("the field has no surface")
    return *_components(points, triangles, keep), SampledField(low, step, values)


def contour_of(values: Array, low: Array, step: float) -> tuple[Array, Triangles]:
    """Zero surface of a field (nx, ny, nz) at ``low`` + index × ``step``: its largest piece, closed and outward.

    Raises
    ------
    MeshError : nothing there.
    """
    points, triangles = _contour(values, low, step, values.shape)
    if len(triangles) == 0:
        raise MeshError("the field has no surface")
    return _components(points, triangles, "largest")


def _coarse(parts: list[Blended], first: Array, side: float, blocks: NDArray[np.int64]) -> Array:
    """The field in the middles of blocks of a side, (B,): where a surface may be; only its sign elsewhere.

    Asked first at the middles of cubes of blocks: those far from any surface answer for all their blocks.
    """
    centres = first + side * _indices(blocks)
    cubes = -(-blocks // _CUBE)
    middle = first + side * (_CUBE - 1) / 2 + side * _CUBE * _indices(cubes)
    far = fold(parts, middle).reshape(cubes)
    for axis in range(3):
        far = np.repeat(far, _CUBE, axis)
    value = far[: blocks[0], : blocks[1], : blocks[2]].ravel().copy()
    near = np.abs(value) < slack(side * _CUBE) + 1.35 * side
    value[near] = fold_in_cells(parts, centres[near], side * _CUBE)
    return value


def _indices(shape: NDArray[np.int64]) -> NDArray[np.int64]:
    """Indices (I, 3) of a grid of a shape, the last one fastest."""
    return np.stack(np.unravel_index(np.arange(shape.prod()), tuple(shape)), axis=-1)


def _contour(values: Array, low: Array, step: float, shape: tuple[int, ...]) -> tuple[Array, Triangles]:
    from vtkmodules.util.numpy_support import numpy_to_vtk, vtk_to_numpy
    from vtkmodules.vtkCommonDataModel import vtkImageData
    from vtkmodules.vtkFiltersCore import vtkFlyingEdges3D

    image = vtkImageData()
    image.SetDimensions(*shape)
    image.SetOrigin(*low)
    image.SetSpacing(step, step, step)
    flat = numpy_to_vtk(np.ascontiguousarray(-values.ravel(order="F")), deep=True)
    image.GetPointData().SetScalars(flat)
    contour = vtkFlyingEdges3D()
    contour.SetInputData(image)
    contour.SetValue(0, 0.0)
    contour.ComputeNormalsOff()
    contour.ComputeGradientsOff()
    contour.Update()
    mesh = contour.GetOutput()
    if mesh.GetNumberOfCells() == 0:
        return np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int32)
    points = vtk_to_numpy(mesh.GetPoints().GetData()).astype(float)
    triangles = vtk_to_numpy(mesh.GetPolys().GetConnectivityArray()).reshape(-1, 3).astype(np.int32)
    a, b, c = (points[triangles[:, i]] for i in range(3))
    if np.einsum("ij,ij->i", a - points.mean(axis=0), np.cross(b - a, c - a)).sum() < 0:
        triangles = triangles[:, ::-1].copy()
    return points, triangles


def _components(points: Array, triangles: Triangles, keep: str) -> tuple[Array, Triangles]:
    """Keep the largest piece, or every piece that is not a crumb."""
    count, label = connected_components(_adjacency(triangles, len(points)), directed=False)
    if count == 1:
        return points, triangles
    sizes = np.bincount(label)
    good = sizes == sizes.max() if keep == "largest" else sizes > 60
    vertex = good[label]
    new = np.cumsum(vertex) - 1
    kept = triangles[vertex[triangles[:, 0]]]
    return points[vertex], new[kept].astype(np.int32)


def _adjacency(triangles: Triangles, count: int) -> sparse.csr_matrix:
    i = triangles[:, [0, 1, 2]].ravel()
    j = triangles[:, [1, 2, 0]].ravel()
    ones = np.ones(len(i))
    return sparse.csr_matrix((ones, (i, j)), shape=(count, count)).maximum(
        sparse.csr_matrix((ones, (j, i)), shape=(count, count))
    )


def neighbour_mean(triangles: Triangles, count: int) -> sparse.csr_matrix:
    """Matrix (V, V) that takes values at vertices to the mean over their neighbours."""
    links = _adjacency(triangles, count)
    return sparse.diags(1.0 / np.maximum(np.asarray(links.sum(axis=1)).ravel(), 1.0)) @ links


def smooth(points: Array, triangles: Triangles, rounds: int = 6) -> Array:
    """Taubin smoothing, which does not shrink: weights 0.5 and −0.53."""
    average = neighbour_mean(triangles, len(points))
    for _ in range(rounds):
        for weight in (0.5, -0.53):
            points = points + weight * (average @ points - points)
    return points


def vertex_normals(points: Array, triangles: Triangles) -> Array:
    """Area-weighted unit normals, (V, 3)."""
    a, b, c = (points[triangles[:, i]] for i in range(3))
    face = np.cross(b - a, c - a)
    total = np.zeros_like(points)
    for i in range(3):
        np.add.at(total, triangles[:, i], face)
    return np.asarray(total / np.maximum(np.linalg.norm(total, axis=1, keepdims=True), 1e-12))


def distance_to(point: Array, surface: Surface) -> float:
    """Distance of a point (3,) from a surface, m: the nearest place on the triangles around the nearest middles."""
    import trimesh

    corners = surface.points[surface.triangles]
    near = np.argsort(np.linalg.norm(corners.mean(axis=1) - point, axis=1))[:200]
    there = trimesh.triangles.closest_point(corners[near], np.repeat(point[None], len(near), axis=0))
    return float(np.linalg.norm(there - point, axis=1).min())


def is_closed(triangles: Triangles) -> bool:
    """True where every edge is shared by exactly two triangles that run along it in opposite ways."""
    edges = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]).astype(np.int64)
    size = int(triangles.max()) + 1
    forward = edges[:, 0] * size + edges[:, 1]
    backward = edges[:, 1] * size + edges[:, 0]
    return len(np.unique(forward)) == len(forward) and bool(np.array_equal(np.sort(forward), np.sort(backward)))
