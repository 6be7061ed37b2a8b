"""The fibres of a drawn muscle: lines from bone to bone that lie on what is under them, each with its thickness.

Question answered: along which lines do a muscle's fibres run when bones and deeper muscles are in the way?

Every line starts straight (or bulging, as its table row says) and is pushed off whatever is nearer than half the
muscle's thickness, evened out along its length between pushes. The thickness gives the belly its area where it is
widest, thins towards the edges of a fan, and ends as thin as the tendon. Left out: pennation, and all that muscles do
to each other but lie on top. Millimetres, one frame for all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import binary_dilation, distance_transform_edt, map_coordinates, zoom

from viz3d.arrays import Array
from viz3d.shapes.fields import nearest_among

_STATION = 9.0
"""Points along a fibre lie about so far apart, mm; at least 25 of them."""
_ROUNDS = 50
_AROUND, _FAR = 8.0, 40.0
"""Distances from a body are worked out within the first, mm; beyond, it counts as the second."""
_DENSE = 2.4
"""Spheres that stand for a muscle's body lie about so far apart, mm."""
_BLEND = 1.2
"""Spheres flow into each other over about so much, mm."""
_NEAR = 8.0
"""A surface is taken as flat within this distance of its nearest vertex, mm."""
_ATTACHED = 25.0
"""Ends no further than this from a bone are fixed to it, mm."""
_EDGE = 0.42
"""Share of the thickness that a fan loses at its edges."""
_POINT, _TAPERED = 0.3, 0.12
"""A tendon that begins or ends on no bone is so thick there, a share of its thickness, and whole so far along."""
_SUNK, _FLAT = 0.15, 0.7
"""Ends lie so far off the bone, and are so thick at the last, shares of half a tendon's thickness."""


class Room:
    """How far every place round the hip is from what is already there, on one grid: bones first, then each muscle.

    ``low`` (3,) mm; ``values`` (nx, ny, nz) mm from the nearest surface, negative inside, at most ``_FAR``.
    """

    def __init__(self, low: Array, high: Array, step: float) -> None:
        self.low, self.step = low, step
        shape = tuple(int(n) for n in np.ceil((high - low) / step) + 1)
        self.values = np.full(shape, _FAR, dtype=np.float32)

    def fill(self, solid: Boundary) -> None:
        """Put a closed surface into it."""
        there = np.zeros(self.values.shape, dtype=bool)
        cells = np.round((solid.points - self.low) / self.step).astype(int)
        inside = ((cells >= 0) & (cells < there.shape)).all(axis=1)
        there[tuple(cells[inside].T)] = True
        band = np.argwhere(binary_dilation(there, iterations=round(_AROUND / self.step) + 1))
        self.values[tuple(band.T)] = solid.away(self.low + self.step * band)[0]

    def box(self, low: Array, high: Array) -> tuple[tuple[slice, ...], Array]:
        """The cells between two corners: their slices, and their places (nx, ny, nz, 3)."""
        first = np.maximum(np.floor((low - self.low) / self.step).astype(int), 0)
        last = np.minimum(np.ceil((high - self.low) / self.step).astype(int) + 1, self.values.shape)
        cells = np.stack(np.meshgrid(*map(np.arange, first, last), indexing="ij"), axis=-1)
        return tuple(slice(a, b) for a, b in zip(first, last, strict=True)), self.low + self.step * cells

    def away(self, points: Array) -> tuple[Array, Array]:
        """Distances (P,) from what is there, and unit vectors (P, 3) out of it."""
        slope = np.empty_like(points)
        for axis in range(3):
            offset = np.zeros(3)
            offset[axis] = 0.5 * self.step
            slope[:, axis] = self._at(points + offset) - self._at(points - offset)
        return self._at(points), slope / np.maximum(np.linalg.norm(slope, axis=1, keepdims=True), 1e-6)

    def _at(self, points: Array) -> Array:
        return np.asarray(map_coordinates(self.values, ((points - self.low) / self.step).T, order=1, mode="nearest"))


