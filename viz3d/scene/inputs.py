"""What every table of a scene file shares: lines, file names, times, forces.

Question answered: what is a table of a scene, and what may a line, a file name or a duration be?
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, model_validator

from viz3d.scene.choices import with_words
from viz3d.scene.quantities import POSING, Quantity
from viz3d.units import Force

Line = Annotated[str, Field(min_length=1, max_length=160)]
FileName = Annotated[str, Field(min_length=1, max_length=200)]
Seconds = Annotated[float, Quantity("time", "0 s", "600 s", POSING, "duration")]
BALANCE = "balance"


class Keys(BaseModel):
    """A table of a scene file: nothing but its keys, and never changed."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    @model_validator(mode="before")
    @classmethod
    def _words_however_typed(cls, data: Any) -> Any:
        return with_words(cls, data) if isinstance(data, dict) else data


def newtons(force: Force | str | None, body_weight: float) -> float:
    """A cane force in newtons; NaN for "balance"; 0 for none."""
    if isinstance(force, Force):
        return force.newtons(body_weight)
    return float("nan") if force == BALANCE else 0.0
