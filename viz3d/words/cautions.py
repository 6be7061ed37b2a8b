"""What the model is and is not for: one caution in three lengths, for every medium.

Question answered: which caution stands where there is room for a few words, for a line or two, for a list?
"""

from __future__ import annotations

from viz3d.words.message import Message, joined, message

SHORT = message("caution.short")
"""Charts, windows: a sentence."""
SHORT_WALKING = message("caution.short_walking")
"""The same of a body that walks."""
LINE = message("caution.line")
"""Pictures and films: two lines under the figure."""
WALKING = message("caution.line_walking")
"""The same under a body that walks."""
_FULL = ("static", "muscle", "pressure", "pain", "teaching", "clinician")


def line(counted: bool = False) -> Message:
    """Two lines under the figure; ``counted``: antagonists or passive tissue take part."""
    return message("caution.line_counted") if counted else LINE


def short(walking: bool = False) -> Message:
    """A sentence of a body that stands, or walks."""
    return SHORT_WALKING if walking else SHORT


def full_caution(counted: bool = False, walking: bool = False) -> list[Message]:
    """Every sentence, for pages and records; ``counted``: antagonists or passive tissue take part."""
    names = ["counted" if counted and name == "muscle" else name for name in _FULL]
    return [message("walk.limits") if walking and name == "static" else full_row(name) for name in names]


def in_short(walking: bool = False) -> Message:
    """What the answer to a question is about, and what it is not for."""
    return joined("join.space", [message("walk.limits") if walking else full_row("static"), full_row("teaching")])


def full_row(name: str) -> Message:
    """One sentence of the full caution: static, muscle (or counted), pressure, pain, teaching or clinician."""
    return message(f"caution.full.{name}")
