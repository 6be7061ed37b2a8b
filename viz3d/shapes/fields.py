"""Solids as distance fields: small composable functions on arrays of points.

Question answered: how far is this point from the bone's surface (negative inside)?

A *solid* knows a distance estimate and a box that encloses it. A bone is an ordered fold of solids: smooth
union or smooth carving, with a blend radius k. The blend is the cubic smooth minimum
smin(a, b, k) = min(a, b) − max(k − |a − b|, 0)³ / (6k²); carving is smax(f, −d) = −smin(−f, d).
A solid is evaluated only where its box says it can matter: within a blend radius of the surface that
changes no value, further away the field is only good for its sign.

Millimetres throughout this room's fields; distances are estimates good near the surface.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import CubicSpline, PchipInterpolator
from scipy.spatial import cKDTree

from viz3d.arrays import Array
from viz3d.body.sheets import sheet_grid

Distance = Callable[[Array], Array]

SAMPLE = 0.8
"""Spacing of samples along curves and sheets, mm."""
FAR = 1e3
_CROWDED = 4
"""Points for each cube that holds any, from which on cubes are asked first."""
_LIFTED = 6.0
"""More than any relief raises or lowers a surface, mm."""


@dataclass(frozen=True)
class Solid:
    """A distance estimate (P, 3) -> (P,) and a box outside which it is positive, mm."""

    distance: Distance
    low: Array
    high: Array

    def box_distance(self, points: Array) -> Array:
        """Lower bound of the distance: how far each point is outside the box, (P,)."""
        outside = np.maximum(np.maximum(self.low - points, points - self.high), 0.0)
        return np.asarray(np.sqrt(np.einsum("ij,ij->i", outside, outside)))


@dataclass(frozen=True)
class Blended:
    """A solid and how it is blended with those before it: added, or carved out of them; or what raises their surface.

    ``lift``: height (P,) at (P, 3) points by which the surface is raised within the solid (:mod:`viz3d.shapes.relief`).
    """

    solid: Solid
    blend: float
    carve: bool = False
    lift: Distance | None = None


def smooth_minimum(a: Array, b: Array, k: float) -> Array:
    """Cubic smooth minimum with blend radius k.

    Examples
    --------
    >>> import numpy as np
    >>> float(smooth_minimum(np.array([1.0]), np.array([5.0]), 2.0)[0])
    1.0
    """
    if k <= 0.0:
        return np.minimum(a, b)
    gap = np.maximum(k - np.abs(a - b), 0.0)
    return np.asarray(np.minimum(a, b) - gap**3 / (6.0 * k * k))


def fold(parts: list[Blended], points: Array, bounds: list[Array] | None = None, cap: Array | None = None) -> Array:
    """Field of an ordered list of parts at (P, 3) points, (P,).

    ``bounds`` may give, per part, a lower bound of its distance at each point, to skip it where it is far; ``cap`` (P,)
    a value at least as large as the field's and as that of the parts before any carving: above it all is far.
    """
    value = np.full(len(points), FAR)
    most = value if cap is None else cap
    for k, part in enumerate(parts):
        lower = part.solid.box_distance(points) if bounds is None else bounds[k]
        if part.lift is not None:
            raised = lower <= 0.0
            value[raised] -= part.lift(points[raised])
            continue
        near = lower < part.blend + (-value if part.carve else np.minimum(value, most))
        if not near.any():
            continue
        distance = part.solid.distance(points[near])
        here = value[near]
        if part.carve:
            value[near] = -smooth_minimum(-here, distance, part.blend)
        else:
            value[near] = smooth_minimum(here, distance, part.blend)
    return value


def fold_in_cells(parts: list[Blended], points: Array, side: float) -> Array:
    """The same field as :func:`fold`, (P,), for many points that lie close together: each part is asked once in the
    middle of every cube of ``side`` mm that holds points, and again only where it may matter."""
    if len(parts) == 1:
        return fold(parts, points)
    corner = points.min(axis=0) - side / 8  # a grid of a quarter of the side falls into whole cubes
    cell = ((points - corner) / side).astype(np.int64)
    shape = tuple(cell.max(axis=0) + 1)
    used, inverse = np.unique(np.ravel_multi_index(tuple(cell.T), shape), return_inverse=True)
    if len(used) * _CROWDED > len(points):
        return fold(parts, points)
    middles = corner + (np.stack(np.unravel_index(used, shape), axis=-1) + 0.5) * side
    cap = np.abs(fold(parts, middles)) + slack(side) + _LIFTED
    return fold(parts, points, [b[inverse] for b in _lower_bounds(parts, middles, side)], cap[inverse])


def slack(side: float) -> float:
    """The most by which a field's estimate changes between the middle of a cube and its corners, mm."""
    return 0.87 * side * 1.4 + 1.0