class Boundary:
    """A closed surface: vertices (V, 3) mm and outward normals."""

    def __init__(self, points: Array, normals: Array) -> None:
        self.points, self.normals, self.tree = points, normals, nearest_among(points)

    def away(self, points: Array) -> tuple[Array, Array]:
        """Distances (P,) from it, negative inside, and unit vectors (P, 3) out of it."""
        far, nearest = self.tree.query(points)
        normal = self.normals[nearest]
        height = ((points - self.points[nearest]) * normal).sum(axis=1)
        return np.where(far < _NEAR, height, np.copysign(far, height)), normal


@dataclass(frozen=True)
class Fibres:
    """A muscle's body as spheres along its fibres.

    ``points`` (J, R, S, 3) mm; ``radius`` (J, S) mm.
    """

    points: Array
    radius: Array

    def spheres(self) -> Spheres:
        """The same, densely filled between fibres."""
        return Spheres(self)


class Spheres:
    """A muscle's body as many spheres: the field that its surface is drawn from.

    ``centres`` (M, 3), ``radii`` (M,) mm; ``along`` (M,) 0 to 1 from origin to insertion; ``across`` (M,) mm from the
    first column, in the middle of the length.
    """

    def __init__(self, fibres: Fibres) -> None:
        points = fibres.points
        gaps = [float(np.linalg.norm(np.diff(points, axis=axis), axis=-1).max(initial=0.0)) for axis in range(3)]
        parts = [max(1, int(np.ceil(gap / _DENSE))) for gap in gaps]
        counts = [1 + (n - 1) * k for n, k in zip(points.shape[:3], parts, strict=True)]
        fine = [c / n for c, n in zip(counts, points.shape[:3], strict=True)]
        dense = np.stack([_filled(points[..., k], fine) for k in range(3)], axis=-1)
        radius = _filled(np.repeat(fibres.radius[:, None, :], points.shape[1], axis=1), fine)
        self.centres, self.radii = dense.reshape(-1, 3), radius.ravel()
        self.along = np.broadcast_to(np.linspace(0.0, 1.0, counts[2]), counts).ravel()
        middle = dense[:, :, counts[2] // 2].mean(axis=1)
        across = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(middle, axis=0), axis=1))])
        self.across = np.broadcast_to(across[:, None, None], counts).ravel()
        self.tree = nearest_among(self.centres)

    def field(self, places: Array, step: float) -> Array:
        """Distance from the body over a grid of places (nx, ny, nz, 3), rounded where spheres meet, (nx, ny, nz) mm.

        Near the surface the nearest spheres count, elsewhere the one whose centre's cell is nearest.
        """
        owner = np.full(places.shape[:3], -1)
        owner[tuple(np.round((self.centres - places[0, 0, 0]) / step).astype(int).T)] = np.arange(len(self.radii))
        nearest = distance_transform_edt(owner < 0, return_distances=False, return_indices=True)
        sphere = owner[tuple(nearest)]
        away = np.linalg.norm(places - self.centres[sphere], axis=-1) - self.radii[sphere]
        band = (away > -2.0 * step) & (away < 4.0 * step)
        far, near = self.tree.query(places[band], k=8)
        gap = far - self.radii[near]
        low = gap.min(axis=1)
        away[band] = low - _BLEND * np.log(np.exp((low[:, None] - gap) / _BLEND).sum(axis=1) / 4.0)
        return np.asarray(away)


def _filled(grid: Array, fine: list[float]) -> Array:
    return np.asarray(zoom(grid, fine, order=1, mode="nearest", grid_mode=False))


