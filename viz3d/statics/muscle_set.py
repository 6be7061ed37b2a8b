"""The muscle set: how many muscles share the moment, and what that leaves for the joint.

Question answered: which force does each hip muscle carry, and what does the joint carry then, in space?

The external moment about the hip is shared by minimising Σ (F/PCSA)^p under balance about the frontal axis alone or
about all three axes (:mod:`viz3d.statics.sharing`). Lines of action come from :mod:`viz3d.kinematics.muscle_paths`.
About the frontal axis alone, only muscles share it whose main action it is; the moments that these make about the other
two axes are left to muscles that are not asked, and are reported.

Fore and aft, balance is a matter of two sourced places: the line of gravity ahead of the hip, and the centre of
pressure ahead of the ankle; from them the leg's forward inclination follows, which turns the muscles' lines but is not
drawn.

Strength: each line's PCSA times one specific tension. Unless that is given, it is the one at which the abductors
together make the measured isometric abduction torque, legs straight; so the two muscle models agree on what is too
weak.

Axes: hip frame (x forward, y up, l outward); moments abduction, flexion, internal rotation. SI.
Reference: Crowninshield & Brand 1981 (p = 3).
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.body.muscles import ABDUCTORS, ADDUCTORS, Line, cross_sections, muscle_lines
from viz3d.body.person import Body, Hip
from viz3d.body.segment_tables import SEGMENTS
from viz3d.body.segments import com_fractions, mass_fractions
from viz3d.kinematics.frontal import Stance
from viz3d.kinematics.muscle_paths import MusclePaths, axis_moments, muscle_paths
from viz3d.kinematics.posture import posture_rows
from viz3d.statics.equivalent import ABDUCTOR, MuscleLine, muscle_line
from viz3d.statics.extra_pulls import passive_moment
from viz3d.statics.model import SPATIAL_SET, MuscleModel
from viz3d.statics.sharing import Shared, share_moment
from viz3d.tables import load_values
from viz3d.units import GRAVITY


@dataclass(frozen=True)
class MuscleForces:
    """The muscle set's answer; N situations, K lines."""

    paths: MusclePaths
    shared: Shared
    demand: Array
    """(N, m) moments the muscles must make: abduction, then flexion and internal rotation where asked, N m."""
    pull: Array
    """(N, 3) sum of all muscle forces on the pelvis, N."""
    forward: Array
    """(N,) forward inclination of the stance leg, rad."""
    tops: Array
    """(N, K) or (1, K) largest force of every line, N."""
    tension: Array
    """(N,) or (1,) specific tension behind the strengths, Pa."""
    power: float
    gravity_line: float
    """How far ahead of the hip the loads above it are taken, m."""
    pressure_ahead: float
    """Centre of pressure ahead of the ankle, m."""
    unasked: Array
    """(N, 3) moments that all pulls make beyond the demand (nothing about balanced axes), N m."""
    abducts: Flags
    """(N,) True where the abductors balance what passive tissue leaves."""
    preload: Array
    """(N, K) forces of the antagonists, counted in ``shared`` too, N."""
    passive: Array
    """(N,) force of passive tissue, N."""
    band: MuscleLine
    """Its line: the equivalent abductor's, in the frontal plane, so that it makes no moment but abduction."""

    @property
    def passive_moment(self) -> Array:
        """Abduction moment of passive tissue, (N,) N m."""
        return self.passive * self.band.moment_arm

    @property
    def against(self) -> Array:
        """Frontal moment of the antagonists, (N,) N m, not negative."""
        return np.asarray(np.abs((self.preload * self.paths.moment_arm[..., 0]).sum(axis=1)))

    @property
    def turn(self) -> Array:
        """Moment r x F of all pulls on the pelvis about the hip, (N, 3) N m."""
        each = np.cross(self.paths.point, self.paths.direction)
        along = np.cross(self.band.origin, self.band.direction)
        return np.asarray((self.shared.force[..., None] * each).sum(axis=1) + self.passive[:, None] * along)