def _lower_bounds(parts: list[Blended], middles: Array, side: float) -> Iterator[Array]:
    """Per part, a lower bound of its distance anywhere in the cubes of a side around these middles."""
    for part in parts:
        bound = part.solid.box_distance(middles)
        close = bound < side * 6
        bound = np.maximum(bound - 0.87 * side, 0.0)
        if close.any():
            bound[close] = np.maximum(bound[close], part.solid.distance(middles[close]) - slack(side))
        yield bound


def ball(centre: ArrayLike, radius: float) -> Solid:
    """A sphere."""
    c = np.asarray(centre, dtype=float)
    return Solid(lambda p: np.linalg.norm(p - c, axis=1) - radius, c - radius, c + radius)


def ellipsoid(centre: ArrayLike, radii: ArrayLike, turn: ArrayLike | None = None) -> Solid:
    """An ellipsoid; ``turn`` (3, 3) takes its own axes to the world's."""
    c, r = np.asarray(centre, dtype=float), np.asarray(radii, dtype=float)
    m = np.eye(3) if turn is None else np.asarray(turn, dtype=float)

    def distance(points: Array) -> Array:
        return _ellipsoid_estimate((points - c) @ m, r)

    reach = np.abs(m) @ r
    return Solid(distance, c - reach, c + reach)


def _ellipsoid_estimate(local: Array, radii: Array) -> Array:
    first = np.linalg.norm(local / radii, axis=-1)
    second = np.linalg.norm(local / radii**2, axis=-1)
    return np.asarray(first * (first - 1.0) / np.maximum(second, 1e-9))


def half_space(
    point: ArrayLike, normal: ArrayLike, around: Solid | None = None,
    low: ArrayLike | None = None, high: ArrayLike | None = None,
) -> Solid:  # fmt: skip
    """Everything on the inner side of a plane (against its normal), within a ball or a box."""
    c, n = np.asarray(point, dtype=float), np.asarray(normal, dtype=float)
    n = n / np.linalg.norm(n)

    def distance(points: Array) -> Array:
        plane = -(points - c) @ n
        if around is not None:
            return np.asarray(-smooth_minimum(-plane, -around.distance(points), 6.0))
        if low is not None and high is not None:
            middle, half = (np.asarray(low) + np.asarray(high)) / 2, (np.asarray(high) - np.asarray(low)) / 2
            box = (np.abs(points - middle) - half).max(axis=1)
            return np.asarray(np.maximum(plane, box))
        return np.asarray(plane)

    if around is not None:
        return Solid(distance, around.low, around.high)
    if low is not None and high is not None:
        return Solid(distance, np.asarray(low, dtype=float), np.asarray(high, dtype=float))
    return Solid(distance, np.full(3, -FAR), np.full(3, FAR))


def nearest_among(points: Array) -> cKDTree:
    """A tree that finds the nearest of densely sampled points (S, 3): split in the middle of space, not of the points,
    and with large leaves, which answers for points off a curve or sheet in 0.4 of the usual tree's time."""
    return cKDTree(points, leafsize=32, balanced_tree=False, compact_nodes=False)


def tube(rows: ArrayLike, up: ArrayLike = (0.0, 1.0, 0.0), stiff: bool = False) -> Solid:
    """A curve with an elliptic cross-section.

    Parameters
    ----------
    rows : (n, 4 or 5) x, y, z, radius along ``up``, radius across (the same when left out).
    up : direction of the first radius.
    stiff : straight pieces instead of a spline.

    Notes
    -----
    Cubic spline through the points, monotone radii, sampled every 0.8 mm; distance from the nearest sample
    in its local frame by the ellipsoid estimate k0(k0 − 1)/k1, end caps of the smaller radius.
    """
    table = np.asarray(rows, dtype=float)
    if table.shape[1] == 4:
        table = np.column_stack([table, table[:, 3]])
    step = np.linalg.norm(np.diff(table[:, :3], axis=0), axis=1)
    at = np.concatenate([[0.0], np.cumsum(step)])
    fine = np.linspace(0.0, at[-1], max(3, int(at[-1] / SAMPLE) + 1))
    if len(table) == 2 or stiff:
        points = np.column_stack([np.interp(fine, at, table[:, i]) for i in range(3)])
        tangent = np.gradient(points, axis=0)
        radii = np.column_stack([np.interp(fine, at, table[:, i]) for i in (3, 4)])
    else:
        spline = CubicSpline(at, table[:, :3])
        points, tangent = spline(fine), spline(fine, 1)
        radii = PchipInterpolator(at, table[:, 3:5])(fine)
    tangent = tangent / np.linalg.norm(tangent, axis=1, keepdims=True)
    across = np.cross(tangent, np.asarray(up, dtype=float))
    length = np.linalg.norm(across, axis=1, keepdims=True)
    across = np.where(length > 1e-6, across / np.maximum(length, 1e-6), [[1.0, 0.0, 0.0]])
    upward = np.cross(across, tangent)
    cap = radii.min(axis=1)
    tree = nearest_among(points)

    def distance(query: Array) -> Array:
        _, near = tree.query(query, workers=1)
        offset = query - points[near]
        local = np.stack(
            [np.einsum("ij,ij->i", offset, axis[near]) for axis in (tangent, upward, across)],
            axis=-1,
        )
        return _ellipsoid_estimate(local, np.column_stack([cap[near], radii[near]]))

    reach = radii.max(axis=1)[:, None]
    return Solid(distance, (points - reach).min(axis=0), (points + reach).max(axis=0))


