"""Leaders: thin lines from labels to what they name, led clear of words, arrows and lever arms.

Question answered: at which part of its arrow or lever arm does a leader end, and where does it bend?

Each leader runs level from its label, bends once and ends in a dot. A few ends and bends are tried for each; the one
that meets least, over frames spread evenly through the film, serves all frames, so that leaders move only with what
they point at. A leader that would run on in the direction of a lever arm, and so seem to lengthen it, counts as meeting
it.

Pixels; pure data.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.stage.drawing import Box

SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88)
"""Places along an arrow or a lever arm that are tried, 0 at its tail."""
BENDS = (0.62, 0.75, 0.5, 0.35, 0.2, 0.9, 1.0, 0.0)
"""Shares of the way across at which a leader bends; 0 for a straight one, 1 for one that comes down square."""
_CLEAR = 13.0
"""Least distance from other arrows and lever arms, u."""
_FLAT = np.cos(np.radians(28.0))
_POINTS = 24


@dataclass(frozen=True)
class Led:
    """How a leader runs: from ``start`` (pixels) to ``share`` along its aim, bent at ``bend`` of the way across."""

    start: tuple[float, float]
    share: float
    bend: float


@dataclass(frozen=True)
class Pointing:
    """A leader to be found: where it may start, (K, 2), the best first; what it names in some frames, (F, 2, 2).

    ``lever``: it names a lever arm. ``wanted``: the share that is best where all are free.
    """

    starts: Array
    spans: Array
    lever: bool = False
    wanted: float = 0.5


def path(led: Led, tail: Array, tip: Array) -> Array:
    """Points of a leader, (2 or 3, 2), from its label on."""
    end, start = tail + led.share * (tip - tail), led.start
    if led.bend <= 0.0:
        return np.stack([start, end])
    return np.stack([start, [start[0] + led.bend * (end[0] - start[0]), start[1]], end])


def lead(
    wanted: dict[str, Pointing], others: dict[str, Array], words: list[Box], joint: Array, u: float
) -> dict[str, Led]:
    """How each leader runs.

    Parameters
    ----------
    wanted : by key, in the order in which they are found. others : key -> (F, 2, 2) arrows and lever arms, pixels.
    words : boxes of labels and signs. joint : (F, 2) of the hip.
    """
    out: dict[str, Led] = {}
    drawn: list[Array] = []
    walls = np.array([(b.left, b.top, b.right, b.bottom) for b in words]).reshape(-1, 4)
    for key, one in wanted.items():
        lines = [s for k, s in others.items() if k != key]
        best = (np.inf, Led((0.0, 0.0), one.wanted, BENDS[0]))
        for least, led in _tries(one):
            if least >= best[0]:
                break
            points = np.array([sampled(path(led, tail, tip)) for tail, tip in one.spans])
            cost = met(points, lines, _CLEAR * u) + met(points, drawn, 6.0 * u) + _inside(points, walls, 4.0 * u)
            cost += float((np.linalg.norm(points - joint[:, None], axis=-1).min(axis=1) < 17.0 * u).mean())
            cost += 3.0 * _lengthens(points, one) if one.lever else 0.0
            cost = 100.0 * cost + _steep(points) + least
            if cost < best[0]:
                best = (cost, led)
        out[key] = best[1]
        drawn.append(_slant(one, best[1]))
    return out


def _tries(one: Pointing) -> list[tuple[float, Led]]:
    """Ways a leader may run with what each costs at least, the least first."""
    ways = itertools.product(enumerate(one.starts), SHARES, BENDS)
    tries = [
        (
            8.0 * abs(share - one.wanted) + 3.0 * abs(bend - BENDS[0]) + 20.0 * k,
            Led((float(start[0]), float(start[1])), share, bend),
        )
        for (k, start), share, bend in ways
    ]
    return sorted(tries, key=lambda one: one[0])


def _slant(one: Pointing, led: Led) -> Array:
    """The slanting part of a leader in each frame, (F, 2, 2)."""
    return np.array([path(led, tail, tip)[-2:] for tail, tip in one.spans])


def sampled(line: Array) -> Array:
    """Points along a line, (_POINTS, 2)."""
    steps = np.linspace(0.0, len(line) - 1.0, _POINTS)
    return np.column_stack([np.interp(steps, np.arange(len(line)), line[:, k]) for k in (0, 1)])


def met(points: Array, lines: list[Array], near: float) -> float:
    """How many lines a leader comes near, mean over the frames."""
    total = 0.0
    for line in lines:
        tail, span = line[:, 0], line[:, 1] - line[:, 0]
        long = (span**2).sum(axis=-1)
        away = points - tail[:, None]
        share = np.clip((away * span[:, None]).sum(axis=-1) / np.maximum(long, 1e-9)[:, None], 0.0, 1.0)
        distance = np.linalg.norm(away - share[..., None] * span[:, None], axis=-1)
        total += float(((distance < near).any(axis=1) & (long > 1.0)).mean())
    return total


def _inside(points: Array, walls: Array, gap: float) -> float:
    """How many boxes a leader runs through, mean over the frames."""
    x, y = points[..., None, 0], points[..., None, 1]
    hit = (x > walls[:, 0] - gap) & (x < walls[:, 2] + gap) & (y > walls[:, 1] - gap) & (y < walls[:, 3] + gap)
    return 3.0 * float(hit.any(axis=1).sum(axis=-1).mean()) if len(walls) else 0.0


def _lengthens(points: Array, one: Pointing) -> float:
    """Share of the frames in which a leader arrives in the direction of its lever arm."""
    last, span = points[:, -1] - points[:, -2], one.spans[:, 1] - one.spans[:, 0]
    sizes = np.linalg.norm(last, axis=1) * np.linalg.norm(span, axis=1)
    return float((np.abs((last * span).sum(axis=1)) > _FLAT * np.maximum(sizes, 1e-9)).mean())


def _steep(points: Array) -> float:
    """A little for leaders that go far up or down at once, more for those that turn back."""
    last, first = points[:, -1] - points[:, -2], points[:, 1] - points[:, 0]
    back = (last * first).sum(axis=1) < 0
    slope = np.abs(last[:, 1]) / np.maximum(np.abs(last[:, 0]), 1e-6)
    return float((50.0 * back + np.clip(slope, 0.0, 4.0)).mean())
