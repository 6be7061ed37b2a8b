"""The free body above the hip: what the muscle must pull and what the joint carries.

Question answered: with this posture and these hands, how large are the moment, the muscle force and the
joint force at the stance hip, and how much does a newton on the cane relieve?

Model: the free body is everything except the stance limb. By default one equivalent abductor, from the middle of
the outer ilium to the greater trochanter, balances an adducting moment, and an equivalent adductor takes over when
the moment abducts; or a set of muscles shares the moment (:mod:`viz3d.statics.muscle_set`), which is then also
summed up as one line. Only the muscle force that balance demands; no ligaments, no co-contraction.

Axes: lateral l outward from the stance hip, y up. A moment M = l·F_y − y·F_l is positive when it adducts
(lets the swing side of the pelvis drop). The joint force is the one on the *socket*; the head carries its
opposite. SI. Reference: Pauwels' free body, as reviewed in doi 10.1007/s00264-008-0544-9.
Called by :mod:`viz3d.solution`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.body.landmarks import femur_landmark, pelvis_landmark
from viz3d.body.person import Array, Body, Hip
from viz3d.kinematics.frontal import Stance, cane_line_distance
from viz3d.kinematics.muscle_paths import hip_centre
from viz3d.kinematics.posture import Flags
from viz3d.statics.model import EQUIVALENT, MuscleModel
from viz3d.statics.muscle_set import MuscleForces, muscle_forces, pull_after
from viz3d.units import GRAVITY

ABDUCTOR, ADDUCTOR, NO_MUSCLE = "abductor", "adductor", "none"
ONE_MUSCLE = MuscleModel()
_SLOPE_STEP = 1e-4
"""Step of difference quotients over the cane force, in weights of the free body."""


@dataclass(frozen=True)
class MuscleLine:
    """One straight muscle in the frontal plane, from pelvis to femur, relative to the hip centre."""

    origin: Array
    """(N, 2) on the pelvis."""
    insertion: Array
    """(N, 2) on the femur."""
    direction: Array
    """(N, 2) unit vector of its pull on the pelvis."""
    lever: Array
    """(N,) signed: positive when it abducts."""


@dataclass(frozen=True)
class HipLoad:
    """Loads on the stance hip, N situations; SI, frontal plane."""

    external_force: Array
    """(N, 2) on the free body, without muscle and joint."""
    external_moment: Array
    weight: Array
    """Weight of the free body, bags included."""
    weight_lever: Array
    """Medial distance of that weight from the hip centre."""
    abducts: Flags
    """True where the abductor holds (moment not negative)."""
    muscle_force: Array
    muscle: MuscleLine
    joint_force: Array
    """(N, 2) on the socket: lateral, up."""
    joint_forward: Array
    """(N,) forward part of the force on the socket; zero with one equivalent muscle."""
    muscles: MuscleForces | None = None
    """Every muscle's part, where a muscle set was asked for; ``muscle`` and ``muscle_force`` then sum it up."""

    @property
    def joint_magnitude(self) -> Array:
        """Size of the joint force in space, (N,)."""
        return np.asarray(np.sqrt((self.joint_force**2).sum(axis=1) + self.joint_forward**2))

    @property
    def joint_angle(self) -> Array:
        """Inclination of the force on the socket from the vertical, positive medially up, (N,) rad."""
        return np.asarray(np.arctan2(-self.joint_force[:, 0], self.joint_force[:, 1]))

    @property
    def head_force(self) -> Array:
        """(N, 2) force on the femoral head: the opposite of the force on the socket."""
        return -self.joint_force


def turned(lateral: Array, up: Array, angle: Array) -> Array:
    """A point of a segment whose up-axis leans by ``angle`` outward: (N, 2) lateral and height."""
    c, s = np.cos(angle), np.sin(angle)
    return np.stack(np.broadcast_arrays(lateral * c + up * s, up * c - lateral * s), axis=-1)


def muscle_line(body: Body, hip: Hip, stance: Stance, name: str) -> MuscleLine:
    """The equivalent abductor's or adductor's line in these postures.

    A measured abductor lever arm moves the line sideways so that it has that lever in neutral stance; from
    there it changes with the posture like any other line.
    """
    count = len(stance.sine)
    tilt = (np.broadcast_to(a, (count,)) for a in (stance.posture.obliquity, stance.inclination))
    return posed_line(body, hip, name, *tilt)


