"""Sheets and painted marks for the tests of pictures."""

from __future__ import annotations

from collections.abc import Collection, Generator
from functools import cache
from typing import Any

import numpy as np
import pytest

from viz3d.output.paint import Painter, Pixels
from viz3d.output.reading import Paint
from viz3d.scene.reader import library_scenes, load_scene
from viz3d.scene.schema import Scene
from viz3d.solution.script import Script
from viz3d.stage.drawing import Box, Shape2D
from viz3d.stage.layout import Sheet
from viz3d.stage.sheets import lay_out

VIEWS = ("front", "back", "three-quarter", "side", "joint")
SCENES = list(library_scenes())
WIDE = (
    "picture.size=1920x1080", "picture.words=trade", "picture.force=BW and N", "picture.length=cm", "picture.mass=kg",
    "picture.dress=anatomy",
)  # fmt: skip
"""A wide picture in trade words, whatever the scene asks for."""
SIX = ("bag-sides", "cane-opposite-hand", "elbow-crutches", "leg-length", "muscle-set", "walking-frame")
"""Scenes that together hold every kind of arrow, lever and label that any scene has."""
SIX_FAST = [n if n in SIX else pytest.param(n, marks=pytest.mark.long) for n in SCENES]
"""Every scene; all but six in the long tier."""
THREE = ("bag-sides", "elbow-crutches", "muscle-set")
scenes_by_file = pytest.mark.parametrize(
    "name", [n if n in THREE else pytest.param(n, marks=pytest.mark.long) for n in SCENES], scope="module"
)
"""The same where bones are drawn into several files."""
scenes = pytest.mark.parametrize("name", SIX_FAST, scope="module")
"""All tests of one scene run next to each other, so that each worker lays a scene out once."""


def in_turn(cases: list[tuple[Any, ...]], every: int) -> list[object]:
    """All cases for the long tier, of which the usual one takes one in so many."""
    return [one if k % every == 0 else pytest.param(*one, marks=pytest.mark.long) for k, one in enumerate(cases)]


def sheet_of(name: str, *changes: str, film: bool = False) -> Sheet:
    """A library scene laid out, with changes; laid out once for all tests that ask for the same."""
    scene = load_scene(name, changes)
    key = scene.model_dump_json()
    _asked.setdefault(key, scene)
    return _laid_out(key, film)


_asked: dict[str, Scene] = {}


@cache
def _laid_out(key: str, film: bool) -> Sheet:
    scene = _asked[key]
    look = (Script(scene).film()[0] if film else Script(scene).shots())[0]
    return lay_out(look.scene, look.solved, scene.picture.pixels)


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


@pytest.fixture
def stripes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Solid layers are stripes, others for each row: what lies over them, or what becomes of a film, is looked at."""

    def solids(brush: Paint, frames: list[int], wanted: Collection[int] | None) -> Generator[Pixels]:
        width, height = brush.setup.sheet.size
        for row in frames:
            shade = (37 * row + np.arange(height) // 40 * 60).astype(np.uint8)
            yield np.broadcast_to(shade[:, None, None], (height, width, 3)).copy()

    monkeypatch.setattr(Paint, "solids", solids)
