"""A leg's chain alone: where sole and joints are, and how each joint angle moves them.

Question answered: where are heel, ball and toe of one foot at these angles, and which way does each angle move them?

The same chain as :func:`viz3d.kinematics.chain.pose`, for one leg, with its Jacobian in closed form: an angle turns all
that hangs on it about that angle's axis. Angles of a frame, in this order: hip flexion, adduction, rotation; knee
flexion; ankle flexion, adduction, rotation; in the senses of :mod:`viz3d.kinematics.angles`. World frame of the chain.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import RIGHT
from viz3d.body.person import Body
from viz3d.body.segments import lengths
from viz3d.kinematics.angles import rotation, sensed
from viz3d.kinematics.chain import KNEE
from viz3d.tables import load_values

ANGLES = (("hips", 0), ("hips", 1), ("hips", 2), ("knees", 0), ("ankles", 0), ("ankles", 1), ("ankles", 2))
"""Field and axis of each angle."""
HEEL, BALL, TOE = 0, 1, 2
"""Points of a sole, in the order of their axis."""


@dataclass(frozen=True)
class Leg:
    """One leg's lengths, m: hip centre (3,) in the pelvis, thigh, shank, and the sole's points (3, 3) in the foot."""

    side: str
    hip: Array
    thigh: float
    shank: float
    sole: Array


def leg_of(body: Body, side: str) -> Leg:
    """One leg of the first person of a body."""
    hip, size = body.hip(side), lengths(body)
    out = 1.0 if side == RIGHT else -1.0
    centre = np.array([0.0, float(hip.socket_up[0]), out * float(body.hip_spacing[0] / 2 + hip.socket_out[0])])
    shank = float(size.shank[0] - hip.shortening[0])
    return Leg(side, centre, float(size.thigh[0]), shank, sole_points(float(size.foot[0]), float(size.ankle[0])))


def same_legs(one: Leg, other: Leg) -> bool:
    """True where two legs are each other's mirror image."""
    mirrored = one.hip * np.array([1.0, 1.0, -1.0])
    return bool(np.allclose(mirrored, other.hip, rtol=0.0, atol=1e-12)) and one.shank == other.shank


def sole_points(foot: float, ankle: float) -> Array:
    """Where heel, ball and toe tip touch the floor under a flat foot, (3, 3) m from the ankle."""
    of = load_values("viz3d.motion", "motion.toml")
    return np.array([[of[f"sole.{name}"] * foot, -ankle, 0.0] for name in ("heel", "ball", "toe")])


def sole_of(leg: Leg, root: Array, pelvis: Array, angles: Array) -> tuple[Array, Array]:
    """Points of the sole and their Jacobian.

    Parameters
    ----------
    root : (F, 3). pelvis : (F, 3, 3) turn in space. angles : (F, 7) as :data:`ANGLES`.

    Returns
    -------
    (F, 3 points, 3) world, m; (F, 3 points, 3, 7) m/rad.
    """
    zero = np.zeros((len(root), 2))
    ways = np.ones(7)
    ways[[1, 2, 5, 6]] = 1.0 if leg.side == RIGHT else -1.0
    ways[3] = KNEE
    hip = root + pelvis @ leg.hip
    parts = (angles[:, 0:3], np.concatenate([angles[:, 3:4], zero], axis=1), angles[:, 4:7])
    turned, at, axes, origins = pelvis, hip, [], []
    for part, bends, down in zip(parts, (1.0, KNEE, 1.0), (leg.thigh, leg.shank, 0.0), strict=True):
        own = sensed(part, leg.side, bends)
        some = _axes(turned, own)
        axes += [some[0]] if bends == KNEE else list(some)
        origins += [at] * (1 if bends == KNEE else 3)
        turned = turned @ rotation(own)
        at = at - down * turned[:, :, 1]
    points = at[:, None] + np.einsum("fij,pj->fpi", turned, leg.sole)
    moved = [
        np.cross(axis[:, None], points - origin[:, None]) * way
        for axis, origin, way in zip(axes, origins, ways, strict=True)
    ]
    return points, np.stack(moved, axis=-1)


def _axes(carrying: Array, angles: Array) -> tuple[Array, Array, Array]:
    """World axes (F, 3) that three Cardan angles (F, 3) turn about."""
    flat = np.zeros_like(angles)
    flat[:, 0] = angles[:, 0]
    first = carrying @ rotation(flat)
    flat[:, 1] = angles[:, 1]
    both = carrying @ rotation(flat)
    return carrying[:, :, 2], first[:, :, 0], both[:, :, 1]
