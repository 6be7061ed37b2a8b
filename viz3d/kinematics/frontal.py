"""Balance in the frontal plane, in closed form, for a whole batch.

Question answered: how far does the body shift sideways so that it does not fall, and where do the weights
and hand forces then act relative to the stance hip?

Model: a chain of rigid segments with angles given in space. The centre of pressure stays under the foot's
midline. Moments about it are linear in the sine s of the stance leg's inclination,

    s = (Σ C l_tip + G₂ l₂ − g Σ m l) / (g (m_u L + Σ m_leg r)),

with C the cane forces at their planted tips, G₂ the other foot's ground force, Σ m l the first moment of
mass of everything above the stance hip about that hip, m_u its mass, L the leg's length and r distances
along it. Only an arm that holds a planted cane makes Σ m l depend on s; that is met by fixed-point steps
(each gains about a factor of thirty).

Left out: motion, sideways ground force other than what a tilted cane needs, bending of the stance knee.
Axes: l outward from the stance side, y up; origin under the stance foot's midline on the floor.
Called by :mod:`viz3d.statics` (through :class:`Stance`) and :mod:`viz3d.kinematics.chain`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.body.landmarks import pelvis_landmark
from viz3d.body.person import Array, Body
from viz3d.body.segments import (
    SEGMENTS,
    Lengths,
    central_com_heights,
    com_fractions,
    lengths,
    mass_fractions,
)
from viz3d.kinematics.posture import STANCE_HAND, SWING_HAND, Flags, Posture, posture_rows
from viz3d.units import GRAVITY

LARGEST_TILT = 0.5
"""Sine of the largest stance-leg inclination taken seriously (30 degrees)."""
_STEPS = 40
_INWARD = np.array([-1.0, 1.0])
"""Sign of the lateral direction from each hand towards the midline: stance hand, swing hand."""


@dataclass(frozen=True)
class Stance:
    """A balanced batch: what statics needs. Lateral and height arrays (N,), per hand (N, 2); SI.

    Positions marked "from hip" are relative to the stance hip centre.
    """

    posture: Posture
    sine: Array
    """Sine of the stance leg's inclination, positive with the hip outward of the foot."""
    hip_lateral: Array
    hip_height: Array
    mass_above: Array
    """Mass of everything except the stance limb, bags included, kg."""
    mass_moment: Array
    """First moment of that mass about the stance hip, kg m, lateral positive."""
    hand_force: Array
    """(N, 2, 2) force on each hand: lateral, up; N."""
    tip_lateral: Array
    """(N, 2) cane tips on the floor."""
    handle: Array
    """(N, 2, 2) cane handles: lateral, height above the floor."""
    other_foot_force: Array
    other_foot_lateral: Array
    """Other foot's ground force and place, relative to the stance foot's midline."""
    pressure_shift: Array
    """Centre of pressure needed, from the foot's midline, m; zero when balance found the inclination."""
    fall_miss: Array
    """How far outside the foot that is, m; zero when the posture can be held. Where a foot would lift off or a
    cane would have to pull, at least half the foot's breadth."""
    reach_short: Array
    """(N, 2) how far the cane's handle is beyond the hand's reach, m."""

    @property
    def inclination(self) -> Array:
        """Stance leg's inclination in space, radians."""
        return np.arcsin(np.clip(self.sine, -1.0, 1.0))

    @property
    def tip_from_hip(self) -> Array:
        """(N, 2) lateral place of each cane tip from the stance hip."""
        return self.tip_lateral - self.hip_lateral[:, None]

    @property
    def falls(self) -> Flags:
        """True where the posture would need a centre of pressure outside the foot."""
        return self.fall_miss > 0.0


@dataclass(frozen=True)
class _Masses:
    """Masses and distances that do not depend on the inclination; (N,) unless noted."""

    arm: Array  # (N, 3) one arm: upper arm, forearm, hand
    arm_com: Array  # (N, 3) fractions
    leg: Array  # (N, 3)
    leg_com: Array
    above: Array  # everything except the stance limb, without bags
    leg_length: Array
    leg_moment: Array  # Σ m r of the stance limb, r from the ankle along the leg


