"""The free body above the hip: what the muscle must pull and what the joint carries.

Question answered: with this posture and these hands, how large are the moment, the muscle force and the
joint force at the stance hip, and how much does a newton on the cane relieve?

Model: the free body is everything except the stance limb; the forces on it from outside are the list of
:mod:`viz3d.statics.loads`, summed in space. By default one equivalent abductor, from the middle of the outer ilium to
the greater trochanter, balances an adducting moment, and an equivalent adductor takes over when the moment abducts; or
a set of muscles shares the moment (:mod:`viz3d.statics.muscle_set`), which is then also summed up as one line. Only
the muscle force that balance demands; no ligaments, no co-contraction.

Hip frame: x forward, y up, l outward from the stance hip; vectors (N, 3). A moment M = l·F_y − y·F_l is positive when
it adducts (lets the swing side of the pelvis drop). The joint force is the one on the *socket*; the head carries its
opposite. SI. Reference: Pauwels' free body, as reviewed in doi 10.1007/s00264-008-0544-9.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array, Flags
from viz3d.body.landmarks import femur_landmark, pelvis_landmark
from viz3d.body.person import Body, Hip
from viz3d.kinematics.frontal import Stance, cane_line_distance
from viz3d.kinematics.muscle_paths import hip_centre
from viz3d.statics.loads import CARRIED, WEIGHT, Load, in_space, loads_above, total
from viz3d.statics.model import EQUIVALENT, MuscleModel
from viz3d.statics.muscle_set import MuscleForces, depth_of, muscle_forces, pull_after

ABDUCTOR, ADDUCTOR, NO_MUSCLE = "abductor", "adductor", "none"
ONE_MUSCLE = MuscleModel()
_SLOPE_STEP = 1e-4
"""Step of difference quotients over the cane force, in weights of the free body."""


@dataclass(frozen=True)
class MuscleLine:
    """One straight muscle from pelvis to femur, hip frame."""

    origin: Array
    """(N, 3) on the pelvis."""
    insertion: Array
    """(N, 3) on the femur."""
    direction: Array
    """(N, 3) unit vector of its pull on the pelvis."""
    moment_arm: Array
    """(N,) moment arm as the frontal plane shows it, signed: positive when it abducts, m."""


@dataclass(frozen=True)
class HipLoad:
    """Loads on the stance hip, N situations; SI, hip frame."""

    loads: tuple[Load, ...]
    """Every force from outside on the body above the hip."""
    external_force: Array
    """(N, 3) their sum."""
    external_moments: Array
    """(N, 3) their moment about the hip centre, r x F."""
    weight: Array
    """Weight of the free body, what it carries included."""
    weight_moment_arm: Array
    """Medial distance of that weight from the hip centre."""
    abducts: Flags
    """True where the abductor holds (moment not negative)."""
    muscle_force: Array
    """(N,) size of the muscles' resultant in space."""
    muscle: MuscleLine
    joint_force: Array
    """(N, 3) on the socket."""
    muscles: MuscleForces | None = None
    """Every muscle's part, where a muscle set was asked for; ``muscle`` and ``muscle_force`` then sum it up."""

    @property
    def external_moment(self) -> Array:
        """Moment of the loads in the frontal plane, positive where it adducts, (N,) N m."""
        return -self.external_moments[:, 0]

    @property
    def muscle_pull(self) -> Array:
        """Resultant of the muscles on the pelvis, (N, 3) N."""
        return self.muscle_force[:, None] * self.muscle.direction

    @property
    def joint_magnitude(self) -> Array:
        """Size of the joint force, (N,)."""
        return np.asarray(np.sqrt((self.joint_force**2).sum(axis=1)))

    @property
    def joint_angle(self) -> Array:
        """Inclination of the force on the socket in the frontal plane, positive medially up, (N,) rad."""
        return np.asarray(np.arctan2(-self.joint_force[:, 2], self.joint_force[:, 1]))

    @property
    def head_force(self) -> Array:
        """(N, 3) force on the femoral head: the opposite of the force on the socket."""
        return -self.joint_force


def turned(points: Array, angle: Array) -> Array:
    """Points (N, 3) of a segment whose up-axis leans by ``angle`` outward."""
    c, s = np.cos(angle), np.sin(angle)
    up, out = points[:, 1], points[:, 2]
    return np.stack(np.broadcast_arrays(points[:, 0], up * c - out * s, out * c + up * s), axis=-1)


