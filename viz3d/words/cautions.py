"""What the model is and is not for: one caution in three lengths, for every medium.

Question answered: which caution stands where there is room for a few words, for a line or two, for a list?
"""

from __future__ import annotations

from viz3d.words.message import Message, message

SHORT = message("caution.short")
"""Charts, windows: a sentence."""
LINE = message("caution.line")
"""Pictures and films: two lines under the figure."""
_FULL = ("static", "muscle", "pressure", "pain", "teaching", "clinician")


def full_caution() -> list[Message]:
    """Every sentence, for pages and records."""
    return [full_row(name) for name in _FULL]


def full_row(name: str) -> Message:
    """One sentence of the full caution: static, muscle, pressure, pain, teaching or clinician."""
    return message(f"caution.full.{name}")
