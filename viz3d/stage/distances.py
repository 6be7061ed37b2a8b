"""How far straight pieces of the page lie from points and from each other.

All arguments broadcast, with x and y last; pixels.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array


def _cross(a: Array, b: Array) -> Array:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def off(point: Array, a: Array, b: Array) -> Array:
    """Distances of points (..., 2) from the pieces a to b, (...)."""
    span = b - a
    share = np.clip(((point - a) * span).sum(axis=-1) / np.maximum((span**2).sum(axis=-1), 1e-9), 0.0, 1.0)
    return np.asarray(np.linalg.norm(a + share[..., None] * span - point, axis=-1))


def apart(a: Array, b: Array, c: Array, d: Array) -> Array:
    """Distances of the pieces a to b from c to d, (...); 0 where they cross.

    Examples
    --------
    >>> import numpy as np
    >>> ends = [np.array(p, dtype=float) for p in ((0, 0), (4, 0), (2, 1), (2, 3))]
    >>> float(apart(*ends)), float(apart(ends[0], ends[1], np.array([2.0, -1.0]), ends[3]))
    (1.0, 0.0)
    """
    meet = (_cross(b - a, c - a) * _cross(b - a, d - a) < 0.0) & (_cross(d - c, a - c) * _cross(d - c, b - c) < 0.0)
    near = np.minimum(np.minimum(off(a, c, d), off(b, c, d)), np.minimum(off(c, a, b), off(d, a, b)))
    return np.where(meet, 0.0, near)
