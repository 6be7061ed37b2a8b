"""Solids of a socket: its bowl, what stands open before it, its fossa.

Question answered: where is bone kept within a rim about the socket's centre, and where is it carved away?

Distances as in :mod:`viz3d.shapes.fields`; millimetres, angles in radians seen from the socket's centre.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from viz3d.arrays import Array
from viz3d.shapes.fields import Distance, Solid, smooth_minimum


def cup(centre: ArrayLike, radius: float, axis: ArrayLike, rim: Callable[[Array], Array], beyond: float) -> Solid:
    """A ball kept within ``beyond`` mm of a rim, given as the angle from the floor for directions (P, 3)."""
    c = np.asarray(centre, dtype=float)

    def distance(points: Array) -> Array:
        round_ = np.linalg.norm(points - c, axis=1) - radius
        return np.asarray(-smooth_minimum(-round_, -(_past_rim(points - c, axis, rim) - beyond), 4.0))

    return Solid(distance, c - radius - 1, c + radius + 1)


def _past_rim(offset: Array, axis: ArrayLike, rim: Callable[[Array], Array]) -> Array:
    """How far points lie beyond the cone through a rim, mm; negative on the floor's side."""
    far = np.linalg.norm(offset, axis=1)
    from_floor = np.arccos(np.clip(-(offset @ np.asarray(axis)) / np.maximum(far, 1e-9), -1.0, 1.0))
    return np.asarray(far * np.sin(np.clip(from_floor - rim(offset), -np.pi / 2, np.pi / 2)))


def mouth(centre: ArrayLike, radius: float, axis: ArrayLike, rim: Callable[[Array], Array], beyond: float) -> Solid:
    """What stands open before a socket of a radius: a cone that widens along ``axis`` from its rim."""
    c, a = np.asarray(centre, dtype=float), np.asarray(axis, dtype=float)
    reach = radius + 34.0

    def distance(points: Array) -> Array:
        offset = points - c
        ahead = offset @ a
        aside = np.linalg.norm(offset - ahead[:, None] * a, axis=1)
        edge = rim(offset)
        cone = (aside - radius * np.sin(edge) - 1.0 - 0.55 * np.maximum(ahead + radius * np.cos(edge), 0.0)) * 0.87
        return np.asarray(np.maximum(np.maximum(cone, beyond - _past_rim(offset, a, rim)), ahead - reach))

    return Solid(distance, c - 2 * reach, c + 2 * reach)


def hollow(
    centre: ArrayLike, axis: ArrayLike, towards: ArrayLike, radii: tuple[float, float], half_width: float,
    rough: Distance | None = None,
) -> Solid:  # fmt: skip
    """The fossa of a socket: a floor that follows the socket's sphere, with steep walls, out through the notch.

    Parameters
    ----------
    axis, towards : unit vectors out of the socket and, square to it, from its floor to the notch.
    radii : of the floor deep in the socket, and of what is left of it beyond the notch.
    half_width : angle between the walls and the arc from the floor through the notch, seen from ``centre``, rad.
    rough : height (P,) of what makes the floor uneven at (P, 3) points.

    Notes
    -----
    The floor comes up between 65 and 125 degrees from the socket's deepest point; its corners are rounded by 2 mm.
    """
    c, a, n = (np.asarray(v, dtype=float) for v in (centre, axis, towards))
    first, last = np.radians(65.0), np.radians(125.0)

    def distance(points: Array) -> Array:
        offset = points - c
        far = np.linalg.norm(offset, axis=1)
        out, down = offset @ a, offset @ n
        aside = np.sqrt(np.maximum(far**2 - out**2 - down**2, 0.0))
        off = np.where(down > 0.0, aside, np.hypot(aside, down))
        turn = np.arctan2(off, np.where(down > 0.0, np.hypot(out, down), -out))
        wall = far * np.sin(np.clip(turn - half_width, -np.pi / 2, np.pi / 2))
        share = np.clip((np.arctan2(down, -out) - first) / (last - first), 0.0, 1.0)
        share = np.where(down > 0.0, share * share * (3.0 - 2.0 * share), 0.0)
        floor = far - (radii[0] + (radii[1] - radii[0]) * share)
        if rough is not None:
            floor = floor + rough(points)
        return np.asarray(-smooth_minimum(-floor, -wall, 2.0))

    reach = max(radii) + 2.0
    return Solid(distance, c - reach, c + reach)
