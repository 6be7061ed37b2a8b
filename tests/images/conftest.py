"""Sheets and painted marks for the tests of pictures."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from viz3d.output.paint import Painter
from viz3d.output.still import lay_out
from viz3d.scene.reader import load_scene
from viz3d.solution.script import Script
from viz3d.stage.drawing import Box, Shape2D
from viz3d.stage.layout import Sheet

VIEWS = ("front", "back", "three-quarter", "side", "joint")


@lru_cache(maxsize=64)
def sheet_of(name: str, *changes: str, film: bool = False) -> Sheet:
    """A library scene laid out, with changes."""
    scene = load_scene(name, changes)
    shot = (Script(scene).film()[0] if film else Script(scene).shots())[0]
    return lay_out(shot.scene, shot.solved, scene.picture.pixels)


def coverage(size: tuple[int, int], shape: Shape2D) -> np.ndarray:
    """A shape alone, painted black on white by the picture's own painter: 0 to 1 for each pixel."""
    width, height = size
    painter = Painter(size, np.full((height, width, 3), 255, dtype=np.uint8))
    painter.marks([Shape2D(shape.points, "#000000")], "#FFFFFF")
    return 1.0 - painter.pixels()[..., 0] / 255.0


def painted_length(size: tuple[int, int], shape: Shape2D, along: np.ndarray) -> float:
    """How long a painted shape is along a unit vector, pixels; it is moved into the page by whole pixels first."""
    middle = (shape.points.min(axis=0) + shape.points.max(axis=0)) / 2
    moved = Shape2D(shape.points - np.round(middle - np.array(size) / 2), shape.fill)
    y, x = np.nonzero(coverage(size, moved) > 0.02)
    at = np.stack([x + 0.5, y + 0.5], axis=-1) @ along
    return float(at.max() - at.min() + 1.0)


def touches(outline: np.ndarray, box: Box) -> bool:
    """True where a closed outline meets a box; its edges are sampled every pixel or so."""
    after = np.roll(outline, -1, axis=0)
    steps = max(2, int(np.abs(after - outline).max()))
    share = np.linspace(0, 1, min(steps, 400))[:, None, None]
    points = (outline + share * (after - outline)).reshape(-1, 2)
    inside = (points > [box.left, box.top]) & (points < [box.right, box.bottom])
    return bool(inside.all(axis=1).any())
