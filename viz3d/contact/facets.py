"""Pressure on any socket given as facets: the convex rigid-head solve, in batch.

Question answered: how does a joint force spread over a labelled articular surface (horseshoe, lune, one's
own mesh)?

Model: a rigid head pressed into a thin elastic layer without friction: p = k max(0, u·n) on each facet, u the
head's displacement, n the facet's unit normal pointing out of the head. u minimises the convex energy
½ k Σ A max(0, u·n)² − R·u, whose gradient is the balance Σ p n A = R; Newton's method with backtracking ends
in a few steps. k cancels from the pressures. The surface is plain arrays, never a mesh.

SI. Frame: the caller's; loads are forces of the head *on the socket*. Source of the model: Brinckmann 1981;
Ipavec 1999. Converges to :mod:`viz3d.contact.lune` on a lune. Called by whoever has facets.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viz3d.body.person import Array
from viz3d.errors import InputError

_STEPS = 60
_TOLERANCE = 1e-10
_CHUNK = 4_000_000
"""Facets times loads handled at once: bounds memory."""


@dataclass(frozen=True)
class FacetPressure:
    """Pressure of N loads on F facets; SI. NaN where no pressures on these facets carry the load."""

    pressure: Array
    """(N, F) Pa."""
    peak: Array
    mean: Array
    """Over the loaded area, Pa."""
    area: Array
    """Loaded area, m²."""
    centre: Array
    """(N, 3) pressure-weighted mean place on the surface."""
    residual: Array
    """|Σ p n A − R| over |R|."""
    carried: NDArray[np.bool_]


def facet_pressure(loads: ArrayLike, centres: ArrayLike, normals: ArrayLike, areas: ArrayLike) -> FacetPressure:
    """Spread loads over a socket's facets.

    Parameters
    ----------
    loads : (N, 3) N, force of the head on the socket.
    centres : (F, 3) m. normals : (F, 3) out of the head, any length. areas : (F,) m².

    Raises
    ------
    InputError : no facets, areas that are not positive, normals that point into the head or have no length.

    Examples
    --------
    >>> import numpy as np
    >>> n = np.array([[1.0, 1, 1], [-1, 1, 1], [1, 1, -1], [-1, 1, -1]])
    >>> p = facet_pressure([[0, 900.0, 0]], 0.025 * n / np.sqrt(3), n, np.full(4, 1e-4))
    >>> bool(p.carried[0]), float((p.peak[0] * 1e-6).round(3))
    (True, 3.897)
    """
    force = np.atleast_2d(np.asarray(loads, dtype=float))
    at, out, size = _checked(centres, normals, areas)
    chunk = max(1, _CHUNK // len(size))
    parts = [_spread(force[k : k + chunk], at, out, size) for k in range(0, len(force), chunk)]
    return FacetPressure(*(np.concatenate([p[i] for p in parts]) for i in range(7)))


def _checked(centres: ArrayLike, normals: ArrayLike, areas: ArrayLike) -> tuple[Array, Array, Array]:
    at, out, size = (np.asarray(v, dtype=float) for v in (centres, normals, areas))
    if size.size == 0:
        raise InputError("the socket has no facets")
    if at.shape != out.shape or at.shape != (len(size), 3):
        raise InputError(f"facets: centres {at.shape}, normals {out.shape}, areas {size.shape}; (F, 3), (F, 3), (F,)")
    length = np.linalg.norm(out, axis=1)
    if not bool((size > 0).all() and (length > 0).all()):
        raise InputError("facets: every area and every normal's length must be more than zero")
    out = out / length[:, None]
    middle = (at * size[:, None]).sum(axis=0) / size.sum()
    if float(((at - _sphere_centre(at, middle)) * out).sum(axis=1).mean()) < 0:
        raise InputError("facets: the normals point into the head; turn them round")
    return at, out, size


def _sphere_centre(points: Array, middle: Array) -> Array:
    """Centre of the best-fitting sphere; the facets' own middle when they are flat or too few."""
    if len(points) < 5:
        return np.zeros(3)
    local = points - middle
    table = np.column_stack([2.0 * local, np.ones(len(local))])
    found, _, rank, _ = np.linalg.lstsq(table, (local**2).sum(axis=1), rcond=1e-9)
    return np.asarray(middle + found[:3]) if rank == 4 else np.zeros(3)