def stand(body: Body, posture: Posture) -> Stance:
    """Balance every posture of the batch.

    Parameters
    ----------
    body : people, batch of N or 1.
    posture : N postures.

    Returns
    -------
    Stance, N situations. A posture that nobody could hold is marked, not refused.
    """
    size, masses = lengths(body), _masses(body)
    bags = posture.bag_mass.sum(axis=1)
    total = body.mass + bags
    above = masses.above + bags
    fixed, shoulder = _fixed_moment(body, posture, size, masses)
    tip = _planted_tips(body, posture, size, masses)
    handle = _handles(posture, tip, size)
    solve_hand = np.isnan(posture.cane_force) & posture.has_cane
    force = np.where(posture.has_cane, np.where(solve_hand, 0.0, posture.cane_force), 0.0)
    up = force * np.cos(posture.cane_tilt)
    other = -np.broadcast_to(body.hip_spacing, fixed.shape)
    stiffness = GRAVITY * (above * masses.leg_length + masses.leg_moment)

    def spare(moment: Array, lifted_force: Array) -> Array:
        other_force = (1.0 - posture.share) * (GRAVITY * total - lifted_force.sum(axis=1))
        drive = (lifted_force * tip).sum(axis=1) + other_force * other - GRAVITY * moment
        return np.asarray(drive)

    given = ~np.isnan(posture.inclination)
    sine = np.where(given, np.sin(np.nan_to_num(posture.inclination)), 0.0)
    depends = bool(posture.has_cane.any() or (posture.lifted < 1.0).any())
    if not depends and not given.any():
        moment, short = fixed, np.zeros_like(up)
        sine = spare(moment, up) / stiffness
    else:
        for _ in range(_STEPS):
            moment, short = _mass_moment(body, posture, size, masses, fixed, shoulder, handle, sine)
            following = np.where(given, sine, np.clip(spare(moment, up) / stiffness, -1.0, 1.0))
            done = bool(np.max(np.abs(following - sine), initial=0.0) < 1e-15)
            sine = following
            if done:
                break
    if solve_hand.any():
        lack = stiffness * sine - spare(moment, up)
        arm = (solve_hand * tip).sum(axis=1) - (1.0 - posture.share) * other
        found = np.where(solve_hand.any(axis=1), lack / np.where(arm == 0.0, np.nan, arm), 0.0)
        up = up + np.where(solve_hand, found[:, None], 0.0)
    return _assemble(
        body, posture, size, masses, (sine, moment, up, tip, handle, short, other, total, above, stiffness)
    )


def _assemble(body: Body, posture: Posture, size: Lengths, masses: _Masses, parts: tuple[Array, ...]) -> Stance:
    sine, moment, up, tip, handle, short, other, total, above, stiffness = parts
    other_force = (1.0 - posture.share) * (GRAVITY * total - up.sum(axis=1))
    side = up * np.tan(posture.cane_tilt) * _INWARD
    rest = (up * tip).sum(axis=1) + other_force * other - GRAVITY * moment - stiffness * sine
    under_foot = GRAVITY * total - up.sum(axis=1) - other_force
    lifts_off = ~(under_foot > 1e-9 * GRAVITY * total)
    shift = -rest / np.where(lifts_off, 1.0, under_foot)
    shift = np.where(np.abs(shift) < 1e-12, 0.0, shift)
    miss = np.maximum(np.abs(shift) - size.foot_breadth / 2, 0.0)
    too_far = np.abs(sine) > LARGEST_TILT
    pulls = (~(up >= -1e-9) & posture.has_cane).any(axis=1)
    miss = np.where(lifts_off | pulls, np.maximum(miss, size.foot_breadth / 2), miss)
    miss = np.where(too_far, np.maximum(miss, (np.abs(sine) - LARGEST_TILT) * masses.leg_length), miss)
    cosine = np.sqrt(np.maximum(1.0 - sine**2, 0.0))
    count = len(posture)
    return Stance(
        posture,
        sine,
        masses.leg_length * sine,
        size.ankle + masses.leg_length * cosine,
        np.broadcast_to(above, (count,)),
        moment,
        np.stack([side, up], axis=-1),
        tip,
        handle,
        other_force,
        other,
        shift,
        miss,
        np.where(posture.has_cane, short, 0.0),
    )


def _masses(body: Body) -> _Masses:
    fraction, com, size = mass_fractions(body), com_fractions(body), lengths(body)
    kg = fraction * body.mass[:, None]
    arm = [SEGMENTS.index(f"left_{n}") for n in ("upper_arm", "forearm", "hand")]
    leg = [SEGMENTS.index(f"left_{n}") for n in ("thigh", "shank", "foot")]
    leg_length = size.thigh + size.shank
    from_ankle = np.stack(
        [
            leg_length - com[:, leg[0]] * size.thigh,
            size.shank * (1.0 - com[:, leg[1]]),
            np.zeros_like(leg_length),
        ],
        axis=-1,
    )
    return _Masses(
        kg[:, arm],
        com[:, arm],
        kg[:, leg],
        com[:, leg],
        body.mass - kg[:, leg].sum(axis=1),
        leg_length,
        (kg[:, leg] * from_ankle).sum(axis=1),
    )


