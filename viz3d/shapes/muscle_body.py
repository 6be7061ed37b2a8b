"""A muscle's body: a tapering solid from one outline to another along a path.

Question answered: what does this muscle look like in this posture, at this force?

Rings of points are blended from the origin's outline to the insertion's along the line of action, turned square to it
in between, and widened to the belly's area, which grows with activation. Outlines may run either way round, as those
of a mirrored side do: the rings are wound so that the body faces outward. Left out: bellies do not push each other
aside nor lie against the bone; where they sink into it they are hidden. Metres, any one frame.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from viz3d.arrays import Array
from viz3d.body.landmarks import drawn
from viz3d.shapes.surface import Triangles

STATIONS = 26


def muscle_points(
    path: Array, start: Array, end: Array, belly: float, activation: float, tendon: float, bulge: Array
) -> Array:
    """Vertices of a muscle's body.

    Parameters
    ----------
    path : (P, 3) line of action. start, end : (K, 3) outlines at origin and insertion, both either way round.
    belly : m².
    activation : 0 to 1. tendon : share of the length at the insertion without belly.
    bulge : (3,) how far the middle stands off the path, m.

    Returns
    -------
    (STATIONS * K + 2, 3) metres: rings from origin to insertion, counter-clockwise seen from the insertion, then the
    middles of the two ends.
    """
    far = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    share = np.linspace(0.0, 1.0, STATIONS)
    centre = np.column_stack([np.interp(share * far[-1], far, path[:, i]) for i in range(3)])
    centre[1:-1] = (centre[:-2] + 2 * centre[1:-1] + centre[2:]) / 4
    centre += np.sin(np.pi * share)[:, None] * bulge
    along = np.gradient(centre, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    fleshy = np.clip(share / (1.0 - tendon), 0.0, 1.0)
    blend = fleshy * fleshy * (3 - 2 * fleshy)
    offset = (1 - blend)[:, None, None] * (start - start.mean(axis=0)) + blend[:, None, None] * (end - end.mean(axis=0))
    square = np.sin(np.pi * share) ** 0.6
    offset -= square[:, None, None] * np.einsum("skj,sj->sk", offset, along)[..., None] * along[:, None, :]
    slack, full = drawn()["belly_slack"], drawn()["belly_full"]
    wanted = np.sqrt(belly * (slack + (full - slack) * activation) / np.pi) * np.sin(np.pi * fleshy) ** 0.85
    radius = np.linalg.norm(offset, axis=2)
    mean = radius.mean(axis=1)
    round_ = 0.8 * np.sin(np.pi * fleshy)
    there = np.where(wanted > mean, 1.0, round_) * (wanted - mean)
    new = np.maximum(radius + there[:, None], np.minimum(radius, 0.4 * wanted[:, None]))
    offset = _counter_clockwise(offset * (new / np.maximum(radius, 1e-6))[..., None], along)
    drift = (1 - share)[:, None] * (start.mean(axis=0) - path[0]) + share[:, None] * (end.mean(axis=0) - path[-1])
    rings = centre[:, None, :] + drift[:, None, :] + offset
    return np.concatenate([rings.reshape(-1, 3), rings[0].mean(axis=0)[None], rings[-1].mean(axis=0)[None]])


def _counter_clockwise(rings: Array, along: Array) -> Array:
    """Rings (S, K, 3) wound so that their areas point along (S, 3) on the whole; each keeps its first point."""
    areas = np.cross(rings, np.roll(rings, -1, axis=1)).sum(axis=1)
    return rings if (areas * along).sum() > 0 else np.roll(rings[:, ::-1], 1, axis=1)


@lru_cache
def muscle_triangles(around: int) -> Triangles:
    """Triangles of every body whose outlines have ``around`` points; closed, outward on :func:`muscle_points`."""
    index = np.arange(STATIONS * around).reshape(STATIONS, around)
    a, b = index[:-1], index[1:]
    c, d = np.roll(a, -1, axis=1), np.roll(b, -1, axis=1)
    parts = [np.stack([a, c, b], axis=-1).reshape(-1, 3), np.stack([c, d, b], axis=-1).reshape(-1, 3)]
    for ring, tip, flip in ((index[0], STATIONS * around, True), (index[-1], STATIONS * around + 1, False)):
        fan = np.stack([np.full(around, tip), ring, np.roll(ring, -1)], axis=-1)
        parts.append(fan[:, [0, 2, 1]] if flip else fan)
    return np.concatenate(parts).astype(np.int32)


def muscle_shade(around: int, tendon: float) -> tuple[Array, Array]:
    """Per vertex: how much of the tendon's colour it has, and a faint stripe along the fibres."""
    share = np.repeat(np.linspace(0.0, 1.0, STATIONS), around)
    edge = np.clip((share - (1.0 - tendon) + 0.06) / 0.12, 0.0, 1.0)
    edge = np.maximum(edge, np.clip((0.05 - share) / 0.05, 0.0, 1.0))
    stripe = np.tile(np.where(np.arange(around) % 2 == 0, 1.0, 0.90), STATIONS)
    return np.concatenate([edge, [1.0, 1.0]]), np.concatenate([stripe, [1.0, 1.0]])