def muscle_line(body: Body, hip: Hip, stance: Stance, name: str) -> MuscleLine:
    """The equivalent abductor's or adductor's line in these postures.

    A measured abductor lever arm moves the line sideways so that it has that lever in neutral stance; from
    there it changes with the posture like any other line.
    """
    count = len(stance.sine)
    tilt = (np.broadcast_to(a, (count,)) for a in (stance.posture.obliquity, stance.inclination))
    return posed_line(body, hip, name, *tilt)


def posed_line(body: Body, hip: Hip, name: str, obliquity: Array, inclination: Array) -> MuscleLine:
    """The same line from pelvic obliquity and the leg's inclination (negative: abducted), (N,) rad each.

    It lies in the frontal plane through the hip.
    """
    flat = np.array([0.0, 1.0, 1.0])
    start = (pelvis_landmark(f"{name}_origin", body) - hip_centre(body, hip)) * flat
    end = femur_landmark(f"{name}_insertion", body, hip) * flat
    start, end = np.broadcast_arrays(start, end)
    if name == ABDUCTOR and not np.all(np.isnan(hip.abductor_lever)):
        direction, lever = _line(start, end)
        shift = np.where(np.isnan(hip.abductor_lever), 0.0, hip.abductor_lever - lever)
        aside = in_space(0.0, direction[:, 2], -direction[:, 1], len(direction)) * shift[:, None]
        start, end = start + aside, end + aside
    origin, insertion = np.broadcast_arrays(turned(start, -obliquity), turned(end, inclination))
    direction, lever = _line(origin, insertion)
    return MuscleLine(origin, insertion, direction, lever)


def _line(origin: Array, insertion: Array) -> tuple[Array, Array]:
    """Unit direction of the pull on the pelvis and its signed moment arm about the hip centre."""
    span = insertion - origin
    direction = span / np.sqrt((span**2).sum(axis=-1, keepdims=True))
    return direction, origin[:, 1] * direction[:, 2] - origin[:, 2] * direction[:, 1]


def hip_load(
    body: Body, hip: Hip, stance: Stance, model: MuscleModel = ONE_MUSCLE, height: Array | float = 0.0
) -> HipLoad:
    """Moment, muscle force and joint force at the stance hip.

    Parameters
    ----------
    body, hip : the people and their stance hips, batch N or 1.
    stance : N balanced postures.
    model : what stands for the muscles.
    height : of the free body's own centre of mass above the hip, (N,) m; only where the weight's arrow begins.

    Returns
    -------
    HipLoad; muscle and joint force are NaN where a muscle set is too weak.

    Notes
    -----
    M = Σ (l·F_y − y·F_l); F = M / a; R = −(Σ F_ext + F e).
    """
    loads = loads_above(stance, depth_of(model), height)
    force, turn = total(loads, len(stance.sine))
    if model.kind != EQUIVALENT:
        return _set_load(body, hip, stance, model, (loads, force, turn))
    moment = -turn[:, 0]
    abductor = muscle_line(body, hip, stance, ABDUCTOR)
    abducts = moment >= 0.0
    line = abductor
    if not bool(abducts.all()):
        line = _either(abducts, abductor, muscle_line(body, hip, stance, ADDUCTOR))
    pull = moment / line.moment_arm
    joint = -(force + pull[:, None] * line.direction)
    return HipLoad(loads, force, turn, *_weight(stance, loads), abducts, pull, line, joint)


def _weight(stance: Stance, loads: tuple[Load, ...]) -> tuple[Array, Array]:
    """Weight of the free body with what it carries, and its medial distance from the hip."""
    weight = np.zeros(len(stance.sine))
    for load in loads:
        if load.role in (WEIGHT, CARRIED):
            weight = weight - load.force[:, 1]
    return weight, -stance.mass_moment / stance.mass_above


def _set_load(
    body: Body, hip: Hip, stance: Stance, model: MuscleModel, external: tuple[tuple[Load, ...], Array, Array]
) -> HipLoad:
    """The load with a muscle set, also summed up as one line."""
    loads, force, turn = external
    moment = -turn[:, 0]
    muscles = muscle_forces(body, hip, stance, force, turn, model)
    line = _summed_line(muscles, moment)
    pull = np.sqrt((muscles.pull**2).sum(axis=1))
    return HipLoad(
        loads, force, turn, *_weight(stance, loads), moment >= 0.0, pull, line, -(force + muscles.pull), muscles
    )  # fmt: skip


