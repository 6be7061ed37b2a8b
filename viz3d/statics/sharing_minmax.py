"""The min-max limit of sharing: the least largest stress, exactly, and the smallest p-norm among its ties.

Question answered: how small can the largest stress be, and which forces reach it?

p to infinity turns sharing into the linear program min t under Σ c x = g, 0 <= x <= min(t, top). By duality
t is the largest value over directions λ at which Σ max(c·λ, 0) min(t, top) still falls short of g·λ; the best λ is
square to as many muscles as there are axes less one, so trying every pair is exact. Muscles on one side of λ are at the
limit or at zero; those square to it share what is left, by the smallest p-norm.
Called by :mod:`viz3d.statics.sharing`.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array

_SQUARE = 1e-9
"""A muscle whose pull along λ is below this part of the largest is square to it."""
_CHUNK = 2_000_000


def least_peak(goal: Array, pull: Array, top: Array) -> tuple[Array, Array]:
    """Least possible largest stress (N,) and the direction (N, m) that proves it; inf where out of reach.

    Parameters
    ----------
    goal : (N, m). pull : (N, K, m). top : (N, K).
    """
    axes, muscles = pull.shape[2], pull.shape[1]
    pairs = muscles * (muscles - 1) if axes == 3 else 2
    chunk = max(1, _CHUNK // (pairs * muscles))
    parts = [_peak(goal[k : k + chunk], pull[k : k + chunk], top[k : k + chunk]) for k in range(0, len(goal), chunk)]
    return np.concatenate([p for p, _ in parts]), np.concatenate([d for _, d in parts])


def _peak(goal: Array, pull: Array, top: Array) -> tuple[Array, Array]:
    ways = _directions(goal, pull)
    help_ = np.maximum(np.einsum("nkm,npm->npk", pull, ways), 0.0)
    need = np.einsum("nm,npm->np", goal, ways)
    order = np.argsort(top, axis=1)
    sorted_top = np.take_along_axis(top, order, axis=1)
    h = np.take_along_axis(help_, order[:, None, :], axis=2)
    tops = sorted_top[:, None, :]
    capped = np.concatenate([np.zeros((*h.shape[:2], 1)), (h * tops).cumsum(axis=2)], axis=2)
    above = np.concatenate([h[..., ::-1].cumsum(axis=2)[..., ::-1], np.zeros((*h.shape[:2], 1))], axis=2)
    made = capped[..., :-1] + above[..., :-1] * tops
    which = (made < need[..., None]).sum(axis=2)
    pick = which[..., None]
    rest = need - np.take_along_axis(capped, pick, axis=2)[..., 0]
    rise = np.take_along_axis(above, pick, axis=2)[..., 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        peak = np.where(rest <= 0.0, np.where(need > 0.0, 0.0, 0.0), np.where(rise > 0.0, rest / rise, np.inf))
    slack = 1e-12 * np.abs(goal).max(axis=1)[:, None] * np.linalg.norm(ways, axis=2)
    peak = np.where((need <= slack) | ((rise <= 0.0) & (rest <= slack)), 0.0, peak)
    best = np.argmax(peak, axis=1)
    row = np.arange(len(best))
    return peak[row, best], ways[row, best]


def _directions(goal: Array, pull: Array) -> Array:
    """Candidate directions (N, P, m): one axis has two; about three, every pair of muscles has two."""
    count, muscles, axes = pull.shape
    if axes == 1:
        return np.broadcast_to(np.array([[1.0], [-1.0]]), (count, 2, 1))
    first, second = np.triu_indices(muscles, 1)
    normal = np.cross(pull[:, first], pull[:, second])
    length = np.linalg.norm(normal, axis=2, keepdims=True)
    normal = np.where(length > 1e-14, normal / np.maximum(length, 1e-300), 0.0)
    straight = goal / np.maximum(np.linalg.norm(goal, axis=1, keepdims=True), 1e-300)
    return np.concatenate([normal, -normal, straight[:, None]], axis=1)


def fixed_by_peak(peak: Array, way: Array, pull: Array, top: Array) -> tuple[Array, Array]:
    """Stresses (N, K) that the least peak decides, and which muscles (N, K) it leaves free."""
    along = np.einsum("nkm,nm->nk", pull, way)
    size = np.linalg.norm(pull, axis=2)
    free = np.abs(along) <= _SQUARE * np.maximum(size.max(axis=1, keepdims=True), 1e-300)
    limit = np.minimum(top, peak[:, None])
    return np.where(free, 0.0, np.where(along > 0.0, limit, 0.0)), free
