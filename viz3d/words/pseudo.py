"""A made-up test language: every English text accented and 35 % longer, its placeholders kept.

Question answered: does a longer language fit everywhere, and does any text come from outside the catalogue?

A picture in this language shows at a glance, and to a test, what is not in the catalogue: it has no accents.
"""

from __future__ import annotations

import math
import re

PSEUDO = "qps"
"""Its language tag: one of those that ISO 639 leaves for local use."""
LONGER = 0.35
_LETTERS = str.maketrans(
    "acdeghijklnorstuwyzACDEGHIJKLNORSTUWYZ",
    "àçďéĝĥîĵķļñöŕšţüŵýžÀÇĎÉĜĤÎĴĶĻÑÖŔŠŢÜŴÝŽ",
)
_WORD = re.compile(r"\{\w+\}|[A-Za-z]+")


def stretched(text: str) -> str:
    """A text in the made-up language: the last letters of its words stand several times.

    Examples
    --------
    >>> stretched("weight {force}")
    'ŵéîĝĥţţţţ {force}'
    """
    owed = 0.0

    def longer(found: re.Match[str]) -> str:
        nonlocal owed
        word = found[0]
        if word.startswith("{"):
            return word
        owed += LONGER * len(word)
        more = math.ceil(owed - 1e-9) if len(word) > 1 else 0
        owed -= more
        return (word + word[-1].lower() * more).translate(_LETTERS)

    return _WORD.sub(longer, text)
