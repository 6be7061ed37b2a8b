"""A measured motion on a body: scaled by its leg, periodic, smooth, its feet on the floor.

Question answered: which joint angles does this body have at every frame of this walk?

Angles are kept, places scale with the leg (hip to ankle), time with the root of it, so that the walk keeps its
dimensionless speed v / sqrt(g l); ``pace`` only plays it faster or slower, a variation may change speed, leans and what
the hands do (:mod:`viz3d.motion.change`). The cycle is a sum of harmonics below a
cutoff (:mod:`viz3d.motion.series`). Where one side was measured, the other is the same half a cycle later, and what has
no side is made symmetric to half a cycle: of what is mirrored the odd harmonics stay, of the rest the even ones. Legs
are then changed as little as makes the feet stand (:mod:`viz3d.motion.plant`). World frame: moves along with the
walker, x the way walked, y up, z right.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.body.names import RIGHT, SIDES
from viz3d.body.person import Body
from viz3d.body.segments import lengths
from viz3d.kinematics.angles import LEVELS, JointAngles, at_rest, rotation
from viz3d.kinematics.chain import Pose, pose
from viz3d.motion.change import USUAL, Variation, changed_middle, slow
from viz3d.motion.columns import COLUMNS, MotionColumn
from viz3d.motion.leg import ANGLES, leg_of, same_legs
from viz3d.motion.plant import Planted, Standing, contacts, plant
from viz3d.motion.series import fitted, harmonics_below, resampled, waves
from viz3d.motion.swing import ROUNDS, asked_swing, closed, missing_swing
from viz3d.motion.table import Motion
from viz3d.motion.toes import toe_bend
from viz3d.tables import load_values

FITTED = 200
"""Samples of the cycle at which the feet are put on the floor, however many frames are asked for."""
FRAMES = 100
"""Frames of a cycle, where nothing else is asked for."""


@dataclass(frozen=True)
class Cycle:
    """C cycles of F frames of one body's walk, one after the other, without closing frames: N = C F."""

    motion: Motion
    angles: JointAngles
    frames: int
    period: Array
    """(C,) s."""
    speed: float
    """m/s."""
    share: Array
    """(N,) of the cycle, 0 to 1."""
    stands: Flags
    """(N, 2) where each side's foot is on the ground."""
    planted: Planted
    cutoff: float
    """Hz, of the motion as it was measured."""
    swing: float | None
    """How far the root was moved forward or back so that the forward ground force is the measured one, m; None where it
    was not."""
    forward: Array
    """(FITTED,) the same over the cycle, m."""

    @property
    def times(self) -> Array:
        """(N,) s since the beginning of the first cycle."""
        before = np.concatenate([[0.0], np.cumsum(self.period)[:-1]])
        return np.asarray((before[:, None] + self.share.reshape(-1, self.frames) * self.period[:, None]).ravel())

    def posed(self, body: Body, right: bool = True) -> Pose:
        """The chain at every frame, walking along; ``right``: the hip that is studied."""
        return pose(body, self.angles, np.full(len(self.share), right))


def cycle_of(
    body: Body, motion: Motion, frames: int = FRAMES, pace: float = 1.0, cutoff: float | None = None,
    by_force: bool = True, varied: Variation = USUAL,
) -> Cycle:  # fmt: skip
    """A motion put on a body.

    Parameters
    ----------
    body : one person. frames : of the cycle. pace : how many times faster it is played.
    cutoff : Hz, of the motion as it was measured; None for the usual one.
    by_force : the body swings forward and back as the measured ground force asks (:mod:`viz3d.motion.swing`), where the
        motion has one; else as the root was measured.
    varied : what is changed about it.
    """
    of = load_values("viz3d.motion", "motion.toml")
    limit = float(of["cutoff"]) if cutoff is None else cutoff
    ratio = leg_ratio(body, motion)
    speed, usual = cycle_pace(body, motion, varied)
    share = np.arange(FITTED) / FITTED
    low = harmonics_below(limit, motion.period)
    field = {c.name: _sampled(motion, c, share, low) for c in COLUMNS if c.field and not c.sided}
    root = ratio * np.stack([field[f"root_{n}"] for n in ("forward", "up", "right")], axis=-1)
    pelvis = np.stack([field[f"pelvis_{n}"] for n in ("back", "right", "left")], axis=-1)
    trunk = np.stack([field[f"trunk_{n}"] for n in ("back", "right", "left")], axis=-1)
    usual_pelvis = pelvis
    pelvis, trunk = changed_middle(motion, varied, share, pelvis, trunk)
    root = slow(_moved(body, motion, varied, share, root, np.stack([usual_pelvis, pelvis])), low)
    asked = asked_swing(motion, share, usual, low) if by_force and varied.forward is None else None
    asked = None if asked is None else asked * varied.longer
    before = root.copy()
    root[:, 0] += 0.0 if varied.forward is None else varied.forward
    for k in range(1 if asked is None else ROUNDS):
        feet = _legs(body, motion, share, low, (root, pelvis), usual, speed, ratio, varied)
        lifted = root + np.array([0.0, feet.rise, 0.0])
        angles = _angles(motion, share, low, lifted, pelvis, trunk, feet)
        angles = angles if varied.reach is None else varied.reach(angles)
        if asked is not None and k < ROUNDS - 1:
            root[:, 0] += missing_swing(body, angles, asked, low)
    angles = dataclasses.replace(angles, toes=toe_bend(body, angles))
    forward = root[:, 0] - before[:, 0]
    swing = float(np.abs(forward).max()) if forward.any() else None
    share = np.arange(frames) / frames
    names = [f.name for f in dataclasses.fields(JointAngles)]
    angles = JointAngles(*(resampled(getattr(angles, name), frames) for name in names))
    stands = np.stack([motion.stands(side, share) for side in SIDES], axis=-1)
    return Cycle(
        motion, angles, frames, np.array([usual / pace]), speed * pace, share, stands, feet, limit, swing, forward
    )


