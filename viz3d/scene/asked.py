"""Questions that a scene's author asks: predict first, then look.

Question answered: what is asked, which answers can be chosen, and which claim makes one of them right?

No answer is marked as right: a choice carries a claim in the form of :mod:`viz3d.scene.claims`, and the one whose claim
the solved numbers bear out is right. Choices without a claim are never right. :mod:`viz3d.solution.decisions` decides.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field, field_validator, model_validator
from pydantic_core import PydanticCustomError

from viz3d.scene.claims import ClaimLine
from viz3d.scene.inputs import Keys, Line


class OfferedAnswer(Keys):
    """One answer: what it says, and the claim that makes it right."""

    says: Line
    claim: ClaimLine | None = None


class Question(Keys):
    """One question about a step."""

    prompt: Annotated[str, Field(min_length=1, max_length=300)]
    choices: Annotated[list[OfferedAnswer], Field(min_length=2, max_length=5)] = Field(
        description='each { says = "It falls", claim = "joint falls from step 1" }, or a text that is never right;'
        " the only one whose claim holds at the question's step is the answer"
    )
    step: Annotated[int, Field(ge=1)] | None = Field(None, description="step that is asked about; the last by default")
    why: Annotated[str, Field(max_length=400)] = Field("", description="said with the answer, before its numbers")

    @field_validator("choices", mode="before")
    @classmethod
    def _texts_are_choices(cls, value: Any) -> Any:
        return [{"says": one} if isinstance(one, str) else one for one in value] if isinstance(value, list) else value

    @model_validator(mode="after")
    def _can_be_decided(self) -> Question:
        if not any(choice.claim for choice in self.choices):
            raise PydanticCustomError(
                "quantity",
                'no choice has a claim; write one like { says = "It falls", claim = "joint falls from step 1" }',
            )
        said = [choice.says for choice in self.choices]
        if len(set(said)) < len(said):
            raise PydanticCustomError("quantity", "two choices say the same; allowed: a text of its own for each")
        return self
