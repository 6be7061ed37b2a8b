"""The other free body: the stance limb, from the ground up.

Question answered: does the joint force found above the hip agree with the one the ground demands?

A separate code path: the ground reaction and its place come from whole-body balance over segment centres
of mass (:func:`viz3d.kinematics.chain.segment_centres`); the limb's own weight, the muscle at its femoral
point and the joint close the limb. Nothing is taken from :mod:`viz3d.statics.hip` but the muscle's line
and tension. Hip frame (x forward, y up, l outward), vectors (N, 3), SI. With the muscle set about three axes the limb
leans forward under the hip so that the body stays over the centre of pressure; that is no part of the drawn pose. A
twist about the vertical is left to friction under the foot.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.body.person import Body
from viz3d.body.segment_tables import LEG, SEGMENTS
from viz3d.body.segments import mass_fractions
from viz3d.kinematics.carried import THINGS
from viz3d.kinematics.chain import Pose
from viz3d.kinematics.frontal import Stance
from viz3d.statics.hip import HipLoad
from viz3d.statics.loads import GROUND, WEIGHT, Load, cross, in_space, total
from viz3d.units import GRAVITY


@dataclass(frozen=True)
class LimbCheck:
    """The stance limb's free body, hip frame."""

    loads: tuple[Load, ...]
    """Its weight, and the ground under its foot."""
    ground_lateral: Array
    """(N,) where the ground carries it, from the foot's midline."""
    head_force: Array
    """(N, 3) joint force on the femoral head."""
    muscle_moment: Array
    """(N,) moment in the frontal plane that the limb asks of the muscle, N m."""
    moment_left: Array
    """(N, 3) what is left of the moments about the balanced axes after the muscles have pulled; zero to rounding."""


def limb_free_body(body: Body, stance: Stance, posed: Pose, centres: Array, load: HipLoad) -> LimbCheck:
    """Joint force and muscle moment from the limb below.

    Parameters
    ----------
    centres : (N, segments, 3) centres of mass of all segments, world.

    Returns
    -------
    LimbCheck; its head_force is −(joint force on the socket) and its muscle_moment the external moment of
    the upper free body, to rounding, for every balanced posture.
    """
    weights = np.broadcast_to(GRAVITY * mass_fractions(body) * body.mass[:, None], centres.shape[:2])
    lean, ahead = _fore_and_aft(stance, load)
    ground, place = _ground(stance, posed, centres, weights, ahead - lean * stance.leg.stance_length)
    own = _limb(stance, posed, centres, weights, lean)
    force, turn = total((own, ground), len(place))
    pull = -load.muscle_pull
    left = turn + _muscle_turn(load, pull)
    axes = 1 if load.muscles is None else load.muscles.demand.shape[1]
    left[:, 1] = 0.0
    if axes == 1:
        left[:, 2] = 0.0
    return LimbCheck((own, ground), place, -(force + pull), turn[:, 0], left)


def _fore_and_aft(stance: Stance, load: HipLoad) -> tuple[Array, float]:
    """Sine of the limb's forward lean, (N,), and the centre of pressure ahead of the ankle, m; zero in the plane."""
    if load.muscles is None or load.muscles.demand.shape[1] == 1:
        return np.zeros(len(stance.sine)), 0.0
    return np.sin(load.muscles.forward), load.muscles.pressure_ahead


def _muscle_turn(load: HipLoad, pull: Array) -> Array:
    """Moment about the hip of the muscles on the limb, (N, 3) N m: each line's own, or the one line's."""
    if load.muscles is None or load.muscles.demand.shape[1] == 1:
        return cross(load.muscle.insertion, pull)
    return -load.muscles.turn


def _ground(stance: Stance, posed: Pose, centres: Array, weights: Array, ahead: Array) -> tuple[Load, Array]:
    """The ground under the stance foot, from whole-body balance, and its place from the foot's midline."""
    p, lateral = stance.posture, centres[..., 2] * posed.sign[:, None]
    bags = GRAVITY * p.bag_mass
    wrists = np.stack([posed.joints[f"{w}_wrist"][:, 2] * posed.sign for w in ("stance", "swing")], axis=-1)
    hand_up, hand_side = stance.hand_force[..., 1], stance.hand_force[..., 0]
    other, other_at = stance.other_foot_force, stance.other_foot_lateral
    up = weights.sum(axis=1) + bags.sum(axis=1) - hand_up.sum(axis=1) - other
    turning = (weights * lateral).sum(axis=1) + (bags * wrists).sum(axis=1)
    for thing in THINGS:
        weight = GRAVITY * thing.mass(p)
        up, turning = up + weight, turning + weight * posed.joints[thing.key][:, 2] * posed.sign
    turning = turning - (hand_up * stance.tip_lateral).sum(axis=1) - other * other_at
    place = turning / np.where(up == 0.0, np.nan, up)
    hip = posed.joints["stance_hip"]
    point = in_space(ahead, -hip[:, 1], place - hip[:, 2] * posed.sign, len(up))
    force = in_space(0.0, up, -hand_side.sum(axis=1), len(up))
    return Load("foot", GROUND, point, force, p.on_right, above=False), place


def _limb(stance: Stance, posed: Pose, centres: Array, weights: Array, lean: Array) -> Load:
    """The stance limb's own weight at its centre of mass."""
    right, hip = stance.posture.on_right, posed.joints["stance_hip"]
    weight, moment = np.zeros(len(right)), np.zeros((len(right), 3))
    for name in LEG:
        left_i, right_i = SEGMENTS.index(f"left_{name}"), SEGMENTS.index(f"right_{name}")
        own = np.where(right, weights[:, right_i], weights[:, left_i])
        at = np.where(right[:, None], centres[:, right_i], centres[:, left_i]) - hip
        along = -np.sqrt(at[:, 1] ** 2 + at[:, 2] ** 2)
        weight += own
        moment += own[:, None] * in_space(at[:, 0] + lean * along, at[:, 1], at[:, 2] * posed.sign, len(right))
    point = moment / weight[:, None]
    return Load("limb", WEIGHT, point, in_space(0.0, -weight, 0.0, len(right)), right, above=False)
