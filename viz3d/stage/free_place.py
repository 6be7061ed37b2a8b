"""Places for the numbers beside a force polygon's sides.

Question answered: where does a number stand nearest to its side, clear of sides, words and other numbers?
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.stage.drawing import Box
from viz3d.stage.tags import leader_to

_SHORT, _OVER = 40.0, -14.0
"""Numbers of shorter sides are tried beyond their ends too, there in line with them as well, u."""
_SHARES = (0.5, 0.62, 0.38, 0.75, 0.25, 0.9, 0.1, 1.08, -0.08)
_AWAY = (13.0, 20.0, 30.0, 44.0, 60.0, 80.0, 104.0)
"""Places of a number along its side and away from it, u."""


@dataclass(frozen=True)
class Met:
    """What a number may meet: ``walls``: corners of boxes (N, 2, 2); ``taken``: words; ``others``: other sides."""

    walls: Array
    taken: list[Box]
    others: list[Box]


def free_place(ends: tuple[Array, Array], size: tuple[float, float], room: Box, u: float, met: Met) -> Box:
    """The free place nearest to a side; in a card that is too full the one that meets least, as its leader does.

    Parameters
    ----------
    ends : tail and tip of the side, pixels. size : the number's width and height. room : the card.
    """
    tries = sorted(_tries(ends, size, room, u), key=lambda one: one[0])
    crossed = edges_of([*met.others, *met.taken])
    best: tuple[float, Box] = (np.inf, tries[0][1])
    for least, here in tries:
        if least >= best[0]:
            break
        cost = 100.0 * (_near(here, met.walls, 2 * u) + 9 * sum(here.overlaps(b, 3 * u) for b in met.taken)) + least
        if cost < best[0]:
            cost += 100.0 * _crossed(here, ends, u, crossed)
            best = min(best, (cost, here), key=lambda one: one[0])
    return best[1]


def _tries(ends: tuple[Array, Array], size: tuple[float, float], room: Box, u: float) -> list[tuple[float, Box]]:
    """Every place with what it costs by itself."""
    (tail_x, tail_y), (tip_x, tip_y) = ends[0].tolist(), ends[1].tolist()
    span_x, span_y, (wide, tall) = tip_x - tail_x, tip_y - tail_y, size
    long = math.hypot(span_x, span_y)
    aside_x, aside_y = -span_y / max(long, 1.0), span_x / max(long, 1.0)
    steps = (0.0, 22.0, -22.0, 40.0, -40.0) if long < _SHORT * u else (0.0,)
    out = []
    for share, away, way, step in itertools.product(_SHARES, (_OVER, *_AWAY), (1.0, -1.0), steps):
        if away == _OVER and step == 0.0:
            continue
        x = tail_x + share * span_x + (way * away * aside_x + step * aside_y) * u
        y = tail_y + share * span_y + (way * away * aside_y - step * aside_x) * u
        left = x if way * aside_x >= 0 else x - wide
        out_of = max(room.left + 6 * u - left, left + wide - room.right + 6 * u, 0.0)
        cost = 10.0 * out_of + abs(away) + 30 * abs(share - 0.5) + 0.5 * abs(step)
        out.append((cost, Box(left, y - tall / 2, left + wide, y + tall / 2)))
    return out


def _near(here: Box, edges: Array, gap: float) -> int:
    """How many boxes, by their corners (N, 2, 2), come nearer to one than a gap."""
    low, high = np.array([here.left, here.top]) - gap, np.array([here.right, here.bottom]) + gap
    return int(((low < edges[:, 1]) & (high > edges[:, 0])).all(axis=-1).sum())


def _crossed(here: Box, ends: tuple[Array, Array], u: float, edges: Array) -> int:
    """How many boxes, by their corners (N, 2, 2), the leader of a number at ``here`` runs through."""
    line = leader_to(here, *ends, 0.6 * u)
    if line is None:
        return 0
    dots = np.linspace(line[0], line[-1], 13)[:-1, None]
    return int(((dots > edges[:, 0]) & (dots < edges[:, 1])).all(axis=-1).any(axis=0).sum())


def edges_of(boxes: list[Box]) -> Array:
    """Lower and upper corners of boxes, (N, 2, 2)."""
    return np.array([[[b.left, b.top], [b.right, b.bottom]] for b in boxes]).reshape(-1, 2, 2)


def along(tail: Array, tip: Array, half: float) -> list[Box]:
    """Boxes that cover a line ``half`` to both sides."""
    cuts = np.linspace(tail, tip, 13)
    low, high = np.minimum(cuts[:-1], cuts[1:]) - half, np.maximum(cuts[:-1], cuts[1:]) + half
    return [Box(*pair) for pair in np.concatenate([low, high], axis=1).tolist()]
