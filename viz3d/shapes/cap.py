"""The cartilage that covers a femoral head, as a thick patch of a sphere with a clean edge and a hole at its pit.

Question answered: which points and triangles bound the cartilage of the head?

It reaches from the rim of the fovea, a circle about the pit, to a cone about the neck's axis; between them a rounded
cross-section is swept once round the pit. Its outer face thins towards both edges. Millimetres.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.shapes.surface import Surface, Triangles, vertex_normals

_AROUND, _ACROSS, _UNDER = 64, 22, 5
"""Sections round the pit; points across the outer face, and across the one on the bone."""
_THIN = 0.3
"""Share of the way from an edge over which the cartilage thickens to full."""


def head_cap(
    radius: float, neck: Array, pit: Array, thick: float, margin: float, hole: float, sunk: float = 0.5
) -> Surface:
    """Cartilage about the origin.

    Parameters
    ----------
    radius : of the bony head, mm. neck, pit : unit vectors from its centre along the neck's axis and to the fovea.
    thick : of the cartilage, mm. margin : angle from the neck's axis to the far edge, rad. hole : from the pit to the
        near one.
    sunk : how far the inner face lies within the bone, mm.

    Returns
    -------
    The surface in metres, closed and outward; it has one hole, so it is a ring.
    """
    first = neck - (neck @ pit) * pit
    first = first / np.linalg.norm(first)
    second = np.cross(pit, first)
    turn = np.linspace(0.0, 2.0 * np.pi, _AROUND, endpoint=False)
    aside = np.cos(turn)[:, None] * first + np.sin(turn)[:, None] * second
    far = _reach(aside, neck, pit, margin)
    share, lift = _section(thick, sunk)
    theta = hole + share[None] * (far - hole)[:, None]
    size = (radius + lift)[None, :, None]
    points = size * (np.cos(theta)[..., None] * pit + np.sin(theta)[..., None] * aside[:, None, :])
    triangles = _ring(*points.shape[:2])
    flat = points.reshape(-1, 3)
    surface = Surface(flat * 1e-3, triangles, flat, np.ones(len(flat)))
    if surface.volume() < 0.0:
        triangles = triangles[:, ::-1].copy()
    return Surface(flat * 1e-3, triangles, vertex_normals(flat, triangles), np.ones(len(flat)))


def _reach(aside: Array, neck: Array, pit: Array, margin: float) -> Array:
    """Angle from the pit, on each side (A, 3), at which the neck's axis is ``margin`` away."""
    along, across = neck @ pit, aside @ neck
    # cos θ · along + sin θ · across = cos margin
    size = np.hypot(along, across)
    return np.asarray(np.arctan2(across, along) + np.arccos(np.clip(np.cos(margin) / size, -1.0, 1.0)))


def _section(thick: float, sunk: float) -> tuple[Array, Array]:
    """Cross-section from the pit's edge over the outer face and back inside: share of the way, height over the bone."""
    share = (1.0 - np.cos(np.linspace(0.0, np.pi, _ACROSS))) / 2.0
    rise = np.clip(np.minimum(share, 1.0 - share) / _THIN, 0.0, 1.0)
    outer = thick * (0.55 + 0.45 * np.sqrt(1.0 - (1.0 - rise) ** 2))
    inner = np.linspace(1.0, 0.0, _UNDER)
    return np.concatenate([share, inner]), np.concatenate([outer, np.full(_UNDER, -sunk)])


def _ring(around: int, across: int) -> Triangles:
    """Triangles of a grid of points (around, across) that closes both ways."""
    index = np.arange(around * across).reshape(around, across)
    a, b = index, np.roll(index, -1, axis=0)
    c, d = np.roll(a, -1, axis=1), np.roll(b, -1, axis=1)
    return np.concatenate([np.stack([a, b, c], -1).reshape(-1, 3), np.stack([c, b, d], -1).reshape(-1, 3)]).astype(
        np.int32
    )
