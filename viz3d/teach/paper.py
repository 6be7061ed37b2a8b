"""A sheet of paper as data: blocks of words, pictures and tables in order.

Question answered: what stands on a handout, a worksheet, a fitting sheet?

Words are messages, said once by the sheet's voice when it is written (:mod:`viz3d.output.paper`). Nothing here knows
how a page is set.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from viz3d.teach.deck import SlidePicture
from viz3d.teach.sketch import Sketch
from viz3d.words.message import Said
from viz3d.words.voice import Voice

PAPERS = ("a4", "letter")


@dataclass(frozen=True)
class Mark:
    """A line over a whole person's picture with its words: "handle" at its height, "tip" from little toe to tip."""

    kind: Literal["handle", "tip"]
    told: Said


@dataclass(frozen=True)
class Block:
    """One thing on a page.

    ``kind``: "title", "heading", "text", "strong", "small" (``told``); "list", "steps", "choices", "remarks"
    (``items``); "caution" (both); "picture" or "sketch"; "table" (``rows``); "ruled" (``count`` lines to write on);
    "room" (such lines for what is left of the page, shared by all rooms on it); "beside" (``left`` and ``right``,
    ``share`` of the width for the left, 0 for as much as it needs); "together" (``left``, on one page); "break".
    """

    kind: str
    told: Said = ""
    items: tuple[Said, ...] = ()
    picture: SlidePicture | None = None
    sketch: Sketch | None = None
    forces: bool = True
    """A sketch with its arrows; else for students to draw them."""
    wide: float = 0.0
    """Width of a picture, mm; 0 for its own."""
    marks: tuple[Mark, ...] = ()
    rows: tuple[tuple[Said, ...], ...] = ()
    count: int = 0
    left: tuple[Block, ...] = ()
    right: tuple[Block, ...] = ()
    share: float = 0.5


@dataclass(frozen=True)
class Leaf:
    """A whole sheet: what it is called, its blocks, the size of its letters, points."""

    title: Said
    subject: Said
    blocks: tuple[Block, ...]
    voice: Voice
    letters: float = 11.0


def listed(kind: str, items: Sequence[Said], told: Said = "") -> Block:
    """A list, numbered steps, choices or a box of cautions."""
    return Block(kind, told, tuple(items))


def words(kind: str, told: Said) -> Block:
    """A title, heading or paragraph."""
    return Block(kind, told)
