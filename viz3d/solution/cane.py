"""What a cane relieves: the slope with its split, the slope with the body re-balanced, and the chord.

Question answered: how much joint force does a newton on the cane take away, with the posture held and with the body
free to shift?

The same arm pose stands on both sides of every comparison. SI; (N,) arrays.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.body.person import Body, stance_hip
from viz3d.kinematics.frontal import Stance, cane_line_distance, stand
from viz3d.kinematics.posture import STANCE_HAND, SWING_HAND, Posture
from viz3d.statics.hip import ONE_MUSCLE, HipLoad, hip_load
from viz3d.statics.model import MuscleModel
from viz3d.statics.relief import Relief, held_relief

_SLOPE_STEP = 1e-4
"""Cane force step of the re-balanced slope, body weights."""


@dataclass(frozen=True)
class Cane:
    """What the cane does, N situations; NaN where there is no cane."""

    hand: NDArray[np.int64]
    """Index of the hand it is counted for: the cane's, the opposite one first."""
    force: Array
    distance: Array
    """D, from the stance hip to the cane's line, opposite side positive."""
    held: Relief
    rebalanced: Array
    chord: Array


def joint_force(body: Body, posture: Posture, model: MuscleModel = ONE_MUSCLE) -> Array:
    """Joint force magnitude only, N newtons: the fast path of slopes and sweeps."""
    stance = stand(body, posture)
    return hip_load(body, stance_hip(body, posture.on_right), stance, model).joint_magnitude


def cane_effect(body: Body, stance: Stance, load: HipLoad, model: MuscleModel) -> Cane:
    posture = stance.posture
    has = posture.has_cane
    hand = np.where(has[:, SWING_HAND], SWING_HAND, STANCE_HAND).astype(np.int64)
    none = ~has.any(axis=1)
    row = np.arange(len(hand))
    push = stance.hand_force[row, hand]
    force = np.copysign(np.linalg.norm(push, axis=1), push[:, 1])
    held = held_relief(stance, load, hand)
    rebalanced, chord = np.full(len(hand), np.nan), np.full(len(hand), np.nan)
    if not bool(none.all()):
        rebalanced, chord = _rebalanced(body, stance, load, hand, force, model)

    def blank(values: Array) -> Array:
        return np.where(none, np.nan, values)

    distance = cane_line_distance(stance)[row, hand]
    relief = Relief(blank(held.total), blank(held.unweighting), blank(held.leverage))
    return Cane(hand, blank(force), blank(distance), relief, blank(rebalanced), blank(chord))


def _rebalanced(
    body: Body, stance: Stance, load: HipLoad, hand: NDArray[np.int64], force: Array, model: MuscleModel
) -> tuple[Array, Array]:
    """Slope −d|R|/dC with the body re-balanced, and the chord from zero force; same arm pose."""
    row, posture = np.arange(len(hand)), stance.posture
    step = _SLOPE_STEP * np.broadcast_to(body.weight, force.shape)

    def at(value: Array) -> Array:
        forces = np.where(np.isnan(posture.cane_force), 0.0, posture.cane_force).copy()
        forces[row, hand] = value
        return joint_force(body, dataclasses.replace(posture, cane_force=forces), model)

    slope = -(at(force + step) - at(force - step)) / (2.0 * step)
    with np.errstate(divide="ignore", invalid="ignore"):
        chord = np.where(force > 0.0, (at(np.zeros_like(force)) - load.joint_magnitude) / force, np.nan)
    free = np.isnan(posture.inclination)
    return np.where(free, slope, np.nan), np.where(free, chord, np.nan)
