"""The hip of a moving body: its inertia among the loads, its moments from above and from the ground.

Question answered: what must cross the hip at every instant of a walk, and what do muscles and joint carry then?

*From the top down*: the body above the studied hip, with its weight, its inertia (the force -Σ m a at its centre of
mass with the couple that its turning asks for) and the other foot's ground force, in the list that standing has
(:mod:`viz3d.statics.loads`), balanced by the same muscles (:func:`viz3d.statics.hip.balanced`). *From the ground up*:
foot, shank and thigh one after the other, from the ground's force under their foot; it takes nothing from the other
path but the body's motion. What is between the two is the residual.

Hip frame as in the statics (x forward, y up, l outward; mirrored for a left hip). Joint moments are those that the
body's own tissue makes, about the joint's own axes: flexion about the pelvis' z, internal rotation about the thigh's
y, abduction about the axis square to both. SI.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import LEFT, RIGHT, SIDES
from viz3d.body.person import Body, Hip
from viz3d.body.segment_tables import LEG, SEGMENTS
from viz3d.kinematics.chain import Pose
from viz3d.kinematics.muscle_paths import HipBones, paths_between
from viz3d.motion.momenta import Momenta
from viz3d.motion.series import rate
from viz3d.statics.equivalent import ABDUCTOR, MuscleLine, line_between
from viz3d.statics.extra_pulls import stretched_moment
from viz3d.statics.ground import Ground
from viz3d.statics.loads import CARRIED, GROUND, INERTIA, WEIGHT, Load, cross
from viz3d.statics.model import MuscleModel
from viz3d.statics.muscle_set import MuscleForces, forces_along
from viz3d.units import GRAVITY

_UP = np.array([0.0, GRAVITY, 0.0])
JOINTS = ("ankle", "knee", "hip")
"""From the ground up."""


@dataclass(frozen=True)
class HipFrame:
    """Where the studied hip is, and how its frame lies in the world."""

    side: str
    centre: Array
    """(N, 3) world."""

    @property
    def mirror(self) -> Array:
        """(3,) world to hip frame, of places and forces."""
        return np.array([1.0, 1.0, 1.0 if self.side == RIGHT else -1.0])

    def point(self, places: Array) -> Array:
        return np.asarray((places - self.centre) * self.mirror)

    def vector(self, vectors: Array) -> Array:
        return np.asarray(vectors * self.mirror)

    def couple(self, moments: Array) -> Array:
        """A mirrored moment turns the other way."""
        return np.asarray(moments * self.mirror * self.mirror[2])

    def load(self, load: Load) -> Load:
        """A load of the world, without couple, in this frame."""
        way = None if load.way is None else self.vector(load.way)
        return dataclasses.replace(load, point=self.point(load.point), force=self.vector(load.force), way=way)

    def turn(self, turns: Array) -> Array:
        return np.asarray(turns * self.mirror[:, None] * self.mirror)


def hip_frame(posed: Pose, side: str) -> HipFrame:
    return HipFrame(side, posed.joints[f"{side}_hip"])


def _above(side: str) -> Array:
    """(segments,) 1 for what lies above a hip, 0 for that limb."""
    limb = {f"{side}_{name}" for name in LEG}
    return np.array([0.0 if name in limb else 1.0 for name in SEGMENTS])


def loads_in_motion(moving: Momenta, floor: Ground, at: HipFrame, outside: tuple[Load, ...] = ()) -> tuple[Load, ...]:
    """Every force from outside on the body above the hip, and its inertia; hip frame.

    Parameters
    ----------
    outside : what hands and back bear besides, world frame.
    """
    mass = moving.mass * _above(at.side)
    whole = mass.sum(axis=1)
    centre = (mass[..., None] * moving.centre).sum(axis=1) / whole[:, None]
    kept = mass[..., None] * moving.acceleration
    turning = cross(moving.centre - centre[:, None], kept) + moving.angular_rate * _above(at.side)[:, None]
    point = at.point(centre)
    pulled = np.zeros_like(centre)
    pulled[:, 1] = -GRAVITY * whole
    out = [
        Load("weight", WEIGHT, point, at.vector(pulled)),
        Load("inertia", INERTIA, point, at.vector(-kept.sum(axis=1)), couple=at.couple(-turning.sum(axis=1))),
        *(at.load(x) for x in outside),
    ]
    other = SIDES.index(LEFT if at.side == RIGHT else RIGHT)
    if bool(floor.force[:, other].any()):
        twist = np.zeros_like(centre)
        twist[:, 1] = floor.twist[:, other]
        right = np.full(len(centre), other == SIDES.index(RIGHT))
        place, force = at.point(floor.place[:, other]), at.vector(floor.force[:, other])
        out.append(Load("other_foot", GROUND, place, force, right, couple=at.couple(twist)))
    return tuple(out)


@dataclass(frozen=True)
class Crossing:
    """What crosses a limb's joints from above to below, world frame: force (N, 3) N and moment (N, 3) N m by joint."""

    force: dict[str, Array]
    moment: dict[str, Array]


