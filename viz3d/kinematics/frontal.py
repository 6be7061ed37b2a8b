"""Balance in the frontal plane, in closed form, for a whole batch.

Question answered: how far does the body shift sideways so that it does not fall, and where do the weights
and hand forces then act relative to the stance hip?

Model: a chain of rigid segments with angles given in space. The centre of pressure stays under the foot's
midline. Moments about it are linear in the sine s of the stance leg's inclination,

    s = (Σ C l_tip + G₂ l₂ − g Σ m l) / (g (m_u L + Σ m_leg r)),

with C the cane forces at their planted tips, G₂ the other foot's ground force, Σ m l the first moment of
mass of everything above the stance hip about that hip, m_u its mass, L the leg's length and r distances
along it. An arm that holds a planted cane, and a second leg on the floor, make Σ m l depend weakly on s; that is met
by secant steps. Where the pelvis follows (a second foot on the floor at another width, height or leg length; a hip
with a fixed adduction) its obliquity is found beside s.

Left out: motion, sideways ground force other than what a tilted cane needs, bending of the stance knee.
Axes: l outward from the stance side, y up; origin on the floor under the stance foot's midline.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.body.person import Body
from viz3d.body.segments import Lengths, lengths
from viz3d.kinematics.aids import INWARD, handles, planted_tips
from viz3d.kinematics.carried import THINGS, carried_mass
from viz3d.kinematics.masses import LegPair, Masses, Trunk, free_wrists, lean_over, leg_pair, part_masses, tilted
from viz3d.kinematics.posture import Posture, posture_rows
from viz3d.kinematics.reach import leg_bend, reach, swing_span
from viz3d.units import GRAVITY

_STEPS = 60


def largest_follow() -> float:
    """Largest obliquity that a second foot or a stiff hip may ask for, rad."""
    return float(np.radians(posture_rows()["largest_follow"].value))


@dataclass(frozen=True)
class Stance:
    """A balanced batch: what statics needs. Lateral and height arrays (N,), per hand (N, 2); SI.

    Positions marked "from hip" are relative to the stance hip centre.
    """

    posture: Posture
    """As chosen, with the obliquity that a second foot or a stiff hip asks for."""
    sine: Array
    """Sine of the stance leg's inclination, positive with the hip outward of the foot."""
    hip_lateral: Array
    hip_height: Array
    mass_above: Array
    """Mass of everything except the stance limb, bags included, kg."""
    mass_moment: Array
    """First moment of that mass about the stance hip, kg m, lateral positive."""
    own_mass: Array
    """The same without what is carried, kg."""
    own_moment: Array
    """The same without what is carried, kg m."""
    wrist: Array
    """(N, 2, 2) wrists from the hip: lateral, up."""
    carried: dict[str, Array]
    """Centre of each thing that trunk or pelvis carries, (N, 2) from the hip: lateral, up."""
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
    foot_short: Array
    """(N,) how far the other foot's leg is too short for the floor, m."""
    leg: LegPair

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
    size = lengths(body)
    leg = leg_pair(body, posture, size)
    masses = part_masses(body, posture, size, leg)
    tip = planted_tips(body, posture, size, masses, leg)
    follows = _follows(posture, leg, body)
    balance = _Balance(body, posture, size, leg, masses, tip)
    if not follows.any():
        return balance.solved(posture)
    obliquity = posture.obliquity
    for _ in range(_STEPS):
        here = dataclasses.replace(posture, obliquity=obliquity)
        stance = balance.solved(here)
        wanted = np.clip(_followed(stance, posture, size), -largest_follow(), largest_follow())
        following = np.where(follows, wanted, posture.obliquity)
        if float(np.max(np.abs(following - obliquity), initial=0.0)) < 1e-14:
            break
        obliquity = following
    return stance


