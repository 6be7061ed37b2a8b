"""The drawing: everything on the page but the meshes, in pixels, as plain data.

Question answered: which marks and which words, where, in which order?

One drawing feeds the raster and the vector writer alike. Origin top left, y down, pixels of the output.
Marks are drawn in list order.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from viz3d.arrays import Array


@dataclass(frozen=True)
class Shape2D:
    """A filled outline; ``halo`` draws a rim in the backdrop's colour behind it."""

    points: Array
    fill: str
    halo: float = 0.0
    role: str = ""
    opacity: float = 1.0


@dataclass(frozen=True)
class Stroke:
    """A line through points; ``dash`` is on and off lengths in pixels."""

    points: Array
    colour: str
    width: float
    dash: tuple[float, float] | None = None
    halo: float = 0.0
    role: str = ""
    opacity: float = 1.0


@dataclass(frozen=True)
class Words:
    """One line of text. ``anchor`` is "start", "middle" or "end"; (x, y) its baseline."""

    x: float
    y: float
    text: str
    size: float
    colour: str
    weight: str = "Regular"
    anchor: str = "start"
    halo: float = 0.0
    role: str = ""


Mark = Shape2D | Stroke | Words


@dataclass(frozen=True)
class Box:
    """A rectangle in pixels."""

    left: float
    top: float
    right: float
    bottom: float

    def whole(self) -> Box:
        """The same rectangle on whole pixels."""
        return Box(round(self.left), round(self.top), round(self.right), round(self.bottom))

    def overlaps(self, other: Box, gap: float = 0.0) -> bool:
        """True where the two rectangles come closer than ``gap``."""
        across = self.left < other.right + gap and other.left < self.right + gap
        return across and self.top < other.bottom + gap and other.top < self.bottom + gap


@dataclass(frozen=True)
class Drawing:
    """One frame's marks over the meshes, and the cards beneath them.

    ``label_boxes`` and ``arrows`` (role -> tail, tip in pixels) are kept for tests and for alt text.
    """

    size: tuple[int, int]
    under: list[Mark]
    over: list[Mark]
    label_boxes: dict[str, Box] = field(default_factory=dict)
    arrows: dict[str, tuple[Array, Array]] = field(default_factory=dict)


def moved(box: Box, by: Array) -> Box:
    """A rectangle moved by (2,) pixels."""
    x, y = (float(v) for v in by)
    return Box(box.left + x, box.top + y, box.right + x, box.bottom + y)


def unit_of(size: tuple[int, int]) -> float:
    """The layout's unit u in pixels: 1/1080 of the height; upright pages take it from their width."""
    return min(size[1] / 1080.0, size[0] / 740.0)


def disc(centre: Array, radius: float, steps: int = 48) -> Array:
    """Outline of a circle, (steps, 2)."""
    turn = np.linspace(0.0, 2.0 * np.pi, steps, endpoint=False)
    return np.asarray(centre + radius * np.stack([np.cos(turn), np.sin(turn)], axis=-1))


def closed(points: Array) -> Array:
    """The outline with its first point repeated at the end."""
    return np.concatenate([points, points[:1]])


def arrow(tail: Array, tip: Array, width: float) -> Array:
    """Outline of an arrow whose tip and tail lie exactly on the two points.

    The shaft tapers from 0.62 of ``width`` at the tail; the head is swept back. Short arrows keep their
    true length and shrink in width.
    """
    span = tip - tail
    length = float(np.hypot(*span))
    if length < 1e-6:
        return np.repeat(tail[None], 3, axis=0)
    along = span / length
    aside = np.array([-along[1], along[0]])
    w = min(width, length / 3.4)
    head = min(2.7 * w, 0.72 * length)
    half_head, barb = 1.1 * w, 0.16 * head
    neck = tip - along * (head - barb)
    end = 0.31 * w
    turn = np.linspace(0.5, 1.5, 9) * np.pi
    centre = tail + along * end
    cap = centre + end * (np.cos(turn)[:, None] * along + np.sin(turn)[:, None] * aside)
    return np.concatenate(
        [
            cap,
            [neck - aside * w / 2, tip - along * head - aside * half_head, tip,
             tip - along * head + aside * half_head, neck + aside * w / 2],
        ]
    )  # fmt: skip


_LINED = 12.0
"""A pattern's lines need so many rims of length."""


def filled(outline: Array, along: Array, colour: str, inside: str, pattern: str, halo: float, role: str) -> list[Mark]:
    """An outline filled by a pattern: one that stays apart from the others without colour.

    Parameters
    ----------
    along : (2,) direction of the thing, for lines that follow or cross it.
    inside : colour between the lines. pattern : "solid", "hollow", "rungs", "slant", "rails" or "beads"; what is too
    short for lines to be read is solid.
    """
    size = float(np.hypot(*along))
    way = along / size if size > 1e-9 else np.array([1.0, 0.0])
    short = pattern not in ("solid", "hollow") and float(np.ptp(outline @ way)) < _LINED * halo
    if pattern == "solid" or short:
        return [Shape2D(outline, colour, halo, role)]
    pen = max(1.0, 0.45 * halo)
    marks: list[Mark] = [Shape2D(outline, inside, halo, role)]
    aside = np.array([-way[1], way[0]])
    across = {"rungs": way, "slant": way + aside, "rails": aside}.get(pattern)
    if across is not None:
        across = across / np.hypot(*across)
        gap = {"rungs": 2.2, "slant": 2.6, "rails": 1.35}[pattern] * halo
        marks += [Stroke(line, colour, pen) for line in _ruled(outline, across, gap)]
    if pattern == "beads":
        low, high = float((outline @ way).min()), float((outline @ way).max())
        middle = float(np.mean([(outline @ aside).min(), (outline @ aside).max()]))
        for at in np.arange(low + 2.2 * halo, high - 2.6 * halo, 2.6 * halo):
            marks.append(Shape2D(disc(at * way + middle * aside, 0.72 * halo, 12), colour))
    marks.append(Stroke(closed(outline), colour, pen * (1.9 if pattern == "hollow" else 1.2)))
    return marks


def _ruled(outline: Array, across: Array, gap: float) -> list[Array]:
    """Parallel lines ``gap`` apart inside a closed outline; ``across`` is the unit vector square to them."""
    along = np.array([-across[1], across[0]])
    u, v = outline @ across, outline @ along
    after_u, after_v = np.roll(u, -1), np.roll(v, -1)
    lines = []
    for level in np.arange(np.ceil(u.min() / gap) * gap, u.max(), gap):
        cut = (u <= level) != (after_u <= level)
        share = (level - u[cut]) / (after_u[cut] - u[cut])
        ends = np.sort(v[cut] + share * (after_v[cut] - v[cut]))
        for a, b in zip(ends[::2], ends[1::2], strict=False):
            lines.append(np.stack([level * across + a * along, level * across + b * along]))
    return lines
