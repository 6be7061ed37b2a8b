"""The horseshoe of cartilage in a socket, as a thick patch of a sphere with a clean edge.

Question answered: which points and triangles bound the cartilage that carries the load?

The patch is the one the pressure solve uses: behind the rim plane, and further than the notch's half width from the arc
that runs from the socket's floor out through the notch. In polar angles about the socket's axis (θ from the floor, φ
from the notch) it reaches from θin(φ) to the rim's θ: sin θin = sin w / sin φ towards the notch, θin = w elsewhere. A
rounded cross-section is swept from one horn over the roof to the other. Millimetres.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from viz3d.arrays import Array
from viz3d.body.landmarks import drawn
from viz3d.errors import MeshError
from viz3d.shapes.surface import Surface, Triangles, vertex_normals

_AROUND, _ACROSS, _ROUND = 60, 12, 4
"""Sections along the horseshoe; points across each face; points round each edge."""


def horseshoe_patch(
    centre: Array, axis: Array, inner: float, outer: float, rim: Callable[[Array], Array], half_width: float
) -> tuple[Array, Triangles]:
    """A closed, outward mesh of the horseshoe.

    Parameters
    ----------
    centre : (3,) mm. axis : (3,) unit vector out of the socket.
    inner, outer : radii of the faces towards the head and towards the bone, mm.
    rim : angle between the socket's floor and the rim for directions (..., 3), seen from the centre, rad.
    half_width : of fossa and notch, seen from the centre, rad.

    Returns
    -------
    points (V, 3) mm, triangles (T, 3).

    Raises
    ------
    MeshError : the rim leaves nothing of the horseshoe.
    """
    down = np.array([0.0, -1.0, 0.0])
    notch = down - (down @ axis) * axis
    notch /= np.linalg.norm(notch)
    aside = np.cross(axis, notch)
    if float(rim(-notch)) <= half_width + 0.05:
        raise MeshError("the socket's rim leaves no cartilage around the fossa; raise the centre-edge angle")
    first = half_width
    for _ in range(4):
        edge = float(rim(np.cos(first) * notch + np.sin(first) * aside))
        first = float(np.arcsin(np.clip(np.sin(half_width) / np.sin(edge), 0.0, 1.0)))
    ease = 0.5 - 0.5 * np.cos(np.linspace(0.0, np.pi, _AROUND))
    turn = first + (2.0 * np.pi - 2.0 * first) * (0.35 * ease + 0.65 * np.linspace(0.0, 1.0, _AROUND))
    beside = np.minimum(turn, 2.0 * np.pi - turn)
    low = np.where(
        beside < np.pi / 2, np.arcsin(np.clip(np.sin(half_width) / np.sin(beside), 0.0, 1.0)), half_width
    )  # fmt: skip
    along = np.cos(turn)[:, None] * notch + np.sin(turn)[:, None] * aside
    edges = rim(along)
    low = np.minimum(low, edges - drawn()["horn_width"])
    rings = np.stack([_section(a, b, inner, outer) for a, b in zip(low, edges, strict=True)])
    theta, radius = rings[..., 0], rings[..., 1]
    along = along[:, None, :]
    points = centre + radius[..., None] * (np.sin(theta)[..., None] * along - np.cos(theta)[..., None] * axis)
    return _skin(points)


def _section(low: float, high: float, inner: float, outer: float) -> Array:
    """Outline of one cross-section as rows of (θ, radius): inner face, rim edge, outer face, fossa edge."""
    middle, half = (inner + outer) / 2.0, (outer - inner) / 2.0
    half_angle = half / middle
    room = max((high - low) / 2.0, 1e-4)
    edge = min(half_angle, 0.5 * room)
    thick = half * min(1.0, 0.5 * room / half_angle)
    face = np.linspace(low + edge, high - edge, _ACROSS)
    turn = np.linspace(-np.pi / 2, np.pi / 2, _ROUND + 2)[1:-1]
    top = np.column_stack([high - edge + edge * np.cos(turn), middle + thick * np.sin(turn)])
    bottom = np.column_stack([low + edge - edge * np.cos(turn[::-1]), middle + thick * np.sin(turn[::-1])])
    return np.concatenate(
        [
            np.column_stack([face, np.full(_ACROSS, middle - thick)]),
            top,
            np.column_stack([face[::-1], np.full(_ACROSS, middle + thick)]),
            bottom,
        ]
    )


def _skin(rings: Array) -> tuple[Array, Triangles]:
    """Rings (A, B, 3) joined into a tube whose ends are closed by fans."""
    around, across = rings.shape[:2]
    points = np.concatenate([rings.reshape(-1, 3), [rings[0].mean(axis=0)], [rings[-1].mean(axis=0)]])
    index = np.arange(around * across).reshape(around, across)
    a, b = index[:-1], index[1:]
    c, d = np.roll(a, -1, axis=1), np.roll(b, -1, axis=1)
    triangles = [np.stack([a, b, c], axis=-1).reshape(-1, 3), np.stack([c, b, d], axis=-1).reshape(-1, 3)]
    for ring, tip, order in ((index[0], around * across, 1), (index[-1], around * across + 1, -1)):
        fan = np.stack([np.full(across, tip), ring, np.roll(ring, -1)], axis=-1)
        triangles.append(fan[:, ::order] if order > 0 else fan[:, [0, 2, 1]])
    faces = np.concatenate(triangles).astype(np.int32)
    surface = Surface(points, faces, points, np.ones(len(points)))
    return points, faces if surface.volume() > 0 else faces[:, ::-1].copy()


def horseshoe_surface(points: Array, triangles: Triangles) -> Surface:
    """The patch in metres, with its own normals."""
    return Surface(points * 1e-3, triangles, vertex_normals(points, triangles), np.ones(len(points)))


def inner_edge(surface: Surface) -> Array:
    """The edge towards the fossa of a horseshoe made here, from one horn over the roof to the other, (P, 3) m."""
    return surface.points[:-2].reshape(_AROUND, -1, 3)[:, 0]


def faces_of(surface: Surface) -> tuple[Array, Array]:
    """Points (P, 3) and normals of a horseshoe's face towards the head, without its edges, m."""
    points, normals = (v[:-2].reshape(_AROUND, -1, 3)[2:-2, 2 : _ACROSS - 2] for v in (surface.points, surface.normals))
    return points.reshape(-1, 3), normals.reshape(-1, 3)
