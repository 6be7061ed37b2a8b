"""How cloth hangs: it spans the hollows of what it lies on, and falls in a few soft folds.

Question answered: where does a garment lie that was grown close to the skin?

Stretched cloth has no hollows: wherever a vertex lies deeper than the mean of its neighbours it is drawn out to it,
again and again, and never in; under the arms, where sleeve and side part, less and less. Folds are waves of a few
millimetres, outward only, drawn by eye: they say that this is cloth and measure nothing. Metres, neutral stance.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from scipy.spatial import ConvexHull

from viz3d.arrays import Array
from viz3d.shapes.binding import eased
from viz3d.shapes.surface import Surface, neighbour_mean, vertex_normals

_FALL, _GATHER, _SLEEVE_FOLD, _LEG_FOLD = 0.0022, 0.0008, 0.0010, 0.0018
"""Half of the folds' heights: down a shirt, across its waist, across a sleeve, down a leg, m."""
_SLEEVE = 0.085
"""What lies nearer to an arm's axis is its sleeve, m."""
_LOCK, _STREAK, _CROWN = 0.0004, 0.22, -0.012
"""Height of locks of hair, m, how much darker they are between, and the crown ahead of the head's frame, m."""
_LEVEL, _MIDDLE, _WAYS, _FEW, _SOFT = 0.012, -0.02, 73, 12, 12
"""Height of a level, how far ahead of the hips its middle lies, m; an outline's directions and its fewest vertices, and
rounds of softening."""
_SLOPE = 0.5
"""How fast cloth falls inward under what holds it out."""
_ROUNDS, _STEP = 500, 0.8
"""How often, and how much of the way at a time, cloth is drawn out of a hollow."""


def stretched(surface: Surface, trunk: NDArray[np.bool_], most: Array) -> Surface:
    """A surface drawn level toward the convex outline of its trunk at every height, by at most ``most`` (V,) m.

    What stands out above holds cloth out below it: it falls inward no faster than ``_SLOPE``. ``trunk`` (V,): which
    vertices are the trunk's, and move.
    """
    flat = surface.points[:, [0, 2]] - np.array([_MIDDLE, 0.0])
    row = np.floor(surface.points[:, 1] / _LEVEL).astype(int)
    first, ways = int(row[trunk].min()), np.linspace(-np.pi, np.pi, _WAYS)
    reach = np.zeros((int(row[trunk].max()) - first + 1, _WAYS))
    for k in range(len(reach)):
        near = trunk & (np.abs(row - first - k) <= 1)
        if near.sum() >= _FEW:
            hull = flat[near][ConvexHull(flat[near]).vertices]
            reach[k] = _outline(hull, np.stack([np.cos(ways), np.sin(ways)], axis=-1))
    for k in range(len(reach) - 2, -1, -1):
        reach[k] = np.maximum(reach[k], reach[k + 1] - _SLOPE * _LEVEL)
    away = np.maximum(np.hypot(*flat.T), 1e-9)
    level = surface.points[:, 1] / _LEVEL - first - 0.5
    way = (np.arctan2(flat[:, 1], flat[:, 0]) / np.pi + 1.0) * (_WAYS - 1) / 2
    wanted = map_coordinates(reach, [level, way], order=1, mode="nearest")
    move = np.where(trunk, np.clip(wanted - away, 0.0, most), 0.0)
    average = neighbour_mean(surface.triangles, len(move))
    for _ in range(_SOFT):
        move = average @ move
    points = surface.points.copy()
    points[:, [0, 2]] += (np.minimum(move, most) / away)[:, None] * flat
    return replace(surface, points=points, normals=vertex_normals(points, surface.triangles))


def hanging(surface: Surface, which: NDArray[np.bool_], most: Array) -> Surface:
    """A surface drawn ahead to where it would hang straight between what stands out above and below.

    In every upright slice along the body, of the vertices in front that may move (``which`` (V,), ``most`` (V,) m).
    """
    points, move = surface.points.copy(), np.zeros(len(surface.points))
    front = which & (surface.normals[:, 0] > 0.0) & (most > 0.0)
    row = np.floor(points[:, 2] / _LEVEL).astype(int)
    for k in np.unique(row[front]):
        near, mine = front & (np.abs(row - k) <= 1), front & (row == k)
        if near.sum() < _FEW:
            continue
        flat = points[near][:, [1, 0]]
        back = np.array([[flat[:, 0].min(), -1.0], [flat[:, 0].max(), -1.0]])
        hull = np.concatenate([flat, back])
        hull = hull[ConvexHull(hull).vertices]
        line = hull[hull[:, 1] > -1.0]
        line = line[np.argsort(line[:, 0])]
        wanted = np.interp(points[mine, 1], *line.T)
        move[mine] = np.clip(wanted - points[mine, 0], 0.0, most[mine])
    average = neighbour_mean(surface.triangles, len(move))
    for _ in range(_SOFT):
        move = average @ move
    points[:, 0] += np.minimum(move, most)
    return replace(surface, points=points, normals=vertex_normals(points, surface.triangles))


