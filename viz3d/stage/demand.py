"""Demand against capacity: what the abductors must give beside what they have.

Question answered: how much of its strength does this posture take?

Two bars on one axis from zero: of one equivalent muscle moments about the hip, of a set of muscles the share of its
strength that the hardest-working line needs. Pure data.
"""

from __future__ import annotations

import numpy as np

from viz3d.stage import drawing as d
from viz3d.stage.canvas import Canvas
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words
from viz3d.stage.plan import Demand
from viz3d.stage.polygon import card_heading
from viz3d.words.message import Message, Said, fraction, message

_TALL = 26.0
"""Height of a bar, u."""
_WEAK = 0.995
"""A share of strength below this is said."""


def demand_marks(sheet: Canvas, box: Box, i: int, said: bool, still: bool) -> list[Mark]:
    """The card's marks in one frame; ``said``: with its numbers, ``still``: its heading alone."""
    u, t, c, demand = sheet.u, sheet.t, sheet.colours, sheet.plan.demand
    marks: list[Mark] = [*card_heading(sheet.theme, u, box, sheet.say(message("card.demand")))]
    if still or demand is None or "muscle" not in sheet.layers:
        return marks
    left, right = box.left + 20 * u, box.right - 20 * u
    most = max(float(np.nanmax(demand.needed)), float(demand.has.max()), 1e-9)
    start = box.top + 46 * u + (sum(isinstance(m, Words) for m in marks) - 1) * 30 * t
    between = (box.bottom - start) / 2
    rows = (("needs", demand.needed, demand.needed_words), ("has", demand.has, demand.has_words))
    for k, (key, sizes, words) in enumerate(rows):
        top = start + k * between + 34 * t
        wide = left + (right - left) * float(np.nan_to_num(sizes[i])) / most
        bar = np.array([[left, top], [wide, top], [wide, top + _TALL * u], [left, top + _TALL * u]])
        if key == "needs":
            pattern = sheet.theme.pattern("muscle")
            marks += d.filled(bar, np.array([1.0, 0.0]), c["muscle"], c["card"], pattern, 2.0 * u, "demand")
        else:
            marks += [Shape2D(bar, c["card"], 2.0 * u, "capacity"), Stroke(d.closed(bar), c["ink"], 2.4 * u)]
        told = sheet.say(_told(key, demand, words, i) if said else message(f"card.{key}_bare"))
        marks.append(Words(left, top - 9 * u, told, 24 * t, c["ink"], "Medium", "start", 2.5 * u, "demand"))
    limit = left + (right - left) * float(demand.has[i]) / most
    high = start + 34 * t - 5 * u
    ends = np.array([[limit, high], [limit, start + between + (34 + _TALL) * t]])
    marks.append(Stroke(ends, c["ink"], 2.0 * u, (6 * u, 5 * u), 1.5 * u))
    return marks


def _told(key: str, demand: Demand, words: list[Said], i: int) -> Message:
    """What is needed, or what there is, of which strength."""
    left = float(demand.strength[i])
    if key == "has" and left < _WEAK:
        return message("card.has_at", amount=words[i], share=fraction(left))
    return message(f"card.{key}", amount=words[i])