def leg_ratio(body: Body, motion: Motion) -> float:
    """The body's leg, hip to ankle, over the measured one."""
    size = lengths(body)
    return float(size.thigh[0] + size.shank[0]) / motion.leg


def cycle_pace(body: Body, motion: Motion, varied: Variation = USUAL) -> tuple[float, float]:
    """Speed, m/s, and time of a cycle, s."""
    ratio = leg_ratio(body, motion)
    period = float(motion.period * np.sqrt(ratio) / varied.sooner)
    return motion.stride * ratio * varied.longer / period, period


def _moved(body: Body, motion: Motion, varied: Variation, share: Array, root: Array, pelvis: Array) -> Array:
    """The root's way (F, 3) with longer steps, a sway, another pelvis.

    It rises and falls as the square of the step's length, and by what keeps each leg as long as it was while that leg
    carries: over a hip that is lower or farther aside.

    Parameters
    ----------
    root : (F, 3) as measured. pelvis : (2, F, 3) its angles before and after.
    """
    out = root.copy()
    out[:, 1] += (varied.longer**2 - 1.0) * (root[:, 1] - root[:, 1].mean())
    if varied.sway is None:
        return out
    out[:, 2] += varied.sway
    width = leg_ratio(body, motion) * motion.step_width / 2
    for side in SIDES:
        leg, out_ = leg_of(body, side), 1.0 if side == RIGHT else -1.0
        before, after = (rotation(angles) @ leg.hip for angles in pelvis)
        aside = [p[:, 2] + root[:, 2] - out_ * width for p in (before, after + np.outer(varied.sway, [0.0, 0.0, 1.0]))]
        lower = before[:, 1] - after[:, 1] + (aside[0] ** 2 - aside[1] ** 2) / (2.0 * (leg.thigh + leg.shank))
        out[:, 1] += _carries(motion, side, share) * lower
    return out


def _carries(motion: Motion, side: str, share: Array) -> Array:
    """How much of the body a leg carries, (F,), 0 to 1, both together 1: smooth over double stance."""
    other = next(s for s in SIDES if s != side)
    out = np.zeros(len(share))
    for first, second, rising in ((side, other, True), (other, side, False)):
        long = np.mod(motion.toe_off[second] - motion.strike[first], 1.0)
        gone = np.mod(share - motion.strike[first], 1.0) / long
        fade = 3.0 * gone**2 - 2.0 * gone**3
        out = np.where(gone < 1.0, fade if rising else 1.0 - fade, out)
    alone = motion.stands(side, share) & ~motion.stands(other, share)
    return np.where(alone, 1.0, out)


def _sampled(motion: Motion, column: MotionColumn, share: Array, harmonics: int, side: str = "") -> Array:
    """A column at shares (F,) of the cycle, smoothed; zeros where the motion has none."""
    return np.asarray(waves(share, harmonics) @ coefficients(motion, column, harmonics, side))


def coefficients(motion: Motion, column: MotionColumn, harmonics: int, side: str = "") -> Array:
    """Coefficients (1 + 2 harmonics,) of a column; of an unmeasured side, the other's half a cycle later."""
    own = f"{column.name}_{side}" if side else column.name
    later = bool(side) and side not in motion.sides
    key = f"{column.name}_{motion.sides[0]}" if later else own
    if key not in motion.values:
        return np.zeros(1 + 2 * harmonics)
    found = fitted(motion.times[:-1] / motion.period, closed(motion, key), harmonics)
    odd = np.arange(1, harmonics + 1) % 2 == 1
    both = np.concatenate([[False], odd, odd])
    if later:
        found[both] *= -1.0
    elif not side and motion.one_sided:
        found[both != column.mirrored] = 0.0
        if column.name == "root_forward":
            found[0] = 0.0
    return found


