"""A page: one sheet, or several side by side, and what is written over all of them.

Question answered: which sheets does a picture hold, where, and what does it say in words?

Called by the writers.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from viz3d.stage.alt import alt_text
from viz3d.stage.canvas import Canvas
from viz3d.stage.drawing import Mark
from viz3d.stage.theme import Theme


@dataclass(frozen=True)
class Part:
    """A sheet's frame ``index``, its left edge at ``x`` pixels."""

    sheet: Canvas
    index: int
    x: float = 0.0


@dataclass(frozen=True)
class Page:
    """``over``: marks of the page itself, painted last."""

    size: tuple[int, int]
    theme: Theme
    title: str
    parts: list[Part]
    alt: str
    over: list[Mark] = field(default_factory=list)


def single_page(sheet: Canvas, index: int) -> Page:
    """A page with one sheet."""
    return Page(
        sheet.size, sheet.theme, sheet.plan.title, [Part(sheet, index)], alt_text(sheet.plan, index, sheet.theme.voice)
    )