def lay_fibres(
    start: Array,
    end: Array,
    bulge: Array,
    belly: float,
    thin: float,
    tendon: float,
    root: float,
    room: Room,
    bone: Boundary,
) -> Fibres:
    """Fibres of one muscle.

    Parameters
    ----------
    start, end : (J, R, 3) mm, on the bones. bulge : (3,) mm. belly : mm². thin : half the tendon's thickness, mm.
    tendon, root : shares of the length at the insertion and at the origin. room : what they lie on.
    bone : what they are fixed to, where it is near.
    """
    longest = float(np.linalg.norm(end - start, axis=-1).max())
    share = np.linspace(0.0, 1.0, max(25, int(longest / _STATION)))
    loose = [
        tendinous > 0.0 and float(bone.tree.query(places.reshape(-1, 3))[0].mean()) > _ATTACHED
        for places, tendinous in ((start, root), (end, tendon))
    ]
    start, end = (_on_bone(places, thin, bone) for places in (start, end))
    line = start[:, :, None, :] + share[:, None] * (end - start)[:, :, None, :]
    line = line + np.sin(np.pi * share)[:, None] * bulge
    radius = _radii(line, belly, thin, tendon, root)
    for one, far in zip(loose, (share, 1.0 - share), strict=True):
        radius = radius * (np.clip(_POINT + (1.0 - _POINT) * far / _TAPERED, 0.0, 1.0) if one else 1.0)
    needed = np.repeat(radius[:, None, :], line.shape[1], axis=1).reshape(-1)
    flat, moved = line.reshape(-1, 3), np.zeros((line.size // 3, 3))
    for k in range(_ROUNDS):
        away, out = room.away(flat + moved)
        moved = moved + np.maximum(needed - away, 0.0)[:, None] * out
        if k < _ROUNDS - 1:
            moved = _evened(moved.reshape(line.shape)).reshape(-1, 3)
    return Fibres((flat + moved).reshape(line.shape), radius)


def _on_bone(places: Array, thin: float, bone: Boundary) -> Array:
    """Places (J, R, 3) moved onto the nearest bone, so that a tendon rises out of it; those far from bones stay."""
    flat = places.reshape(-1, 3)
    far, nearest = bone.tree.query(flat)
    there = bone.points[nearest] + (_SUNK * thin) * bone.normals[nearest]
    return np.asarray(np.where(far[:, None] < _ATTACHED, there, flat).reshape(places.shape))


def _evened(moved: Array) -> Array:
    """Displacements (J, R, S, 3) evened along the fibres and, less, across them; their ends keep what pushed them."""
    inner = moved[:, :, 1:-1]
    mean = 0.5 * (moved[:, :, :-2] + moved[:, :, 2:])
    out = moved.copy()
    out[:, :, 1:-1] = inner + 0.5 * (mean - inner)
    if moved.shape[0] > 2:
        out[1:-1] += 0.25 * (0.5 * (out[:-2] + out[2:]) - out[1:-1])
    return out


def belly_share(along: Array, tendon: float, root: float) -> Array:
    """How far along the belly, 0 to 1, places are that lie ``along`` (...) the whole muscle; tendon alone has none."""
    return np.asarray(np.clip((along - root) / max(1.0 - tendon - root, 1e-9), 0.0, 1.0))


def _radii(line: Array, belly: float, thin: float, tendon: float, root: float) -> Array:
    """Half the muscle's thickness at every station of every column, (J, S) mm: ``belly`` mm² where it is fullest."""
    columns, _, stations = line.shape[:3]
    share = np.linspace(0.0, 1.0, stations)
    fleshy = belly_share(share, tendon, root)
    first = 0.03 if root == 0.0 else 0.0
    full = np.sin(np.pi * np.clip(first + (1.0 - first) * fleshy, 0.0, 1.0) ** 0.85) ** 0.7
    width = np.linalg.norm(np.diff(line.mean(axis=1), axis=0), axis=-1).sum(axis=0)
    depth = np.linalg.norm(line[:, 0] - line[:, -1], axis=-1).mean(axis=0)
    mean_edge = 1.0 - _EDGE / 3.0
    half = (-width - depth + np.sqrt((width + depth) ** 2 + np.pi * np.maximum(belly - width * depth, 0.0))) / np.pi
    at = np.linspace(-1.0, 1.0, columns) if columns > 1 else np.zeros(1)
    edge = (1.0 - _EDGE * at**2) / mean_edge
    flat = thin * (1.0 - (1.0 - _FLAT) * np.clip((share - 0.94) / 0.06, 0.0, 1.0))
    return np.asarray(np.maximum(flat, half * full * edge[:, None]))
