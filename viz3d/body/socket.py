"""The socket: which way it faces, and how far its bowl reaches in each direction about that axis.

Question answered: at which angle from the socket's floor does its rim lie, over the roof and at the front and back?

Inclination is read in the frontal plane, as on a front radiograph; version in the horizontal plane, as on a CT slice.
Over the roof the rim is set by the centre-edge angle. At front and back it rises beyond the plane through that edge,
as the walls of real sockets do. One rule for the drawn bone, its cartilage and the pressure solve. Angles in radians,
seen from the head's centre.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from viz3d.arrays import Array
from viz3d.body.person import geometry_rows
from viz3d.tables import load_values


def socket_axis(inclination: ArrayLike, version: ArrayLike) -> Array:
    """Unit vectors (..., 3) out of the socket: outward, forward, down; angles (...) in radians.

    ``inclination`` lies between the rim plane and the horizontal, seen from the front; ``version`` between the axis
    and the line through both hips, seen from above.
    """
    tilt, turn = np.asarray(inclination, dtype=float), np.asarray(version, dtype=float)
    axis = np.stack(np.broadcast_arrays(np.sin(tilt) * np.tan(turn), -np.cos(tilt), np.sin(tilt)), axis=-1)
    return np.asarray(axis / np.linalg.norm(axis, axis=-1, keepdims=True))


def socket_angles(axis: Array) -> tuple[float, float]:
    """Inclination and version of an axis (3,): the inverse of :func:`socket_axis`, rad."""
    return float(np.arctan2(axis[2], -axis[1])), float(np.arctan2(axis[0], axis[2]))


def roof_angle(axis: Array, edge: ArrayLike) -> Array:
    """Angle (...) between floor and rim over the roof, for axes (..., 3) and centre-edge angles (...), rad."""
    edge = np.asarray(edge, dtype=float)
    return np.asarray(np.arccos(-(np.cos(edge) * axis[..., 1] + np.sin(edge) * axis[..., 2])))


def roof_edge(edge: ArrayLike, obliquity: ArrayLike) -> Array:
    """Where the same rim lies in space, (...) rad from the vertical outward: it turns with the pelvis.

    ``edge`` is the centre-edge angle, read with a level pelvis; ``obliquity`` is positive where the other side drops.
    """
    return np.asarray(np.asarray(edge, dtype=float) - np.asarray(obliquity, dtype=float))


def rim_angle(roof: Array | float, beside: Array) -> Array:
    """Angle between floor and rim.

    Parameters
    ----------
    roof : the angle where the rim crosses the frontal plane, over the roof.
    beside : squared sine of the direction's turn about the axis away from there: 0 over the roof, 1 front and back.
    """
    rise = np.radians(geometry_rows()["rim_rise"].value)
    most = np.radians(load_values("viz3d.body.tables", "socket.toml")["rim_most"])
    return np.asarray(np.minimum(roof + rise * beside, np.maximum(roof, most)))


def turn_beside(directions: Array, axis: Array, edge: Array | float) -> Array:
    """``beside`` of :func:`rim_angle` for directions (..., 3) about an axis (..., 3), with the centre-edge angle.

    Notes
    -----
    The roof's direction stands square to the axis, so products of three numbers are all that is needed of directions,
    and no array of theirs is as large as people times facets times three.
    """
    edge = np.asarray(edge, dtype=float)
    roof = np.stack([np.zeros_like(edge), np.cos(edge), np.sin(edge)], axis=-1)
    roof = roof - (roof * axis).sum(axis=-1, keepdims=True) * axis
    roof /= np.linalg.norm(roof, axis=-1, keepdims=True)
    along = np.einsum("...i,...i->...", directions, axis)
    flat = np.einsum("...i,...i->...", directions, directions) - along**2
    cosine = np.einsum("...i,...i->...", directions, roof) ** 2 / np.maximum(flat, 1e-24)
    return np.asarray(np.clip(1.0 - cosine, 0.0, 1.0))
