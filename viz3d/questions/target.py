"""Inverse questions: how much of one thing gives a wanted joint force?

Question answered: which cane force, lean, bag, body mass or lever arm brings the joint to, say, 1.5 BW; is
there a second answer; where is the least joint force?

The input is swept over its range in one batch, every crossing is then refined by bisection, all crossings at
once. Only postures that hand and balance allow count. :mod:`viz3d.questions.tell` says the answers.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.body.person import Body, stance_hip
from viz3d.errors import InputError
from viz3d.kinematics.frontal import stand
from viz3d.kinematics.posture import make_posture
from viz3d.questions.vary import Case, Input, case_of, named_input
from viz3d.scene.schema import Scene
from viz3d.solution.solved import HELD
from viz3d.statics.equivalent import ABDUCTOR, muscle_line

_SAMPLES = 1201
_HALVINGS = 50


@dataclass(frozen=True)
class Answer:
    """All values of one input that give the wanted joint force, smallest change first; SI."""

    input: Input
    wanted_bw: float
    start_bw: float
    roots: list[float]
    held: list[bool]
    """Whether the muscles can hold each root."""
    best_value: float
    best_bw: float
    at_end: bool
    """Whether the least lies at the end of the range looked at."""
    limited: bool
    """Whether the range ends where the hand does not reach its cane, or the body would fall."""


def find_target(scene: Scene, step: int, word: str, wanted_bw: float, file: str = "scene") -> Answer:
    """Solve for one input.

    Parameters
    ----------
    word : lean, drop, cane, bag, mass or lever. wanted_bw : joint force in body weights of the scene's person.

    Raises
    ------
    InputError : a wanted joint force that is not positive, an unknown word, or no free hand. SceneError : the step asks
        for what nobody could take.
    """
    return solve_target(case_of(scene, step, file), word, wanted_bw)


def solve_target(case: Case, word: str, wanted_bw: float) -> Answer:
    """The same for a case; ``start_bw`` is the joint force as the case stands.

    Raises
    ------
    InputError, SceneError : as :func:`find_target`.
    """
    if not 0.0 < wanted_bw < 20.0:
        raise InputError(f"found a target of {wanted_bw:g} BW; allowed: more than 0, less than 20 BW")
    weight, now = case.weight, case.solved()
    case.refuse(now)
    case, what = named_input(case, word)
    grid = np.linspace(what.low, what.high, _SAMPLES)
    solved = case.solved({what.key: grid})
    usable = case.allowed(solved)
    if not usable.any():
        case.refuse(solved)
        raise InputError("no value of this input gives a posture that can be taken")
    joint = np.where(usable, solved.load.joint_magnitude / weight, np.nan)
    best = int(np.nanargmin(joint))
    roots = _roots(case, what, grid, joint, wanted_bw)
    present = present_value(case, what)
    roots = roots[np.argsort(np.abs(roots - present))] if len(roots) else roots
    held = list(case.solved({what.key: roots}).status == HELD) if len(roots) else []
    return Answer(
        what, wanted_bw, float(now.joint_bw[0]), [float(r) for r in roots], [bool(h) for h in held],
        float(grid[best]), float(joint[best]), best in (0, _SAMPLES - 1), not bool(usable.all()),
    )  # fmt: skip


def present_value(case: Case, what: Input) -> float:
    """The input's value in the step itself."""
    if what.word == "mass":
        return float(case.body.mass[0])
    if what.word == "lever":
        return neutral_moment_arm(case.body, case.scene.posture.stance == "right")
    return case.value(what.key)


def neutral_moment_arm(body: Body, on_right: bool) -> float:
    """The abductors' lever arm standing level on both feet: what a measured lever arm replaces."""
    neutral = stand(body, make_posture(on_right=on_right, share=0.5, lifted=0.0))
    hip = stance_hip(body, neutral.posture.on_right)
    return float(muscle_line(body, hip, neutral, ABDUCTOR).moment_arm[0])


def _roots(case: Case, what: Input, grid: Array, joint: Array, wanted: float) -> Array:
    """Every crossing of the wanted joint force, refined by bisection."""
    left, right = joint[:-1] - wanted, joint[1:] - wanted
    with np.errstate(invalid="ignore"):
        cross = np.nonzero((left * right < 0) | (left == 0))[0]
    if len(cross) == 0:
        return np.zeros(0)
    low, high, sign = grid[cross], grid[cross + 1], np.sign(left[cross])
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        joint_here = case.solved({what.key: middle}).load.joint_magnitude / case.weight
        same = np.sign(joint_here - wanted) == sign
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return np.asarray(0.5 * (low + high))
