"""What hangs on the body, and where, before it is balanced: masses, legs, trunk, arms.

Question answered: which masses does each part have, and which first moment about the stance hip do trunk, head, loads,
free arms and a hanging leg make in this posture?

Stance and swing side may differ in leg length, hip centre and mass. Axes: l outward from the stance side, y up.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.body.landmarks import pelvis_landmark
from viz3d.body.person import Body
from viz3d.body.segment_tables import SEGMENTS
from viz3d.body.segments import Lengths, central_com_heights, com_fractions, mass_fractions
from viz3d.kinematics.carried import THINGS
from viz3d.kinematics.posture import Posture
from viz3d.kinematics.reach import free_arm_angle


@dataclass(frozen=True)
class LegPair:
    """Stance and swing leg with their own lengths and hips, (N,) or (1,) metres."""

    stance_shank: Array
    swing_shank: Array
    stance_ankle: Array
    """Height of the ankle above the floor, lift counted."""
    swing_ankle: Array
    stance_hip: Array
    """(N, 2) lateral (outward) and up, from the middle of the usual hip centres, in the pelvis."""
    swing_hip: Array
    """(N, 2) the same for the other hip: lateral is negative."""
    thigh: Array

    @property
    def stance_length(self) -> Array:
        """Ankle to hip of the stance leg."""
        return self.stance_shank + self.thigh


@dataclass(frozen=True)
class Masses:
    """Masses that do not depend on the inclination; (N,) unless noted."""

    arm: Array  # (N, 2, 3) upper arm, forearm, hand of the stance-side and the other arm
    arm_com: Array  # (N, 3) fractions
    swing_leg: Array  # (N, 3)
    leg_com: Array
    central: Array  # (N, 5) lower, middle, upper trunk, head; head-arms-trunk
    above: Array  # everything except the stance limb, without loads
    leg_moment: Array  # Σ m r of the stance limb, r from the ankle along the leg


def _pick(on_right: Flags, right: Array, left: Array) -> Array:
    """The right side's values where ``on_right``; as they are where all agree."""
    if on_right.all():
        return right
    if not on_right.any():
        return left
    extra = (1,) * (np.ndim(right) - 1)
    return np.where(on_right.reshape(-1, *extra), right, left)


def leg_pair(body: Body, posture: Posture, size: Lengths) -> LegPair:
    """Lengths, ankle heights and hip centres of stance and swing leg."""
    on, half = posture.on_right, body.hip_spacing / 2

    def both(name: str) -> tuple[Array, Array]:
        right, left = getattr(body.right, name), getattr(body.left, name)
        return _pick(on, right, left), _pick(on, left, right)

    short, out, up = both("shortening"), both("socket_out"), both("socket_up")
    return LegPair(
        size.shank - short[0],
        size.shank - short[1],
        size.ankle + posture.heel_lift[:, 0],
        size.ankle + posture.heel_lift[:, 1],
        np.stack(np.broadcast_arrays(half + out[0], up[0]), axis=-1),
        np.stack(np.broadcast_arrays(-half - out[1], up[1]), axis=-1),
        size.thigh,
    )


def tilted(points: Array, obliquity: Array) -> Array:
    """Lateral and height (N, 2) of pelvis points when the swing side is ``obliquity`` lower."""
    c, s = np.cos(obliquity), np.sin(obliquity)
    lateral, up = points[..., 0], points[..., 1]
    return np.stack([lateral * c - up * s, up * c + lateral * s], axis=-1)


def part_masses(body: Body, posture: Posture, size: Lengths, leg: LegPair) -> Masses:
    """Masses of the body's parts by stance and swing side."""
    com = com_fractions(body)
    kg = mass_fractions(body) * body.mass[:, None]

    def limb(side: str, names: tuple[str, ...]) -> Array:
        return kg[:, [SEGMENTS.index(f"{side}_{n}") for n in names]]

    arms, legs = ("upper_arm", "forearm", "hand"), ("thigh", "shank", "foot")
    arm = [limb(side, arms) for side in ("right", "left")]
    both = [limb(side, legs) for side in ("right", "left")]
    stance_leg = _pick(posture.on_right, both[0], both[1])
    at = [SEGMENTS.index(f"left_{n}") for n in legs]
    from_ankle = np.stack(
        np.broadcast_arrays(
            leg.stance_length - com[:, at[0]] * size.thigh,
            leg.stance_shank * (1.0 - com[:, at[1]]),
            0.0,
        ),
        axis=-1,
    )
    middle = [SEGMENTS.index(n) for n in ("lower_trunk", "mid_trunk", "upper_trunk", "head", "head_arms_trunk")]
    return Masses(
        np.stack([_pick(posture.on_right, arm[0], arm[1]), _pick(posture.on_right, arm[1], arm[0])], axis=1),
        com[:, [SEGMENTS.index(f"left_{n}") for n in arms]],
        _pick(posture.on_right, both[1], both[0]),
        com[:, at],
        kg[:, middle],
        body.mass - stance_leg.sum(axis=1),
        (stance_leg * from_ankle).sum(axis=1),
    )


