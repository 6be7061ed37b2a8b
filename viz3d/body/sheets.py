"""Curved plates: where a place (u, v) on a sheet part of a bone lies.

Question answered: which point, half thickness and outward normal belong to (u, v) on this net?

A sheet is a net of nodes x, y, z, half thickness, interpolated bicubically (by lower powers where it has fewer than
four rows or columns; no knot beside the ends); u runs over the net's rows, v over its columns, 0 to 1. Millimetres of
the drawn bone.

Written out because a library's splines take a third of a second to import, before the first number of any command; a
test compares them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from viz3d.arrays import Array


def blends(count: int, at: Array, turn: int = 0) -> Array:
    """What each of ``count`` even nodes adds to the spline through them at places (n,) of 0 to 1: (n, count).

    ``turn``: 1 for the slope.

    Examples
    --------
    >>> blends(3, np.array([0.25]))
    array([[ 0.375,  0.75 , -0.125]])
    """
    nodes, degree = np.linspace(0.0, 1.0, count), min(3, count - 1)
    inner = nodes[2:-2] if degree == 3 else nodes[:0]
    knots = np.concatenate([np.zeros(degree + 1), inner, np.ones(degree + 1)])
    basis = _b_splines(knots, degree - turn, at)
    if turn:
        rise = degree / (knots[1 + degree : -1] - knots[1 : -1 - degree])
        basis = basis[:, 1:-1] * rise
        basis = np.pad(basis, ((0, 0), (1, 0))) - np.pad(basis, ((0, 0), (0, 1)))
    return np.asarray(np.linalg.solve(_b_splines(knots, degree, nodes).T, basis.T).T)


def _b_splines(knots: Array, degree: int, at: Array) -> Array:
    """Every B-spline over the knots at places (n,), by the recursion of Cox and de Boor."""
    within = knots[1:] > knots[:-1]
    last = np.flatnonzero(within)[-1]
    x = at[:, None]
    out = ((x >= knots[:-1]) & (x < knots[1:])).astype(float)
    out[at >= knots[-1], last] = 1.0
    for power in range(1, degree + 1):
        width = knots[power:] - knots[:-power]
        share = (x - knots[:-power]) / np.where(width > 0.0, width, 1.0)
        out = share[:, :-1] * out[:, :-1] + (1.0 - share[:, 1:]) * out[:, 1:]
    return out


def sheet_grid(net: ArrayLike, u: Array, v: Array, turn: tuple[int, int] = (0, 0)) -> Array:
    """x, y, z, half thickness (U, V, 4) over every u and v; ``turn``: 1 for the slope along u, or v."""
    nodes = np.asarray(net, dtype=float)
    along, aside = blends(nodes.shape[0], u, turn[0]), blends(nodes.shape[1], v, turn[1])
    return np.asarray(np.einsum("ui,ijk,vj->uvk", along, nodes, aside, optimize=True))


def _values(nodes: Array, at: Array, turn: tuple[int, int] = (0, 0)) -> Array:
    """The same at places (n, 2): (n, 4)."""
    along, aside = blends(nodes.shape[0], at[:, 0], turn[0]), blends(nodes.shape[1], at[:, 1], turn[1])
    return np.asarray(np.einsum("nj,njk->nk", aside, np.tensordot(along, nodes, axes=1)))


def sheet_point(net: ArrayLike, uv: ArrayLike) -> tuple[Array, Array]:
    """Places on a sheet.

    Parameters
    ----------
    uv : (n, 2).

    Returns
    -------
    (n, 4) x, y, z, half thickness; (n, 3) unit normals with z >= 0 (lateral on the right side).
    """
    nodes, at = np.asarray(net, dtype=float), np.asarray(uv, dtype=float)
    value, along, aside = (_values(nodes, at, turn) for turn in ((0, 0), (1, 0), (0, 1)))
    normal = np.cross(along[:, :3], aside[:, :3])
    normal = normal / np.linalg.norm(normal, axis=1, keepdims=True) * np.where(normal[:, 2:3] < 0, -1.0, 1.0)
    return value, normal


def region_centre(net: ArrayLike, outline: ArrayLike, sector: int | None = None, grid: int = 81) -> Array:
    """Area centroid (2,) in (u, v) of the part of a sheet inside a closed outline (k, 2).

    ``sector`` 0, 1 or 2 keeps the front, middle or rear sector: three between the outline's ends in v, over equal
    lengths of the sheet's upper edge (u = 1).
    """
    edge = np.asarray(outline, dtype=float)
    ticks = (np.arange(grid) + 0.5) / grid
    uv = np.stack(np.meshgrid(ticks, ticks, indexing="ij"), axis=-1).reshape(-1, 2)
    inside = np.zeros(len(uv), dtype=bool)
    for a, b in zip(edge, np.roll(edge, -1, axis=0), strict=True):
        spans = (a[1] > uv[:, 1]) != (b[1] > uv[:, 1])
        rise = np.where(b[1] == a[1], 1.0, b[1] - a[1])
        inside ^= spans & (uv[:, 0] < a[0] + (b[0] - a[0]) * (uv[:, 1] - a[1]) / rise)
    if sector is not None:
        front, rear = _sectors(net, edge)[sector : sector + 2]
        inside &= (uv[:, 1] > front) & (uv[:, 1] <= rear)
    along, aside = (sheet_grid(net, ticks, ticks, turn)[..., :3] for turn in ((1, 0), (0, 1)))
    weight = np.linalg.norm(np.cross(along, aside), axis=-1).ravel() * inside
    return np.asarray((uv * weight[:, None]).sum(axis=0) / weight.sum())


def _sectors(net: ArrayLike, edge: Array) -> Array:
    """The four v that bound three sectors of equal length along the upper edge, between an outline's ends."""
    v = np.linspace(edge[:, 1].min(), edge[:, 1].max(), 201)
    points = sheet_point(net, np.stack([np.ones_like(v), v], axis=-1))[0][:, :3]
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    return np.interp(np.linspace(0.0, along[-1], 4), along, v)
