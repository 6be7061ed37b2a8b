"""What the model is and is not for: one caution in three lengths, for every medium.

Question answered: which caution stands where there is room for a few words, for a line or two, for a list?
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from viz3d.words.message import Message, joined, message

SHORT = message("caution.short")
"""Charts, windows: a sentence."""
LINE = message("caution.line")
"""Pictures and films: two lines under the figure."""
WALKING = message("caution.line_walking")
"""The same under a body that walks."""
BOTH = message("caution.line_both")
"""The same under bodies of which some stand and some walk."""
Moving = Literal["stands", "walks", "both"]
"""What the bodies of a medium do; both: some stand, some walk."""
_FULL = ("static", "muscle", "pressure", "pain", "teaching", "clinician")


def line(counted: bool = False) -> Message:
    """Two lines under the figure; ``counted``: antagonists or passive tissue take part."""
    return message("caution.line_counted") if counted else LINE


def moving(walks: Iterable[bool]) -> Moving:
    """What several bodies do, by whether each walks.

    Examples
    --------
    >>> moving([True, True]), moving([False]), moving([True, False])
    ('walks', 'stands', 'both')
    """
    some = set(walks)
    return "both" if len(some) > 1 else "walks" if True in some else "stands"


def short(what: Moving = "stands") -> Message:
    """A sentence, for what bodies do."""
    return SHORT if what == "stands" else message(f"caution.short_{'walking' if what == 'walks' else 'both'}")


def full_caution(counted: bool = False, what: Moving = "stands") -> list[Message]:
    """Every sentence, for pages and records; ``counted``: antagonists or passive tissue take part."""
    names = ["counted" if counted and name == "muscle" else name for name in _FULL]
    return [_ABOUT[what] if name == "static" else full_row(name) for name in names]


def in_short(what: Moving = "stands") -> Message:
    """What the answer to a question is about, and what it is not for."""
    return joined("join.space", [_ABOUT[what], full_row("teaching")])


def full_row(name: str) -> Message:
    """One sentence of the full caution: static, muscle (or counted), pressure, pain, teaching or clinician."""
    return message(f"caution.full.{name}")


_ABOUT = {"stands": full_row("static"), "walks": message("walk.limits"), "both": message("caution.about_both")}
