"""Sharing by a primal-dual interior method: slow and sure, for what Newton's method on the dual leaves open.

Question answered: which stresses x minimise Σ x^p under Σ c x = g and 0 <= x <= top, whatever p and however close to
the limits?

Converges in a few dozen steps at any p, since each stress is an unknown of its own; plain Newton on the dual stalls at
p well above 3, where the stress grows like a root at zero. Called by :mod:`viz3d.statics.sharing`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array

_STEPS = 80
_TOLERANCE = 1e-11
_GAP = 1e-13
_LEAST = 1e-60
"""Distance from a bound that iterates keep."""


def interior_share(goal: Array, pull: Array, top: Array, power: float) -> tuple[Array, Array]:
    """Stresses (N, K) and dual prices (N, m) of every situation.

    Parameters
    ----------
    goal : (N, m). pull : (N, K, m) moment per stress. top : (N, K) largest stresses; 0 switches off.
    """
    on = top > 0.0
    able = np.where(on[..., None], pull, 0.0)
    square = np.einsum("nkm,nkl->nml", able, able)
    ridge = 1e-9 * np.trace(square, axis1=1, axis2=2)[:, None, None] + 1e-12
    eye = np.eye(goal.shape[1])
    guess = np.einsum("nkm,nm->nk", able, np.linalg.solve(square + ridge * eye, goal[..., None])[..., 0])
    size = np.maximum(guess.max(axis=1), 1e-9)[:, None]
    able, limit = able * size[..., None], np.where(on, top / size, 1.0)
    state = _State.start(guess / size, limit, goal.shape[1], power)
    open_ = np.abs(goal).max(axis=1) > 0.0
    for _ in range(_STEPS):
        rows = np.nonzero(open_)[0]
        if len(rows) == 0:
            break
        with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
            lack, spread = state.step(rows, goal, able, limit, power)
        open_[rows] = ~((lack < _TOLERANCE) & (spread < _GAP))
    useful = on & (np.abs(pull).max(axis=2) > 0.0) & (np.abs(goal).max(axis=1) > 0.0)[:, None]
    x = np.where(useful, state.x, 0.0) * size
    return x, state.price * size**power


@dataclass
class _State:
    """Iterates of the primal-dual method: stresses, dual prices, and multipliers of both bounds."""

    x: Array
    price: Array
    low: Array
    high: Array

    @classmethod
    def start(cls, guess: Array, limit: Array, axes: int, power: float) -> _State:
        """A strictly inner point near the guess."""
        edge = np.minimum(0.1, 0.1 * limit)
        x = np.clip(guess, edge, np.maximum(limit - edge, edge))
        one = np.full(x.shape, 0.1 * power)
        return cls(x, np.zeros((len(x), axes)), one / x * 0.1, one / (limit - x) * 0.1)

    def step(self, rows: NDArray[np.intp], goal: Array, pull: Array, limit: Array, power: float) -> tuple[Array, Array]:
        """One Newton step for the given situations; returns moment lack and complementarity before it."""
        x, price, low, high = self.x[rows], self.price[rows], self.low[rows], self.high[rows]
        x = np.maximum(x, _LEAST)
        c, g, room = pull[rows], goal[rows], np.maximum(limit[rows] - x, _LEAST)
        lack = g - np.einsum("nkm,nk->nm", c, x)
        spread = (x * low + room * high).mean(axis=1)
        aim = (0.15 * spread)[:, None]
        bend = power * (power - 1.0) * x ** (power - 2.0) + low / x + high / room
        tilt = power * x ** (power - 1.0) - np.einsum("nkm,nm->nk", c, price) - aim / x + aim / room
        square = np.einsum("nkm,nkl,nk->nml", c, c, 1.0 / bend)
        ridge = 1e-14 * np.trace(square, axis1=1, axis2=2)[:, None, None] + 1e-200
        right = lack + np.einsum("nkm,nk->nm", c, tilt / bend)
        d_price = np.linalg.solve(square + ridge * np.eye(g.shape[1]), right[..., None])[..., 0]
        d_x = (np.einsum("nkm,nm->nk", c, d_price) - tilt) / bend
        d_low = aim / x - low - low / x * d_x
        d_high = aim / room - high + high / room * d_x
        size = np.ones(len(rows))
        for value, move in ((x, d_x), (room, -d_x), (low, d_low), (high, d_high)):
            reach = np.where(move < 0.0, -value / np.minimum(move, -1e-300), np.inf)
            size = np.minimum(size, 0.99 * reach.min(axis=1))
        finite = np.isfinite(d_x).all(axis=1) & np.isfinite(d_low).all(axis=1) & np.isfinite(d_high).all(axis=1)
        size = np.where(finite, size, 0.0)[:, None]
        d_x, d_low, d_high, d_price = (np.where(finite[:, None], v, 0.0) for v in (d_x, d_low, d_high, d_price))
        self.x[rows], self.price[rows] = x + size * d_x, price + size * d_price
        self.low[rows], self.high[rows] = low + size * d_low, high + size * d_high
        return np.abs(lack).max(axis=1), spread
