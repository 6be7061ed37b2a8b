"""Short names beside their arrows, for figures too narrow for columns of labels.

Question answered: which free place near its arrow does each tag take?

Places along both sides of each arrow are tried; those that touch an arrow, the joint or the edge are struck out; an
integer programme picks one for each tag so that none overlaps another and all stay near.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.errors import InputError
from viz3d.stage.choose import choose
from viz3d.stage.distances import apart
from viz3d.stage.drawing import Box
from viz3d.stage.reach import FLAT
from viz3d.stage.type import INTER, Face, text_width

_ALONG = np.linspace(-0.05, 1.05, 12)
_AWAY = (16.0, 26.0, 40.0)
_GRIDS = (tuple(range(-210, 211, 30)), tuple(range(-480, 481, 30)))
_CLEAR = 4.0
_CELL, _APART = 7.0, 5.0
"""Size of the cells of which no two tags share one, and how far a tag claims them around it, u."""
ON_BONE, ON_BODY = 70.0, 420.0
"""A tag goes so far, u, to stand beside a bone, or beside a clothed person, rather than upon it."""
_CROSSING = 300.0
"""A tag goes so far, u, that its line meets no arrow."""
_NEAR, _SEEN = 6.0, 2.0
"""A line meets an arrow that it comes so near, and that is so long, u."""
_FRAMES = 3
"""Frames in which lines are looked at, spread evenly."""
_AS_BAD = 2
"""A line that runs on in the direction of what it names counts as so many crossings."""
_LONG = 90.0
"""To the middle of what is no longer than this a line leads, else to its nearest part, u."""
_SIZES = 4
"""Sizes of type tried from large to usual."""


@dataclass(frozen=True)
class Tag:
    """A placed tag; its words are the widest it ever shows."""

    lines: list[str]
    colour: str
    box: Box
    size: float
    """Pixels of one unit of type."""


def leader_to(box: Box, tail: Array, tip: Array, u: float, near: float | None = None) -> Array | None:
    """A line (2, 2) from a tag's box to the nearest part of its arrow, None where they are as close as ``near``, u."""
    line = _leaders([box], np.stack([tail, tip])[None], u)[0, 0]
    return line if np.hypot(*(line[1] - line[0])) > (_AWAY[-1] if near is None else near) * u else None


def _leaders(boxes: list[Box], spans: Array, u: float) -> Array:
    """Lines (B, F, 2, 2) from boxes to the nearest parts of an arrow in some frames, (F, 2, 2)."""
    edges = np.array([(b.left, b.top, b.right, b.bottom) for b in boxes])[:, None]
    low, high, tail, span = edges[..., :2], edges[..., 2:], spans[:, 0], spans[:, 1] - spans[:, 0]
    inset = np.where(np.hypot(*span.T) > _LONG * u, 0.1, 0.4)
    share = (((low + high) / 2 - tail) * span).sum(axis=-1) / np.maximum((span**2).sum(axis=-1), 1e-9)
    end = tail + np.clip(share, inset, 1.0 - inset)[..., None] * span
    return np.stack([np.clip(end, low, high), end], axis=-2)


def place_tags(
    lines: dict[str, tuple[list[str], str]], spans: dict[str, Array], others: list[Box], room: Box,
    u: float, t: float, face: Face = INTER, soft: Sequence[Box] = (), least: float | None = None,
    apart: float = ON_BONE, pointed: frozenset[str] = frozenset(),
) -> dict[str, Tag]:  # fmt: skip
    """Places for all tags; type gives way, as far as ``least`` or the usual size, where it leaves no room.

    Parameters
    ----------
    lines : key -> (words, colour); the last of several lines is the larger. spans : key -> tail and tip in
    every frame, (F, 2, 2) pixels.
    others : what else no tag may touch. room : what the tags must stay in. soft : what they rather leave free.
    u, t : pixels of a unit of the page and of type. apart : how far, u, a tag goes to leave them free.
    pointed : keys of tags whose lines are always drawn; no line should cross what the others name.

    Raises
    ------
    InputError : there is no room for them.
    """
    walls = [*others, *_walls(spans, u)]
    low = u if least is None else min(least, u)
    sizes = [*(np.linspace(t, u, _SIZES) if t > u else [t]), *([(u + low) / 2, low] if low < u else [])]
    for grid, size in itertools.product(_GRIDS, sizes):
        found = _placed(lines, spans, walls, room, u, float(size), face, soft, apart, grid, pointed)
        if found is not None:
            return found
    raise InputError(
        "picture.size: too small for these names beside their arrows; give a larger picture, or show fewer"
    )


def line_sizes(count: int, t: float) -> list[float]:
    """Type sizes of a tag's lines: the last of several is the larger."""
    return [24 * t] * (count - 1) + [(28 if count > 1 else 24) * t]


