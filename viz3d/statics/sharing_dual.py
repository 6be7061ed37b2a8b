"""Sharing by a safeguarded Newton method on the dual, and in closed form about one axis.

Question answered: which prices λ per unit of moment make the closed-form stresses x(λ) balance the moment?

Minimise Σ x^p under Σ c x = g and 0 <= x <= top. The concave dual has one unknown per axis and

    x = clip((max(c·λ, 0) / p)^(1/(p−1)), 0, top).

About one axis x is piecewise linear in λ^(1/(p−1)): solved by sorting. About three axes: Newton's method with
backtracking on the dual's value, started from the least-squares prices scaled along their ray. Arrays run (axis,
muscle, situation) so that every operation streams; situations that are done leave the batch.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array

_STEPS = 20
_HALVINGS = 10
_LACK = 1e-12
"""Relative moment residual at which a situation is done."""
_FLAT = 1e-9
"""Drives below this part of the largest count as this part in the slope dx/dy, which is infinite at zero."""


def stress(drive: Array, top: Array, power: float) -> Array:
    """Stress of each muscle at a drive y = c·λ, closed form, within its limits."""
    x = np.maximum(drive, 0.0)
    x *= 1.0 / power
    if power == 3.0:
        np.sqrt(x, out=x)
    elif power != 2.0:
        np.power(x, 1.0 / (power - 1.0), out=x)
    return np.minimum(x, top, out=x)


def raised(x: Array, power: float) -> Array:
    """x to the power p; quick for 2 and 3."""
    if power == 2.0:
        return np.asarray(x * x)
    if power == 3.0:
        return np.asarray(x * x * x)
    return np.asarray(x**power)


def one_axis(goal: Array, pull: Array, top: Array, power: float) -> Array:
    """Prices (N, 1) about one axis, exact; what the muscles cannot reach gets the price that caps them all.

    Parameters
    ----------
    goal : (N, 1). pull : (N, K, 1). top : (N, K).
    """
    sign = np.where(goal[:, :1] < 0.0, -1.0, 1.0)
    arm = np.maximum(sign * pull[..., 0], 0.0)
    root = arm ** (1.0 / (power - 1.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        full = np.where(root > 0.0, top / root, np.inf)
    order = np.argsort(full, axis=1)
    at = np.take_along_axis(full, order, axis=1)
    h, b, t = (np.take_along_axis(v, order, axis=1) for v in (arm, root, top))
    slope = (h * b)[:, ::-1].cumsum(axis=1)[:, ::-1]
    capped = np.concatenate([np.zeros((len(h), 1)), (h * t).cumsum(axis=1)[:, :-1]], axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        made = np.where(np.isfinite(at), capped + slope * at, np.inf)
        which = np.minimum((made < np.abs(goal)).sum(axis=1), made.shape[1] - 1)
        row = np.arange(len(which))
        rise = slope[row, which]
        mu = np.where(rise > 0.0, (np.abs(goal[:, 0]) - capped[row, which]) / np.where(rise > 0.0, rise, 1.0), 0.0)
    return np.asarray(sign * power * (np.maximum(mu, 0.0) ** (power - 1.0))[:, None])


def dual_newton(goal: Array, pull: Array, top: Array, power: float) -> tuple[Array, Array, Array, NDArray[np.bool_]]:
    """Stresses (N, K), prices (N, m), the dual's value (N,) about several axes, and which situations are done.

    Parameters
    ----------
    goal : (N, m). pull : (N, K, m) moment per stress. top : (N, K).
    """
    aim = np.ascontiguousarray(goal.T)
    arm = np.ascontiguousarray(np.moveaxis(pull, 2, 0).swapaxes(1, 2))
    limit = np.ascontiguousarray(top.T)
    found = (np.zeros_like(aim), np.zeros_like(limit), np.zeros(len(goal)))
    left = np.arange(len(goal))
    done = np.zeros(len(goal), dtype=bool)
    state = _start(aim, arm, limit, power)
    for _ in range(_STEPS):
        lam, drive, x, value = state
        lack = aim - _moment(arm, x)
        ready = np.abs(lack).max(axis=0) < _LACK
        if ready.any():
            out = left[ready]
            found[0][:, out], found[1][:, out], found[2][out], done[out] = (
                lam[:, ready],
                x[:, ready],
                value[ready],
                True,
            )
            keep = np.nonzero(~ready)[0]
            if len(keep) == 0:
                break
            left, aim, arm, limit = left[keep], aim[:, keep], arm[:, :, keep], limit[:, keep]
            lam, drive, x, value, lack = lam[:, keep], drive[:, keep], x[:, keep], value[keep], lack[:, keep]
        state = _step((lam, drive, x, value), lack, aim, arm, limit, power)
    return found[1].T, found[0].T, found[2], done


def _start(aim: Array, arm: Array, limit: Array, power: float) -> tuple[Array, Array, Array, Array]:
    """Least-squares prices, scaled to the best place on their ray while nothing is capped.

    Where no muscle pulls along that ray, or the place is out of reach of numbers, the prices stay as they are.
    """
    lam = _solved(_square(arm, np.ones_like(limit)), aim)
    drive = _drive(arm, lam)
    free = stress(drive, np.full_like(limit, np.inf), power)
    made = np.einsum("kn,kn->n", free, drive)
    with np.errstate(over="ignore"):
        scale = ((lam * aim).sum(axis=0) / np.where(made > 0.0, made, 1.0)) ** (power - 1.0)
    scale = np.where((made > 0.0) & np.isfinite(scale), scale, 1.0)
    lam, drive = lam * scale, drive * scale
    x = stress(drive, limit, power)
    return lam, drive, x, _value(lam, drive, x, aim, power)


def _step(
    state: tuple[Array, Array, Array, Array], lack: Array, aim: Array, arm: Array, limit: Array, power: float
) -> tuple[Array, Array, Array, Array]:
    lam, drive, x, value = state
    bounded = np.maximum(drive, _FLAT * np.abs(drive).max(axis=0))
    slope = x / ((power - 1.0) * bounded + 1e-300)
    slope *= (drive > 0.0) & (x < limit)
    move = _solved(_square(arm, slope), lack)
    turn = _drive(arm, move)
    gain = (move * lack).sum(axis=0)
    size = np.ones(len(value))
    new = lam + move
    at = drive + turn
    y = stress(at, limit, power)
    worth = _value(new, at, y, aim, power)
    for _ in range(_HALVINGS):
        worse = np.nonzero(worth < value + 1e-4 * size * gain - 1e-13 * np.abs(value))[0]
        if len(worse) == 0:
            break
        size[worse] *= 0.5
        new[:, worse] = lam[:, worse] + size[worse] * move[:, worse]
        at[:, worse] = drive[:, worse] + size[worse] * turn[:, worse]
        y[:, worse] = stress(at[:, worse], limit[:, worse], power)
        worth[worse] = _value(new[:, worse], at[:, worse], y[:, worse], aim[:, worse], power)
    return new, at, y, worth


def _drive(arm: Array, lam: Array) -> Array:
    y = arm[0] * lam[0]
    for a, price in zip(arm[1:], lam[1:], strict=True):
        y += a * price
    return np.asarray(y)


def _moment(arm: Array, x: Array) -> Array:
    return np.stack([np.einsum("kn,kn->n", a, x) for a in arm])


def _value(lam: Array, drive: Array, x: Array, aim: Array, power: float) -> Array:
    return np.asarray((lam * aim).sum(axis=0) - np.einsum("kn,kn->n", x, drive) + raised(x, power).sum(axis=0))


def _square(arm: Array, weight: Array) -> dict[tuple[int, int], Array]:
    """Σ w c cᵀ, its upper half by (row, column)."""
    out = {}
    for i in range(len(arm)):
        weighted = arm[i] * weight
        for j in range(i, len(arm)):
            out[i, j] = np.einsum("kn,kn->n", weighted, arm[j])
    return out


def _solved(matrix: dict[tuple[int, int], Array], right: Array) -> Array:
    """Solve the symmetric systems, any size up to three, by elimination with a little added to the diagonal."""
    size = len(right)
    ridge = 1e-12 * sum(matrix[i, i] for i in range(size)) + 1e-200
    m = {(i, j): matrix[min(i, j), max(i, j)] + (ridge if i == j else 0.0) for i in range(size) for j in range(size)}
    b = [right[i] for i in range(size)]
    for i in range(size):
        for j in range(i + 1, size):
            factor = m[j, i] / m[i, i]
            for k in range(i, size):
                m[j, k] = m[j, k] - factor * m[i, k]
            b[j] = b[j] - factor * b[i]
    x: list[Array] = [np.zeros(0)] * size
    for i in reversed(range(size)):
        rest = sum((m[i, k] * x[k] for k in range(i + 1, size)), np.zeros(1))
        x[i] = (b[i] - rest) / m[i, i]
    return np.stack(x)