def _fixed_moment(body: Body, posture: Posture, size: Lengths, masses: _Masses) -> tuple[Array, Array]:
    """Mass moment about the stance hip with free arms and a hanging swing leg; shoulders (N, 2, 2)."""
    lean, drop = np.sin(posture.lean), np.sin(posture.obliquity)
    level = np.cos(posture.obliquity)
    kg = mass_fractions(body) * body.mass[:, None]
    central = [SEGMENTS.index(n) for n in ("lower_trunk", "mid_trunk", "upper_trunk", "head")]
    heavy = kg[:, [*central, SEGMENTS.index("head_arms_trunk")]]
    heights = central_com_heights(body) - size.hip[:, None]
    pivot = pelvis_landmark("lumbosacral", body)[:, 1]
    middle = -body.hip_spacing / 2 * level
    base = middle - pivot * drop
    pelvic = middle - heights[:, 0] * drop
    trunk = base[:, None] + (heights[:, 1:] - pivot[:, None]) * lean[:, None]
    reach = size.shoulder - size.hip - pivot
    offset = size.half_shoulder[:, None] * np.cos(posture.lean)[:, None] * np.array([1.0, -1.0])
    shoulder_l = (base + reach * lean)[:, None] + offset
    rise = -body.hip_spacing / 2 * drop + pivot * level + reach * np.cos(posture.lean)
    shoulder_y = rise[:, None] - size.half_shoulder[:, None] * lean[:, None] * np.array([1.0, -1.0])
    hanging = masses.arm.sum(axis=1)[:, None] + posture.bag_mass
    below = _hanging_moment(posture, size, masses) * np.sin(free_arm_angle(posture))
    swing = -body.hip_spacing * level * masses.leg.sum(axis=1)
    moment = heavy[:, 0] * pelvic + (heavy[:, 1:] * trunk).sum(axis=1) + (hanging * shoulder_l).sum(axis=1)
    moment = moment - np.where(posture.has_cane, 0.0, below).sum(axis=1)
    return moment + swing, np.stack([shoulder_l, shoulder_y], axis=-1)


def free_arm_angle(posture: Posture) -> Array:
    """(N, 2) lean of each free arm in space, outward positive on the stance side.

    A free arm hangs straight down, except on the side away from which the trunk leans: there the body is in
    its way and it stays along the trunk.
    """
    return np.stack([np.minimum(posture.lean, 0.0), np.maximum(posture.lean, 0.0)], axis=-1)


def _hanging_moment(posture: Posture, size: Lengths, masses: _Masses) -> Array:
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
    return np.asarray((masses.arm * at).sum(axis=1)[:, None] + posture.bag_mass * wrist[:, None])


def _planted_tips(body: Body, posture: Posture, size: Lengths, masses: _Masses) -> Array:
    """(N, 2) cane tips: chosen in the unloaded, upright, level posture, then left where they are.

    That posture stands on one leg, or on both where the situation says the tip was placed so.
    """
    default = float(posture_rows()["tip_beside_toe"].value)
    beside = np.where(np.isnan(posture.cane_tip), default, posture.cane_tip) + size.foot_breadth[:, None] / 2
    kg = mass_fractions(body) * body.mass[:, None]
    swing_leg = masses.leg.sum(axis=1)
    middle = kg.sum(axis=1) - 2.0 * swing_leg
    upright = -(middle * body.hip_spacing / 2 + swing_leg * body.hip_spacing)
    sine = -upright / (masses.above * masses.leg_length + masses.leg_moment)
    sine = np.where(posture.placed_on_two, 0.0, sine)
    swing_foot = masses.leg_length * sine - body.hip_spacing
    tips = np.empty_like(posture.cane_tip)
    tips[:, STANCE_HAND] = beside[:, STANCE_HAND]
    tips[:, SWING_HAND] = swing_foot - beside[:, SWING_HAND]
    return tips


def _handles(posture: Posture, tip: Array, size: Lengths) -> Array:
    """(N, 2, 2) cane handles: lateral and height; at the wrist crease of the hanging arm."""
    height = np.broadcast_to(size.wrist_crease[:, None], tip.shape)
    lateral = tip + _INWARD * height * np.tan(posture.cane_tilt)
    return np.stack([lateral, height], axis=-1)


