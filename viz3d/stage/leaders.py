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
from viz3d.stage.distances import apart, off
from viz3d.stage.drawing import Box
from viz3d.stage.figure import RING
from viz3d.stage.reach import lengthens

SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88, 0.05, 0.95)
"""Places along an arrow or a lever arm that are tried, 0 at its tail."""
BENDS = (0.62, 0.75, 0.5, 0.35, 0.2, 0.9, 1.0, 1.06, 1.12, 1.18, 1.25, 1.35, 0.0)
"""Shares of the way across at which a leader bends; 0 for a straight one, 1 for one that comes down square, above it
one that comes back."""
_CLEAR = 13.0
"""Least distance from other arrows and lever arms, u."""
_RING = 6.0
"""Leaders stay so far outside the hip's ring, u."""
_POINTS = 24
_TOGETHER = 33
"""Ways to lead that are looked at in one go."""
_BANNED, _BACK = 1000.0, 50.0
"""What meeting something in every frame costs, more than all else together; and what turning back costs."""
_SLANT = 0.06
"""What a leader costs for each u up or down."""


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
    wanted: dict[str, Pointing], others: dict[str, Array], words: list[Box], joint: Array, u: float, size: float = 1.0
) -> dict[str, Led]:
    """How each leader runs.

    Parameters
    ----------
    wanted : by key, in the order in which they are found. others : key -> (F, 2, 2) arrows and lever arms, pixels.
    words : boxes of labels and signs. joint : (F, 2) of the hip. size : thickness of lines against the usual.
    """
    out: dict[str, Led] = {}
    drawn: list[Array] = []
    walls = np.array([(b.left, b.top, b.right, b.bottom) for b in words]).reshape(-1, 4)
    for key, one in wanted.items():
        lines = [s for k, s in others.items() if k != key]
        best, tries = (np.inf, Led((0.0, 0.0), one.wanted, BENDS[0])), _tries(one)
        for first in range(0, len(tries), _TOGETHER):
            some = tries[first : first + _TOGETHER]
            if some[0][0] >= best[0]:
                break
            costs = _costs([led for _, led in some], one, lines, drawn, walls, (joint, RING * size + _RING), u)
            costs += np.array([least for least, _ in some])
            k = int(costs.argmin())
            best = min(best, (float(costs[k]), some[k][1]), key=lambda x: x[0])
        out[key] = best[1]
        drawn += _pieces_of(one, best[1])
    return out


def _costs(
    some: list[Led], one: Pointing, lines: list[Array], drawn: list[Array], walls: Array, joint: tuple[Array, float],
    u: float,
) -> Array:  # fmt: skip
    """What some ways to lead cost, (T,), but for what each costs at least; ``joint``: (F, 2), and its reach, u."""
    corners = np.array([[_corners(led, tail, tip) for tail, tip in one.spans] for led in some])  # (T, F, 3, 2)
    meets = (
        _met(corners, lines, _CLEAR * u)
        + _met(corners, lines, 0.4 * _CLEAR * u)
        + _met(corners, drawn, 6.0 * u)
        + 3.0 * _inside(corners, walls, 4.0 * u)
    )
    start, bend, end = (corners[:, :, k] for k in range(3))
    meets += np.minimum(off(joint[0], start, bend), off(joint[0], bend, end)) < joint[1] * u
    last = end - bend
    if one.lever:
        meets += 3.0 * lengthens(last, one.spans[:, 1] - one.spans[:, 0])
    back = (last * (bend - start)).sum(axis=-1) < 0.0
    slope = np.clip(np.abs(last[..., 1]) / np.maximum(np.abs(last[..., 0]), 1e-6), 0.0, 4.0)
    far_up = _SLANT * np.abs(end[..., 1] - start[..., 1]) / u
    return np.asarray((_BANNED * meets + _BACK * back + slope + far_up).mean(axis=-1))


def _corners(led: Led, tail: Array, tip: Array) -> Array:
    """Start, bend and end of a leader, (3, 2); a straight one bends at its start."""
    points = path(led, tail, tip)
    return points if len(points) == 3 else points[[0, 0, 1]]


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


def _pieces_of(one: Pointing, led: Led) -> list[Array]:
    """The level and the slanting part of a leader in each frame, (F, 2, 2) each."""
    corners = np.array([_corners(led, tail, tip) for tail, tip in one.spans])
    return [corners[:, :2], corners[:, 1:]]


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


def _met(corners: Array, lines: list[Array], near: float) -> Array:
    """How many lines leaders with these corners (T, F, 3, 2) come near, (T, F)."""
    if not lines:
        return np.zeros(corners.shape[:2])
    start, bend, end = (corners[:, :, k, None] for k in range(3))
    c, d = (np.stack([line[:, k] for line in lines], axis=1) for k in (0, 1))  # (F, L, 2)
    close = np.minimum(apart(start, bend, c, d), apart(bend, end, c, d)) < near
    return np.asarray((close & (np.linalg.norm(d - c, axis=-1) > 1.0)).sum(axis=-1).astype(float))


def _inside(corners: Array, walls: Array, gap: float) -> Array:
    """How many boxes leaders with these corners (T, F, 3, 2) run through, (T, F)."""
    if not len(walls):
        return np.zeros(corners.shape[:2])
    share = np.linspace(0.0, 1.0, _POINTS)[:, None]
    points = np.concatenate([a + share * (b - a) for a, b in _pieces(corners)], axis=2)[..., None, :]
    hit = (points > walls[:, :2] - gap) & (points < walls[:, 2:] + gap)
    return np.asarray(np.any(np.all(hit, axis=-1), axis=2).sum(axis=-1), dtype=float)


def _pieces(corners: Array) -> list[tuple[Array, Array]]:
    return [(corners[:, :, k : k + 1], corners[:, :, k + 1 : k + 2]) for k in (0, 1)]
