"""Which answer to an author's question is right, by the solved numbers.

Question answered: of a question's choices, which one's claim holds at its step?
"""

from __future__ import annotations

from dataclasses import dataclass

from viz3d.errors import SceneError
from viz3d.scene.asked import Question
from viz3d.scene.claims import parse_claim
from viz3d.solution.claims import Verdict, check_reference, found_at
from viz3d.solution.script import Script, Shot


@dataclass(frozen=True)
class Decision:
    """A question about ``step`` (from 0) and what was found for the claim of each choice; None where it has none."""

    question: Question
    step: int
    verdicts: list[Verdict | None]

    @property
    def right(self) -> int | None:
        """The only choice whose claim holds; None where none does, or several do."""
        held = [k for k, one in enumerate(self.verdicts) if one is not None and one.holds]
        return held[0] if len(held) == 1 else None

    @property
    def held(self) -> int:
        """How many claims hold."""
        return sum(one is not None and one.holds for one in self.verdicts)

    @property
    def found(self) -> str:
        """Every claim with what was found, for a person whose question has no right answer."""
        return ", ".join(f"{one.claim.text!r}: {one.shown}" for one in self.verdicts if one is not None)


def decisions(script: Script, shots: list[Shot] | None = None) -> list[Decision]:
    """Every question of a script's scene, decided.

    Parameters
    ----------
    shots : the script's, where they are solved already.

    Raises
    ------
    SceneError : a claim names a step that does not exist; or as the script's steps are refused.
    """
    asked = script.scene.questions
    shots = (script.shots() if asked else []) if shots is None else shots
    return [_decided(script, shots, question, f"questions.{k + 1}") for k, question in enumerate(asked)]


def _decided(script: Script, shots: list[Shot], question: Question, where: str) -> Decision:
    step = (question.step or len(script.scene.steps)) - 1
    verdicts: list[Verdict | None] = []
    for n, choice in enumerate(question.choices):
        if choice.claim is None:
            verdicts.append(None)
            continue
        claim = parse_claim(choice.claim)
        check_reference(script, claim, step, f"{where}.choices.{n + 1}.claim")
        verdicts.append(Verdict(step, claim, found_at(shots, step, claim)))
    return Decision(question, step, verdicts)


def right_choice(script: Script, decision: Decision, number: int) -> int:
    """The right choice of question ``number`` (from 1).

    Raises
    ------
    SceneError : no claim holds, or several do.
    """
    if decision.right is None:
        raise SceneError(
            script.file, f"questions.{number}.choices", f"{decision.held} of its claims hold ({decision.found})",
            "allowed: exactly one that holds",
        )  # fmt: skip
    return decision.right
