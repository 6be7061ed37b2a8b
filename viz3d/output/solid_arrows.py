"""Arrows as solids in space, to one scale: for files and windows that are turned.

Question answered: where does an arrow of this force stand, how is it turned, and how large are its parts?

An arrow points along y before it is turned. Metres; turns as unit quaternions (x, y, z, w).
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.stage.plan import Arrow, Plan

METRES_PER_WEIGHT = 0.15
"""Length of an arrow of one body weight, m."""
SHORTEST = 0.004
"""Shorter arrows are not drawn, m."""
SHAFT, HEAD, POINT = 0.0055, 0.015, 0.036
"""Radius of an arrow's shaft and head, and length of its head, m."""


def arrow_pose(plan: Plan, arrow: Arrow, per_weight: float = METRES_PER_WEIGHT) -> tuple[Array, Array, Array]:
    """Tail (N, 3), turn from the y axis (N, 4, x y z w) and length (N,) m of an arrow to scale.

    ``per_weight``: length of one body weight, m.
    """
    reach = arrow.force * (per_weight / plan.body_weight)
    length = np.linalg.norm(reach, axis=1)
    tail = arrow.point - reach if arrow.holds == "tip" else arrow.point
    safe = np.where(length[:, None] > 1e-9, reach / np.maximum(length, 1e-9)[:, None], [0.0, 1.0, 0.0])
    axis = np.cross(np.broadcast_to([0.0, 1.0, 0.0], safe.shape), safe)
    turn = np.concatenate([axis, 1.0 + safe[:, 1:2]], axis=1)
    straight = np.linalg.norm(turn, axis=1) < 1e-6
    turn[straight] = [1.0, 0.0, 0.0, 0.0]
    return tail, continuous(turn / np.linalg.norm(turn, axis=1, keepdims=True)), length


def arrow_parts(length: Array) -> tuple[Array, tuple[Array, Array]]:
    """Scale of the shaft (N, 3); place and scale of the head (N, 3) each: short arrows are slimmer as well."""
    small = np.clip(length / (2.0 * POINT), 1e-5, 1.0)
    straight = np.maximum(length - POINT * small, 1e-5)
    zero = np.zeros_like(length)
    at = np.stack([zero, straight, zero], axis=-1)
    return np.stack([small, straight, small], axis=-1), (at, np.repeat(small[:, None], 3, axis=1))


def continuous(turns: Array) -> Array:
    """The same turns with signs that do not flip from one to the next."""
    flips = np.cumprod(np.where((turns[1:] * turns[:-1]).sum(axis=1) < 0.0, -1.0, 1.0))
    return np.concatenate([turns[:1], turns[1:] * flips[:, None]])
