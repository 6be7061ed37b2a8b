"""How a bone's surface is toned: hollows darker, edges lighter, ivory mottling, and warmth where muscles arise.

Question answered: how light and how warm is each place of a dry bone, before any lamp shines on it?

All of it is baked per vertex when a bone is grown, so that it costs no frame anything and every writer shows it.

* cavity: mean curvature over a few millimetres, from how the normals turn between neighbours; concave places lose
  light, convex ones gain a little, both bounded;
* mottling: smooth noise of two sizes, at most 4 % of the colour;
* warmth: within the areas that a table lists for a bone, where muscles and ligaments fasten;
* depth: areas marked ``dark``, on the side that they face, lose light and are patchy: rough floors of deep hollows.

The strengths are settings of the drawing, chosen by eye. Millimetres for sizes on the bone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy.spatial import cKDTree

from viz3d.arrays import Array
from viz3d.shapes.surface import Surface, neighbour_mean
from viz3d.shapes.warp import Warp

MOTTLING = 0.04
"""Largest share of the colour by which mottling lightens or darkens."""
_HOLLOW, _EDGE = 0.42, 0.16
"""Most that shade loses in a hollow and gains on an edge."""
_BEND = 9.0
"""Radius of curvature, mm, at which about three quarters of that is reached."""
_ROUNDS = 3
"""Rounds of averaging over neighbours that set the scale of curvature."""
_CELLS = ((17.0, 0.6), (6.5, 0.4))
"""Cell of the noise, mm, and its part of the whole."""
_FLOOR = 0.42
"""Part of a colour that shade governs; see :mod:`viz3d.output.window`."""
_PATCHY = 0.45
"""Part of a dark area's depth that comes and goes from place to place."""


@dataclass(frozen=True)
class Dark:
    """A rough, dark floor: ``line`` (n, 5) x, y, z, reach, mm, and shade that is lost; ``faces`` (3,) the
    way it looks."""

    line: Array
    faces: Array


def stained(surface: Surface, areas: list[Array], dark: Sequence[Dark] = ()) -> Surface:
    """A bone with its tones folded into ``shade`` and its muscle areas in ``warm``.

    Parameters
    ----------
    surface : with its contact shadow baked.
    areas : lines (n, 4) x, y, z, reach, mm, in the surface's frame: warm along them, fading out at their reach.
    dark : rough floors of hollows, in the same frame.
    """
    noise = mottling(surface.points * 1e3)
    bend = curvature(surface)
    tone = np.where(bend < 0.0, _HOLLOW * bend, _EDGE * bend)
    shade = surface.shade * (1.0 + tone) + noise * MOTTLING / _FLOOR
    shade = np.clip(shade, 0.0, 1.3)
    for one in dark:
        shade = shade - _darkness(surface, one)  # below 0: darker than any shadow makes clean bone
    return replace(surface, shade=shade, warm=_warmth(surface.points * 1e3, areas, noise))


def curvature(surface: Surface) -> Array:
    """Bounded mean curvature (V,), −1 deep in a hollow to 1 on an edge."""
    t = surface.triangles
    start, end = (np.concatenate([t[:, i] for i in order]) for order in ((0, 1, 2), (1, 2, 0)))
    step = (surface.points[end] - surface.points[start]) * 1e3
    square = np.maximum(np.einsum("ij,ij->i", step, step), 1e-6)
    turn = np.einsum("ij,ij->i", surface.normals[end] - surface.normals[start], step) / square
    count = len(surface.points)
    total = np.bincount(start, turn, count) + np.bincount(end, turn, count)
    mean = total / np.maximum(np.bincount(start, minlength=count) + np.bincount(end, minlength=count), 1)
    average = neighbour_mean(t, count)
    for _ in range(_ROUNDS):
        mean = 0.5 * (mean + average @ mean)
    return np.asarray(np.tanh(_BEND * mean))


def mottling(points: Array) -> Array:
    """Smooth noise (P,) in −1..1 at points (P, 3) mm; the same at the same place, always."""
    return np.asarray(sum(part * _noise(points / cell) for cell, part in _CELLS))