def _legs(
    body: Body, motion: Motion, share: Array, high: int, middle: tuple[Array, Array], period: float, speed: float,
    ratio: float, varied: Variation,
) -> Planted:  # fmt: skip
    """The legs' angles, planted; both sides, or one and its other half a cycle later."""
    root, pelvis = middle[0], rotation(middle[1])
    named = {(c.field, c.axis): c for c in COLUMNS if c.field and c.sided}
    shapes = waves(share, high)
    feet: list[Standing] = []
    measured, weights = {}, {}
    legs = {side: leg_of(body, side) for side in SIDES}
    alike = varied.same_sides and motion.one_sided and same_legs(*legs.values())
    for side in motion.sides if alike else SIDES:
        leg = legs[side]
        of = [named.get(one) for one in ANGLES]
        known = [np.zeros(1 + 2 * high) if c is None else coefficients(motion, c, high, side) for c in of]
        measured[side] = np.stack(known, axis=-1)
        weights[side] = _weights(motion, side, of, len(share), high, varied)
        since = np.mod(share - motion.strike[side], 1.0)
        swung = np.mod(share - motion.toe_off[side], 1.0)
        pitch = _pitch(pelvis, shapes @ measured[side])
        if varied.legs is not None:
            measured[side] = fitted(share, varied.legs[side], high)
        measured[side][1:, ANGLES.index(("hips", 0))] *= varied.longer
        stance = motion.stands(side, share)
        feet.append(contacts(leg, pitch, stance, period, since, swung, ratio * motion.step_width / 2))
    found = plant(feet, root, pelvis, share, speed, measured, weights, high)
    if alike:
        half = len(share) // 2
        side = motion.sides[0]
        other = next(s for s in SIDES if s != side)
        angles = found.angles | {other: np.roll(found.angles[side], half, axis=0)}
        found = dataclasses.replace(found, angles=angles)
    return found


def _pitch(pelvis: Array, angles: Array) -> Array:
    """Pitch of a foot in space, toe up positive, (F,) rad, from the angles in the sagittal plane."""
    back = np.arctan2(pelvis[:, 1, 0], pelvis[:, 0, 0])
    return np.asarray(back + angles[:, 0] - angles[:, 3] + angles[:, 4])


def _weights(
    motion: Motion, side: str, of: list[MotionColumn | None], frames: int, harmonics: int, varied: Variation
) -> Array:
    """One over the deviation of each coefficient of a leg's angles, (1 + 2 harmonics, 7); fast ones weigh more."""
    rows = load_values("viz3d.motion", "motion.toml")
    out = np.full((1 + 2 * harmonics, len(of)), np.sqrt(frames / 2))
    out[0] = np.sqrt(frames)
    order = np.arange(1, harmonics + 1)
    out[1:] *= 1.0 + (np.concatenate([order, order]) / rows["slow_harmonics"])[:, None] ** 2
    for k, column in enumerate(of):
        key = "" if column is None else f"{column.name}_{side if side in motion.sides else motion.sides[0]}"
        usual = rows["free_deviation" if column is None or key not in motion.values else "usual_deviation"]
        deviation = float(motion.spread[key].mean()) if key in motion.spread else np.radians(usual)
        if varied.legs is not None and ANGLES[k][0] == "ankles" and ANGLES[k][1] != 0:
            deviation = np.radians(rows["usual_deviation"])
        if ANGLES[k][1] == 0:
            deviation = float(np.hypot(deviation, np.radians(rows["speed_deviation"]) * abs(varied.faster - 1.0)))
        out[:, k] /= max(deviation, np.radians(0.5))
    for axis in (0, 2) if varied.legs is None else ():
        out[0, ANGLES.index(("ankles", axis))] = 0.0
    return out


def _angles(
    motion: Motion, share: Array, harmonics: int, root: Array, pelvis: Array, trunk: Array, feet: Planted
) -> JointAngles:
    """All joint angles of a body: the planted legs, the measured trunk and arms; head and hands follow."""
    count = len(share)
    limbs = {name: np.zeros((count, 2, 3)) for name in ("hips", "knees", "ankles", "shoulders", "elbows", "wrists")}
    for k, side in enumerate(SIDES):
        for j, (field, axis) in enumerate(ANGLES):
            limbs[field][:, k, axis] = feet.angles[side][:, j]
        for column in COLUMNS:
            if column.field in ("shoulders", "elbows"):
                limbs[column.field][:, k, column.axis] = _sampled(motion, column, share, harmonics, side)
    lumbar = np.zeros((count, LEVELS, 3))
    lumbar[:, 0] = trunk
    return dataclasses.replace(at_rest(count), root=root, pelvis=pelvis, lumbar=lumbar, **limbs)
