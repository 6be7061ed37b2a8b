"""Pressure in the socket: the closed form for a lune, in batch.

Question answered: how high is the pressure, and where, when this joint force presses this much of a sphere?

Model: rigid head, thin elastic layer, so that p = p0·cos(angle from the pole). The articular surface is a
lune: part of a sphere of radius r between two planes through the front-back axis, from the socket's
lateral edge (the centre-edge angle, in space) to where the pressure falls to zero, a quarter turn medial of
the pole. The layer carries no friction. A smooth lower bound: instrumented hips read several times more.

Angles in radians: the force's inclination θ_R from the vertical (medially up positive), the pole's angle Θ
from the vertical (lateral positive). Force N, radius m, pressure Pa.
Sources: Brinckmann 1981; Ipavec 1999, J Biomech.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from viz3d.arrays import Array

_STEPS = 60
"""At most; Newton's method needs about five, bisection guards it."""


@dataclass(frozen=True)
class LunePressure:
    """Pressure on a lune, N situations. NaN where no pressure distribution carries the force."""

    pole: Array
    """Pole's angle Θ from the vertical, lateral positive, rad."""
    pole_pressure: Array
    """p0, Pa."""
    peak: Array
    """Highest pressure on the surface, Pa."""
    area: Array
    """Loaded area, m²."""
    edge: Array
    """Centre-edge angle in space, rad."""


def lune_pressure(force: ArrayLike, inclination: ArrayLike, radius: ArrayLike, centre_edge: ArrayLike) -> LunePressure:
    """Pressure from a joint force on a lune.

    Parameters
    ----------
    force : N, (N,).
    inclination : θ_R of the force on the socket, rad, medially up positive, (N,).
    radius : of the loaded surface, m, (N,) or scalar.
    centre_edge : centre-edge angle *in space* (pelvic angle less obliquity), rad, (N,) or scalar.

    Returns
    -------
    LunePressure; NaN where the edge lies medial of the force (centre_edge <= -inclination).

    Notes
    -----
    With a = CE − Θ: tan(θ_R + Θ) = cos²a / (π/2 + a + sin a cos a),
    p0 = 3R cos(θ_R + Θ) / [2r²(π/2 + a + sin a cos a)]; peak p0 if Θ <= CE, else p0 cos(Θ − CE).
    Above CE = π/2 − θ_R the contact is a hemisphere, p0 = 3R / (2πr²).

    Examples
    --------
    >>> import numpy as np
    >>> p = lune_pressure(2000.0, np.radians(8), 0.025, np.radians(25))
    >>> float((p.peak[0] * 1e-6).round(3)), float(np.degrees(p.pole[0]).round(2))
    (2.529, 23.78)
    """
    load, tilt, r, edge = (
        np.array(v) for v in np.broadcast_arrays(*np.atleast_1d(force, inclination, radius, centre_edge))
    )
    a = _root(tilt + edge)
    whole = edge >= np.pi / 2 - tilt
    a = np.where(whole, np.pi / 2, a)
    pole = np.where(whole, -tilt, edge - a)
    span = np.pi / 2 + a + np.sin(a) * np.cos(a)
    with np.errstate(divide="ignore", invalid="ignore"):
        pole_pressure = 3.0 * load * np.cos(tilt + pole) / (2.0 * r**2 * span)
        peak = np.where(pole <= edge, pole_pressure, pole_pressure * np.cos(pole - edge))
    area = 2.0 * r**2 * (np.pi / 2 + a)
    carried = edge > -tilt
    out = [np.where(carried, v, np.nan) for v in (pole, pole_pressure, peak, area)]
    return LunePressure(out[0], out[1], out[2], out[3], edge)


def _root(edge_from_force: Array) -> Array:
    """Solve the pole equation for a = CE − Θ, (N,) rad in [−π/2, π/2]: Newton within a shrinking bracket.

    Notes
    -----
    In sine form, free of poles: h(a) = sin x (π/2 + a + sin a cos a) − cos x cos² a with x = edge − a;
    h' = sin(edge) cos a − (π/2 + a) cos x; h falls through its root.
    """
    low, high = np.full(edge_from_force.shape, -np.pi / 2), np.full(edge_from_force.shape, np.pi / 2)
    sin_edge, cos_edge = np.sin(edge_from_force), np.cos(edge_from_force)
    a = 0.5 * edge_from_force.clip(-np.pi / 2, np.pi / 2)
    for _ in range(_STEPS):
        sine, cosine = np.sin(a), np.cos(a)
        across = cos_edge * cosine + sin_edge * sine
        beside = sin_edge * cosine - cos_edge * sine
        h = beside * (np.pi / 2 + a + sine * cosine) - across * cosine**2
        slope = sin_edge * cosine - (np.pi / 2 + a) * across
        low, high = np.where(h > 0.0, a, low), np.where(h > 0.0, high, a)
        with np.errstate(divide="ignore", invalid="ignore"):
            step = a - h / slope
        inside = (step > low) & (step < high)
        following = np.where(inside, step, 0.5 * (low + high))
        moved = float(np.max(np.abs(following - a), initial=0.0))
        a = following
        if moved < 1e-13:
            break
    return np.asarray(a)


def pressure_at(normals: Array, pole: float, pole_pressure: float, edge: float) -> Array:
    """Pressure on facets of the socket whose outward normals are given.

    Parameters
    ----------
    normals : (F, 2) lateral and up components of unit normals pointing from the head centre to the facet.
    pole, edge : rad; pole_pressure : Pa.

    Returns
    -------
    (F,) Pa; zero beyond a quarter turn from the pole and lateral of the edge.
    """
    toward = normals[:, 0] * np.sin(pole) + normals[:, 1] * np.cos(pole)
    across = normals[:, 0] * np.cos(pole) - normals[:, 1] * np.sin(pole)
    outside = np.arctan2(across, toward) > edge - pole + 1e-9
    return np.asarray(np.where(outside, 0.0, pole_pressure * np.maximum(toward, 0.0)))