def sheet(net: ArrayLike) -> Solid:
    """A curved plate with thickness.

    Parameters
    ----------
    net : (a, b, 4) x, y, z, half thickness.

    Notes
    -----
    Bicubic through the net, sampled every 0.8 mm; distance = hypot(normal offset, in-plane offset beyond a
    sample) − half thickness − first-order change of thickness.
    """
    nodes = np.asarray(net, dtype=float)
    points, thick, normal, slope = _sheet_samples(nodes)
    tree = nearest_among(points)

    def distance(query: Array) -> Array:
        _, near = tree.query(query, workers=1)
        offset = query - points[near]
        height = np.einsum("ij,ij->i", offset, normal[near])
        inside = offset - height[:, None] * normal[near]
        beyond = np.maximum(np.linalg.norm(inside, axis=1) - SAMPLE, 0.0)
        change = np.clip(np.einsum("ij,ij->i", inside, slope[near]), -1.0, 1.0)
        return np.asarray(np.hypot(height, beyond) - thick[near] - change)

    reach = thick.max()
    return Solid(distance, points.min(axis=0) - reach, points.max(axis=0) + reach)


def _sheet_samples(nodes: Array) -> tuple[Array, Array, Array, Array]:
    tall = np.linalg.norm(np.diff(nodes[..., :3], axis=0), axis=-1).sum(axis=0).max()
    wide = np.linalg.norm(np.diff(nodes[..., :3], axis=1), axis=-1).sum(axis=1).max()
    fu = np.linspace(0, 1, max(3, int(tall / SAMPLE) + 1))
    fv = np.linspace(0, 1, max(3, int(wide / SAMPLE) + 1))
    values, along, aside = (sheet_grid(nodes, fu, fv, turn).reshape(-1, 4) for turn in ((0, 0), (1, 0), (0, 1)))
    normal = np.cross(along[:, :3], aside[:, :3])
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-9)
    slope = np.zeros_like(normal)
    for move in (along, aside):
        square = np.maximum((move[:, :3] ** 2).sum(axis=1, keepdims=True), 1e-9)
        slope += move[:, 3:4] * move[:, :3] / square
    return values[:, :3], np.maximum(values[:, 3], 0.4), normal, slope


def drum(
    centre: ArrayLike, front: float, side: float, height: float, waist: float = 0.0,
    turn: ArrayLike | None = None, wedge: float = 0.0,
) -> Solid:  # fmt: skip
    """A vertebral body or disc: a rounded elliptic drum with a waist, y along its axis."""
    c = np.asarray(centre, dtype=float)
    m = np.eye(3) if turn is None else np.asarray(turn, dtype=float)
    edge = min(3.0, height * 0.45)

    def distance(points: Array) -> Array:
        local = (points - c) @ m
        tall = local[:, 1] / height
        narrow = 1.0 - waist * (1.0 - np.clip(tall, -1, 1) ** 2)
        ring = np.stack([local[:, 0], local[:, 2]], axis=-1)
        radii = np.stack([(front - edge) * narrow, (side - edge) * narrow], axis=-1)
        flat = _ellipsoid_estimate(ring, radii)
        up = np.abs(local[:, 1]) - (height - edge) * (1.0 + wedge * local[:, 0] / front)
        outer = np.hypot(np.maximum(flat, 0.0), np.maximum(up, 0.0)) + np.minimum(np.maximum(flat, up), 0.0)
        return np.asarray(outer - edge)

    reach = np.full(3, max(front, side, height * (1 + abs(wedge))) + 1.0)
    return Solid(distance, c - reach, c + reach)