def from_the_ground(moving: Momenta, floor: Ground, posed: Pose, side: str) -> Crossing:
    """What each joint of a limb must get from above, found from the ground up."""
    k, forces, moments = SIDES.index(side), {}, {}
    force, place = -floor.force[:, k], floor.place[:, k]
    moment = np.zeros_like(force)
    moment[:, 1] = -floor.twist[:, k]
    for joint, part in zip(JOINTS, reversed(LEG), strict=True):
        s, centre = SEGMENTS.index(f"{side}_{part}"), posed.joints[f"{side}_{joint}"]
        moment = moment + cross(place - centre, force)
        carried = moving.mass[:, s, None] * (moving.acceleration[:, s] + _UP)
        moment = moment + cross(moving.centre[:, s] - centre, carried) + moving.angular_rate[:, s]
        force, place = force + carried, centre
        forces[joint], moments[joint] = force, moment
    return Crossing(forces, moments)


def energy_gap(
    moving: Momenta, floor: Ground, posed: Pose, crossing: Crossing, side: str, beat: tuple[int, Array]
) -> Array:
    """How far the power into a limb is from the rate of its energy, (N,) W: zero but for rounding.

    Power comes in at the hip (force and moment), at knee and ankle (moments), and from the ground where a foot slides.

    Parameters
    ----------
    beat : frames of a cycle, and the cycles' times (C,) s.
    """
    k, rows = SIDES.index(side), [SEGMENTS.index(f"{side}_{name}") for name in reversed(LEG)]
    spin = moving.spin[:, rows]
    velocity = rate(moving.centre[:, rows], *beat)
    energy = 0.5 * moving.mass[:, rows] * (velocity**2).sum(axis=-1) + 0.5 * (spin * moving.angular[:, rows]).sum(
        axis=-1
    )
    energy = energy + moving.mass[:, rows] * GRAVITY * moving.centre[:, rows, 1]
    hip, ankle = (rate(posed.joints[f"{side}_{joint}"], *beat) for joint in ("hip", "ankle"))
    given = (crossing.force["hip"] * hip).sum(axis=-1)
    carrying = (*spin[:, 1:].transpose(1, 0, 2), np.zeros_like(hip))
    for joint, own, above in zip(JOINTS, spin.transpose(1, 0, 2), carrying, strict=True):
        given = given + (crossing.moment[joint] * (own - above)).sum(axis=-1)
    slides = ankle + cross(spin[:, 0], floor.place[:, k] - posed.joints[f"{side}_ankle"])
    given = given + (floor.force[:, k] * slides).sum(axis=-1) + floor.twist[:, k] * spin[:, 0, 1]
    return np.asarray(np.abs(rate(energy.sum(axis=1), *beat) - given))


def hip_axes(posed: Pose, side: str) -> Array:
    """World axes (N, 3, 3) of a hip's moments, rows flexion, abduction, internal rotation, each positive that way."""
    pelvis, thigh = posed.frames["pelvis"][:, :3, :3], posed.frames[f"{side}_thigh"][:, :3, :3]
    outward = 1.0 if side == RIGHT else -1.0
    flexion, rotation = pelvis[:, :, 2], thigh[:, :, 1]
    aside = cross(rotation, flexion)
    aside /= np.linalg.norm(aside, axis=1, keepdims=True)
    return np.stack([flexion, -outward * aside, outward * rotation], axis=1)


def about(axes: Array, moment: Array) -> Array:
    """Moments (N, 3) about axes (N, 3, 3), N m."""
    return np.asarray((axes * moment[:, None]).sum(axis=-1))


@dataclass(frozen=True)
class MovingLines:
    """Muscles of a moving body's studied hip, for :func:`viz3d.statics.hip.balanced`."""

    body: Body
    hip: Hip
    bones: HipBones
    adduction: Array

    def arm(self, loads: Iterable[Load]) -> Array:
        """Medial distance of the weight from the hip, (N,) m."""
        heavy = [x for x in loads if x.role in (WEIGHT, CARRIED)]
        return np.asarray(-sum(x.point[:, 2] * x.force[:, 1] for x in heavy) / sum(x.force[:, 1] for x in heavy))

    def adducted(self) -> Array:
        """Adduction of the hip, (N,) rad."""
        return self.adduction

    def line(self, name: str) -> MuscleLine:
        """The equivalent abductor's or adductor's line."""
        return line_between(self.body, self.hip, name, self.bones)

    def shared(self, force: Array, turn: Array, model: MuscleModel) -> MuscleForces:
        """A muscle set's answer."""
        paths, band = paths_between(self.body, self.hip, self.bones), self.line(ABDUCTOR)
        stretched = stretched_moment(self.body, self.adduction, model.passive_tissue)
        return forces_along(self.body, self.hip, (paths, band), turn, stretched, model)


def moving_lines(body: Body, posed: Pose, at: HipFrame, adduction: Array) -> MovingLines:
    """The muscles' geometry at every frame; ``adduction`` (N,) of the hip, rad."""
    turned = [posed.frames[n][:, :3, :3] for n in ("pelvis", f"{at.side}_thigh", f"{at.side}_shank")]
    pelvis, thigh, shank = (at.turn(t) for t in turned)
    knee = np.matmul(np.swapaxes(thigh, -1, -2), shank)
    return MovingLines(body, body.hip(at.side), HipBones(pelvis, thigh, knee), adduction)
