"""What a step's caption claims, in a form that can be checked against the solved numbers.

Question answered: which quantity of this step is said to do what, against which other step, and by how much?

A claim is one short line: ``joint falls from step 1``, ``muscle rises from step 2 by 5 to 15 %``, ``joint changes from
step 2 by at most 7 %``, ``lever is 9.5 to 10.5 cm``, ``joint is at least 2 BW``. It is written beside the caption that
it stands behind; :mod:`viz3d.solution.claims` compares it with the solution.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated

from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

QUANTITIES = {
    "joint": "BW", "muscle": "BW", "weight": "BW", "moment": "N m", "lever": "cm", "muscle lever": "cm",
    "pressure": "MPa", "effort": "%", "obliquity": "deg",
}  # fmt: skip
"""What a claim may be about, and the unit it is stated in. ``weight`` and ``lever``: of the body above the hip;
``moment``: what the muscles must hold; ``effort``: the share of the muscles' strength that this takes."""
FALLS, RISES, CHANGES, IS = "falls", "rises", "changes", "is"

_NAMES = "|".join(sorted(QUANTITIES, key=len, reverse=True))
_NUMBER = r"-?\d+(?:[.,]\d+)?"
_AMOUNT = (
    rf"(?:at least (?P<least>{_NUMBER})|at most (?P<most>{_NUMBER})|(?P<low>{_NUMBER}) to (?P<high>{_NUMBER}))"
    r" ?(?P<unit>%|[A-Za-z]+(?: [A-Za-z]+)?)"
)
_AGAINST = re.compile(
    rf"(?P<what>{_NAMES}) (?P<verb>falls|rises|changes) from step (?P<step>\d{{1,3}})(?: by {_AMOUNT})?", re.IGNORECASE
)
_VALUE = re.compile(rf"(?P<what>{_NAMES}) (?P<verb>is) {_AMOUNT}", re.IGNORECASE)
_EXAMPLES = '"joint falls from step 1", "joint rises from step 2 by 5 to 15 %" or "lever is 9 to 11 cm"'


@dataclass(frozen=True)
class Claim:
    """One claim: ``what`` lies between ``low`` and ``high``, or does so by that share against another step.

    ``low`` and ``high`` are in the quantity's unit of ``QUANTITIES``, or percent where ``verb`` compares.
    """

    text: str
    what: str
    verb: str
    step: int | None
    """Number of the other step, from 1; None for a value of its own."""
    low: float
    high: float


@lru_cache(maxsize=1024)
def parse_claim(text: str) -> Claim:
    """A claim from its line.

    Raises
    ------
    PydanticCustomError : not such a line, or in another unit.

    Examples
    --------
    >>> claim = parse_claim("joint falls from step 1 by 30 to 36 %")
    >>> claim.what, claim.verb, claim.step, claim.low, claim.high
    ('joint', 'falls', 1, 30.0, 36.0)
    """
    found = _AGAINST.fullmatch(text.strip()) or _VALUE.fullmatch(text.strip())
    if found is None:
        raise _refusal(text, f"write like {_EXAMPLES}; quantities: {', '.join(QUANTITIES)}")
    given = found.groupdict()
    what, verb = given["what"].lower(), given["verb"].lower()
    unit = QUANTITIES[what] if verb == IS else "%"
    if (given["unit"] or unit).casefold() != unit.casefold():
        raise _refusal(text, f"{what} {'is stated' if verb == IS else 'is compared'} in {unit}")
    low, high = ((given[a] or given[b] or "").replace(",", ".") for a, b in (("low", "least"), ("high", "most")))
    lowest = -math.inf if given["verb"] == IS else 0.0
    claim = Claim(text, what, verb, int(given["step"]) if "step" in given else None,
                  float(low) if low else lowest, float(high) if high else math.inf)  # fmt: skip
    if claim.low > claim.high:
        raise _refusal(text, "the smaller number comes first")
    return claim


def _refusal(text: str, allowed: str) -> PydanticCustomError:
    return PydanticCustomError("quantity", "found {found}; {allowed}", {"found": repr(text[:80]), "allowed": allowed})


def _checked(text: str) -> str:
    parse_claim(text)
    return text


ClaimLine = Annotated[str, Field(max_length=120), AfterValidator(_checked)]
