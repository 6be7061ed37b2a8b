"""The quantities of a solved situation that teaching repeats, each with its name.

Question answered: which numbers may a slide, a worksheet or a table of this situation hold?

Read off :class:`viz3d.solution.solved.Solved` and nothing else. A quantity that does not exist is left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from viz3d.scene.schema import Scene
from viz3d.solution.script import Script
from viz3d.solution.solved import Solved
from viz3d.stage.compose import load_word, muscle_word
from viz3d.statics.hip import effort
from viz3d.statics.loads import Load
from viz3d.teach.explanation import Fact
from viz3d.words.message import (
    Amount,
    Message,
    angle,
    beside,
    force,
    fraction,
    joined,
    length,
    message,
    moment,
    pressure,
)
from viz3d.words.voice import vanishes

_ARMS = {"cane": "cane", "crutch": "crutch", "frame": "frame", "other_foot": "ground"}
"""Key of a load's words -> that of its lever arm's."""


@dataclass(frozen=True)
class Taught:
    """One solved situation, with the scene in force there."""

    scene: Scene
    solved: Solved
    row: int

    @property
    def weight(self) -> float:
        """Body weight, N."""
        return float(np.broadcast_to(self.solved.body.weight, self.solved.times.shape)[self.row])

    @property
    def above(self) -> list[Load]:
        """Every force from outside on the body above the hip; the body's own weight first."""
        return [load for load in self.solved.loads if load.above]

    def size(self, load: Load) -> float:
        """A load's force, N."""
        return float(np.linalg.norm(load.force[self.row]))

    def adducts(self, load: Load) -> float:
        """A load's moment about the hip, positive where it lets the pelvis drop, N m."""
        return float(self.solved.adducts(load)[self.row])

    def arm(self, load: Load) -> float:
        """Distance of a load's line of action from the hip centre in the frontal plane, m."""
        foot = self.solved.moment_arm_foot(load)[self.row]
        return float(np.linalg.norm((foot - self.solved.hip_centre[self.row])[1:]))

    @property
    def muscle_force(self) -> float:
        """What the muscles pull with, N; 0 where they need not pull, NaN where they cannot."""
        pull = float(self.solved.load.muscle_force[self.row])
        return 0.0 if abs(pull) < 1e-9 * self.weight else pull

    @property
    def muscle_arm(self) -> float:
        """Distance of the muscle's line from the hip centre, m."""
        return abs(float(self.solved.load.muscle.moment_arm[self.row]))

    @property
    def joint_force(self) -> float:
        """Joint force, N."""
        return float(self.solved.load.joint_magnitude[self.row])


def taught(script: Script, step: int) -> Taught:
    """A scene's step, solved.

    Raises
    ------
    SceneError : as :mod:`viz3d.solution.refuse`.
    """
    shot, row = script.shot_at(step)
    return Taught(shot.scene, shot.solved, row)


def facts(at: Taught) -> tuple[Fact, ...]:
    """Every quantity of a situation, causes first."""
    return tuple(fact for fact in _all(at) if math.isfinite(fact.value.value))


def told_force(newtons: float, weight: float) -> tuple[Amount, Amount]:
    """A force in the voice's first unit and in its second."""
    return force(newtons, weight), beside(newtons, weight)


def both(newtons: float, weight: float) -> Message:
    """The same as words of a sentence."""
    return joined("join.comma", told_force(newtons, weight))


def _all(at: Taught) -> Iterator[Fact]:
    for load in at.above:
        yield from _of_load(at, load)
    yield Fact("moment", message("teach.fact.total"), moment(float(at.solved.load.external_moment[at.row])))
    name = muscle_word(at.solved)
    yield Fact("muscle_force", message(f"arrow.{name}.name"), *told_force(at.muscle_force, at.weight))
    if at.muscle_force:
        yield Fact("muscle_lever", message("lever.muscle.name"), length(at.muscle_arm))
    strength = float(effort(at.solved.hip, at.solved.load)[at.row])
    yield Fact("strength_used", message("teach.fact.strength"), fraction(strength))
    yield Fact("joint_force", message("arrow.joint.name"), *told_force(at.joint_force, at.weight))
    yield Fact("joint_angle", message("teach.fact.tilt"), angle(float(at.solved.load.joint_angle[at.row])))
    peak = float(at.solved.peak_pressure[at.row])
    if np.isfinite(peak):
        yield Fact("peak_pressure", message("peak.label"), pressure(peak))


def _of_load(at: Taught, load: Load) -> Iterator[Fact]:
    """A load's force, lever arm and moment; an idle one's force only."""
    word = load_word(at.scene, load)
    size, turn = at.size(load), at.adducts(load)
    yield Fact(f"{load.key}_force", message(f"arrow.{word}.name"), *told_force(size, at.weight))
    if vanishes(force(size, at.weight)):
        return
    arm = message(f"lever.{_ARMS[word]}.name") if word in _ARMS else message("lever.weight.name")
    if load.role == "load":
        arm = message("teach.fact.lever", of=message(f"arrow.{word}.name"))
    yield Fact(f"{load.key}_lever", arm, length(at.arm(load)))
    of = message(f"arrow.{word}.short")
    yield Fact(f"{load.key}_moment", message("teach.fact.moment", of=of), moment(turn))