def posed_line(body: Body, hip: Hip, name: str, obliquity: Array, inclination: Array) -> MuscleLine:
    """The same line from pelvic obliquity and the leg's inclination (negative: abducted), (N,) rad each."""
    on_pelvis = pelvis_landmark(f"{name}_origin", body)
    on_femur = femur_landmark(f"{name}_insertion", body, hip)
    centre = hip_centre(body, hip)
    start = np.stack(np.broadcast_arrays(on_pelvis[:, 2] - centre[:, 2], on_pelvis[:, 1] - centre[:, 1]), axis=-1)
    end = on_femur[:, [2, 1]]
    if name == ABDUCTOR and not np.all(np.isnan(hip.abductor_lever)):
        direction, lever = _line(start, end)
        shift = np.where(np.isnan(hip.abductor_lever), 0.0, hip.abductor_lever - lever)
        sideways = np.stack([-direction[:, 1], direction[:, 0]], axis=-1) * shift[:, None]
        start, end = start + sideways, end + sideways
    origin = turned(start[:, 0], start[:, 1], -obliquity)
    insertion = turned(end[:, 0], end[:, 1], inclination)
    origin, insertion = np.broadcast_arrays(origin, insertion)
    direction, lever = _line(origin, insertion)
    return MuscleLine(origin, insertion, direction, lever)


def _line(origin: Array, insertion: Array) -> tuple[Array, Array]:
    """Unit direction of the pull on the pelvis and its signed lever about the hip centre."""
    span = insertion - origin
    direction = span / np.linalg.norm(span, axis=-1, keepdims=True)
    return direction, origin[:, 1] * direction[:, 0] - origin[:, 0] * direction[:, 1]


def external_load(stance: Stance) -> tuple[Array, Array]:
    """External force (N, 2) on the free body above the hip and its adducting moment (N,)."""
    weight = GRAVITY * stance.mass_above
    other = stance.other_foot_force
    force = stance.hand_force.sum(axis=1)
    force = force + np.stack([np.zeros_like(other), other - weight], axis=-1)
    tip = stance.tip_from_hip
    hands = tip * stance.hand_force[..., 1] + stance.hip_height[:, None] * stance.hand_force[..., 0]
    moment = -GRAVITY * stance.mass_moment + hands.sum(axis=1)
    moment = moment + other * (stance.other_foot_lateral - stance.hip_lateral)
    return force, moment


def hip_load(body: Body, hip: Hip, stance: Stance, model: MuscleModel = ONE_MUSCLE) -> HipLoad:
    """Moment, muscle force and joint force at the stance hip.

    Parameters
    ----------
    body, hip : the people and their stance hips, batch N or 1.
    stance : N balanced postures.
    model : what stands for the muscles.

    Returns
    -------
    HipLoad; muscle and joint force are NaN where a muscle set is too weak.

    Notes
    -----
    M = −g Σ m l + C·D terms; F = M / a; R = −(Σ F_ext + F e).
    """
    force, moment = external_load(stance)
    weight = GRAVITY * stance.mass_above
    lever = -stance.mass_moment / stance.mass_above
    if model.kind != EQUIVALENT:
        return _set_load(body, hip, stance, model, (force, moment, weight, lever))
    abductor = muscle_line(body, hip, stance, ABDUCTOR)
    abducts = moment >= 0.0
    line = abductor
    if not bool(abducts.all()):
        line = _either(abducts, abductor, muscle_line(body, hip, stance, ADDUCTOR))
    pull = moment / line.lever
    joint = -(force + pull[:, None] * line.direction)
    return HipLoad(force, moment, weight, lever, abducts, pull, line, joint, np.zeros(len(pull)))


def _set_load(
    body: Body, hip: Hip, stance: Stance, model: MuscleModel, external: tuple[Array, Array, Array, Array]
) -> HipLoad:
    """The load with a muscle set, summed up as one line in the frontal plane."""
    force, moment, weight, lever = external
    muscles = muscle_forces(body, hip, stance, force, moment, model)
    total = muscles.pull[:, [2, 1]]
    pull = np.linalg.norm(total, axis=1)
    line = _summed_line(muscles, total, pull, moment)
    return HipLoad(
        force, moment, weight, lever, moment >= 0.0, pull, line, -(force + total), -muscles.pull[:, 0], muscles
    )  # fmt: skip


