"""Sharing a moment among muscles: the least sum of stresses to the power p.

Question answered: how do several muscles share the moment that balance demands?

Minimise Σ (F/A)^p under Σ r F = M about one or three axes and 0 <= F <= S, with A the cross-sections (PCSA),
r the moment per unit force and S the strengths (Crowninshield & Brand 1981 for p = 3). The dual has one
unknown λ per axis, and each muscle's stress has a closed form in it,

    x = clip((max(c·λ, 0) / p)^(1/(p−1)), 0, S/A),  c = A r,

which gives a certificate for any λ: the dual's value. About one axis λ is found by sorting, about three by a batched,
safeguarded Newton method on the dual; what that leaves open (the stress grows like a root at zero, so high powers
stall) goes to a primal-dual method. The limit p to infinity is a linear program, solved exactly. Each answer carries
its moment residual and duality gap. Where no forces within the strengths reach M, the shortfall is reported and
nothing is clipped.

SI: N, m², N m, Pa.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viz3d.arrays import Array
from viz3d.errors import InputError
from viz3d.statics.model import SHARING_POWER
from viz3d.statics.sharing_dual import dual_newton, one_axis, raised, stress
from viz3d.statics.sharing_interior import interior_share
from viz3d.statics.sharing_minmax import fixed_by_peak, least_peak

_TOLERANCE = 1e-9
"""Relative moment residual up to which a situation counts as balanced."""
_SOUND = 1e-11
"""Relative moment residual up to which the closed form of the stresses is taken."""
_CHUNK = 4096
"""Situations handled at once: their arrays stay in the processor's cache."""
TIE_POWER = 3.0
"""Ties of the min-max limit go to the smallest norm of this power."""


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
    moment: ArrayLike, lever: ArrayLike, area: ArrayLike, strength: ArrayLike, power: float = SHARING_POWER
) -> Shared:
    """Share a moment among muscles.

    Parameters
    ----------
    moment : (N, m) N m the muscles must make, m = 1 or 3 axes.
    lever : (N, K, m) or (K, m) moment per newton of each muscle, m.
    area : (K,) or (N, K) cross-sections, m².
    strength : (K,) or (N, K) largest forces, N; 0 switches a muscle off.
    power : p >= 2, or ``inf`` for the least largest stress (ties by the smallest 3-norm).

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
    parts = [slice(k, k + _CHUNK) for k in range(0, count, _CHUNK)]
    solved = [_chunk(need[k], arms[k], section[k], limit[k], power) for k in parts]
    force, residual, gap, feasible, short = (np.concatenate([s[i] for s in solved]) for i in range(5))
    with np.errstate(divide="ignore", invalid="ignore"):
        activation = np.where(limit > 0, force / limit, 0.0)
        share = np.where(np.abs(need[:, :1]) > 0, force * arms[..., 0] / need[:, :1], 0.0)
    ok = feasible.astype(bool)
    return Shared(force, force / section, activation, share, residual, np.where(ok, gap, np.nan), ok, short)


def _chunk(need: Array, arms: Array, section: Array, limit: Array, power: float) -> tuple[NDArray[Any], ...]:
    """Forces, residual, gap, feasibility and shortfall of a few situations, solved without units."""
    highest = limit / section
    scale = np.maximum(highest.max(axis=1), 1.0)[:, None]
    pull = arms * (section * scale)[..., None]
    size = np.maximum(np.abs(pull).sum(axis=1).max(axis=1), 1e-12)[:, None]
    pull /= size[..., None]
    goal, top = need / size, highest / scale
    x, residual, gap = _solve(goal, pull, top, power)
    feasible = residual <= _TOLERANCE
    short = np.zeros(len(need))
    if not feasible.all():
        rows = np.nonzero(~feasible)[0]
        short[rows] = _nearest(goal[rows], pull[rows], top[rows]) * size[rows, 0]
        reachable = short <= 1e-7 * np.maximum(np.abs(need).max(axis=1), 1e-9)
        feasible, short = feasible | reachable, np.where(reachable, 0.0, short)
    force = np.asarray(np.where(feasible[:, None], x * scale * section, np.nan))
    return force, residual * size[:, 0], gap, feasible, short


def _check(power: float, arms: Array, section: Array, limit: Array) -> None:
    if not power >= 2.0:
        raise InputError(f"power: found {power:g}; allowed: 2 or more")
    if not bool(np.isfinite(arms).all()):
        raise InputError("lever: every lever arm must be a finite number")
    if not bool((section > 0).all()):
        raise InputError("area: every cross-section must be more than zero")
    if not bool((limit >= 0).all()):
        raise InputError("strength: allowed: zero or more")


def _solve(goal: Array, pull: Array, top: Array, power: float) -> tuple[Array, Array, Array]:
    """Stresses, moment residual and relative duality gap per situation."""
    if np.isinf(power):
        return _least_peak(goal, pull, top)
    able = np.where(top[..., None] > 0.0, pull, 0.0)
    if goal.shape[1] == 1:
        price = one_axis(goal, able, top, power)
        x, value = _priced(price, goal, able, top, power)
        return x, np.abs(goal[:, 0] - (able[..., 0] * x).sum(axis=1)), _gap(x, value, power)
    x, price, value, done = dual_newton(goal, able, top, power)
    rows = np.nonzero(~done)[0]
    if len(rows):
        inner, price = interior_share(goal[rows], able[rows], top[rows], power)
        exact, value[rows] = _priced(price, goal[rows], able[rows], top[rows], power)
        sound = np.abs(goal[rows] - np.einsum("nkm,nk->nm", able[rows], exact)).max(axis=1) < _SOUND
        x[rows] = np.where(sound[:, None], exact, inner)
    residual = np.abs(goal - np.einsum("nkm,nk->nm", able, x)).max(axis=1)
    return x, residual, _gap(x, value, power)


def _priced(price: Array, goal: Array, pull: Array, top: Array, power: float) -> tuple[Array, Array]:
    """Closed-form stresses (N, K) at dual prices, and the dual's value (N,)."""
    drive = np.einsum("nkm,nm->nk", pull, price)
    x = stress(drive, top, power)
    with np.errstate(over="ignore", invalid="ignore"):
        return x, (price * goal).sum(axis=1) - (x * drive - raised(x, power)).sum(axis=1)