def _follows(posture: Posture, leg: LegPair, body: Body) -> Flags:
    """Where the pelvis' obliquity is a result: a stiff hip, or a second foot that is not simply beside the first."""
    width = posture.feet_apart(body.hip_spacing)
    unlike = (width != body.hip_spacing) | (leg.stance_shank != leg.swing_shank)
    unlike |= leg.stance_ankle != leg.swing_ankle
    unlike |= (leg.stance_hip[:, 0] + leg.swing_hip[:, 0] != 0.0) | (leg.stance_hip[:, 1] != leg.swing_hip[:, 1])
    unlike |= leg.stance_hip[:, 0] * 2.0 != body.hip_spacing
    return np.asarray((unlike & (posture.lifted < 1.0)) | ~np.isnan(posture.hip_adduction))


def _followed(stance: Stance, posture: Posture, size: Lengths) -> Array:
    """The obliquity that the second foot or the stiff hip asks for at this inclination, (N,)."""
    stiff = posture.hip_adduction - stance.inclination
    leg, width = stance.leg, -stance.other_foot_lateral
    length = leg.swing_shank + leg.thigh
    between = leg.swing_hip - leg.stance_hip
    foot = np.stack(np.broadcast_arrays(-width - stance.hip_lateral, leg.swing_ankle - stance.hip_height), axis=-1)
    span = np.sqrt((between**2).sum(axis=-1))
    own = np.arctan2(between[:, 1], -between[:, 0])
    far = np.sqrt((foot**2).sum(axis=-1))
    aim = np.arctan2(foot[:, 1], -foot[:, 0])
    cosine = (span**2 + far**2 - length**2) / (2.0 * span * far)
    closed = own - (aim + np.arccos(np.clip(cosine, -1.0, 1.0)))
    part = posture.lifted * posture.obliquity + (1.0 - posture.lifted) * closed
    return np.asarray(np.where(np.isnan(posture.hip_adduction), part, stiff))


