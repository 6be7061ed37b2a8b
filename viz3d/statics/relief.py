"""What a newton on the cane takes off the joint with the posture held, and how it does so.

Question answered: how large is the slope of the joint force over the cane's, and which part of it is weight carried by
the hand, which part the muscle's?

SI; (N,) arrays; hip frame as in :mod:`viz3d.statics.hip`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.kinematics.frontal import Stance, cane_line_distance
from viz3d.statics.hip import HipLoad
from viz3d.statics.loads import in_space
from viz3d.statics.muscle_set import MuscleForces, pull_after

_SLOPE_STEP = 1e-4
"""Step of difference quotients over the cane force, in weights of the free body."""


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
        pull = (load.joint_force * load.puller.direction).sum(axis=1) / size
        leverage = (moment / load.puller.moment_arm) * pull
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
