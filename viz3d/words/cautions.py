"""What the model is and is not for: one caution in three lengths, for every medium.

Question answered: which caution stands where there is room for a few words, for a line or two, for a list?
"""

from __future__ import annotations

from viz3d.words.message import Message, message

SHORT = message("caution.short")
"""Charts, windows: a sentence."""
LINE = message("caution.line")
"""Pictures and films: two lines under the figure."""
WALKING = message("caution.line_walking")
"""The same under a body that walks."""
_FULL = ("static", "muscle", "pressure", "pain", "teaching", "clinician")


def line(counted: bool = False) -> Message:
    """Two lines under the figure; ``counted``: antagonists or passive tissue take part."""
    return message("caution.line_counted") if counted else LINE


def full_caution(counted: bool = False) -> list[Message]:
    """Every sentence, for pages and records; ``counted``: antagonists or passive tissue take part."""
    return [full_row("counted" if counted and name == "muscle" else name) for name in _FULL]


def full_row(name: str) -> Message:
    """One sentence of the full caution: static, muscle (or counted), pressure, pain, teaching or clinician."""
    return message(f"caution.full.{name}")
