"""Cameras: orthographic views and where a point of the world falls on the page.

Question answered: at which pixel is this point, and how much shorter does a frontal vector look?

Front view: the person's right is at the viewer's left.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from viz3d.arrays import Array
from viz3d.errors import InputError

TOWARD: dict[str, tuple[float, float, float]] = {
    "front": (1.0, 0.0, 0.0),
    "back": (-1.0, 0.0, 0.0),
    "side": (0.0, 0.0, 1.0),
    "three-quarter": (0.80, 0.22, 0.56),
    "joint": (0.50, -0.52, 0.70),
}
"""Direction from the scene to the viewer, world axes; turned views for a right stance leg."""


@dataclass(frozen=True)
class Camera:
    """An orthographic camera: ``centre`` (world, m) falls on ``at`` (pixels); ``scale`` pixels per metre."""

    toward: Array
    centre: Array
    at: tuple[float, float]
    scale: float

    @cached_property
    def right(self) -> Array:
        """World direction that runs to the right on the page."""
        across = np.cross([0.0, 1.0, 0.0], self.toward)
        return np.asarray(across / np.linalg.norm(across))

    @cached_property
    def up(self) -> Array:
        """World direction that runs up on the page."""
        return np.asarray(np.cross(self.toward, self.right))

    @cached_property
    def foreshortening(self) -> float:
        """Length of a sideways unit vector on the page, 1 in front and back views."""
        return float(np.hypot(self.right[2], self.up[2]))

    def project(self, points: Array) -> Array:
        """World points (..., 3) to pixels (..., 2)."""
        offset = np.asarray(points) - self.centre
        across = offset @ self.right * self.scale + self.at[0]
        down = self.at[1] - offset @ self.up * self.scale
        return np.stack([across, down], axis=-1)

    def direction(self, vectors: Array) -> Array:
        """World vectors (..., 3) to page vectors per metre (..., 2), y down."""
        return np.stack([vectors @ self.right, -(vectors @ self.up)], axis=-1)


def view_direction(name: str, sign: float) -> Array:
    """Unit vector to the viewer; turned views look from the stance side (``sign`` +1 right, -1 left).

    Raises
    ------
    InputError : no such view.
    """
    if name not in TOWARD:
        raise InputError(f"view {name!r}; allowed: {', '.join(TOWARD)}")
    toward = np.array(TOWARD[name])
    if name in ("side", "three-quarter", "joint"):
        toward[2] *= sign
    return np.asarray(toward / np.linalg.norm(toward))


def between(a: Camera, b: Camera, share: float) -> Camera:
    """A camera on the way from a to b: it goes round and up evenly, and nearer by equal ratios."""
    if share <= 0.0 or share >= 1.0:
        return a if share <= 0.0 else b
    (round_a, up_a), (round_b, up_b) = (_bearing(c.toward) for c in (a, b))
    turn = (round_b - round_a + np.pi) % (2.0 * np.pi) - np.pi
    level, height = round_a + share * turn, up_a + share * (up_b - up_a)
    toward = np.array([np.cos(height) * np.cos(level), np.sin(height), np.cos(height) * np.sin(level)])
    at = (a.at[0] + share * (b.at[0] - a.at[0]), a.at[1] + share * (b.at[1] - a.at[1]))
    return Camera(toward, a.centre + share * (b.centre - a.centre), at, a.scale ** (1.0 - share) * b.scale**share)


def nearer(camera: Camera, point: Array, at: Array, ratio: float) -> Camera:
    """A camera ``ratio`` times nearer, through which a world point (3,) falls on a pixel (2,)."""
    scale = camera.scale * ratio
    off = (np.asarray(at) - np.array(camera.at)) / scale
    return Camera(camera.toward, point - camera.right * off[0] + camera.up * off[1], camera.at, scale)


def _bearing(toward: Array) -> tuple[float, float]:
    """Turn about the vertical and height over the horizon, rad."""
    return float(np.arctan2(toward[2], toward[0])), float(np.arcsin(np.clip(toward[1], -1.0, 1.0)))
