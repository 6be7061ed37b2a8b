"""The free body above the hip: what the muscle must pull and what the joint carries.

Question answered: with this posture and these hands, how large are the moment, the muscle force and the
joint force at the stance hip, and how much does a newton on the cane relieve?

Model: the free body is everything except the stance limb; the forces on it from outside are the list of
:mod:`viz3d.statics.loads`, summed in space. By default one equivalent abductor, from the middle of the outer ilium to
the greater trochanter, balances an adducting moment, and an equivalent adductor takes over when the moment abducts; or
a set of muscles shares the moment (:mod:`viz3d.statics.muscle_set`), which is then also summed up as one line. Only
the muscle force that balance demands, unless the model asks for more (:mod:`viz3d.statics.extra_pulls`).

Hip frame: x forward, y up, l outward from the stance hip; vectors (N, 3). A moment M = l·F_y − y·F_l is positive when
it adducts (lets the swing side of the pelvis drop). The joint force is the one on the *socket*; the head carries its
opposite. SI. Reference: Pauwels' free body, as reviewed in doi 10.1007/s00264-008-0544-9.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.body.person import Body, Hip
from viz3d.kinematics.frontal import Stance
from viz3d.statics.equivalent import ABDUCTOR, ADDUCTOR, MuscleLine, muscle_line
from viz3d.statics.extra_pulls import antagonist_moment, hip_adduction, stretched_moment
from viz3d.statics.loads import CARRIED, WEIGHT, Load, in_space, loads_above, total
from viz3d.statics.model import EQUIVALENT, MuscleModel
from viz3d.statics.muscle_set import MuscleForces, depth_of, muscle_forces

NO_MUSCLE = "none"
ONE_MUSCLE = MuscleModel()


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
    """True where the abductor holds (what is left to muscles is not negative)."""
    muscle_force: Array
    """(N,) size of the resultant in space of muscles and passive tissue."""
    muscle: MuscleLine
    """That resultant's line."""
    puller: MuscleLine
    """The equivalent muscle that balances; the same line where nothing else pulls, and for a set."""
    passive: Array
    """(N,) abduction moment that passive tissue makes, N m."""
    against: Array
    """(N,) moment of the antagonists against the muscle that balances, N m."""
    joint_force: Array
    """(N, 3) on the socket."""
    muscles: MuscleForces | None = None
    """Every muscle's part, where a muscle set was asked for; ``muscle`` and ``muscle_force`` then sum it up."""

    @property
    def external_moment(self) -> Array:
        """Moment of the loads in the frontal plane, positive where it adducts, (N,) N m."""
        return -self.external_moments[:, 0]

    @property
    def active_moment(self) -> Array:
        """Moment that the muscle which balances makes, abduction positive, (N,) N m."""
        left = self.external_moment - self.passive
        return left + np.where(self.abducts, self.against, -self.against)

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
    return balanced(body, hip, loads, _Standing(body, hip, stance), model)


class MuscleLines(Protocol):
    """What muscles need to know of a batch of N poses, standing or moving."""

    def arm(self, loads: tuple[Load, ...]) -> Array:
        """Medial distance of the weight from the hip, (N,) m."""

    def adducted(self) -> Array:
        """Adduction of the studied hip, (N,) rad."""

    def line(self, name: str) -> MuscleLine:
        """The equivalent abductor's or adductor's line."""

    def shared(self, force: Array, turn: Array, model: MuscleModel) -> MuscleForces:
        """A muscle set's answer to loads that sum up to a force (N, 3) and turn the pelvis by r x F (N, 3)."""


@dataclass(frozen=True)
class _Standing:
    """Balanced postures."""

    body: Body
    hip: Hip
    stance: Stance

    def arm(self, loads: tuple[Load, ...]) -> Array:
        return -self.stance.mass_moment / self.stance.mass_above

    def adducted(self) -> Array:
        return hip_adduction(self.stance)

    def line(self, name: str) -> MuscleLine:
        return muscle_line(self.body, self.hip, self.stance, name)

    def shared(self, force: Array, turn: Array, model: MuscleModel) -> MuscleForces:
        return muscle_forces(self.body, self.hip, self.stance, force, turn, model)


def balanced(body: Body, hip: Hip, loads: tuple[Load, ...], lines: MuscleLines, model: MuscleModel) -> HipLoad:
    """What muscles pull and the joint carries under any list of loads on the body above the hip.

    Parameters
    ----------
    body, hip : the people and the hips studied. loads : hip frame. lines : the muscles' geometry in these poses.
    """
    force, turn = total(loads, len(loads[0].point))
    if model.kind != EQUIVALENT:
        return _set_load(loads, lines, model, force, turn)
    moment = -turn[:, 0]
    passive = stretched_moment(body, lines.adducted(), model.passive_tissue)
    left = moment - passive
    against = antagonist_moment(hip, left, model.co_contraction)
    abducts = left >= 0.0
    abductor = lines.line(ABDUCTOR)
    puller = abductor
    if not bool(abducts.all()):
        puller = _either(abducts, abductor, lines.line(ADDUCTOR))
    line, pull = puller, moment / puller.moment_arm
    if bool((against > 0.0).any() or ((passive > 0.0) & ~abducts).any()):
        adductor = lines.line(ADDUCTOR)
        up = np.where(abducts, left + against, against) + passive
        down = np.where(abducts, -against, left - against)
        line, pull = _resultant((abductor, adductor), (up, down), moment)
    joint = -(force + pull[:, None] * line.direction)
    weight, arm = _weight(loads), lines.arm(loads)
    return HipLoad(loads, force, turn, weight, arm, abducts, pull, line, puller, passive, against, joint)


