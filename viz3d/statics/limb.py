"""The other free body: the stance limb, from the ground up.

Question answered: does the joint force found above the hip agree with the one the ground demands?

A separate code path: the ground reaction and its place come from whole-body balance over segment centres
of mass (:func:`viz3d.kinematics.chain.segment_centres`); the limb's own weight, the muscle at its femoral
point and the joint close the limb. Nothing is taken from :mod:`viz3d.statics.hip` but the muscle's line
and tension. Axes and signs as there. Called by :mod:`viz3d.solution` and the tests.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.body.person import Array, Body
from viz3d.body.segments import SEGMENTS, mass_fractions
from viz3d.kinematics.chain import Pose, segment_centres
from viz3d.kinematics.frontal import Stance
from viz3d.statics.hip import HipLoad
from viz3d.units import GRAVITY


@dataclass(frozen=True)
class LimbCheck:
    """The stance limb's free body, (N, 2) or (N,)."""

    ground_force: Array
    ground_lateral: Array
    head_force: Array
    """Joint force on the femoral head."""
    muscle_moment: Array
    """Moment about the hip that the limb asks of the muscle, N m."""
    moment_left: Array
    """What is left of it after the muscle has pulled at its femoral insertion; zero to rounding."""


def limb_free_body(body: Body, stance: Stance, posed: Pose, load: HipLoad) -> LimbCheck:
    """Joint force and muscle moment from the limb below.

    Returns
    -------
    LimbCheck; its head_force is −(joint force on the socket) and its muscle_moment the external moment of
    the upper free body, to rounding, for every balanced posture.
    """
    centres = segment_centres(body, posed)
    lateral = centres[..., 2] * posed.sign[:, None]
    weights = np.broadcast_to(GRAVITY * mass_fractions(body) * body.mass[:, None], lateral.shape)
    bags = GRAVITY * stance.posture.bag_mass
    wrists = [posed.joints[f"{w}_wrist"][:, 2] * posed.sign for w in ("stance", "swing")]
    hand_up, hand_side = stance.hand_force[..., 1], stance.hand_force[..., 0]
    other, other_at = stance.other_foot_force, stance.other_foot_lateral
    pack = GRAVITY * stance.posture.backpack
    up = weights.sum(axis=1) + bags.sum(axis=1) + pack - hand_up.sum(axis=1) - other
    turning = (weights * lateral).sum(axis=1) + (bags * np.stack(wrists, axis=-1)).sum(axis=1)
    turning = turning + pack * posed.joints["backpack"][:, 2] * posed.sign
    turning = turning - (hand_up * stance.tip_lateral).sum(axis=1) - other * other_at
    ground_at = turning / np.where(up == 0.0, np.nan, up)
    ground = np.stack([-hand_side.sum(axis=1), up], axis=-1)
    hip = posed.joints["stance_hip"]
    hip_l, hip_y = hip[:, 2] * posed.sign, hip[:, 1]
    limb_weight, limb_moment = _limb(stance, weights, lateral, hip_l)
    moment = (ground_at - hip_l) * ground[:, 1] + hip_y * ground[:, 0] - limb_moment
    pull = -load.muscle_force[:, None] * load.muscle.direction
    head = -(ground + pull)
    head[:, 1] += limb_weight
    at = load.muscle.insertion
    left = moment + at[:, 0] * pull[:, 1] - at[:, 1] * pull[:, 0]
    return LimbCheck(ground, ground_at, head, -moment, left)


def _limb(stance: Stance, weights: Array, lateral: Array, hip: Array) -> tuple[Array, Array]:
    right = stance.posture.on_right
    total, moment = np.zeros(len(right)), np.zeros(len(right))
    for name in ("thigh", "shank", "foot"):
        left_i, right_i = SEGMENTS.index(f"left_{name}"), SEGMENTS.index(f"right_{name}")
        weight = np.where(right, weights[:, right_i], weights[:, left_i])
        total += weight
        moment += weight * (np.where(right, lateral[:, right_i], lateral[:, left_i]) - hip)
    return total, moment
