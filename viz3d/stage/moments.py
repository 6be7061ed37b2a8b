"""The line under the forces: what drops the pelvis and what holds it, in numbers.

Question answered: which moments add up to which?

Words with their colours, in a row; :mod:`viz3d.stage.polygon` puts them on its card.
"""

from __future__ import annotations

import numpy as np

from viz3d.stage.drawing import Box, Words
from viz3d.stage.plan import Plan
from viz3d.stage.theme import Theme
from viz3d.stage.type import text_width
from viz3d.words.message import message, moment

GAP = 0.24
"""Space between its words, in their size."""


def moments_added(plan: Plan, theme: Theme, i: int) -> list[tuple[str, str]]:
    """Words and colours: what is added, the numbers, their unit. None where nothing is told; no term that reads as
    nought."""
    voice, ink = theme.voice, theme.colours["ink"]
    turns = [(t.role, float(t.moment[i])) for t in plan.turns if np.isfinite(t.moment[i])]
    told = [(role, m, voice.number(moment(abs(m))).split(maxsplit=1)) for role, m in turns]
    told = [one for one in told if any(digit in "123456789" for digit in one[2][0])]
    sums = [[(role, words[0]) for role, m, words in told if way * m > 0.0] for way in (1, -1)]
    if plan.unloaded(i) or not all(sums):
        return []
    drops, holds = (sum(float(digits.replace(",", ".")) for _, digits in some) for some in sums)
    pieces = [(voice.say(message("card.moments")), ink)]
    for some, sign in zip(sums, ("", "=" if abs(drops - holds) < 0.05 else "≈"), strict=True):
        for n, (role, digits) in enumerate(some):
            pieces += [("+" if n else sign, ink), (digits, theme.colours[role])]
    return [one for one in [*pieces, (told[0][2][1], ink)] if one[0]]


def row_width(pieces: list[tuple[str, str]], size: float, theme: Theme) -> float:
    """Width of words in a row, pixels."""
    return sum(text_width(text, size, "Medium", theme.face) + GAP * size for text, _ in pieces) - GAP * size


def word_box(words: Words, theme: Theme) -> Box:
    """The letters' box of a line that begins at its place, pixels."""
    wide = text_width(words.text, words.size, words.weight, theme.face)
    return Box(words.x, words.y - 0.76 * words.size, words.x + wide, words.y + 0.14 * words.size)
