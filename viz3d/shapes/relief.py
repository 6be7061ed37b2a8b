"""Relief: ridges, lines and grooves that lie on whatever surface a bone has there.

Question answered: by how much is the surface raised, or lowered, near this line?

A ridge is not a solid of its own: laid on a bone, a rod looks like a rope. It moves the field of the parts before it by
height × (1 − (d/w)²)² within the half width w of a line, d being the distance from it; a sharp one by
height × (1 − d/w)². The line is drawn roughly and then laid onto the surface of those parts, so that it stays there for
every person. Millimetres, as in :mod:`viz3d.shapes.fields`.
"""

from __future__ import annotations

import numpy as np
from scipy.interpolate import CubicSpline, PchipInterpolator

from viz3d.arrays import Array
from viz3d.shapes.fields import SAMPLE, Blended, Solid, fold, nearest_among

_STEP = 0.25
"""Half of the step by which the field's slope is measured, mm."""
_ROUNDS, _FARTHEST = 8, 4.0
"""Newton's steps that lay a line onto a surface, and the longest of them, mm."""


def ridge(rows: Array, parts: list[Blended], sharp: bool = False) -> Blended:
    """A raised line, or a groove where its height is negative.

    Parameters
    ----------
    rows : (n, 5) x, y, z, height, half width, mm.
    parts : what the bone is so far; the line is laid onto its surface.
    sharp : an edge along its top instead of a rounded one.
    """
    line, height, width = _along(rows)
    line = onto_surface(line, parts)
    tree = nearest_among(line)

    def away(points: Array) -> tuple[Array, Array]:
        far, near = tree.query(points, workers=1)
        return far, near

    def distance(points: Array) -> Array:
        far, near = away(points)
        return np.asarray(far - width[near])

    def lift(points: Array) -> Array:
        far, near = away(points)
        share = np.minimum(far / width[near], 1.0)
        return np.asarray(height[near] * ((1.0 - share) ** 2 if sharp else (1.0 - share**2) ** 2))

    reach = width.max()
    solid = Solid(distance, line.min(axis=0) - reach, line.max(axis=0) + reach)
    return Blended(solid, 0.0, lift=lift)


def onto_surface(points: Array, parts: list[Blended]) -> Array:
    """Points (P, 3) moved along the field's slope until they lie on the surface of ``parts``."""
    around = _STEP * np.concatenate([np.zeros((1, 3)), np.eye(3), -np.eye(3)])
    for _ in range(_ROUNDS):
        here, *beside = fold(parts, (around[:, None] + points).reshape(-1, 3)).reshape(len(around), -1)
        slope = np.stack([beside[k] - beside[k + 3] for k in range(3)], axis=-1) / (2.0 * _STEP)
        square = np.maximum((slope**2).sum(axis=1, keepdims=True), 0.2)
        move = here[:, None] * slope / square
        length = np.linalg.norm(move, axis=1, keepdims=True)
        points = points - move * np.minimum(1.0, _FARTHEST / np.maximum(length, 1e-9))
    return points


def _along(rows: Array) -> tuple[Array, Array, Array]:
    """Line (S, 3), height and half width (S,) sampled evenly along rows (n, 5)."""
    step = np.linalg.norm(np.diff(rows[:, :3], axis=0), axis=1)
    at = np.concatenate([[0.0], np.cumsum(step)])
    fine = np.linspace(0.0, at[-1], max(3, int(at[-1] / SAMPLE) + 1))
    if len(rows) == 2:
        line = np.column_stack([np.interp(fine, at, rows[:, i]) for i in range(3)])
    else:
        line = np.asarray(CubicSpline(at, rows[:, :3])(fine))
    size = PchipInterpolator(at, rows[:, 3:5])(fine)
    return line, size[:, 0], np.maximum(size[:, 1], 0.5)