def _summed_line(muscles: MuscleForces, total: Array, pull: Array, moment: Array) -> MuscleLine:
    """The line of the muscles' resultant: it makes their moment about the hip."""
    idle = ~(pull > 0.0)
    first = muscles.paths.direction[:, 0][:, [2, 1]]
    first = first / np.linalg.norm(first, axis=1, keepdims=True)
    direction = np.where(idle[:, None], first, total / np.where(idle, 1.0, pull)[:, None])
    lever = np.where(idle, 0.0, moment / np.where(idle, 1.0, pull))
    nearest = lever[:, None] * np.stack([-direction[:, 1], direction[:, 0]], axis=-1)
    weight = np.where(np.isfinite(muscles.shared.force), muscles.shared.force, 0.0) + 1e-9

    def along(points: Array) -> Array:
        mean = (weight[..., None] * points[..., [2, 1]]).sum(axis=1) / weight.sum(axis=1)[:, None]
        return np.asarray(nearest + (mean * direction).sum(axis=1, keepdims=True) * direction)

    return MuscleLine(along(muscles.paths.origin), along(muscles.paths.insertion), direction, lever)


def _either(first: Flags, a: MuscleLine, b: MuscleLine) -> MuscleLine:
    pick = first[:, None]
    return MuscleLine(
        np.where(pick, a.origin, b.origin),
        np.where(pick, a.insertion, b.insertion),
        np.where(pick, a.direction, b.direction),
        np.where(first, a.lever, b.lever),
    )


@dataclass(frozen=True)
class Relief:
    """How much joint force one newton on the cane takes away, held posture, (N,) each.

    ``total = unweighting + leverage``: the part through the hand carrying weight (muscle force held), and
    the part through the muscle force.
    """

    total: Array
    unweighting: Array
    leverage: Array


def held_relief(stance: Stance, load: HipLoad, hand: NDArray[np.int64]) -> Relief:
    """Relief −d|R|/dC with the posture held, for the cane in ``hand`` (index per situation, (N,)).

    Notes
    -----
    With u the cane force's direction, D its line's distance from the hip (opposite side positive), e and a
    the muscle's direction and signed lever: dR/dC = −u + (D/a) e, so that unweighting = R̂·u and
    leverage = −(D/a) R̂·e. While the other foot keeps its share 1 − w, its force falls by (1 − w) u_y per newton;
    that is counted in both parts. A muscle set shares anew: its total is a central difference.
    """
    row = np.arange(len(stance.sine))
    which = hand.astype(int)
    tilt = stance.posture.cane_tilt[row, which]
    inward = np.where(which == 0, -1.0, 1.0)
    other = -(1.0 - stance.posture.share) * np.cos(tilt)
    change = np.stack([inward * np.sin(tilt), np.cos(tilt) + other], axis=-1)
    distance = cane_line_distance(stance)[row, which]
    moment = -distance + other * (stance.other_foot_lateral - stance.hip_lateral)
    size = load.joint_magnitude
    unweighting = (load.joint_force * change).sum(axis=1) / size
    if load.muscles is None:
        pull = (load.joint_force * load.muscle.direction).sum(axis=1) / size
        leverage = (moment / load.muscle.lever) * pull
    else:
        leverage = -_reshared_slope(load, load.muscles, change, moment) - unweighting
    return Relief(unweighting + leverage, unweighting, leverage)


def _reshared_slope(load: HipLoad, muscles: MuscleForces, change: Array, moment: Array) -> Array:
    """d|R|/dC of a muscle set, lines held: ``change`` (N, 2) and ``moment`` (N,) per newton on the cane."""
    step = _SLOPE_STEP * load.weight

    def size(by: Array) -> Array:
        pull = pull_after(muscles, by[:, None] * change, by * moment)
        force = load.external_force + by[:, None] * change
        return np.asarray(np.sqrt(((force + pull[:, [2, 1]]) ** 2).sum(axis=1) + pull[:, 0] ** 2))

    return (size(step) - size(-step)) / (2.0 * step)


def torque_margin(hip: Hip, load: HipLoad) -> Array:
    """Abduction moment the muscles could still add, N m; negative where they are too weak, (N,).

    The equivalent adductor's strength is not modelled: where it holds, the margin is infinite. A muscle set reports
    its shortfall.
    """
    if load.muscles is not None:
        return np.where(load.muscles.shared.feasible, np.inf, -load.muscles.shared.shortfall)
    return np.where(load.abducts, hip.abductor_torque - load.external_moment, np.inf)
