"""The sides of a body and the sexes that the published tables tell apart.

Question answered: in which order do per-side and per-sex values stand?
"""

from __future__ import annotations

LEFT, RIGHT = "left", "right"
SIDES = (LEFT, RIGHT)
"""The order of every axis over sides."""
SEXES = ("male", "female")
"""The order of every axis over sexes."""


def other_side(side: str) -> str:
    """The other side of the body."""
    return LEFT if side == RIGHT else RIGHT