@dataclass(frozen=True)
class Trunk:
    """What leans above the pelvis, relative to the stance hip: lateral and up, (N, ...) m."""

    moment: Array
    """(N,) mass moment about the stance hip with free arms and a hanging swing leg, kg m."""
    shoulder: Array
    """(N, 2, 2) of the stance side and the other side."""
    carried: dict[str, Array]
    """Centre of each carried thing, (N, 2)."""


def lean_over(body: Body, posture: Posture, size: Lengths, masses: Masses, leg: LegPair) -> Trunk:
    """Mass moment about the stance hip with free arms and a hanging swing leg; shoulders and carried things."""
    lean = np.sin(posture.lean)
    upright = np.cos(posture.lean)
    heights = central_com_heights(body) - size.hip[:, None]
    pivot = pelvis_landmark("lumbosacral", body)[:, 1]
    zero = np.zeros_like(pivot)

    def on_pelvis(up: Array) -> Array:
        points = np.stack(np.broadcast_arrays(zero, up), axis=-1) - leg.stance_hip
        return tilted(points, posture.obliquity)

    base = on_pelvis(pivot) + np.stack([posture.trunk_shift, np.zeros(len(posture))], axis=-1)
    pelvic = on_pelvis(heights[:, 0])[:, 0]
    heavy = masses.central
    moment = heavy[:, 0] * pelvic
    for k in range(1, heavy.shape[1]):
        moment = moment + heavy[:, k] * (base[:, 0] + (heights[:, k] - pivot) * lean)
    carried = {}
    for thing in THINGS:
        up = thing.height(size) - size.hip
        if thing.on_pelvis:
            at = np.broadcast_to(on_pelvis(up), (len(posture), 2))
        else:
            at = np.stack([base[:, 0] + (up - pivot) * lean, base[:, 1] + (up - pivot) * upright], axis=-1)
        carried[thing.key] = at
        moment = moment + thing.mass(posture) * at[:, 0]
    reach_up = size.shoulder - size.hip - pivot
    offset = size.half_shoulder[:, None] * np.array([1.0, -1.0])
    shoulder_l = (base[:, 0] + reach_up * lean)[:, None] + offset * upright[:, None]
    shoulder_y = (base[:, 1] + reach_up * upright)[:, None] - offset * lean[:, None]
    hanging = masses.arm.sum(axis=2) + posture.bag_mass
    moment = moment + (hanging * shoulder_l).sum(axis=1)
    if lean.any():
        below = _hanging_moment(posture, size, masses) * np.sin(free_arm_angle(posture))
        moment = moment - np.where(posture.has_cane, 0.0, below).sum(axis=1)
    hip = tilted(leg.swing_hip - leg.stance_hip, posture.obliquity)
    moment = moment + hip[:, 0] * masses.swing_leg.sum(axis=1)
    return Trunk(moment, np.stack([shoulder_l, shoulder_y], axis=-1), carried)


def free_wrists(posture: Posture, size: Lengths, shoulder: Array) -> Array:
    """(N, 2, 2) wrists of arms that hang from their ``shoulder``: lateral and up, m."""
    angle = free_arm_angle(posture)
    down = (size.upper_arm + size.forearm)[:, None, None] * np.stack([np.sin(angle), np.cos(angle)], axis=-1)
    return np.asarray(shoulder - down)


def _hanging_moment(posture: Posture, size: Lengths, masses: Masses) -> Array:
    """(N, 2) first moment of mass of a hanging arm and its bag below the shoulder, kg m."""
    elbow, wrist = size.upper_arm, size.upper_arm + size.forearm
    at = np.stack(
        [
            masses.arm_com[:, 0] * size.upper_arm,
            elbow + masses.arm_com[:, 1] * size.forearm,
            wrist + masses.arm_com[:, 2] * size.hand,
        ],
        axis=-1,
    )
    return np.asarray((masses.arm * at[:, None, :]).sum(axis=2) + posture.bag_mass * wrist[:, None])