def _outline(hull: Array, ways: Array) -> Array:
    """How far a convex outline (H, 2) round the origin lies in some directions (V, 2), (V,)."""
    a, b = hull, np.roll(hull, -1, axis=0)
    across = np.stack([b[:, 1] - a[:, 1], a[:, 0] - b[:, 0]], axis=-1)
    height = (across * a).sum(axis=-1)
    facing = ways @ across.T
    with np.errstate(divide="ignore"):
        return np.asarray(np.where(facing > 1e-12, height / np.maximum(facing, 1e-12), np.inf).min(axis=1))


def spanned(surface: Surface, most: Array) -> Surface:
    """A surface drawn out of its hollows by at most so much at each vertex, ``most`` (V,) m."""
    points, gone = surface.points.copy(), np.zeros(len(surface.points))
    average, normals = neighbour_mean(surface.triangles, len(points)), surface.normals
    for k in range(_ROUNDS):
        if k % 50 == 25:
            normals = vertex_normals(points, surface.triangles)
        out = np.einsum("vi,vi->v", average @ points - points, normals)
        move = np.clip(_STEP * out, 0.0, np.maximum(most - gone, 0.0))
        points += move[:, None] * normals
        gone += move
    return replace(surface, points=points, normals=vertex_normals(points, surface.triangles))


def folded(surface: Surface, height: Array) -> Surface:
    """A surface with its vertices moved outward by so much, ``height`` (V,) m."""
    points = surface.points + height[:, None] * surface.normals
    return replace(surface, points=points, normals=vertex_normals(points, surface.triangles))


def side_folds(points: Array, hip: Array, size: float) -> Array:
    """Heights (V,) m of a shirt's folds: they fall from the bust and the blades, and deepen toward the hem."""
    up, round_ = (points[:, 1] - hip[1]) / size, np.arctan2(points[:, 2], points[:, 0] - _MIDDLE)
    wave = np.sin(9.0 * round_ + 1.7 * np.sin(2.0 * round_ + 0.6) + 5.0 * up)
    across = np.sin(46.0 * (up + 0.035 * np.cos(3.0 * round_)))
    low = 1.0 - eased(up, 0.00, 0.30)
    waist = eased(up, 0.02, 0.10) * (1.0 - eased(up, 0.14, 0.24))
    return np.asarray(size * (_FALL * low * (1.0 + wave) + _GATHER * waist * (1.0 + across)))


def sleeve_folds(points: Array, arm: Array, size: float) -> Array:
    """Heights (V,) m of a sleeve's folds: a few across it, slanting out from the armpit."""
    at = (points - arm[:3, 3]) @ arm[:3, :3] / size
    round_ = np.arctan2(at[:, 2], at[:, 0])
    wave = np.sin(95.0 * (-at[:, 1] + 0.020 * np.cos(round_)) + 0.8 * np.sin(2.0 * round_))
    near = np.hypot(at[:, 0], at[:, 2]) < _SLEEVE
    return np.asarray(size * _SLEEVE_FOLD * near * eased(-at[:, 1], 0.05, 0.10) * (1.0 + wave))


def leg_folds(points: Array, legs: list[Array], size: float) -> Array:
    """Heights (V,) m of the folds of shorts: they fall down each leg."""
    out = np.zeros(len(points))
    for leg in legs:
        at = (points - leg[:3, 3]) @ leg[:3, :3] / size
        mine = points[:, 2] * leg[2, 3] > 0.0
        round_ = np.arctan2(at[:, 2], at[:, 0])
        wave = np.sin(6.0 * round_ + 1.3 * np.sin(round_) + 6.0 * at[:, 1])
        out += np.where(mine, size * _LEG_FOLD * eased(-at[:, 1], 0.02, 0.20) * (1.0 + wave), 0.0)
    return out


def combed(hair: Surface, head: Array, size: float) -> Surface:
    """Hair in locks that fall from the crown."""
    return folded(hair, 0.5 * size * _LOCK * (1.0 + _locks(hair.points, head)))


def stranded(hair: Surface, head: Array) -> Surface:
    """Hair whose locks differ in light."""
    return replace(hair, shade=hair.shade * (1.0 - _STREAK * (0.5 - 0.5 * _locks(hair.points, head))))


def _locks(points: Array, head: Array) -> Array:
    """Where locks of hair stand out, (V,) -1 to 1; none at the crown, where they begin."""
    at = (points - head[:3, 3]) @ head[:3, :3]
    round_ = np.arctan2(at[:, 2], at[:, 0] - _CROWN)
    wave = np.sin(14.0 * round_ + 1.2 * np.sin(3.0 * round_) + 9.0 * at[:, 1])
    return np.asarray(wave * eased(np.hypot(at[:, 0] - _CROWN, at[:, 2]), 0.01, 0.05))
