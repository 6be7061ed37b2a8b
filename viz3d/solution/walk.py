"""A walk solved: what each hip carries over the cycle.

Question answered: with this body and this motion, what are ground forces, hip moments, muscle and joint forces and the
socket's pressure at every instant?

Joins the motion (:mod:`viz3d.motion`), its dynamics (:mod:`viz3d.statics.moving`), the muscles and the joint
(:mod:`viz3d.statics.hip`) and the pressure on the lune, for all frames in one batch. One measured person's motion on
this body. SI; hip frame as in the statics.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import RIGHT, SIDES
from viz3d.body.person import Body, Hip
from viz3d.body.socket import roof_edge
from viz3d.contact.lune import LunePressure, lune_pressure
from viz3d.kinematics.chain import Pose
from viz3d.motion.change import USUAL, Variation
from viz3d.motion.check import check_feet
from viz3d.motion.cycle import FRAMES, Cycle, cycle_of
from viz3d.motion.hands import EMPTY, CaneWay, Held
from viz3d.motion.momenta import Momenta, momenta
from viz3d.motion.table import Motion
from viz3d.solution.changed import ChangedWalk
from viz3d.solution.strain import Strain, strain
from viz3d.statics.ground import SMOOTH, Ground, ground
from viz3d.statics.held import held_loads
from viz3d.statics.hip import ONE_MUSCLE, HipLoad, balanced
from viz3d.statics.model import MuscleModel
from viz3d.statics.moving import (
    Crossing,
    about,
    energy_gap,
    from_the_ground,
    hip_axes,
    hip_frame,
    loads_in_motion,
    moving_lines,
)


@dataclass(frozen=True)
class Walked:
    """N = C F frames of one studied hip."""

    body: Body
    cycle: Cycle
    side: str
    model: MuscleModel
    posed: Pose
    moving: Momenta
    floor: Ground
    load: HipLoad
    below: Crossing
    """The limb's joints, from the ground up."""
    axes: Array
    """(N, 3, 3) of the hip's moments: flexion, abduction, internal rotation."""
    changed: ChangedWalk | None = None
    """What is changed about the measured walk; None for nothing."""
    canes: dict[str, CaneWay] = field(default_factory=dict)
    """Side of the hand -> where its cane is."""

    @property
    def held(self) -> Held:
        """What hands and back bear."""
        return EMPTY.held if self.changed is None else self.changed.holds.held

    @property
    def hip(self) -> Hip:
        """The studied hip."""
        return self.body.hip(self.side)

    @cached_property
    def moment_above(self) -> Array:
        """Hip moments from the top down, (N, 3) N m: flexion, abduction, internal rotation."""
        mirror = np.array([1.0, 1.0, 1.0 if self.side == RIGHT else -1.0])
        return about(self.axes, self.load.external_moments * mirror * mirror[2])

    @cached_property
    def moment_below(self) -> Array:
        """The same from the ground up."""
        return about(self.axes, self.below.moment["hip"])

    @property
    def residual_moment(self) -> Array:
        """(N,) largest difference of the two, N m."""
        return np.asarray(np.abs(self.moment_above - self.moment_below).max(axis=1))

    @property
    def residual_force(self) -> Array:
        """(N,) largest difference of the force that crosses the hip, from above and from the ground, N."""
        mirror = np.array([1.0, 1.0, 1.0 if self.side == RIGHT else -1.0])
        return np.asarray(np.abs(self.load.external_force * mirror - self.below.force["hip"]).max(axis=1))

    @cached_property
    def energy_gap(self) -> Array:
        """(N,) power into the limb less the rate of its energy, W."""
        beat = (self.cycle.frames, self.cycle.period)
        return energy_gap(self.moving, self.floor, self.posed, self.below, self.side, beat)

    @cached_property
    def strain(self) -> Strain:
        """What every frame demands of the muscles, against their strength."""
        return strain(self.body, self.hip, self.load)

    @cached_property
    def pressure(self) -> LunePressure:
        """On the lune; NaN where the force would pull the joint apart, no muscles can make the moment, or the hip is
        replaced."""
        obliquity = np.arcsin(np.clip(self.posed.frames["pelvis"][:, 1, 2], -1.0, 1.0))
        outward = 1.0 if self.side == RIGHT else -1.0
        edge = roof_edge(self.hip.centre_edge_angle, outward * obliquity)
        pressed = (self.load.joint_force[:, 1] > 0.0) & (self.hip.replaced == 0.0)
        radius = np.where(pressed, self.hip.cartilage_radius, np.nan)
        return lune_pressure(self.load.joint_magnitude, self.load.joint_angle, radius, edge)

    @property
    def joint_bw(self) -> Array:
        """Joint force in body weights, (N,)."""
        return self.load.joint_magnitude / self.body.weight


def walk_cycle(
    body: Body, motion: Motion, frames: int = FRAMES, pace: float = 1.0, cutoff: float | None = None,
    by_force: bool = True, varied: Variation = USUAL,
) -> Cycle:  # fmt: skip
    """A motion put on a body, refused where its feet cannot stand.

    Raises
    ------
    MotionError : as :func:`viz3d.motion.check.check_feet`.
    """
    cycle = cycle_of(body, motion, frames, pace, cutoff, by_force, varied)
    check_feet(motion.title, cycle.planted)
    return cycle


def solve_walk(
    body: Body, cycle: Cycle, side: str = RIGHT, model: MuscleModel = ONE_MUSCLE, rule: str = SMOOTH,
    changed: ChangedWalk | None = None,
) -> Walked:  # fmt: skip
    """Solve every frame of a walk.

    Parameters
    ----------
    body : one person, or one a frame. cycle : the motion on that body. side : of the hip studied.
    model : what stands for the muscles. rule : how two feet share the ground's force.
    changed : what the walk holds and how it is balanced, where it is not the measured one.
    """
    posed = cycle.posed(body, side == RIGHT)
    moving = momenta(body, posed, cycle.frames, cycle.period, cycle.speed)
    holds = EMPTY if changed is None else changed.holds
    canes = holds.canes(posed, cycle)
    outside = held_loads(holds.held, canes, posed, cycle, side)
    floor = ground(moving, cycle, rule, outside)
    at = hip_frame(posed, side)
    lines = moving_lines(body, posed, at, cycle.angles.hips[:, SIDES.index(side), 1])
    load = balanced(body, body.hip(side), loads_in_motion(moving, floor, at, outside), lines, model)
    below = from_the_ground(moving, floor, posed, side)
    axes = hip_axes(posed, side)
    return Walked(body, cycle, side, model, posed, moving, floor, load, below, axes, changed, canes)
