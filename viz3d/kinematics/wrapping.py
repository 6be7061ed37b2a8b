"""Paths round smooth bones: where a taut line between two points touches a sphere, an ellipsoid or a cylinder.

Question answered: does the straight line between P and Q have to bend round this surface, and where does it
leave it on either side?

Without friction a muscle is taut along the shortest path. Sphere and cylinder: exact (great circle; helix).
Ellipsoid: scaled to a sphere, so the path lies in the plane through both points and the centre; a geodesic only
when the radii are equal, otherwise slightly longer. Points inside a surface leave the line straight.
All arrays (N, 3) metres, any one frame; leading axes broadcast. Called by :mod:`viz3d.kinematics.muscle_paths`.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array

_TINY = 1e-12


@dataclass(frozen=True)
class Bend:
    """A path from P to Q round a surface; where it is straight both touching points lie on the line at Q."""

    first: Array
    """(N, 3) where the path from P touches."""
    last: Array
    """(N, 3) where it leaves towards Q."""
    wraps: NDArray[np.bool_]
    length: Array
    """(N,) of the whole path, m."""
    arc: Array
    """(N, A, 3) points of the path round the surface, first to last; of its middle where it is straight."""


BARE = 2
"""Points of an arc where only its ends are wanted."""


def _straight(start: Array, end: Array, points: int) -> Bend:
    count = np.broadcast_shapes(start.shape, end.shape)[0]
    ends = np.broadcast_to(end, (count, 3))
    length = np.linalg.norm(end - start, axis=-1)
    share = np.linspace(0.3, 0.7, points)[:, None]
    middle = start[:, None] * (1.0 - share) + end[:, None] * share
    return Bend(ends, ends, np.zeros(count, dtype=bool), np.broadcast_to(length, (count,)), middle)


def _bent(wraps: NDArray[np.bool_], arc: Array, length: Array, plain: Bend) -> Bend:
    """The bent path where it wraps, the straight one elsewhere."""
    pick = wraps[:, None]
    return Bend(
        np.where(pick, arc[:, 0], plain.first), np.where(pick, arc[:, -1], plain.last), wraps,
        np.where(wraps, length, plain.length), np.where(pick[..., None], arc, plain.arc),
    )  # fmt: skip


def round_ellipsoid(start: Array, end: Array, centre: Array, axes: Array, radii: Array, points: int = BARE) -> Bend:
    """The path round an ellipsoid, in the plane of both points and its centre.

    Parameters
    ----------
    start, end, centre : (N, 3). axes : (N, 3, 3) columns are the ellipsoid's unit axes. radii : (N, 3).
    points : of the arc, 2 or more.

    Returns
    -------
    Bend; the length is exact where the three radii are equal.

    Examples
    --------
    >>> import numpy as np
    >>> p, q, o = np.array([[-2.0, 0.5, 0]]), np.array([[2.0, 0.5, 0]]), np.zeros((1, 3))
    >>> b = round_ellipsoid(p, q, o, np.eye(3)[None], np.ones((1, 3)))
    >>> bool(b.wraps[0]), b.first.round(3).tolist()
    (True, [[-0.258, 0.966, 0.0]])
    """
    plain = _straight(start, end, points)
    p = np.einsum("nij,ni->nj", axes, start - centre) / radii
    q = np.einsum("nij,ni->nj", axes, end - centre) / radii
    p, q = np.broadcast_arrays(p, q)
    far_p, far_q = np.linalg.norm(p, axis=-1), np.linalg.norm(q, axis=-1)
    outside = (far_p > 1.0) & (far_q > 1.0)
    u = p / np.maximum(far_p, _TINY)[:, None]
    across = q - (q * u).sum(axis=-1, keepdims=True) * u
    width = np.linalg.norm(across, axis=-1)
    v = across / np.maximum(width, _TINY)[:, None]
    angle = np.arctan2(width, (q * u).sum(axis=-1))
    leave = np.arccos(1.0 / np.maximum(far_p, 1.0))
    land = angle - np.arccos(1.0 / np.maximum(far_q, 1.0))
    wraps = outside & (land > leave) & (width > _TINY)

    def at(turn: Array) -> Array:
        on_unit = np.cos(turn)[:, None] * u + np.sin(turn)[:, None] * v
        return np.asarray(np.einsum("nij,nj->ni", axes, on_unit * radii) + centre)

    arc = np.stack([at(leave + (land - leave) * share) for share in np.linspace(0.0, 1.0, points)], axis=1)
    first, last = arc[:, 0], arc[:, -1]
    length = np.linalg.norm(first - start, axis=-1) + np.linalg.norm(end - last, axis=-1)
    length = length + _section_length(at, leave, land)
    return _bent(wraps, arc, length, plain)


def _section_length(at: object, low: Array, high: Array, pieces: int = 24) -> Array:
    """Length of the arc between two parameters, by chords with Richardson's extrapolation, (N,)."""
    assert callable(at)

    def chords(count: int) -> Array:
        points = [at(low + (high - low) * k / count) for k in range(count + 1)]
        return np.asarray(sum(np.linalg.norm(b - a, axis=-1) for a, b in itertools.pairwise(points)))

    return np.asarray((4.0 * chords(2 * pieces) - chords(pieces)) / 3.0)


def round_cylinder(
    start: Array, end: Array, centre: Array, axis: Array, radius: Array, side: Array, points: int = BARE
) -> Bend:
    """The shortest path round a cylinder on a chosen side of its axis: straight, or along a helix.

    Parameters
    ----------
    start, end, centre, axis : (N, 3), axis a unit vector. radius : (N,). side : (N, 3) the path keeps to this side.
    points : of the arc, 2 or more.

    Notes
    -----
    Seen along the axis the path is two tangents and an arc; along the axis it rises evenly with that length.
    """
    plain = _straight(start, end, points)
    out = side - (side * axis).sum(axis=-1, keepdims=True) * axis
    out = out / np.linalg.norm(out, axis=-1, keepdims=True)
    aside = np.cross(axis, out)

    def flat(point: Array) -> tuple[Array, Array, Array]:
        local = point - centre
        return (local * out).sum(axis=-1), (local * aside).sum(axis=-1), (local * axis).sum(axis=-1)

    (px, py, pz), (qx, qy, qz) = flat(start), flat(end)
    far_p, far_q = np.hypot(px, py), np.hypot(qx, qy)
    sense = np.where(py <= qy, 1.0, -1.0)
    leave = np.arctan2(py, px) + sense * np.arccos(np.minimum(radius / np.maximum(far_p, _TINY), 1.0))
    land = np.arctan2(qy, qx) - sense * np.arccos(np.minimum(radius / np.maximum(far_q, _TINY), 1.0))
    turn = np.mod(sense * (land - leave), 2.0 * np.pi)
    wraps = (far_p > radius) & (far_q > radius) & (turn < np.pi)
    legs = [np.sqrt(np.maximum(far**2 - radius**2, 0.0)) for far in (far_p, far_q)]
    arc = radius * turn
    whole = legs[0] + arc + legs[1]
    rise = (qz - pz) / np.maximum(whole, _TINY)

    def at(angle: Array, height: Array) -> Array:
        on_circle = radius[:, None] * (np.cos(angle)[:, None] * out + np.sin(angle)[:, None] * aside)
        return np.asarray(centre + on_circle + height[:, None] * axis)

    low, high = pz + rise * legs[0], qz - rise * legs[1]
    shares = np.linspace(0.0, 1.0, points)
    found = np.stack([at(leave + sense * turn * share, low + (high - low) * share) for share in shares], axis=1)
    return _bent(wraps, found, np.hypot(whole, qz - pz), plain)