class _Balance:
    """The moment balance of one batch; obliquity may be tried anew."""

    def __init__(self, body: Body, posture: Posture, size: Lengths, leg: LegPair, masses: Masses, tip: Array) -> None:
        self.body, self.size, self.leg, self.masses, self.tip = body, size, leg, masses, tip
        self.handle = handles(posture, tip, size)
        self.total, self.above = body.mass + carried_mass(posture), masses.above + carried_mass(posture)
        self.stiffness = GRAVITY * (self.above * leg.stance_length + masses.leg_moment)
        width = posture.feet_apart(body.hip_spacing)
        self.other = -np.broadcast_to(width, (len(posture),))
        self.solve_hand = np.isnan(posture.cane_force) & posture.has_cane
        force = np.where(posture.has_cane, np.where(self.solve_hand, 0.0, posture.cane_force), 0.0)
        self.up = force * np.cos(posture.cane_tilt)

    def solved(self, posture: Posture) -> Stance:
        """Balance with this obliquity."""
        trunk = lean_over(self.body, posture, self.size, self.masses, self.leg)
        given = ~np.isnan(posture.inclination)
        moving = bool(posture.has_cane.any() or (posture.lifted < 1.0).any() or posture.swing_abduction.any())

        def moment_at(sine: Array) -> tuple[Array, Array]:
            return self._moment(posture, trunk, sine) if moving else (trunk.moment, np.zeros_like(self.up))

        def following(sine: Array) -> Array:
            drive = self._spare(posture, moment_at(sine)[0], self.up) / self.stiffness
            return np.where(given, np.sin(np.nan_to_num(posture.inclination)), np.clip(drive, -1.0, 1.0))

        sine = following(np.zeros(len(posture)))
        if moving:
            sine = _fixed_point(following, sine)
        moment, short = moment_at(sine)
        up = self.up
        if self.solve_hand.any():
            lack = self.stiffness * sine - self._spare(posture, moment, up)
            arm = (self.solve_hand * self.tip).sum(axis=1) - (1.0 - posture.share) * self.other
            found = np.where(self.solve_hand.any(axis=1), lack / np.where(arm == 0.0, np.nan, arm), 0.0)
            up = up + np.where(self.solve_hand, found[:, None], 0.0)
        return self._assembled(posture, sine, moment, short, up, trunk)

    def _spare(self, posture: Posture, moment: Array, up: Array) -> Array:
        """Moment about the foot that the leg's inclination must balance, N m."""
        other_force = (1.0 - posture.share) * (GRAVITY * self.total - up.sum(axis=1))
        return np.asarray((up * self.tip).sum(axis=1) + other_force * self.other - GRAVITY * moment)

    def _moment(self, posture: Posture, trunk: Trunk, sine: Array) -> tuple[Array, Array]:
        """Mass moment about the stance hip at inclination ``sine``; and how far each hand falls short."""
        hip_height = self.leg.stance_ankle + self.leg.stance_length * np.sqrt(np.maximum(1.0 - sine**2, 0.0))
        moment, short = trunk.moment, np.zeros_like(self.up)
        if posture.has_cane.any():
            shift, short = self._arms(posture, trunk.shoulder, sine, hip_height)
            moment = moment + shift
        hip = tilted(self.leg.swing_hip - self.leg.stance_hip, posture.obliquity)
        tilt = self._swing_tilt(posture, hip, sine)
        if not tilt.any():
            return moment, short
        span = swing_span(hip_height + hip[:, 1], self.leg.swing_ankle, tilt, posture)
        bend, back = leg_bend(span, self.leg.thigh, self.leg.swing_shank)
        knee = self.leg.thigh * np.cos(bend)
        ankle = knee + self.leg.swing_shank * np.cos(back)
        kg, com = self.masses.swing_leg, self.masses.leg_com
        below = kg[:, 0] * com[:, 0] * knee + kg[:, 1] * (knee + com[:, 1] * (ankle - knee)) + kg[:, 2] * ankle
        return moment - tilt * below, short

    def _arms(self, posture: Posture, shoulder: Array, sine: Array, hip_height: Array) -> tuple[Array, Array]:
        """(N,) mass moment of arms on their handles beyond the shoulders' own, and (N, 2) what they fall short."""
        wrist = self._held_wrists(sine, hip_height)
        glide, fraction, short = reach(shoulder, wrist, self.size)
        across = wrist[..., 0] - shoulder[..., 0]
        kg, com = self.masses.arm, self.masses.arm_com[:, None, :]
        start = glide * across
        elbow = start + fraction * (across - start)
        shift = (
            kg[..., 0] * (start + com[..., 0] * (elbow - start))
            + kg[..., 1] * (elbow + com[..., 1] * (across - elbow))
            + (kg[..., 2] + posture.bag_mass) * across
        )
        return np.where(posture.has_cane, shift, 0.0).sum(axis=1), short

    def _held_wrists(self, sine: Array, hip_height: Array) -> Array:
        """(N, 2, 2) wrists of hands on their handles, from the stance hip: lateral, up."""
        wrist = self.handle - np.stack([self.leg.stance_length * sine, hip_height], axis=-1)[:, None, :]
        wrist[..., 1] += float(posture_rows()["palm_on_handle"].value)
        return np.asarray(wrist)

    def _swing_tilt(self, posture: Posture, hip: Array, sine: Array) -> Array:
        """Sine of the swing leg's sideways tilt, (N,): to its foot while that is down, held outward when lifted."""
        held = np.sin(posture.swing_abduction)
        if (posture.lifted == 1.0).all():
            return np.asarray(held)
        length = self.leg.thigh + self.leg.swing_shank
        down = (self.leg.stance_length * sine + hip[:, 0] - self.other) / length
        most = float(posture_rows()["largest_swing_tilt"].value)
        return np.asarray((1.0 - posture.lifted) * np.clip(down, -most, most) + posture.lifted * held)

    def _assembled(self, posture: Posture, sine: Array, moment: Array, short: Array, up: Array, trunk: Trunk) -> Stance:
        size, leg = self.size, self.leg
        other_force = (1.0 - posture.share) * (GRAVITY * self.total - up.sum(axis=1))
        side = up * np.tan(posture.cane_tilt) * INWARD
        rest = self._spare(posture, moment, up) - self.stiffness * sine
        under_foot = GRAVITY * self.total - up.sum(axis=1) - other_force
        lifts_off = ~(under_foot > 1e-9 * GRAVITY * self.total)
        shift = -rest / np.where(lifts_off, 1.0, under_foot)
        shift = np.where(np.abs(shift) < 1e-12, 0.0, shift)
        miss = np.maximum(np.abs(shift) - size.foot_breadth / 2, 0.0)
        most = float(posture_rows()["largest_tilt"].value)
        too_far = np.abs(sine) > most
        pulls = (~(up >= -1e-9) & posture.has_cane).any(axis=1)
        miss = np.where(lifts_off | pulls, np.maximum(miss, size.foot_breadth / 2), miss)
        miss = np.where(too_far, np.maximum(miss, (np.abs(sine) - most) * leg.stance_length), miss)
        height = leg.stance_ankle + leg.stance_length * np.sqrt(np.maximum(1.0 - sine**2, 0.0))
        wrist = free_wrists(posture, size, trunk.shoulder)
        carried = sum(thing.mass(posture) * trunk.carried[thing.key][:, 0] for thing in THINGS)
        if posture.has_cane.any():
            wrist = np.where(posture.has_cane[..., None], self._held_wrists(sine, height), wrist)
        if posture.bag_mass.any():
            carried = carried + (posture.bag_mass * wrist[..., 0]).sum(axis=1)
        return Stance(
            posture,
            sine,
            leg.stance_length * sine,
            height,
            np.broadcast_to(self.above, (len(posture),)),
            moment,
            np.broadcast_to(self.masses.above, (len(posture),)),
            moment - carried,
            wrist,
            trunk.carried,
            np.stack([side, up], axis=-1),
            self.tip,
            self.handle,
            other_force,
            self.other,
            shift,
            miss,
            np.where(posture.has_cane, short, 0.0),
            self._foot_short(posture, sine, height),
            leg,
        )

    def _foot_short(self, posture: Posture, sine: Array, height: Array) -> Array:
        """How far the other leg is too short for its foot to stand, (N,) m; zero while it is lifted."""
        hip = tilted(self.leg.swing_hip - self.leg.stance_hip, posture.obliquity)
        across = self.leg.stance_length * sine + hip[:, 0] - self.other
        distance = np.hypot(across, height + hip[:, 1] - self.leg.swing_ankle)
        lack = distance - self.leg.swing_shank - self.leg.thigh
        return np.asarray(np.where((posture.lifted == 0.0) & (lack > 1e-9), lack, 0.0))


def _fixed_point(following: Callable[[Array], Array], first: Array) -> Array:
    """Solve s = f(s) for every situation, by secant steps; f changes slowly with s."""
    before, value = np.zeros_like(first), first
    gap_before = first - before
    for _ in range(_STEPS):
        gap = following(value) - value
        if float(np.max(np.abs(gap), initial=0.0)) < 1e-15:
            break
        change = gap - gap_before
        with np.errstate(divide="ignore", invalid="ignore"):
            step = np.where(np.abs(change) > 1e-18, -gap * (value - before) / change, gap)
        step = np.where(np.isfinite(step) & (np.abs(step) < 4.0 * np.abs(gap) + 1e-12), step, gap)
        before, gap_before, value = value, gap, np.clip(value + step, -1.0, 1.0)
    return value


def cane_line_distance(stance: Stance) -> Array:
    """(N, 2) distance D of each cane's force from the stance hip, m; positive on the opposite side.

    For a tilted cane this is the perpendicular distance of its line from the hip centre.
    """
    tilt = stance.posture.cane_tilt
    away = stance.tip_from_hip * np.cos(tilt) + INWARD * np.sin(tilt) * stance.hip_height[:, None]
    return np.asarray(-away)