def asked(line: Line, model: MuscleModel) -> bool:
    """Whether a line takes part: about the frontal axis alone, only those whose main action is about it."""
    return model.kind == SPATIAL_SET or line.group in (ABDUCTORS, ADDUCTORS)


def line_tops(hip: Hip, model: MuscleModel, tension: Array) -> Array:
    """Largest force of every line, (N, K) newtons, weakness counted; 0 for lines that the model does not ask."""
    left = np.ones((len(hip.strength), len(muscle_lines())))
    for k, line in enumerate(muscle_lines()):
        own = model.left.get(line.name, model.left.get(line.of, 1.0)) if asked(line, model) else 0.0
        left[:, k] = own * (hip.strength if line.group == ABDUCTORS else 1.0)
    return np.asarray(tension[:, None] * cross_sections() * left)


def specific_tension(body: Body, hip: Hip, model: MuscleModel) -> Array:
    """Stress of a fully active muscle, (N,) Pa.

    Notes
    -----
    σ = T / Σ A r over the abductors, with T the isometric abduction torque and r their lever arms in neutral stance.
    """
    if model.specific_tension is not None:
        return np.array([model.specific_tension])
    zero = np.zeros(1)
    lever = muscle_paths(body, hip, zero, zero, zero).moment_arm[..., 0]
    counted = np.array([line.group == ABDUCTORS for line in muscle_lines()])
    return np.asarray(hip.full_torque / (np.maximum(lever, 0.0) * counted * cross_sections()).sum(axis=1))


def forward_inclination(body: Body, stance: Stance, load_down: Array, ahead: float, line: float) -> Array:
    """How far the stance leg leans forward so that the body stays over the centre of pressure, (N,) rad.

    Parameters
    ----------
    load_down : (N,) net load on the hip from above, N. ahead, line : m.

    Notes
    -----
    N c = P (L sin α + d) + g Σ m r sin α with N the ground force, c ahead of the ankle, P the load from above at d
    ahead of the hip, and r the limb's masses along the leg L.
    """
    legs = stance.leg
    kg, com = mass_fractions(body) * body.mass[:, None], com_fractions(body)
    thigh, shank, foot = (SEGMENTS.index(f"left_{n}") for n in ("thigh", "shank", "foot"))
    along = kg[:, thigh] * (legs.stance_shank + (1 - com[:, thigh]) * legs.thigh)
    along = along + kg[:, shank] * (1 - com[:, shank]) * legs.stance_shank
    weight = GRAVITY * (kg[:, thigh] + kg[:, shank] + kg[:, foot])
    leg = legs.stance_length
    sine = ((load_down + weight) * ahead - load_down * line) / (load_down * leg + GRAVITY * along)
    largest = load_values("viz3d.statics", "model.toml")["largest_sagittal_tilt"]
    return np.asarray(np.arcsin(np.clip(sine, -largest, largest)))


def depth_of(model: MuscleModel) -> float:
    """How far ahead of the hip the loads above it are taken, m: the line of gravity where three axes are balanced."""
    if model.kind != SPATIAL_SET:
        return 0.0
    given = model.gravity_line
    return float(posture_rows()["gravity_line"].value) if given is None else given


def demanded(turn: Array) -> Array:
    """Moments (N, 3) that muscles must make about the hip's axes against loads that turn the pelvis by r x F."""
    return -axis_moments(turn)


def muscle_forces(body: Body, hip: Hip, stance: Stance, force: Array, turn: Array, model: MuscleModel) -> MuscleForces:
    """Share the external moment among the set.

    Parameters
    ----------
    force, turn : (N, 3) sum of the loads above the hip, N, and their moment about it, N m; hip frame.

    Returns
    -------
    MuscleForces; forces are NaN where the muscles are too weak, with the shortfall in ``shared``.
    """
    given, spatial = model.pressure_ahead, model.kind == SPATIAL_SET
    ahead = float(posture_rows()["pressure_ahead"].value) if given is None else given
    line = depth_of(model)
    forward = np.zeros(len(turn))
    if spatial:
        forward = forward_inclination(body, stance, -force[:, 1], ahead, line)
    paths = muscle_paths(body, hip, stance.posture.obliquity, stance.inclination, forward)
    stretched = passive_moment(body, stance, model.passive_tissue)
    band = muscle_line(body, hip, stance, ABDUCTOR)
    found = forces_along(body, hip, (paths, band), turn, stretched, model)
    return dataclasses.replace(found, forward=forward, gravity_line=line, pressure_ahead=ahead)