def _mass_moment(
    body: Body,
    posture: Posture,
    size: Lengths,
    masses: _Masses,
    fixed: Array,
    shoulder: Array,
    handle: Array,
    sine: Array,
) -> tuple[Array, Array]:
    """Mass moment about the stance hip at inclination ``sine``; and how far each hand falls short."""
    hip = np.stack(
        [
            masses.leg_length * sine,
            size.ankle + masses.leg_length * np.sqrt(np.maximum(1.0 - sine**2, 0.0)),
        ],
        axis=-1,
    )
    wrist = handle - hip[:, None, :]
    wrist[..., 1] += float(posture_rows()["palm_on_handle"].value)
    glide, fraction, short = reach(shoulder, wrist, size)
    across = wrist[..., 0] - shoulder[..., 0]
    kg, com = masses.arm[:, None, :], masses.arm_com[:, None, :]
    start = glide * across
    elbow = start + fraction * (across - start)
    shift = (
        kg[..., 0] * (start + com[..., 0] * (elbow - start))
        + kg[..., 1] * (elbow + com[..., 1] * (across - elbow))
        + (kg[..., 2] + posture.bag_mass) * across
    )
    moment = fixed + np.where(posture.has_cane, shift, 0.0).sum(axis=1)
    tilt = (1.0 - posture.lifted) * sine
    swing_height = hip[:, 1] - body.hip_spacing * np.sin(posture.obliquity)
    bend, back = swing_leg_bend(swing_height, tilt, posture, size)
    knee = size.thigh * np.cos(bend)
    ankle = knee + size.shank * np.cos(back)
    below = (
        masses.leg[:, 0] * masses.leg_com[:, 0] * knee
        + masses.leg[:, 1] * (knee + masses.leg_com[:, 1] * (ankle - knee))
        + masses.leg[:, 2] * ankle
    )
    return moment - tilt * below, short


def swing_leg_bend(hip_height: Array, tilt: Array, posture: Posture, size: Lengths) -> tuple[Array, Array]:
    """How far thigh (forward) and shank (back) swing so that the lifted foot clears the floor, radians.

    Parameters
    ----------
    hip_height : (N,) of the swing hip. tilt : (N,) sine of the swing leg's sideways tilt.

    Notes
    -----
    Ankle straight below the hip in the leg's own plane; law of cosines in hip, knee, ankle.
    """
    gap = posture.clearance * posture.lifted
    down = (hip_height - size.ankle - gap) / np.sqrt(1.0 - tilt**2)
    down = np.clip(down, np.abs(size.thigh - size.shank) + 1e-6, size.thigh + size.shank)
    cosine = (size.thigh**2 + down**2 - size.shank**2) / (2.0 * size.thigh * down)
    bend = np.arccos(np.clip(cosine, -1.0, 1.0))
    back = np.arcsin(np.clip(size.thigh * np.sin(bend) / size.shank, -1.0, 1.0))
    return bend, back


def reach(shoulder: Array, wrist: Array, size: Lengths) -> tuple[Array, Array, Array]:
    """How an arm reaches a point: glide of the shoulder, place of the elbow, what is missing.

    Parameters
    ----------
    shoulder, wrist : (N, 2, 2) lateral and height per hand.

    Returns
    -------
    glide : (N, 2) how far the shoulder joint glides towards the wrist, as a fraction of their distance.
    fraction : (N, 2) where the elbow projects on the line from the glided shoulder to the wrist.
    short : (N, 2) how far the wrist is beyond reach, m.

    Notes
    -----
    The arm bends straight back, so that the elbow lies on the shoulder-wrist line in the frontal plane (law of
    cosines). Beyond the straight arm's length the shoulder girdle lets the shoulder glide, up to its limit.
    """
    distance = np.hypot(wrist[..., 0] - shoulder[..., 0], wrist[..., 1] - shoulder[..., 1])
    upper, lower = size.upper_arm[:, None], size.forearm[:, None]
    beyond = np.maximum(distance - (upper + lower), 0.0)
    within = np.clip(distance, np.abs(upper - lower) + 1e-9, upper + lower)
    fraction = (upper**2 - lower**2 + within**2) / (2.0 * within**2)
    allowed = float(posture_rows()["shoulder_glide"].value)
    return beyond / distance, fraction, np.maximum(beyond - allowed, 0.0)


def cane_line_distance(stance: Stance) -> Array:
    """(N, 2) distance D of each cane's force from the stance hip, m; positive on the opposite side.

    For a tilted cane this is the perpendicular distance of its line from the hip centre.
    """
    tilt = stance.posture.cane_tilt
    away = stance.tip_from_hip * np.cos(tilt) + _INWARD * np.sin(tilt) * stance.hip_height[:, None]
    return np.asarray(-away)
