"""Surfaces cut along a level of a value at their vertices: clean hems, and skin that ends under cloth.

Question answered: which part of this surface lies where a value is positive, cut through its triangles?
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.shapes.surface import Surface


def cut(surface: Surface, value: Array) -> Surface:
    """The part of a surface where ``value`` (V,), linear in every triangle, is positive.

    Examples
    --------
    >>> import numpy as np
    >>> square = Surface(np.eye(3), np.array([[0, 1, 2]], dtype=np.int32), np.eye(3), np.ones(3))
    >>> len(cut(square, np.array([1.0, -1.0, -1.0])).points)
    3
    """
    inside = value > 0.0
    count = inside[surface.triangles].sum(axis=1)
    kept = [surface.triangles[count == 3]]
    points, normals, shade = [surface.points], [surface.normals], [surface.shade]
    edges: dict[tuple[int, int], int] = {}

    def crossing(a: int, b: int) -> int:
        """Index of the new vertex between an inner and an outer one."""
        return edges.setdefault((a, b), len(surface.points) + len(edges))

    made = []
    for triangle in surface.triangles[(count == 1) | (count == 2)]:
        alone = inside[triangle] == (inside[triangle].sum() == 1)
        a, b, c = (int(i) for i in np.roll(triangle, -int(alone.argmax())))
        if inside[a]:
            made.append((a, crossing(a, b), crossing(a, c)))
        else:
            p, q = crossing(b, a), crossing(c, a)
            made += [(p, b, c), (p, c, q)]
    if edges:
        ends = np.array(list(edges))
        share = value[ends[:, 0]] / (value[ends[:, 0]] - value[ends[:, 1]])
        for values in (points, normals, shade):
            one, two = values[0][ends[:, 0]], values[0][ends[:, 1]]
            weight = share if one.ndim == 1 else share[:, None]
            values.append(one + weight * (two - one))
        kept.append(np.array(made, dtype=np.int32))
    return _used(np.concatenate(points), np.concatenate(kept), np.concatenate(normals), np.concatenate(shade))


def _used(points: Array, triangles: Array, normals: Array, shade: Array) -> Surface:
    """A surface of those vertices only that its triangles use."""
    used, faces = np.unique(triangles, return_inverse=True)
    turned = normals[used] / np.maximum(np.linalg.norm(normals[used], axis=1, keepdims=True), 1e-12)
    return Surface(points[used], faces.reshape(-1, 3).astype(np.int32), turned, shade[used])


def with_fold(surface: Surface, value: Array, depth: float) -> Surface:
    """A cut surface with its edges, where ``value`` is nothing, turned inward by ``depth``: cloth with a thickness."""
    t = surface.triangles
    edges = np.concatenate([t[:, [0, 1]], t[:, [1, 2]], t[:, [2, 0]]])
    size = len(surface.points)
    known = set((edges[:, 1].astype(np.int64) * size + edges[:, 0]).tolist())
    open_ = np.array([int(a) * size + int(b) not in known for a, b in edges], dtype=bool)
    rim = edges[open_ & (np.abs(value[edges]).max(axis=1) < 1e-6)]
    if len(rim) == 0:
        return surface
    used, at = np.unique(rim, return_inverse=True)
    a, b = (at.reshape(-1, 2) + size).T
    inner = surface.points[used] - depth * surface.normals[used]
    faces = np.concatenate([np.column_stack([rim[:, 1], rim[:, 0], a]), np.column_stack([rim[:, 1], a, b])])
    return Surface(
        np.concatenate([surface.points, inner]),
        np.concatenate([t, faces]).astype(np.int32),
        np.concatenate([surface.normals, surface.normals[used]]),
        np.concatenate([surface.shade, 0.75 * surface.shade[used]]),
    )
