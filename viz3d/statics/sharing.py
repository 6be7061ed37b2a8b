"""Sharing a moment among muscles: the least sum of stresses to the power p.

Question answered: how do several muscles share the moment that balance demands?

Minimise Σ (F/A)^p under Σ r F = M about one or three axes and 0 <= F <= S, with A the cross-sections (PCSA),
r the moment per unit force and S the strengths (Crowninshield & Brand 1981 for p = 3). The dual has one
unknown λ per axis, and each muscle's stress has a closed form in it,

    x = clip((max(c·λ, 0) / p)^(1/(p−1)), 0, S/A),  c = A r,

which gives a certificate for any λ: the dual's value. λ itself comes from a batched primal-dual Newton method
(a few dozen steps whatever p): plain Newton on the dual alone stalls at p > 2, where the stress grows like a
root at zero. Each answer carries its moment residual and duality gap. Where no forces within the strengths
reach M, the shortfall is reported and nothing is clipped.

SI: N, m², N m, Pa. Called by whoever has muscle lines; independent of where they come from.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viz3d.body.person import Array
from viz3d.errors import InputError

_STEPS = 80
_TOLERANCE = 1e-11
_GAP = 1e-13
_SOUND = 1e-11
"""Relative moment residual up to which the closed form of the stresses is taken."""
_LEAST = 1e-60
"""Distance from a bound that iterates keep."""


@dataclass(frozen=True)
class Shared:
    """Muscle forces of N situations and K muscles, with certificates.

    ``force`` (N, K) N; ``stress`` (N, K) Pa; ``activation`` force over strength; ``share`` of the moment about
    the first axis; ``residual`` (N,) N m; ``gap`` (N,) relative duality gap; ``feasible`` (N,);
    ``shortfall`` (N,) N m that no allowed forces can make, 0 where feasible. Infeasible rows hold NaN forces and
    a NaN gap.
    """

    force: Array
    stress: Array
    activation: Array
    share: Array
    residual: Array
    gap: Array
    feasible: NDArray[np.bool_]
    shortfall: Array


def share_moment(
    moment: ArrayLike, lever: ArrayLike, area: ArrayLike, strength: ArrayLike, power: float = 3.0
) -> Shared:
    """Share a moment among muscles.

    Parameters
    ----------
    moment : (N, m) N m the muscles must make, m = 1 or 3 axes.
    lever : (N, K, m) or (K, m) moment per newton of each muscle, m.
    area : (K,) or (N, K) cross-sections, m².
    strength : (K,) or (N, K) largest forces, N; 0 switches a muscle off.
    power : p >= 2.

    Returns
    -------
    Shared.

    Raises
    ------
    InputError : p below 2, a negative strength, an area that is not positive, or a lever that is not finite.

    Examples
    --------
    Two equal muscles share one moment equally:

    >>> s = share_moment([[30.0]], [[0.05], [0.05]], [1e-3, 1e-3], [1e3, 1e3])
    >>> s.force.round(6).tolist()
    [[300.0, 300.0]]
    """
    need = np.atleast_2d(np.asarray(moment, dtype=float))
    count = len(need)
    arms = np.asarray(lever, dtype=float)
    arms = np.broadcast_to(arms, (count, *arms.shape[-2:]))
    section = np.broadcast_to(np.asarray(area, dtype=float), arms.shape[:2])
    limit = np.broadcast_to(np.asarray(strength, dtype=float), arms.shape[:2])
    _check(power, arms, section, limit)
    scale_x = np.maximum((limit / section).max(axis=1), 1.0)[:, None]
    top = limit / section / scale_x
    pull = arms * section[..., None] * scale_x[..., None]
    size = np.maximum(np.abs(pull).sum(axis=1).max(axis=1), 1e-12)[:, None]
    goal, pull = need / size, pull / size[..., None]
    x, residual, gap = _solve(goal, pull, top, power)
    feasible = residual <= _TOLERANCE * 100
    short = np.zeros(count)
    if not feasible.all():
        rows = np.nonzero(~feasible)[0]
        short[rows] = _nearest(goal[rows], pull[rows], top[rows]) * size[rows, 0]
        reachable = short <= 1e-7 * np.maximum(np.abs(need).max(axis=1), 1e-9)
        feasible, short = feasible | reachable, np.where(reachable, 0.0, short)
    stress = np.where(feasible[:, None], x * scale_x, np.nan)
    force = stress * section
    made = (force[..., None] * arms)[..., 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        activation = np.where(limit > 0, force / limit, 0.0)
        share = np.where(np.abs(need[:, :1]) > 0, made / need[:, :1], 0.0)
    return Shared(
        force, stress, activation, share, residual * size[:, 0], np.where(feasible, gap, np.nan), feasible, short
    )


def _check(power: float, arms: Array, section: Array, limit: Array) -> None:
    if not power >= 2.0:
        raise InputError(f"power: found {power:g}; allowed: 2 or more")
    if not bool(np.isfinite(arms).all()):
        raise InputError("lever: every lever arm must be a finite number")
    if not bool((section > 0).all()):
        raise InputError("area: every cross-section must be more than zero")
    if not bool((limit >= 0).all()):
        raise InputError("strength: allowed: zero or more")


def _stress(drive: Array, top: Array, power: float) -> Array:
    """Stress of each muscle at a dual drive y = c·λ, closed form, within its limits."""
    return np.asarray(np.minimum((np.maximum(drive, 0.0) / power) ** (1.0 / (power - 1.0)), top))


def _dual(price: Array, goal: Array, pull: Array, top: Array, power: float) -> Array:
    """Value of the concave dual, (N,)."""
    drive = np.einsum("nkm,nm->nk", pull, price)
    x = _stress(drive, top, power)
    return np.asarray((price * goal).sum(axis=1) - (x * drive - x**power).sum(axis=1))


def _solve(goal: Array, pull: Array, top: Array, power: float) -> tuple[Array, Array, Array]:
    """Primal-dual Newton; returns stresses, moment residual and relative duality gap per situation."""
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
    x = np.where(useful, state.x, 0.0)
    exact = _stress(np.einsum("nkm,nm->nk", able, state.price), np.where(on, limit, 0.0), power)
    sound = np.abs(goal - np.einsum("nkm,nk->nm", able, exact)).max(axis=1) < _SOUND
    x = np.where(sound[:, None], exact, x)
    residual = np.abs(goal - np.einsum("nkm,nk->nm", able, x)).max(axis=1)
    primal = (x**power).sum(axis=1)
    with np.errstate(over="ignore", invalid="ignore"):
        gap = np.abs(primal - _dual(state.price, goal, able, np.where(on, limit, 0.0), power)) / np.maximum(
            primal, 1e-300
        )
    return x * size, residual, np.where(primal > 0.0, gap, 0.0)


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


def _nearest(goal: Array, pull: Array, top: Array) -> Array:
    """Distance from the goal to the nearest moment that allowed stresses can make, (N,): accelerated projection."""
    reach = np.linalg.norm(pull, axis=(1, 2)) ** 2
    step = 1.0 / np.maximum(reach, 1e-300)
    x = np.zeros(top.shape)
    ahead, inertia = x.copy(), 1.0
    for _ in range(4000):
        lack = np.einsum("nkm,nk->nm", pull, ahead) - goal
        following = np.clip(ahead - step[:, None] * np.einsum("nkm,nm->nk", pull, lack), 0.0, top)
        grown = (1.0 + np.sqrt(1.0 + 4.0 * inertia**2)) / 2.0
        ahead = following + (inertia - 1.0) / grown * (following - x)
        if np.abs(following - x).max() < 1e-14:
            break
        x, inertia = following, grown
    return np.asarray(np.linalg.norm(np.einsum("nkm,nk->nm", pull, x) - goal, axis=1))
