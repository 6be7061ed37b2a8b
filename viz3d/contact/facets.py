"""Pressure on any socket given as facets: the convex rigid-head solve, in batch.

Question answered: how does a joint force spread over a labelled articular surface (horseshoe, lune, one's
own mesh)?

Model: a rigid head pressed into a thin elastic layer without friction: p = k max(0, u·n) on each facet, u the
head's displacement, n the facet's unit normal pointing out of the head. u minimises the convex energy
½ k Σ A max(0, u·n)² − R·u, whose gradient is the balance Σ p n A = R; Newton's method with backtracking ends
in a few steps. k cancels from the pressures. The surface is plain arrays, never a mesh.

SI. Frame: the caller's; loads are forces of the head *on the socket*. Source of the model: Brinckmann 1981;
Ipavec 1999. Converges to :mod:`viz3d.contact.lune` on a lune.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viz3d.arrays import Array
from viz3d.errors import InputError

Rows = NDArray[np.intp] | slice
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
    displacement: Array
    """(N, 3) the head's move times the layer's stiffness, Pa: p = max(0, displacement · n) for any normal n."""
    residual: Array
    """|Σ p n A − R| over |R|."""
    carried: NDArray[np.bool_]


def facet_pressure(loads: ArrayLike, centres: ArrayLike, normals: ArrayLike, areas: ArrayLike) -> FacetPressure:
    """Spread loads over a socket's facets.

    Parameters
    ----------
    loads : (N, 3) N, force of the head on the socket.
    centres : (F, 3) m. normals : (F, 3) out of the head, any length. areas : (F,) m², or (N, F) where each load has a
        surface of its own; then zero means no cartilage there.

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
    chunk = max(1, _CHUNK // len(at))
    own = size.ndim == 2 and len(size) > 1
    rows = [slice(k, k + chunk) for k in range(0, len(force), chunk)]
    parts = [_spread(force[k], at, out, size[k] if own else np.atleast_2d(size)) for k in rows]
    return FacetPressure(*(np.concatenate([p[i] for p in parts]) for i in range(8)))


def _checked(centres: ArrayLike, normals: ArrayLike, areas: ArrayLike) -> tuple[Array, Array, Array]:
    at, out, size = (np.asarray(v, dtype=float) for v in (centres, normals, areas))
    if size.size == 0:
        raise InputError("the socket has no facets")
    if at.shape != out.shape or at.shape != (size.shape[-1], 3):
        raise InputError(f"facets: centres {at.shape}, normals {out.shape}, areas {size.shape}; (F, 3), (F, 3), (F,)")
    length = np.linalg.norm(out, axis=1)
    sound = (size > 0).all() if size.ndim == 1 else ((size >= 0).all() and (size.max(axis=1) > 0).all())
    if not bool(sound and (length > 0).all()):
        raise InputError("facets: every area and every normal's length must be more than zero")
    out = out / length[:, None]
    middle = at.mean(axis=0)
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
    whole = size.sum(axis=1)
    weight = size / whole[:, None]
    surface = _Surface(out, weight)
    move = 3.0 * unit
    press, energy = surface.state(move, unit, slice(None))
    open_ = strength > 0
    for _ in range(_STEPS):
        rows = np.nonzero(open_)[0]
        if len(rows) == 0:
            break
        here = (move[rows], press[rows], energy[rows])
        (move[rows], press[rows], energy[rows]), lack = _newton(here, unit[rows], surface, rows)
        open_[rows] = (lack > _TOLERANCE) & (np.linalg.norm(move[rows], axis=1) < 1e7)
    residual = np.linalg.norm(surface.resultant(press, slice(None)) - unit, axis=1)
    carried = (residual < 1e-6) | (strength == 0)
    press *= weight > 0.0
    pressure = press * (strength / whole)[:, None]
    displacement = move * (strength / whole)[:, None]
    pressure[strength == 0] = 0.0
    loaded = pressure > 1e-9 * np.maximum(pressure.max(axis=1, keepdims=True), 1e-300)
    area = (loaded * size).sum(axis=1)
    total = (pressure * size).sum(axis=1)
    centre = (pressure * size) @ at / np.maximum(total, 1e-300)[:, None]
    mean = total / np.maximum(area, 1e-300)

    def only(values: Array) -> Array:
        keep = carried.reshape(-1, *([1] * (values.ndim - 1)))
        return np.where(keep, values, np.nan)

    return (
        only(pressure),
        only(pressure.max(axis=1)),
        only(mean),
        only(area),
        only(centre),
        only(displacement),
        residual,
        carried,
    )


class _Surface:
    """Facets shared by all loads, or weighted for each load."""

    def __init__(self, out: Array, weight: Array) -> None:
        self.out, self.weight, self.shared = out, weight, len(weight) == 1
        pairs = [(0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2)]
        self.outer = np.stack([out[:, i] * out[:, j] for i, j in pairs], axis=-1)
        if self.shared:
            self.out_weighted = out * weight[0][:, None]
            self.outer = self.outer * weight[0][:, None]

    def state(self, move: Array, unit: Array, rows: Rows) -> tuple[Array, Array]:
        """Facet pressures (N, F) at a move of the head, and the convex energy (N,)."""
        press = move @ self.out.T
        np.maximum(press, 0.0, out=press)
        if self.shared:
            work = np.einsum("nf,nf,f->n", press, press, self.weight[0])
        else:
            work = np.einsum("nf,nf,nf->n", press, press, self.weight[rows])
        return press, 0.5 * work - (move * unit).sum(axis=1)

    def resultant(self, press: Array, rows: Rows) -> Array:
        """(N, 3) force of these pressures."""
        if self.shared:
            return np.asarray(press @ self.out_weighted)
        return np.asarray((press * self.weight[rows]) @ self.out)

    def curvature(self, press: Array, rows: Rows) -> Array:
        """(N, 3, 3) second derivative of the energy."""
        touching = (press > 0.0).astype(float)
        if not self.shared:
            touching *= self.weight[rows]
        upper = touching @ self.outer
        return upper[:, [0, 1, 2, 1, 3, 4, 2, 4, 5]].reshape(-1, 3, 3) + 1e-9 * np.eye(3)


def _newton(
    here: tuple[Array, Array, Array], unit: Array, surface: _Surface, rows: NDArray[np.intp]
) -> tuple[tuple[Array, Array, Array], Array]:
    """One damped Newton step on the convex energy; returns the new state and how far the old one was from balance."""
    move, press, energy = here
    slope = surface.resultant(press, rows) - unit
    step = -np.linalg.solve(surface.curvature(press, rows), slope[..., None])[..., 0]
    size = np.ones(len(move))
    fall = (slope * step).sum(axis=1)
    new = move + step
    at, worth = surface.state(new, unit, rows)
    for _ in range(30):
        worse = np.nonzero(worth > energy + 1e-4 * size * fall + 1e-14)[0]
        if len(worse) == 0:
            break
        size[worse] *= 0.5
        new[worse] = move[worse] + size[worse, None] * step[worse]
        at[worse], worth[worse] = surface.state(new[worse], unit[worse], rows[worse])
    return (new, at, worth), np.linalg.norm(slope, axis=1)


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
