"""What a cane relieves: the slope with its split, the slope with the body re-balanced, and the chord.

Question answered: how much joint force does a newton on the cane take away, with the posture held and with the body
free to shift?

The same arm pose stands on both sides of every comparison. SI; (N,) arrays.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array, Flags
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
    """What the cane does, N situations; NaN where there is no cane. Slopes are worked out once they are asked for."""

    body: Body
    stance: Stance
    load: HipLoad
    model: MuscleModel
    hand: NDArray[np.int64]
    """Index of the hand it is counted for: the cane's, the opposite one first."""
    push: Array
    """Force along the cane, also where there is none."""

    @property
    def none(self) -> Flags:
        """True where there is no cane."""
        return np.asarray(~self.stance.posture.has_cane.any(axis=1))

    @property
    def force(self) -> Array:
        """Force along the cane."""
        return self._blank(self.push)

    @property
    def distance(self) -> Array:
        """D, from the stance hip to the cane's line, opposite side positive."""
        return self._blank(cane_line_distance(self.stance)[np.arange(len(self.hand)), self.hand])

    @cached_property
    def held(self) -> Relief:
        """The slope with the posture held, and its parts."""
        found = held_relief(self.stance, self.load, self.hand)
        return Relief(*(self._blank(part) for part in (found.total, found.unweighting, found.leverage)))

    @property
    def rebalanced(self) -> Array:
        """The slope with the body shifting to stay balanced."""
        return self._moved[0]

    @property
    def chord(self) -> Array:
        """Joint force taken away over the whole push."""
        return self._moved[1]

    @cached_property
    def _moved(self) -> tuple[Array, Array]:
        if bool(self.none.all()):
            return self._blank(self.push), self._blank(self.push)
        slope, chord = _rebalanced(self.body, self.stance, self.load, self.hand, self.push, self.model)
        return self._blank(slope), self._blank(chord)

    def _blank(self, values: Array) -> Array:
        return np.where(self.none, np.nan, values)


def joint_force(body: Body, posture: Posture, model: MuscleModel = ONE_MUSCLE) -> Array:
    """Joint force magnitude only, N newtons: the fast path of slopes and sweeps."""
    stance = stand(body, posture)
    return hip_load(body, stance_hip(body, posture.on_right), stance, model).joint_magnitude


def cane_effect(body: Body, stance: Stance, load: HipLoad, model: MuscleModel) -> Cane:
    """What the cane of each situation does."""
    has = stance.posture.has_cane
    hand = np.where(has[:, SWING_HAND], SWING_HAND, STANCE_HAND).astype(np.int64)
    push = stance.hand_force[np.arange(len(hand)), hand]
    return Cane(body, stance, load, model, hand, np.copysign(np.linalg.norm(push, axis=1), push[:, 1]))


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