def _placed(
    lines: dict[str, tuple[list[str], str]], spans: dict[str, Array], walls: list[Box], room: Box,
    u: float, t: float, face: Face, soft: Sequence[Box], away: float, grid: tuple[int, ...],
    pointed: frozenset[str],
) -> dict[str, Tag] | None:  # fmt: skip
    """Places at one size of type, None where there are none."""
    keys = list(lines)
    flat: list[tuple[int, float, Tag]] = []
    for k, key in enumerate(keys):
        words, colour = lines[key]
        sizes = line_sizes(len(words), t)
        wide = max(text_width(w, s, "Bold", face) for w, s in zip(words, sizes, strict=True))
        tall = sum(1.2 * s for s in sizes)
        span = spans[key].mean(axis=0)
        rows = np.unique(np.linspace(0, len(spans[key]) - 1, _FRAMES).astype(int))
        arrows = [spans[other][rows] for other in keys if other not in pointed and other != key]
        others = np.array(arrows).reshape(-1, len(rows), 2, 2)
        near = 0.0 if key in pointed else None
        free = [
            (far, box)
            for far, box in _places(span, wide, tall, u, grid)
            if room.left <= box.left and box.right <= room.right and room.top <= box.top and box.bottom <= room.bottom
            and not any(box.overlaps(w, _CLEAR * u) for w in walls)
        ]  # fmt: skip
        if not free:
            return None
        meets = _crossed([box for _, box in free], spans[key][rows], others, u, near)
        for (far, box), bad in zip(free, meets, strict=True):
            cost = far + _CROSSING * float(bad) + away * _covered(box, soft)
            flat.append((k, cost, Tag(words, colour, box, t)))
    chosen = _choose(flat, room, u)
    return None if chosen is None else {keys[k]: tag for k, tag in chosen}


def _crossed(boxes: list[Box], spans: Array, others: Array, u: float, near: float | None) -> Array:
    """How many lines a line from each box to what it names meets, (B,), the mean over some frames; none where close.

    ``spans`` (F, 2, 2), ``others`` (K, F, 2, 2): what it names, and the lines. ``near``: how close is close, u.
    """
    if not len(others):
        return np.zeros(len(boxes))
    lines, along = _leaders(boxes, spans, u), spans[:, 1] - spans[:, 0]
    start, end = lines[..., 0, :], lines[..., 1, :]  # (B, F, 2)
    way = end - start
    long = np.hypot(way[..., 0], way[..., 1])
    # one that runs on in the direction of what it names would seem to lengthen it
    runs_on = np.abs((way * along).sum(axis=-1)) > FLAT * long * np.hypot(*along.T)
    first, last = np.moveaxis(others, 2, 0)
    close = apart(start[:, None], end[:, None], first, last) < _NEAR * u  # (B, K, F)
    close &= np.hypot(*np.moveaxis(last - first, -1, 0)) > _SEEN * u
    bad = close.sum(axis=1) + _AS_BAD * runs_on
    return np.asarray(np.where(long > (_AWAY[-1] if near is None else near) * u, bad, 0.0).mean(axis=-1))


def _covered(box: Box, soft: Sequence[Box]) -> float:
    """How much of a box others cover, at most 1."""
    area = sum(
        max(0.0, min(box.right, b.right) - max(box.left, b.left))
        * max(0.0, min(box.bottom, b.bottom) - max(box.top, b.top))
        for b in soft
    )
    return min(1.0, area / ((box.right - box.left) * (box.bottom - box.top)))


def _walls(spans: dict[str, Array], u: float) -> list[Box]:
    out = []
    for tail, tip in (ends for some in spans.values() for ends in some):
        middle = (tail + tip) / 2
        if np.hypot(*(tip - tail)) < 14.0 * u:
            out.append(Box(*(middle - 22 * u), *(middle + 22 * u)))
        cuts = np.linspace(tail, tip, 9)
        for a, b in itertools.pairwise(cuts):
            low, high = np.minimum(a, b) - 9 * u, np.maximum(a, b) + 9 * u
            out.append(Box(low[0], low[1], high[0], high[1]))
    return out


def _places(ends: Array, wide: float, tall: float, u: float, grid: tuple[int, ...]) -> Iterator[tuple[float, Box]]:
    """(cost, box) of places on both sides of an arrow, and on a grid farther off."""
    tail, tip = ends
    span = tip - tail
    length = max(float(np.hypot(*span)), 1.0)
    aside = np.array([-span[1], span[0]]) / length
    for share, away, way in itertools.product(_ALONG, _AWAY, (aside, -aside)):
        near = tail + share * span + way * away * u
        left = near[0] if way[0] > 0.3 else near[0] - wide if way[0] < -0.3 else near[0] - wide / 2
        top = near[1] if way[1] > 0.7 else near[1] - tall if way[1] < -0.7 else near[1] - tall / 2
        yield away + 30 * abs(share - 0.5), Box(left, top, left + wide, top + tall)
    for across, down in itertools.product(grid, grid):
        middle = tail + 0.5 * span + np.array([across, down]) * u
        box = Box(middle[0] - wide / 2, middle[1] - tall / 2, middle[0] + wide / 2, middle[1] + tall / 2)
        line = leader_to(box, tail, tip, u)
        if line is not None:
            yield 80 + float(np.hypot(*(line[1] - line[0]))) / u, box


def _choose(flat: list[tuple[int, float, Tag]], room: Box, u: float) -> list[tuple[int, Tag]] | None:
    """One place for each tag, none overlapping, at the least cost; None where there is no such choice."""
    side, wide = _CELL * u, int((room.right - room.left) / (_CELL * u)) + 2
    covered = []
    for _, _, tag in flat:
        box, apart = tag.box, _APART * u
        box = Box(
            max(box.left - apart, room.left), max(box.top - apart, room.top), box.right + apart, box.bottom + apart
        )
        across = range(int((box.left - room.left) / side), int((box.right - room.left) / side) + 1)
        down = range(int((box.top - room.top) / side), int((box.bottom - room.top) / side) + 1)
        covered.append([row * wide + column for row in down for column in across])
    found = choose([k for k, _, _ in flat], [cost for _, cost, _ in flat], covered)
    return None if found is None else [(flat[k][0], flat[k][2]) for k in found]