def _gap(x: Array, value: Array, power: float) -> Array:
    """Relative distance of the objective from the dual's value, a lower bound of it, (N,)."""
    primal = raised(x, power).sum(axis=1)
    with np.errstate(over="ignore", invalid="ignore"):
        gap = np.abs(primal - value) / np.maximum(primal, 1e-300)
    return np.asarray(np.where(primal > 0.0, gap, 0.0))


def _least_peak(goal: Array, pull: Array, top: Array) -> tuple[Array, Array, Array]:
    """The min-max limit; its gap compares the largest stress with the linear program's bound."""
    peak, way = least_peak(goal, pull, top)
    x, free = fixed_by_peak(np.where(np.isfinite(peak), peak, 0.0), way, pull, top)
    rest = goal - np.einsum("nkm,nk->nm", pull, x)
    along = way / np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-300)
    rest = rest - (rest * along).sum(axis=1, keepdims=True) * along
    still = np.abs(rest).max(axis=1) > 1e-14
    limit = np.where(free, np.minimum(top, peak[:, None] * (1.0 + 1e-12)), 0.0)
    if still.any():
        shared, _ = interior_share(rest[still], pull[still], limit[still], TIE_POWER)
        x[still] = np.where(free[still], shared, x[still])
    residual = np.abs(goal - np.einsum("nkm,nk->nm", pull, x)).max(axis=1)
    residual = np.where(np.isfinite(peak), residual, np.inf)
    with np.errstate(invalid="ignore"):
        gap = np.where(peak > 0.0, np.abs(x.max(axis=1) - peak) / np.maximum(peak, 1e-300), 0.0)
    return x, residual, gap


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