def _resultant(lines: tuple[MuscleLine, ...], moments: tuple[Array, ...], moment: Array) -> tuple[MuscleLine, Array]:
    """Several pulls, by their abduction moments, as one line and its force (N,)."""
    forces = np.stack([m / x.moment_arm for m, x in zip(moments, lines, strict=True)], axis=1)
    pull = sum(forces[:, k, None] * x.direction for k, x in enumerate(lines))
    points = [np.stack([getattr(x, name) for x in lines], axis=1) for name in ("origin", "insertion")]
    line = _summed_line(np.asarray(pull), forces, points[0], points[1], moment, lines[0].direction)
    return line, np.asarray(np.sqrt((np.asarray(pull) ** 2).sum(axis=1)))


def _weight(loads: tuple[Load, ...]) -> Array:
    """Weight of the free body with what it carries, (N,) N."""
    weight = np.zeros(len(loads[0].point))
    for load in loads:
        if load.role in (WEIGHT, CARRIED):
            weight = weight - load.force[:, 1]
    return weight


def _set_load(loads: tuple[Load, ...], lines: MuscleLines, model: MuscleModel, force: Array, turn: Array) -> HipLoad:
    """The load with a muscle set, also summed up as one line."""
    moment = -turn[:, 0]
    muscles = lines.shared(force, turn, model)
    paths = muscles.paths
    line = _summed_line(
        muscles.pull, muscles.shared.force, paths.origin, paths.insertion, moment, paths.direction[:, 0]
    )
    pull = np.sqrt((muscles.pull**2).sum(axis=1))
    weight, arm = _weight(loads), lines.arm(loads)
    return HipLoad(
        loads, force, turn, weight, arm, muscles.abducts, pull, line, line, muscles.passive_moment, muscles.against,
        -(force + muscles.pull), muscles,
    )  # fmt: skip


def _summed_line(
    pull: Array, force: Array, origins: Array, insertions: Array, moment: Array, when_idle: Array
) -> MuscleLine:
    """The line of several pulls' resultant (N, 3): seen in the frontal plane it makes their moment about the hip.

    ``force`` (N, K) weights their points (N, K, 3); ``when_idle`` (N, 3): its direction where nothing pulls.
    """
    size = np.sqrt((pull**2).sum(axis=1))
    idle = ~(size > 0.0)
    direction = np.where(idle[:, None], when_idle, pull / np.where(idle, 1.0, size)[:, None])
    flat = direction[:, 1:] / np.sqrt((direction[:, 1:] ** 2).sum(axis=1, keepdims=True))
    across = size * np.sqrt((direction[:, 1:] ** 2).sum(axis=1))
    lever = np.where(idle, 0.0, moment / np.where(idle, 1.0, across))
    nearest = lever[:, None] * np.stack([flat[:, 1], -flat[:, 0]], axis=-1)
    share = np.where(np.isfinite(force), np.abs(force), 0.0) + 1e-9
    share = share / share.sum(axis=1)[:, None]

    def along(points: Array) -> Array:
        """Where the line passes the mean of the muscles' points."""
        mean = (share[..., None] * points).sum(axis=1)
        foot = nearest + (mean[:, 1:] * flat).sum(axis=1, keepdims=True) * flat
        return in_space(mean[:, 0], foot[:, 0], foot[:, 1], len(foot))

    origin = along(origins)
    far = along(insertions)
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


def torque_margin(hip: Hip, load: HipLoad) -> Array:
    """Abduction moment the muscles could still add, N m; negative where they are too weak, (N,).

    The equivalent adductor's strength is not modelled: where it holds, the margin is infinite. A muscle set reports
    its shortfall.
    """
    if load.muscles is not None:
        return np.where(load.muscles.shared.feasible, np.inf, -load.muscles.shared.shortfall)
    return np.where(load.abducts, hip.abductor_torque - load.active_moment, np.inf)


def too_weak(body: Body, margin: Array) -> Flags:
    """True where the muscles lack more of a margin (N,), N m, than rounding leaves, (N,)."""
    return np.asarray(margin < -1e-9 * body.weight * body.hip_spacing)


def effort(hip: Hip, load: HipLoad) -> Array:
    """Share of their strength that the abductors need, 1 where they give all they can, (N,).

    0 where the adductor holds.
    Of a muscle set: the largest share that any of its lines needs.
    """
    if load.muscles is not None:
        return np.asarray(load.muscles.shared.activation.max(axis=1))
    needed = np.where(load.abducts, load.active_moment, 0.0)
    strength = np.broadcast_to(hip.abductor_torque, needed.shape)
    return np.divide(needed, strength, out=np.where(needed > 0.0, np.inf, 0.0), where=strength > 0.0)