def _summed_line(muscles: MuscleForces, moment: Array) -> MuscleLine:
    """The line of the muscles' resultant: seen in the frontal plane it makes their moment about the hip."""
    size = np.sqrt((muscles.pull**2).sum(axis=1))
    idle = ~(size > 0.0)
    direction = np.where(
        idle[:, None], muscles.paths.direction[:, 0], muscles.pull / np.where(idle, 1.0, size)[:, None]
    )
    flat = direction[:, 1:] / np.sqrt((direction[:, 1:] ** 2).sum(axis=1, keepdims=True))
    across = size * np.sqrt((direction[:, 1:] ** 2).sum(axis=1))
    lever = np.where(idle, 0.0, moment / np.where(idle, 1.0, across))
    nearest = lever[:, None] * np.stack([flat[:, 1], -flat[:, 0]], axis=-1)
    share = np.where(np.isfinite(muscles.shared.force), muscles.shared.force, 0.0) + 1e-9
    share = share / share.sum(axis=1)[:, None]

    def along(points: Array) -> Array:
        """Where the line passes the mean of the muscles' points."""
        mean = (share[..., None] * points).sum(axis=1)
        foot = nearest + (mean[:, 1:] * flat).sum(axis=1, keepdims=True) * flat
        return in_space(mean[:, 0], foot[:, 0], foot[:, 1], len(foot))

    origin = along(muscles.paths.origin)
    far = along(muscles.paths.insertion)
    reach = ((far - origin)[:, 1:] * direction[:, 1:]).sum(axis=1) / (direction[:, 1:] ** 2).sum(axis=1)
    return MuscleLine(origin, origin + reach[:, None] * direction, direction, lever)


def _either(first: Flags, a: MuscleLine, b: MuscleLine) -> MuscleLine:
    pick = first[:, None]
    return MuscleLine(
        np.where(pick, a.origin, b.origin),
        np.where(pick, a.insertion, b.insertion),
        np.where(pick, a.direction, b.direction),
        np.where(first, a.moment_arm, b.moment_arm),
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
    change = in_space(0.0, np.cos(tilt) + other, inward * np.sin(tilt), len(row))
    distance = cane_line_distance(stance)[row, which]
    moment = -distance + other * (stance.other_foot_lateral - stance.hip_lateral)
    size = load.joint_magnitude
    unweighting = (load.joint_force * change).sum(axis=1) / size
    if load.muscles is None:
        pull = (load.joint_force * load.muscle.direction).sum(axis=1) / size
        leverage = (moment / load.muscle.moment_arm) * pull
    else:
        leverage = -_reshared_slope(load, load.muscles, change, moment) - unweighting
    return Relief(unweighting + leverage, unweighting, leverage)


def _reshared_slope(load: HipLoad, muscles: MuscleForces, change: Array, moment: Array) -> Array:
    """d|R|/dC of a muscle set, lines held: ``change`` (N, 3) and ``moment`` (N,) per newton on the cane."""
    step = _SLOPE_STEP * load.weight

    def size(by: Array) -> Array:
        pull = pull_after(muscles, by[:, None] * change, by * moment)
        force = load.external_force + by[:, None] * change
        return np.asarray(np.sqrt(((force + pull) ** 2).sum(axis=1)))

    return (size(step) - size(-step)) / (2.0 * step)


def torque_margin(hip: Hip, load: HipLoad) -> Array:
    """Abduction moment the muscles could still add, N m; negative where they are too weak, (N,).

    The equivalent adductor's strength is not modelled: where it holds, the margin is infinite. A muscle set reports
    its shortfall.
    """
    if load.muscles is not None:
        return np.where(load.muscles.shared.feasible, np.inf, -load.muscles.shared.shortfall)
    return np.where(load.abducts, hip.abductor_torque - load.external_moment, np.inf)


def effort(hip: Hip, load: HipLoad) -> Array:
    """Share of their strength that the abductors need, 1 where they give all they can, (N,).

    0 where the adductor holds.
    Of a muscle set: the largest share that any of its lines needs.
    """
    if load.muscles is not None:
        return np.asarray(load.muscles.shared.activation.max(axis=1))
    needed = np.where(load.abducts, load.external_moment, 0.0)
    strength = np.broadcast_to(hip.abductor_torque, needed.shape)
    return np.divide(needed, strength, out=np.where(needed > 0.0, np.inf, 0.0), where=strength > 0.0)
