"""Labels beside arrows for a figure that is being turned: places found anew, at once, for whatever camera.

Question answered: where does each label stand now, so that it covers no arrow and no other label?

One label after the other takes the cheapest of some hundred places round its arrow. Films and stills, whose labels hold
still, are placed by :mod:`viz3d.stage.labels` and :mod:`viz3d.stage.tags`, which are exact and take seconds.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.stage.drawing import Box

_ALONG = np.array([0.5, 0.3, 0.7, 0.1, 0.9])
_AWAY = np.array([16.0, 30.0, 52.0, 84.0, 130.0, 190.0])
_TURNS = np.radians(np.arange(0.0, 360.0, 22.5))
_CLEAR = 7.0
"""Least distance between a label and an arrow or another label, u."""
_COVER = 60.0
"""What covering a bone wholly costs, in u of distance."""
_MOVE = 18.0
"""What leaving its last place costs, u: labels do not jump to and fro."""


def stand_beside(
    sizes: dict[str, tuple[float, float]], spans: dict[str, Array], room: Box, u: float,
    soft: Sequence[Box] = (), before: dict[str, Box] | None = None,
) -> dict[str, Box]:  # fmt: skip
    """Boxes for labels, in order of importance; a label without a free place is left out.

    Parameters
    ----------
    sizes : key -> (width, height), pixels. spans : key -> tail and tip of an arrow, or a place twice, (2, 2) pixels;
    all of them are kept clear, also those without a label. room : what labels stay in. u : pixels of a unit.
    soft : what they rather leave free. before : where they stood before the camera moved.

    Examples
    --------
    >>> found = stand_beside({"a": (40.0, 20.0)}, {"a": np.array([[50.0, 90.0], [50.0, 10.0]])}, Box(0, 0, 200, 100), 1)
    >>> found["a"].left > 57 or found["a"].right < 43
    True
    """
    walls = np.array([w for span in spans.values() for w in _walls(span, u)])
    bones = np.array([[b.left, b.top, b.right, b.bottom] for b in soft]).reshape(-1, 4)
    out: dict[str, Box] = {}
    for key, (wide, tall) in sizes.items():
        boxes, cost = _places(spans[key], wide, tall, u)
        cost = cost + _COVER * _covered(boxes, bones)
        if before and key in before:
            last = before[key]
            cost = cost + _MOVE * (np.hypot(boxes[:, 0] - last.left, boxes[:, 1] - last.top) > 40 * u)
        free = (boxes[:, 0] >= room.left) & (boxes[:, 2] <= room.right)
        free &= (boxes[:, 1] >= room.top) & (boxes[:, 3] <= room.bottom)
        taken = np.array([[b.left, b.top, b.right, b.bottom] for b in out.values()]).reshape(-1, 4)
        free &= ~_touches(boxes, np.concatenate([walls, taken]), _CLEAR * u)
        if free.any():
            at = int(np.argmin(np.where(free, cost, np.inf)))
            out[key] = Box(*map(float, boxes[at]))
    return out


def _walls(span: Array, u: float) -> list[Array]:
    """Small boxes along an arrow."""
    cuts = np.linspace(span[0], span[1], 13)
    half = 5.0 * u
    return [np.concatenate([np.minimum(a, b) - half, np.maximum(a, b) + half]) for a, b in itertools.pairwise(cuts)]


def _places(span: Array, wide: float, tall: float, u: float) -> tuple[Array, Array]:
    """Boxes (K, 4) round an arrow, and what each costs (K,), u."""
    share, away, turn = (v.ravel() for v in np.meshgrid(_ALONG, _AWAY, _TURNS, indexing="ij"))
    way = np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    edge = span[0] + share[:, None] * (span[1] - span[0]) + way * (away * u)[:, None]
    middle = edge + way * np.array([wide / 2, tall / 2])
    half = np.array([wide / 2, tall / 2])
    cost = away + 16.0 * np.abs(share - 0.5) + 10.0 * np.abs(way[:, 1])
    return np.concatenate([middle - half, middle + half], axis=1), cost


def _touches(boxes: Array, others: Array, gap: float) -> Flags:
    """True where a box (K, 4) comes closer than ``gap`` to any other (M, 4)."""
    a, b = boxes[:, None], others[None]
    across = (a[..., 0] < b[..., 2] + gap) & (b[..., 0] < a[..., 2] + gap)
    return np.asarray((across & (a[..., 1] < b[..., 3] + gap) & (b[..., 1] < a[..., 3] + gap)).any(axis=1))


def _covered(boxes: Array, others: Array) -> Array:
    """Share of each box (K, 4) that others (M, 4) cover, at most 1."""
    a, b = boxes[:, None], others[None]
    wide = np.clip(np.minimum(a[..., 2], b[..., 2]) - np.maximum(a[..., 0], b[..., 0]), 0.0, None)
    tall = np.clip(np.minimum(a[..., 3], b[..., 3]) - np.maximum(a[..., 1], b[..., 1]), 0.0, None)
    area = (boxes[:, 2] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 1])
    return np.asarray(np.clip((wide * tall).sum(axis=1) / area, 0.0, 1.0))
