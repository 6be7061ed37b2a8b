"""Does what a caption claims agree with the solved numbers?

Question answered: for every claim of a script's steps, what was found, and is it as claimed?

A comparison without a number asks for a change of at least one percent; one that says "changes" counts either way.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.errors import SceneError
from viz3d.scene.claims import CHANGES, FALLS, IS, QUANTITIES, Claim, parse_claim
from viz3d.solution.script import Script, Shot
from viz3d.solution.solved import Solved
from viz3d.statics.hip import effort

SEEN = 1.0
"""Percent below which nothing changed."""


@dataclass(frozen=True)
class Verdict:
    """A claim of a step (from 0) and what was found.

    ``found`` is in the quantity's unit, or percent of change; NaN where there is no answer.
    """

    step: int
    claim: Claim
    found: float

    @property
    def holds(self) -> bool:
        """True where the numbers are as claimed."""
        size = self.found
        if self.claim.verb != IS:
            size = {FALLS: -size, CHANGES: abs(size)}.get(self.claim.verb, size)
            if not math.isfinite(self.claim.high) and self.claim.low == 0.0:
                return size >= SEEN
        return self.claim.low <= size <= self.claim.high

    @property
    def unit(self) -> str:
        """Unit of ``found``."""
        return QUANTITIES[self.claim.what] if self.claim.verb == IS else "%"

    @property
    def shown(self) -> str:
        """What was found, in a few words."""
        return "nothing" if math.isnan(self.found) else f"{self.found:+.3g} {self.unit}"


def verdicts(script: Script) -> list[Verdict]:
    """What was found for every claim, in the order of the steps.

    Raises
    ------
    SceneError : a claim names a step that does not exist; or as the script's steps are refused.
    """
    scene = script.scene
    asked = [(k, parse_claim(text)) for k, step in enumerate(scene.steps) for text in step.claims]
    for k, claim in asked:
        check_reference(script, claim, k, f"steps.{k + 1}.claims")
    shots = script.shots() if asked else []
    return [Verdict(k, claim, found_at(shots, k, claim)) for k, claim in asked]


def check_reference(script: Script, claim: Claim, step: int, where: str) -> None:
    """Refuse a claim about ``step`` (from 0) that compares it with itself or with none; ``where``: its key.

    Raises
    ------
    SceneError : so.
    """
    count = len(script.scene.steps)
    if claim.step is not None and not (1 <= claim.step <= count and claim.step != step + 1):
        raise SceneError(
            script.file, where, f"found step {claim.step} in {claim.text!r}", f"allowed: another of the {count} steps"
        )


def found_at(shots: list[Shot], step: int, claim: Claim) -> float:
    """What the solved steps say of a claim about one of them (from 0): its value or its change; NaN for none."""
    own = value_at(shots, step, claim.what)
    if claim.step is None:
        return own
    other = value_at(shots, claim.step - 1, claim.what)
    return 100.0 * (own - other) / abs(other) if other else math.nan


def value_at(shots: list[Shot], step: int, what: str) -> float:
    """A claim's quantity at a step (from 0), in its unit."""
    shot = next(x for x in shots if step in x.rows)
    return float(np.broadcast_to(quantity(shot.solved, what), len(shot.solved.times))[shot.row(step)])


def quantity(solved: Solved, what: str) -> Array:
    """A claim's quantity for all situations, (N,) in its unit.

    Raises
    ------
    KeyError : no such quantity.
    """
    load, weight = solved.load, solved.body.weight
    values: dict[str, Array] = {
        "joint": load.joint_magnitude / weight,
        "muscle": load.muscle_force / weight,
        "weight": load.weight / weight,
        "moment": load.external_moment,
        "lever": 100.0 * load.weight_moment_arm,
        "muscle lever": 100.0 * np.abs(load.muscle.moment_arm),
        "pressure": 1e-6 * solved.peak_pressure,
        "effort": 100.0 * effort(solved.hip, load),
        "obliquity": np.degrees(solved.posture.obliquity),
    }
    return values[what]