def forces_along(
    body: Body, hip: Hip, lines: tuple[MusclePaths, MuscleLine], turn: Array, stretched: Array, model: MuscleModel
) -> MuscleForces:
    """Share an external moment among muscles along given paths.

    Parameters
    ----------
    lines : paths of the set, and the line of passive tissue. turn : (N, 3) moment of the loads about the hip, N m.
    stretched : (N,) abduction moment of passive tissue, N m.
    """
    paths, band = lines
    axes = 3 if model.kind == SPATIAL_SET else 1
    demand = demanded(turn)[:, :axes]
    tension = specific_tension(body, hip, model)
    tops = line_tops(hip, model, tension)
    abducts = demand[:, 0] - stretched >= 0.0
    preload = antagonists(abducts, tops, model.co_contraction)
    passive = stretched / band.moment_arm
    shared = _shared(paths, demand, stretched, tops, model.power, preload)
    pull = (shared.force[..., None] * paths.direction).sum(axis=1) + passive[:, None] * band.direction
    made = (shared.force[..., None] * paths.moment_arm).sum(axis=1)
    made[:, 0] += stretched
    made[:, :axes] -= demand
    return MuscleForces(
        paths, shared, demand, pull, np.zeros(len(turn)), tops, tension, model.power, 0.0, 0.0, made, abducts, preload,
        passive, band,
    )  # fmt: skip


def antagonists(abducts: Flags, tops: Array, share: float) -> Array:
    """Forces (N, K) of the lines whose main action opposes those that balance: a share of their strength, N."""
    groups = np.array([line.group for line in muscle_lines()])
    opposite = np.where(abducts[:, None], groups == ADDUCTORS, groups == ABDUCTORS)
    return np.asarray(share * opposite * tops)


def _shared(paths: MusclePaths, demand: Array, stretched: Array, tops: Array, power: float, preload: Array) -> Shared:
    """The demand, less what antagonists and passive tissue make, shared by strength left; antagonists counted in."""
    arms = paths.moment_arm[..., : demand.shape[1]]
    left = demand - (preload[..., None] * arms).sum(axis=1)
    left[:, 0] -= stretched
    shared = share_moment(left, arms, cross_sections(), np.maximum(tops - preload, 0.0), power)
    if not preload.any():
        return shared
    force = shared.force + preload
    with np.errstate(divide="ignore", invalid="ignore"):
        activation = np.where(tops > 0, force / tops, 0.0)
        share = np.where(np.abs(demand[:, :1]) > 0, force * arms[..., 0] / demand[:, :1], 0.0)
    return dataclasses.replace(shared, force=force, stress=force / cross_sections(), activation=activation, share=share)


def pull_after(forces: MuscleForces, change: Array, moment: Array) -> Array:
    """(N, 3) sum of the muscle forces after a small change of the load, lines held.

    Parameters
    ----------
    change : (N, 3) added force on the body above the hip, N. moment : (N,) its adducting moment, N m.
    """
    axes, line = forces.demand.shape[1], forces.gravity_line
    turn = np.stack([-moment, -line * change[:, 2], line * change[:, 1]], axis=-1)
    demand = forces.demand + demanded(turn)[:, :axes]
    shared = _shared(forces.paths, demand, forces.passive_moment, forces.tops, forces.power, forces.preload)
    pull = (shared.force[..., None] * forces.paths.direction).sum(axis=1)
    return np.asarray(pull + forces.passive[:, None] * forces.band.direction)
