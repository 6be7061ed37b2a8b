"""What a scene may not ask for: loads, reaches and stances that nobody could take.

Question answered: which situations ask for something impossible, which key says so, what was found, what is allowed?

Each rule marks the rows that break it and words the line for one of them. A scene is refused with the first line; a
question that varies an input leaves those rows out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array, Flags
from viz3d.body.names import LEFT, RIGHT
from viz3d.body.person import Body
from viz3d.errors import RenderError, SceneError
from viz3d.kinematics.frontal import largest_follow
from viz3d.kinematics.posture import STANCE_HAND, SWING_HAND, Posture
from viz3d.scene.schema import Scene
from viz3d.solution.refuse_walk import allowed_push, brief, too_hard
from viz3d.solution.solved import HELD, Solved
from viz3d.words.message import moment
from viz3d.words.voice import USUAL

_SHORT = 1e-6
"""A hand or foot that misses by less than this (m) still reaches."""
Line = tuple[str, str, str]
"""Key, what was found, what is allowed."""
Rule = tuple[Flags, Callable[[int], Line]]


@dataclass(frozen=True)
class _Case:
    """What a rule about inputs looks at."""

    scene: Scene
    posture: Posture
    weight: Array
    step: NDArray[np.intp]

    def key(self, at: int, key: str) -> str:
        """The key as the scene or its step says it."""
        index = int(self.step[at])
        return f"steps.{index + 1}.set.{key}" if key in self.scene.steps[index].set else key

    def side(self, at: int, hand: int) -> str:
        """The side of a hand."""
        return RIGHT if bool(self.posture.on_right[at]) == (hand == STANCE_HAND) else LEFT


def refuse_inputs(scene: Scene, posture: Posture, body: Body, step: NDArray[np.intp], file: str) -> None:
    """Raise for the first situation whose inputs may not be asked for.

    Raises
    ------
    SceneError : the key, what was found, what is allowed.
    """
    _raise_first(_input_rules(_case(scene, posture, body, step)), file)


def refuse_solved(scene: Scene, solved: Solved, file: str) -> None:
    """Raise for the first situation that its solution shows to be impossible.

    Raises
    ------
    SceneError : the key, what was found, what is allowed.
    """
    _raise_first(_solved_rules(_solved_case(scene, solved), solved), file)


def refused(scene: Scene, solved: Solved) -> Flags:
    """True where a solved situation may not be asked for, (N,)."""
    out = np.zeros(len(solved.posture), dtype=bool)
    for broken, _ in _all_rules(scene, solved):
        out |= broken
    return out


def refusal(scene: Scene, solved: Solved, at: int, file: str = "scene") -> SceneError | None:
    """Why one solved situation may not be asked for; None where it may."""
    for broken, line in _all_rules(scene, solved):
        if broken[at]:
            return SceneError(file, *line(at))
    return None


def refuse_unheld(scene: Scene, solved: Solved, strict: bool) -> None:
    """Refuse what has no joint force to draw; with ``strict``, also what nobody could hold."""
    lost = np.nonzero(~np.isfinite(solved.load.joint_magnitude))[0]
    if len(lost):
        name = scene.steps[int(solved.step[lost[0]])].name
        missing = USUAL.number(moment(float(solved.shortfall[lost[0]])))
        raise RenderError(
            f"step '{name}': {_when(solved)}the muscle set is {missing} too weak, so there is no joint force to draw;"
            " 'viz3d hold' says more, and the equivalent muscle can be drawn"
        )
    rows = np.nonzero(solved.status != HELD)[0]
    if strict and len(rows):
        name = scene.steps[int(solved.step[rows[0]])].name
        raise RenderError(f"step '{name}' cannot be held ({_why(solved, int(rows[0]))}); drawn without --strict")


def refuse_compared(scene: Scene, solved: Solved, row: int) -> None:
    """Refuse a situation that nobody could hold: its joint force says nothing beside others that are held.

    Raises
    ------
    RenderError : which step, and why.
    """
    if solved.status[row] != HELD:
        raise RenderError(
            f"{scene.title}: step '{scene.steps[int(solved.step[row])].name}' cannot be held"
            f" ({_why(solved, row)}), so it is not compared; 'viz3d hold' says more"
        )


def _why(solved: Solved, row: int) -> str:
    """Why a situation cannot be held, and of a walk when."""
    return f"{_when(solved)}{str(solved.status[row]).replace('_', ' ')}"


def _when(solved: Solved) -> str:
    """The hardest moment of a walk, to be said before what is wrong then; "" for a body that stands."""
    return "" if solved.gait is None else f"at {100.0 * solved.gait.hardest.phase:.0f} % of the cycle "


def _raise_first(rules: Iterator[Rule], file: str) -> None:
    for broken, line in rules:
        rows = np.nonzero(broken)[0]
        if len(rows):
            raise SceneError(file, *line(int(rows[0])))


def _all_rules(scene: Scene, solved: Solved) -> Iterator[Rule]:
    case = _solved_case(scene, solved)
    yield from _input_rules(case)
    yield from _solved_rules(case, solved)


def _case(scene: Scene, posture: Posture, body: Body, step: NDArray[np.intp]) -> _Case:
    return _Case(scene, posture, np.broadcast_to(body.weight, (len(posture),)), step)


def _solved_case(scene: Scene, solved: Solved) -> _Case:
    return _case(scene, solved.asked, solved.body, solved.step)


# ---- by what was asked ----------------------------------------------------------------------------------


def _input_rules(case: _Case) -> Iterator[Rule]:
    yield _too_hard(case, STANCE_HAND)
    yield _too_hard(case, SWING_HAND)
    yield _both_too_hard(case)
    yield _mixed_stance(case)


def _too_hard(case: _Case, hand: int) -> Rule:
    """No hand presses with more than the body weighs."""
    force = case.posture.cane_force[:, hand]

    def line(at: int) -> Line:
        weight = float(case.weight[at])
        return (
            case.key(at, f"hands.{case.side(at, hand)}.force"),
            too_hard(float(force[at]), weight),
            allowed_push(weight),
        )

    return np.nan_to_num(force) > case.weight, line


def _both_too_hard(case: _Case) -> Rule:
    total = np.nan_to_num(case.posture.cane_force).sum(axis=1)

    def line(at: int) -> Line:
        found = f"found {brief(total[at] / case.weight[at] * 100)} %BW on both canes together"
        return "hands", found, "allowed: at most the person's weight, 100 %BW"

    return total > case.weight, line


def _mixed_stance(case: _Case) -> Rule:
    """While both feet carry, both are down and the pelvis follows them."""
    p = case.posture
    broken = ((p.share < 1.0) & (p.lifted > 0.0)) | ((p.lifted < 1.0) & (p.obliquity != 0.0))
    return broken, lambda at: (
        case.key(at, "posture.share"),
        f"found {p.share[at] * 100:.0f} % with the other foot lifted or the pelvis tilted",
        'while both feet carry, posture.lifted must be "0 %" and posture.obliquity "0 deg"',
    )


# ---- by what came out -----------------------------------------------------------------------------------


def _solved_rules(case: _Case, solved: Solved) -> Iterator[Rule]:
    yield _out_of_reach(case, solved)
    yield _feet_apart(case, solved)
    yield _no_push(case, solved)


def _out_of_reach(case: _Case, solved: Solved) -> Rule:
    """The hand must reach its handle; the farthest miss is told first."""
    short = solved.stance.reach_short

    def line(at: int) -> Line:
        at = int(np.argmax(short.max(axis=1)))
        hand = int(np.argmax(short[at]))
        side, lean = case.side(at, hand), solved.posture.lean[at]
        key = "posture.lean" if lean != 0.0 else f"hands.{side}.tip_beside_toe"
        found = (
            f"the {side} hand cannot reach the cane's handle: {max(short[at, hand] * 100, 0.1):.1f} cm too far"
            f" at {solved.times[at]:.1f} s (lean {np.degrees(lean):.0f} deg)"
        )
        return case.key(at, key), found, "lean less, or bring a tip that is far out closer"

    return short.max(axis=1) > _SHORT, line


def _feet_apart(case: _Case, solved: Solved) -> Rule:
    """Both feet must reach the floor while both are down, and the pelvis tilt no further than anybody's."""
    short, tilt = solved.stance.foot_short, np.abs(solved.posture.obliquity)
    followed = solved.posture.obliquity != case.posture.obliquity
    stiff = case.scene.posture.hip_adduction is not None

    def line(at: int) -> Line:
        found = (
            f"the other foot is {short[at] * 100:.1f} cm short of the floor"
            if short[at] > _SHORT
            else f"the pelvis would have to tilt {np.degrees(tilt[at]):.0f} deg"
        )
        key = "posture.hip_adduction" if stiff else "posture.stance_width"
        return key, found, "choose a narrower stance, less weight on one leg, or a smaller difference"

    return (short > _SHORT) | ((tilt >= largest_follow() - 1e-9) & followed), line


def _no_push(case: _Case, solved: Solved) -> Rule:
    """A force found by balance must be a push that the person could lean on."""
    asked: Flags = np.asarray(np.isnan(case.posture.cane_force).any(axis=1) & solved.posture.has_cane.any(axis=1))
    found = solved.cane.force if asked.any() else np.zeros(len(asked))

    def line(at: int) -> Line:
        tilt = np.degrees(solved.posture.inclination[at])
        told = f"at {tilt:.1f} deg the cane would have to carry {found[at]:.0f} N"
        return (
            "posture.inclination", told, "choose an inclination that a push between 0 and the body's weight balances"
        )  # fmt: skip

    return asked & ~((found >= 0.0) & (found <= case.weight)), line