def _spread(force: Array, at: Array, out: Array, size: Array) -> tuple[Array, ...]:
    strength = np.linalg.norm(force, axis=1)
    unit = force / np.maximum(strength, 1e-300)[:, None]
    weight = size / size.sum()
    move = 3.0 * unit
    open_ = strength > 0
    for _ in range(_STEPS):
        rows = np.nonzero(open_)[0]
        if len(rows) == 0:
            break
        move[rows], lack = _newton(move[rows], unit[rows], out, weight)
        open_[rows] = (lack > _TOLERANCE) & (np.linalg.norm(move[rows], axis=1) < 1e7)
    press = np.maximum(move @ out.T, 0.0)
    residual = np.linalg.norm((press * weight) @ out - unit, axis=1)
    carried = (residual < 1e-6) | (strength == 0)
    pressure = press * (strength / size.sum())[:, None]
    pressure[strength == 0] = 0.0
    loaded = pressure > 1e-9 * np.maximum(pressure.max(axis=1, keepdims=True), 1e-300)
    area = (loaded * size).sum(axis=1)
    total = (pressure * size).sum(axis=1)
    centre = (pressure * size) @ at / np.maximum(total, 1e-300)[:, None]
    mean = total / np.maximum(area, 1e-300)

    def only(values: Array) -> Array:
        keep = carried.reshape(-1, *([1] * (values.ndim - 1)))
        return np.where(keep, values, np.nan)

    return only(pressure), only(pressure.max(axis=1)), only(mean), only(area), only(centre), residual, carried


def _newton(move: Array, unit: Array, out: Array, weight: Array) -> tuple[Array, Array]:
    """One damped Newton step on the convex energy; returns the move and how far it was from balance."""
    press = np.maximum(move @ out.T, 0.0)
    slope = (press * weight) @ out - unit
    outer = (out[:, :, None] * out[:, None, :]).reshape(-1, 9)
    curve = ((press > 0) * weight) @ outer
    curve = curve.reshape(-1, 3, 3) + 1e-9 * np.eye(3)
    step = -np.linalg.solve(curve, slope[..., None])[..., 0]
    size = np.ones(len(move))
    energy = _energy(move, unit, out, weight)
    fall = (slope * step).sum(axis=1)
    for _ in range(30):
        worse = _energy(move + size[:, None] * step, unit, out, weight) > energy + 1e-4 * size * fall + 1e-14
        if not worse.any():
            break
        size[worse] *= 0.5
    return move + size[:, None] * step, np.linalg.norm(slope, axis=1)


def _energy(move: Array, unit: Array, out: Array, weight: Array) -> Array:
    press = np.maximum(move @ out.T, 0.0)
    return np.asarray(0.5 * (press**2 @ weight) - (move * unit).sum(axis=1))


def lune_facets(radius: float, edge: float, medial: float, steps: int) -> tuple[Array, Array, Array]:
    """Facets of a lune between two planes through the front-back axis, for checks and demonstrations.

    Parameters
    ----------
    radius : m. edge, medial : rad, angles of the two planes from the vertical, lateral positive.
    steps : facets along a quarter turn.

    Returns
    -------
    centres (F, 3), normals (F, 3), areas (F,); x forward, y up, z lateral.
    """
    across = np.linspace(medial, edge, max(2, int(steps * (edge - medial) / (np.pi / 2))) + 1)
    along = np.linspace(-np.pi / 2, np.pi / 2, 2 * steps + 1)
    v, u = np.meshgrid((across[1:] + across[:-1]) / 2, (along[1:] + along[:-1]) / 2, indexing="ij")
    band = np.sin(along[1:]) - np.sin(along[:-1])
    areas = radius**2 * np.broadcast_to(band, v.shape) * (across[1] - across[0])
    normals = np.stack([np.sin(u), np.cos(u) * np.cos(v), np.cos(u) * np.sin(v)], axis=-1).reshape(-1, 3)
    return radius * normals, normals, areas.ravel()
