"""How well what a label names is reached from each place that the label may take.

Question answered: from here, does some leader end on it without meeting anything, and how far does it slant?

Asked for many places at once, before labels are placed, so that places are taken from which leaders run level and meet
nothing. A leader is tried with a few ends and bends, in a few frames spread through the film; the best counts. Labels
themselves are not met here: they have no places yet. Pixels; pure data.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.stage.distances import apart, off

FLAT = np.cos(np.radians(28.0))
"""Cosine of the least angle between a leader and the lever arm that it ends on."""
_SHARES = np.array([0.06, 0.2, 0.45, 0.7])
_BENDS, _LEVER_BENDS = np.array([0.3, 0.62, 0.9]), np.array([0.62, 1.0, 1.2])
_CLEAR, _JOINT = 13.0, 18.0
"""Least distance of a leader from other arrows and lever arms, and from the joint, u."""
_MET, _MET_LEVER = 160.0, 260.0
"""A label goes so far, u, to be led past one thing that it would meet; and a lever arm's."""
_ALONG = 60.0
"""What another part of the thing costs, as a way up or down, u for its whole length."""


@dataclass(frozen=True)
class Aim:
    """What a leader ends on and what it may not meet, in some frames.

    ``spans`` (F, 2, 2): tail and tip of what is named. ``others`` (L, F, 2, 2): arrows, lever arms and pieces of arcs.
    ``joint`` (F, 2). ``wanted``: the share of the way along that is best.
    """

    spans: Array
    others: Array
    joint: Array
    wanted: float = 0.5
    lever: bool = False
    """It names a lever arm: no leader may run on in its direction, and the label has a height of its own."""


def reach_costs(starts: Array, aim: Aim, u: float) -> Array:
    """What the best leader from each of some places (P, 2) costs, (P,), in u squared: its slant and what it meets."""
    shares, bends = np.unique(np.append(_SHARES, aim.wanted)), _LEVER_BENDS if aim.lever else _BENDS
    tail, tip = aim.spans[:, 0], aim.spans[:, 1]
    ends = tail + shares[:, None, None] * (tip - tail)  # (S, F, 2)
    begin = starts[:, None, None, None, :]  # (P, 1, 1, 1, 2)
    end = ends[None, :, None]  # (1, S, 1, F, 2)
    across = begin[..., 0] + bends[:, None] * (end[..., 0] - begin[..., 0])
    bend = np.stack([across, np.broadcast_to(begin[..., 1], across.shape)], axis=-1)  # (P, S, B, F, 2)
    first, last = np.broadcast_to(begin, bend.shape), np.broadcast_to(end, bend.shape)
    meets = np.zeros(bend.shape[:-1])
    for line in _between(aim.others, bend, last, first, _CLEAR * u):
        near = np.minimum(apart(first, bend, line[:, 0], line[:, 1]), apart(bend, last, line[:, 0], line[:, 1]))
        meets += (near < _CLEAR * u) & (np.hypot(*(line[:, 1] - line[:, 0]).T) > u)
    away = np.minimum(off(aim.joint, first, bend), off(aim.joint, bend, last))
    meets += away < _JOINT * u
    slant = np.abs(end[..., 1] - begin[..., 1]) / u
    if aim.lever:
        meets += lengthens(last - bend, tip - tail)
        slant = np.zeros_like(slant)
    met = (_MET_LEVER if aim.lever else _MET) ** 2
    cost = (met * meets + slant**2).mean(axis=-1) + (_ALONG * (shares - aim.wanted))[None, :, None] ** 2
    return np.asarray(cost.min(axis=(1, 2)))


def _between(lines: Array, a: Array, b: Array, c: Array, gap: float) -> Array:
    """The lines (L, F, 2, 2) that lie, in some frame, in the box round all leaders with these corners."""
    every = np.concatenate([x.reshape(-1, 2) for x in (a, b, c)])
    low, high = every.min(axis=0) - gap, every.max(axis=0) + gap
    there = (lines.max(axis=(1, 2)) > low) & (lines.min(axis=(1, 2)) < high)
    return np.asarray(lines[there.all(axis=-1)])


def lengthens(last: Array, span: Array) -> NDArray[np.bool_]:
    """True where a leader arrives in the direction of its lever arm."""
    sizes = np.linalg.norm(last, axis=-1) * np.linalg.norm(span, axis=-1)
    return np.asarray(np.abs((last * span).sum(axis=-1)) > FLAT * np.maximum(sizes, 1e-9))
