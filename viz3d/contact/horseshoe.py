"""The socket's horseshoe as facets: the loaded surface that anatomy has, without a mesh.

Question answered: which small pieces of a sphere, with which normals and areas, carry the load in a socket that opens
outward, forward and down, with a fossa and a notch?

The surface is the part of a sphere behind the socket's rim plane, less a band from the fossa to the notch: everything
within a given angle of an arc that runs from the socket's floor out through the notch. The rim plane stands at the
socket's inclination and anteversion, and is moved along the socket's axis so that the frontal centre-edge angle is the
person's. Frame: hip centre, x forward, y up, l outward, pelvis level; so one code serves both sides. Metres, radians.
The pressure on it: :mod:`viz3d.contact.facets`.
"""

from __future__ import annotations

import itertools
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from viz3d.arrays import Array
from viz3d.body.person import geometry_rows
from viz3d.body.socket import rim_angle, roof_angle, socket_axis, turn_beside
from viz3d.errors import InputError

Facets = tuple[Array, Array, Array]
"""Centres (F, 3), unit normals out of the head (F, 3), areas (F,)."""
_PAST_RIM = 0.6
"""The notch's arc is continued by this beyond a quarter turn, past every rim, rad."""


def horseshoe(
    centre_edge: ArrayLike, inclination: ArrayLike, version: ArrayLike, steps: int = 36
) -> tuple[Array, Array]:
    """The loaded surface on the unit sphere, for any centre-edge angles on the pelvis.

    Parameters
    ----------
    centre_edge : (N,) rad. inclination, version : (N,) or one, of the socket's axis, rad.
    steps : rings of facets along a quarter turn.

    Returns
    -------
    normals (F, 3) out of the head, also the facets' places; areas (N, F), zero where there is no cartilage. For a
    radius r, places scale with r, areas with r².

    Raises
    ------
    InputError : a centre-edge angle that leaves no surface.

    Notes
    -----
    A direction lies behind the rim where its angle from the socket's floor is less than :func:`rim_angle`, and outside
    fossa and notch where its angle from the notch's arc exceeds the band's half width.
    Facets on an edge count in part, so that areas change smoothly with the angle.
    """
    edge = np.atleast_1d(np.asarray(centre_edge, dtype=float))
    axis = np.atleast_2d(socket_axis(inclination, version))
    roof, half_notch = roof_angle(axis, edge), np.radians(geometry_rows()["notch_half_width"].value)
    if bool((roof <= half_notch).any()):
        worst = np.degrees(edge[np.broadcast_to(roof <= half_notch, edge.shape)][0])
        raise InputError(f"a centre-edge angle of {worst:.0f} deg leaves no surface in the socket")
    normals, areas = sphere_facets(steps)
    width = np.pi / 2 / steps
    open_band = _covered((from_notch(normals, axis) - half_notch) / width)
    floor_to_rim = rim_angle(roof[:, None], turn_beside(normals[None], axis[:, None], edge[:, None]))
    behind = _covered((np.arccos(np.clip(axis @ normals.T, -1, 1)) - np.pi + floor_to_rim) / width)
    area = areas * open_band * behind
    used = area.max(axis=0) > 0.0
    return normals[used], area[:, used]


def _covered(distance: Array) -> Array:
    """Part of a facet that lies inside an edge, from its distance in facet widths."""
    return np.clip(0.5 + distance, 0.0, 1.0)


def from_notch(normals: Array, axis: Array) -> Array:
    """Angle (N, F) of each direction from the arc that runs from the socket's floor out through the notch, rad."""
    down = np.array([0.0, -1.0, 0.0])
    across = down - (axis @ down)[:, None] * axis
    across /= np.linalg.norm(across, axis=1, keepdims=True)
    out, notch = normals @ axis.T, normals @ across.T
    along = np.clip(np.arctan2(notch, -out), 0.0, np.pi / 2 + _PAST_RIM)
    return np.asarray(np.arccos(np.clip(np.sin(along) * notch - np.cos(along) * out, -1.0, 1.0)).T)


@lru_cache
def sphere_facets(steps: int) -> tuple[Array, Array]:
    """Unit normals (F, 3) and areas (F,) of nearly square facets that cover a unit sphere."""
    normals, areas = [], []
    edges = np.linspace(0.0, np.pi, 2 * steps + 1)
    for low, high in itertools.pairwise(edges):
        middle = (low + high) / 2
        count = max(4, round(4 * steps * np.sin(middle)))
        turn = (np.arange(count) + 0.5) * 2 * np.pi / count
        normals.append(
            np.stack([np.sin(middle) * np.cos(turn), np.full(count, np.cos(middle)), np.sin(middle) * np.sin(turn)], -1)
        )
        areas.append(np.full(count, 2 * np.pi * (np.cos(low) - np.cos(high)) / count))
    return np.concatenate(normals), np.concatenate(areas)


def facets_of_mesh(points: ArrayLike, triangles: ArrayLike, labelled: ArrayLike, head: ArrayLike) -> Facets:
    """Facets of a mesh's labelled triangles, normals turned away from the head's centre.

    Parameters
    ----------
    points : (V, 3) m. triangles : (T, 3) indices. labelled : (T,) True on the articular surface.
    head : (3,) centre of the head, m.

    Raises
    ------
    InputError : no triangle is labelled, or one has no area.
    """
    at, which = np.asarray(points, dtype=float), np.asarray(triangles)[np.asarray(labelled, dtype=bool)]
    if len(which) == 0:
        raise InputError("no triangle of the socket is labelled as articular")
    corner = at[which]
    cross = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    length = np.linalg.norm(cross, axis=1)
    if not bool((length > 0.0).all()):
        raise InputError("a labelled triangle of the socket has no area")
    centre = corner.mean(axis=1)
    out = cross / length[:, None]
    away = np.sign(((centre - np.asarray(head, dtype=float)) * out).sum(axis=1))
    return centre, out * np.where(away < 0.0, -1.0, 1.0)[:, None], length / 2.0
