"""The contact shadow: how much of the sky each place on the bones sees, baked once.

Question answered: where do bones that lie close together darken each other?

Rays over each vertex's own hemisphere, weighted by the cosine; whatever they meet within reach hides the sky. Metres.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

from viz3d.arrays import Array
from viz3d.shapes.surface import Surface

_RAYS = 48


def contact_shadow(
    surfaces: list[Surface], reach: float = 0.05, coats: Collection[int] = (), among: Sequence[Surface] = ()
) -> list[Surface]:
    """Bake how much of the sky each vertex sees, among these surfaces together.

    Parameters
    ----------
    surfaces : in one common frame.
    reach : rays longer than this see the sky, m.
    coats : indices of those that lie on another, as cartilage does: they darken nothing, so that what they cover does
        not show as a dark, ragged edge.
    among : others that hide the sky, but are not shaded.
    """
    import trimesh
    from trimesh.ray.ray_pyembree import RayMeshIntersector

    offsets = np.cumsum([0] + [len(s.points) for s in surfaces])
    points = np.concatenate([s.points for s in surfaces])
    normals = np.concatenate([s.normals for s in surfaces])
    around = [*surfaces, *among]
    starts = np.cumsum([0] + [len(s.points) for s in around])
    faces = np.concatenate(
        [s.triangles + o for k, (s, o) in enumerate(zip(around, starts, strict=False)) if k not in coats]
    )
    corners = np.concatenate([s.points for s in around])
    caster = RayMeshIntersector(trimesh.Trimesh(corners, faces, process=False))
    open_sky = np.zeros(len(points))
    for direction in _hemisphere():
        facing = _turn_to(normals, direction)
        hit, ray, where = caster.intersects_id(
            points + normals * 4e-4, facing, multiple_hits=False, return_locations=True
        )
        near = np.linalg.norm(where - points[ray], axis=1) < reach
        seen = np.ones(len(points))
        seen[ray[near]] = 0.0
        del hit
        open_sky += seen
    shade = open_sky / _RAYS
    return [replace(s, shade=shade[a:b]) for s, a, b in zip(surfaces, offsets[:-1], offsets[1:], strict=True)]


def _hemisphere() -> Array:
    """Cosine-weighted directions over the z hemisphere, by the golden angle, (rays, 3)."""
    k = np.arange(_RAYS) + 0.5
    radius, turn = np.sqrt(k / _RAYS), k * np.pi * (3.0 - np.sqrt(5.0))
    return np.stack([radius * np.cos(turn), radius * np.sin(turn), np.sqrt(1.0 - radius**2)], axis=-1)


def _turn_to(normals: Array, direction: Array) -> Array:
    """The direction expressed in each normal's frame, (V, 3)."""
    helper = np.where(np.abs(normals[:, :1]) < 0.9, [[1.0, 0.0, 0.0]], [[0.0, 1.0, 0.0]])
    first = np.cross(normals, helper)
    first /= np.linalg.norm(first, axis=1, keepdims=True)
    second = np.cross(normals, first)
    return np.asarray(direction[0] * first + direction[1] * second + direction[2] * normals)
