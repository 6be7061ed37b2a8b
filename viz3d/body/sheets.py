"""Curved plates: where a place (u, v) on a sheet part of a bone lies.

Question answered: which point, half thickness and outward normal belong to (u, v) on this net?

A sheet is a net of nodes x, y, z, half thickness, interpolated bicubically; u runs over the net's rows, v over
its columns, 0 to 1. Millimetres of the drawn bone.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import RectBivariateSpline

from viz3d.arrays import Array


def sheet_fits(net: ArrayLike) -> list[RectBivariateSpline]:
    """Interpolants of x, y, z and half thickness over (u, v)."""
    nodes = np.asarray(net, dtype=float)
    rows, columns = nodes.shape[:2]
    u, v = np.linspace(0, 1, rows), np.linspace(0, 1, columns)
    kx, ky = min(3, rows - 1), min(3, columns - 1)
    return [RectBivariateSpline(u, v, nodes[..., i], kx=kx, ky=ky) for i in range(4)]


def sheet_point(net: ArrayLike, uv: ArrayLike) -> tuple[Array, Array, Array]:
    """Places on a sheet.

    Parameters
    ----------
    uv : (n, 2).

    Returns
    -------
    (n, 4) x, y, z, half thickness; (n, 3) unit normals with z >= 0 (lateral on the right side); (n,) area per
    unit of u and v.
    """
    fits, at = sheet_fits(net), np.asarray(uv, dtype=float)
    u, v = at[:, 0], at[:, 1]
    value = np.stack([f(u, v, grid=False) for f in fits], axis=-1)
    along = np.stack([f(u, v, dx=1, grid=False) for f in fits[:3]], axis=-1)
    aside = np.stack([f(u, v, dy=1, grid=False) for f in fits[:3]], axis=-1)
    normal = np.cross(along, aside)
    area = np.linalg.norm(normal, axis=1)
    normal = normal / area[:, None] * np.where(normal[:, 2:3] < 0, -1.0, 1.0)
    return value, normal, area


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
    _, _, area = sheet_point(net, uv)
    weight = area * inside
    return np.asarray((uv * weight[:, None]).sum(axis=0) / weight.sum())


def _sectors(net: ArrayLike, edge: Array) -> Array:
    """The four v that bound three sectors of equal length along the upper edge, between an outline's ends."""
    v = np.linspace(edge[:, 1].min(), edge[:, 1].max(), 201)
    points = sheet_point(net, np.stack([np.ones_like(v), v], axis=-1))[0][:, :3]
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    return np.interp(np.linspace(0.0, along[-1], 4), along, v)