def _noise(place: Array) -> Array:
    """Values of a fixed hash at the corners of unit cells, blended smoothly, −1..1."""
    low = np.floor(place).astype(np.int64)
    share = place - low
    share = share * share * (3.0 - 2.0 * share)
    total = np.zeros(len(place))
    for corner in np.ndindex(2, 2, 2):
        weight = np.prod(np.where(np.array(corner) == 1, share, 1.0 - share), axis=1)
        total += weight * _hash(low + np.array(corner))
    return total


def _hash(cell: Array) -> Array:
    """A number in −1..1 for each whole cell (P, 3)."""
    mixed = (cell * np.array([73856093, 19349663, 83492791])).sum(axis=1) & 0x7FFFFFFF
    mixed = ((mixed ^ (mixed >> 13)) * 1274126177) & 0x7FFFFFFF
    return np.asarray(((mixed ^ (mixed >> 16)) & 0xFFFF) / 32767.5 - 1.0)


def _warmth(points: Array, areas: list[Array], noise: Array) -> Array:
    """How warm each place is, (P,) in 0..1, mottled at the areas' edges."""
    warm = np.zeros(len(points))
    for area in areas:
        far, near = cKDTree(area[:, :3]).query(points)
        share = np.clip(1.0 - far / area[near, 3] + 0.2 * noise, 0.0, 1.0)
        warm = np.maximum(warm, np.minimum(1.0, 1.25 * share * share * (3.0 - 2.0 * share)))
    return warm


def _darkness(surface: Surface, dark: Dark) -> Array:
    """Shade (V,) that each place loses to a dark floor."""
    far, near = cKDTree(dark.line[:, :3]).query(surface.points * 1e3)
    share = np.clip(2.5 * (1.0 - far / dark.line[near, 3]), 0.0, 1.0) * np.clip(
        3.0 * (surface.normals @ dark.faces), 0.0, 1.0
    )
    patch = 1.0 + _PATCHY * _noise(surface.points * 1e3 / 4.0)
    return np.asarray(np.clip(dark.line[near, 4] * share * patch, 0.0, 1.2))


def dark_areas(group: dict[str, Any], bone: str, warp: Warp) -> list[Dark]:
    """The dark floors of one bone's table in its link's frame."""
    return [
        Dark(_line(row, warp), np.array(row["faces"], dtype=float))
        for row in group.get("area", [])
        if row["bone"] == bone and row.get("dark")
    ]


def muscle_areas(group: dict[str, Any], bone: str, warp: Warp) -> list[Array]:
    """The warm areas of one bone's table as lines (n, 4) in its link's frame, mm, sampled every 2 mm."""
    return [_line(r, warp) for r in group.get("area", []) if r["bone"] == bone and not r.get("dark")]


def _line(row: dict[str, Any], warp: Warp) -> Array:
    """A row's line (n, 4 or more) x, y, z, reach, and what else it says, in its link's frame."""
    table = np.array(row["pts"], dtype=float)
    line = np.column_stack([warp.points(table[:, :3], row), table[:, 3] * warp.scale, table[:, 4:]])
    step = np.linalg.norm(np.diff(line[:, :3], axis=0), axis=1)
    at = np.concatenate([[0.0], np.cumsum(step)])
    fine = np.linspace(0.0, at[-1], max(2, int(at[-1] / 2.0)))
    return np.column_stack([np.interp(fine, at, line[:, i]) for i in range(line.shape[1])])


def _other_side(dark: Dark) -> Dark:
    flip = np.array([1.0, 1.0, -1.0])
    return Dark(dark.line * [*flip, 1.0, 1.0], dark.faces * flip)


def dark_on(dark: list[Dark], side: str) -> list[Dark]:
    """Dark floors of a right bone on a shape of that side."""
    return [_other_side(one) for one in dark] if side == "left" else dark


def sided(areas: list[Array], side: str) -> list[Array]:
    """Areas of a right bone on a shape of that side; a middle one has them on both."""
    mirrored = [area * np.array([1.0, 1.0, -1.0, 1.0]) for area in areas]
    return {"right": areas, "left": mirrored}.get(side, areas + mirrored)
