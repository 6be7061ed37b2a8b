"""What a scene may not ask for: loads, reaches and stances that nobody could take.

Question answered: which key asks for something impossible, what was found, what is allowed?

Called by :mod:`viz3d.solution.solve`, before and after solving.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from viz3d.body.person import Array
from viz3d.errors import SceneError
from viz3d.kinematics.frontal import LARGEST_FOLLOW
from viz3d.kinematics.posture import STANCE_HAND, SWING_HAND, Posture
from viz3d.scene.schema import Scene

if TYPE_CHECKING:
    from viz3d.solution.solve import Solved


def _step_key(scene: Scene, step: Array | NDArray[np.intp], at: int, key: str) -> str:
    index = int(step[at])
    return f"steps.{index + 1}.set.{key}" if key in scene.steps[index].set else key


def refuse_inputs(scene: Scene, posture: Posture, weight: float, step: NDArray[np.intp], file: str) -> None:
    sides = ("right", "left") if posture.on_right[0] else ("left", "right")
    for hand in (STANCE_HAND, SWING_HAND):
        over = np.nonzero(np.nan_to_num(posture.cane_force[:, hand]) > weight)[0]
        if len(over):
            key = _step_key(scene, step, int(over[0]), f"hands.{sides[hand]}.force")
            found = posture.cane_force[over[0], hand]
            raise SceneError(
                file, key, f"found {found / weight * 100:.0f} %BW ({found:.0f} N)",
                f"allowed: at most the person's weight, 100 %BW ({weight:.0f} N)",
            )  # fmt: skip
    total = np.nan_to_num(posture.cane_force).sum(axis=1)
    both = np.nonzero(total > weight)[0]
    if len(both):
        raise SceneError(
            file, "hands", f"found {total[both[0]] / weight * 100:.0f} %BW on both canes together",
            "allowed: at most the person's weight, 100 %BW",
        )  # fmt: skip
    mixed = np.nonzero(
        ((posture.share < 1.0) & (posture.lifted > 0.0)) | ((posture.lifted < 1.0) & (posture.obliquity != 0.0))
    )[0]
    if len(mixed):
        raise SceneError(
            file, _step_key(scene, step, int(mixed[0]), "posture.share"),
            f"found {posture.share[mixed[0]] * 100:.0f} % with the other foot lifted or the pelvis tilted",
            'while both feet carry, posture.lifted must be "0 %" and posture.obliquity "0 deg"',
        )  # fmt: skip


def refuse_pull(solved: Solved, file: str) -> None:
    """A force found by balance must be a push that the person could lean on."""
    found = solved.cane.force
    weight = np.broadcast_to(solved.body.weight, found.shape)
    rows = np.nonzero(np.isnan(solved.posture.cane_force).any(axis=1) & ~((found >= 0.0) & (found <= weight)))[0]
    if len(rows):
        tilt = np.degrees(solved.posture.inclination[rows[0]])
        raise SceneError(
            file, "posture.inclination", f"at {tilt:.1f} deg the cane would have to carry {found[rows[0]]:.0f} N",
            "choose an inclination that a push between 0 and the body's weight balances",
        )  # fmt: skip


def refuse_feet(scene: Scene, solved: Solved, file: str) -> None:
    """Both feet must reach the floor while both are down, and the pelvis tilt no further than anybody's."""
    short = solved.stance.foot_short
    tilt = np.abs(solved.posture.obliquity)
    rows = np.nonzero((short > 1e-6) | (tilt >= LARGEST_FOLLOW - 1e-9))[0]
    if len(rows):
        at = int(rows[0])
        key = "posture.hip_adduction" if scene.posture.hip_adduction is not None else "posture.stance_width"
        found = (
            f"the other foot is {short[at] * 100:.1f} cm short of the floor"
            if short[at] > 1e-6
            else f"the pelvis would have to tilt {np.degrees(tilt[at]):.0f} deg"
        )
        raise SceneError(file, key, found, "choose a narrower stance, less weight on one leg, or a smaller difference")


def refuse_reach(scene: Scene, solved: Solved, file: str) -> None:
    short = solved.stance.reach_short
    sides = ("right", "left") if solved.posture.on_right[0] else ("left", "right")
    rows = np.nonzero(short.max(axis=1) > 1e-6)[0]
    if len(rows):
        at = int(rows[np.argmax(short[rows].max(axis=1))])
        hand = int(np.argmax(short[at]))
        leaning = solved.posture.lean[at] != 0.0
        key = "posture.lean" if leaning else f"hands.{sides[hand]}.tip_beside_toe"
        raise SceneError(
            file, _step_key(scene, solved.step, at, key),
            f"the {sides[hand]} hand cannot reach the cane's handle: {max(short[at, hand] * 100, 0.1):.1f} cm too far"
            f" at {solved.times[at]:.1f} s (lean {np.degrees(solved.posture.lean[at]):.0f} deg)",
            "lean less, or bring a tip that is far out closer",
        )  # fmt: skip
