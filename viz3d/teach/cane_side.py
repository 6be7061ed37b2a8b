"""Why the side of a cane matters: unweighting and leverage apart, and the same push in the other hand.

Question answered: how much of what a push takes off the joint is weight that the hand carries, how much is help for the
muscle, and what would the other hand do?

The split is that of :mod:`viz3d.statics.relief`; the other hand is the same step solved with the aid changed over.
"""

from __future__ import annotations

import math

import numpy as np

from viz3d.body.names import SIDES, other_side
from viz3d.questions.vary import Case
from viz3d.scene.posture import AIDS
from viz3d.scene.schema import Scene
from viz3d.solution.script import Script
from viz3d.teach.explanation import Passage, passage
from viz3d.teach.facts import Taught, both
from viz3d.words.message import Said, force, length, message, number
from viz3d.words.voice import vanishes


def cane_part(script: Script, step: int, at: Taught) -> Passage | None:
    """What a cane or crutch in one hand does, and what it would do in the other; None without one, and of a walk, whose
    body moves otherwise with every push."""
    side = one_handed(at.scene)
    cane = at.solved.cane
    if side is None or at.solved.gait is not None or not math.isfinite(float(cane.held.total[at.row])):
        return None
    opposite = side != at.scene.posture.stance
    where = "opposite" if opposite else "same"
    leverage = float(cane.held.leverage[at.row])
    told: list[Said] = [
        message(f"explain.cane.line_{where}", distance=length(abs(float(cane.distance[at.row])))),
        message("explain.cane.unweighting", relief=number(float(cane.held.unweighting[at.row]))),
        message(f"explain.cane.leverage_{'helps' if leverage >= 0.0 else 'hinders'}", relief=number(abs(leverage))),
    ]
    total = float(cane.held.total[at.row])
    told.append(message(f"explain.cane.total_{'less' if total >= 0 else 'more'}", relief=number(abs(total))))
    push = float(cane.force[at.row])
    if not vanishes(force(push, at.weight)):
        told += _other_hand(script, step, at, side, push)
    return passage("cane", told)


def one_handed(scene: Scene) -> str | None:
    """The side whose hand alone presses on a cane or crutch; None where both do, or neither."""
    sides = [s for s in SIDES if getattr(scene.hands, s).holds in AIDS and getattr(scene.hands, s).holds != "frame"]
    free = [s for s in SIDES if getattr(scene.hands, s).holds == "nothing"]
    return sides[0] if len(sides) == 1 and len(free) == 1 else None


def changed_over(scene: Scene, side: str) -> Scene:
    """The same scene with what the hand of ``side`` holds in the other hand."""
    hands = {side: getattr(scene.hands, other_side(side)), other_side(side): getattr(scene.hands, side)}
    return scene.model_copy(update={"hands": scene.hands.model_copy(update=hands)})


def with_push(script: Script, step: int, scene: Scene, side: str, push: float) -> Taught | None:
    """A step with a push of the hand of ``side``, N; None where that may not be asked for."""
    case = Case(script, step, scene)
    values = {f"hands.{side}.force": np.array([push]), f"hands.{other_side(side)}.force": np.zeros(1)}
    solved = case.solved(values)
    return Taught(scene, solved, 0) if bool(case.allowed(solved)[0]) else None


def _other_hand(script: Script, step: int, at: Taught, side: str, push: float) -> list[Said]:
    """What the same push would do in the other hand."""
    other = with_push(script, step, changed_over(at.scene, side), other_side(side), push)
    if other is None or not math.isfinite(other.joint_force):
        return []
    to = "same" if side != at.scene.posture.stance else "opposite"
    return [
        message(
            f"explain.cane.other_{to}",
            here=both(at.joint_force, at.weight), there=both(other.joint_force, other.weight),
        )
    ]  # fmt: skip
