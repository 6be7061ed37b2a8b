"""Finished surfaces: evened, put back onto their field, with as few triangles as look the same.

Question answered: which light, closed mesh shows this surface?

Millimetres inside, metres out.
"""

from __future__ import annotations

import threading

import numpy as np
from scipy import sparse
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from viz3d.arrays import Array
from viz3d.shapes.surface import SampledField, Surface, Triangles, is_closed, smooth, vertex_normals

_MOST_COLLAPSED = 0.4
"""Largest distance by which collapsing edges may move the surface, mm."""
_USUAL = (4.0, 6.0, 8.0)
_TRIES = tuple((share, steps) for share in (1.0, 1.05, 1.15) for steps in (_USUAL, (8.0,), (9.0,), (5.0,)))
"""Shares of a wanted number of triangles, and how boldly edges go, tried until one does not tear the surface."""
_LIGHT_COLLAPSED = 1.5
"""The same for lighter levels of detail: half a pixel of a whole figure at 1080 lines."""


def finish(points: Array, triangles: Triangles, grid: SampledField, count: int) -> Surface:
    """Smooth, project, decimate to about ``count`` triangles, keep the dense mesh's normals; mm in, m out."""
    dense = smooth(grid.project(_within(points, smooth(points, triangles), grid.step / 3)), triangles, 1)
    normals = vertex_normals(dense, triangles)
    light, faces = closed_at(dense, triangles, count)
    _, nearest = cKDTree(dense).query(light)
    return Surface(
        np.asarray(light, dtype=float) * 1e-3,
        np.asarray(faces, dtype=np.int32),
        normals[nearest],
        np.ones(len(light)),
    )


def _within(points: Array, moved: Array, reach: float) -> Array:
    """Moved points, none further than ``reach`` from where it was: thin walls must not pass through each other."""
    move = moved - points
    length = np.linalg.norm(move, axis=1, keepdims=True)
    return np.asarray(points + move * np.minimum(1.0, reach / np.maximum(length, 1e-9)))


def _welded(points: Array, triangles: Triangles) -> tuple[Array, Triangles]:
    """Corners in one place as one: sawn faces have corners of their own, for their flat light."""
    if is_closed(triangles):
        return points, triangles
    _, first, at = np.unique(points.astype(np.float32), axis=0, return_index=True, return_inverse=True)
    return points[first], at.reshape(-1)[triangles].astype(np.int32)


def lighter(surface: Surface, share: float) -> Surface:
    """The same surface with about ``share`` of its triangles, closed, looking as before."""
    if share >= 1.0:
        return surface
    count = max(60, round(share * len(surface.triangles)))
    points, faces = closed_at(*_welded(surface.points * 1e3, surface.triangles), count, _LIGHT_COLLAPSED)
    _, nearest = cKDTree(surface.points).query(points * 1e-3)
    warm = None if surface.warm is None else surface.warm[nearest]
    return Surface(points * 1e-3, faces, surface.normals[nearest], surface.shade[nearest], warm)


def closed_at(
    points: Array, triangles: Triangles, count: int, most: float = _MOST_COLLAPSED
) -> tuple[Array, Triangles]:
    """Decimated to about ``count`` triangles; where that tears the surface, in other steps and to a few more, and
    at last by the slower way that cannot tear, moves nothing by more than ``most`` mm and leaves flat parts coarse."""
    for share, steps in _TRIES:
        light, faces = parted(*_decimated(points, triangles, round(share * count), steps))
        if is_closed(faces):
            return light, faces
    return _collapsed(points, triangles, count, most)


def parted(points: Array, triangles: Triangles) -> tuple[Array, Triangles]:
    """The same triangles with pinched edges opened: where more than two share one, each fan gets corners of its own."""
    size = len(points)
    ends = np.sort(np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1)
    key = ends[:, 0].astype(np.int64) * size + ends[:, 1]
    order = np.argsort(key, kind="stable")
    _, first, count = np.unique(key[order], return_index=True, return_counts=True)
    if (count == 2).all():
        return points, triangles
    pairs = first[count == 2]
    one, other = order[pairs], order[pairs + 1]
    total = len(triangles)
    corner = np.arange(3 * total).reshape(total, 3)
    at = np.stack([np.concatenate([corner[:, 0], corner[:, 1], corner[:, 2]]),
                   np.concatenate([corner[:, 1], corner[:, 2], corner[:, 0]])], axis=1)  # fmt: skip
    flat = triangles.ravel()
    swap = flat[at[one, 0]] != flat[at[other, 0]]
    first_end, second_end = np.where(swap, at[other, 1], at[other, 0]), np.where(swap, at[other, 0], at[other, 1])
    i, j = np.concatenate([at[one, 0], at[one, 1]]), np.concatenate([first_end, second_end])
    links = sparse.coo_matrix((np.ones(len(i)), (i, j)), shape=(3 * total, 3 * total))
    _, fan = connected_components(links, directed=False)
    _, where = np.unique(fan, return_index=True)
    return points[flat[where]], fan.reshape(total, 3).astype(np.int32)


def _collapsed(points: Array, triangles: Triangles, count: int, most: float) -> tuple[Array, Triangles]:
    """Short edges collapsed within the smallest tolerance that leaves about ``count`` triangles; stays closed."""
    from manifold3d import Manifold, Mesh

    solid = Manifold(Mesh(points.astype(np.float32), triangles.astype(np.uint32)))
    low, high = 0.0, most
    for _ in range(8):
        middle = (low + high) / 2
        low, high = (middle, high) if solid.simplify(middle).num_tri() > count else (low, middle)
    mesh = solid.simplify(high).to_mesh()
    return np.array(mesh.vert_properties[:, :3], dtype=float), np.array(mesh.tri_verts, dtype=np.int32)


_ONE_AT_A_TIME = threading.Lock()


def simplified(points: Array, triangles: Triangles, reduction: float, agg: float = 7.0) -> tuple[Array, Triangles]:
    """Fewer triangles by edge collapse; ``reduction`` is the share taken away.

    The library keeps its mesh in one place for the whole process and lets other threads run meanwhile, so two calls at
    once would spoil each other's bone.
    """
    import fast_simplification

    with _ONE_AT_A_TIME:
        light, faces = fast_simplification.simplify(
            np.ascontiguousarray(points, dtype=np.float32), np.ascontiguousarray(triangles), target_reduction=reduction,
            agg=agg,
        )  # fmt: skip
    return np.asarray(light, dtype=float), np.asarray(faces, dtype=np.int32)


def _decimated(
    points: Array, triangles: Triangles, count: int, steps: tuple[float, ...] = _USUAL
) -> tuple[Array, Triangles]:
    light, faces = points, triangles
    for aggressiveness in steps:
        if len(faces) <= 1.1 * count:
            break
        light, faces = simplified(light, faces, 1.0 - count / len(faces), aggressiveness)
    return light, faces
