"""Questions of a page: predict first, then see; every answer solved.

Question answered: what could a student predict about this scene, and what is right?
"""

from __future__ import annotations

from typing import Any

import numpy as np

from viz3d.scene.schema import Scene
from viz3d.web.table import NONE, OPPOSITE, SAME, Grid, Table, interpolated, page_force

CHOICES = ("falls", "stays", "rises")
_SAME = 0.03
"""A change below this share counts as none."""


def questions_of(table: Table, scene: Scene, step: int) -> list[dict[str, Any]]:
    """Up to three questions as keys of words: their choices, the right one, the numbers, the pose that shows them."""
    grids = {g.hand: g for g in table.grids}
    stance = scene.posture.stance
    other = "left" if stance == "right" else "right"
    weight = table.plan.body_weight
    asked = []
    if NONE in grids:
        ask = f"lean_{stance}"
        asked.append(_question(ask, grids[NONE], (0.0, 0.0), (np.radians(10.0), 0.0), "lean", weight))
    if OPPOSITE in grids:
        ask = f"cane_{other}"
        asked.append(_question(ask, grids[OPPOSITE], (0.0, 0.0), (0.0, 0.10), "force", weight))
    if SAME in grids:
        ask = f"same_{stance}"
        asked.append(_question(ask, grids[SAME], (0.0, 0.0), (0.0, 0.10), "force", weight))
    return asked


def _question(
    ask: str, grid: Grid, before: tuple[float, float], after: tuple[float, float], moving: str, weight: float
) -> dict[str, Any]:
    first, then = (page_force(interpolated(grid, *pose), "joint") for pose in (before, after))
    change = (then - first) / first
    right = 1 if abs(change) < _SAME else 0 if change < 0 else 2
    return {
        "ask": f"page.question.{ask}", "choices": [f"page.question.{c}" for c in CHOICES], "right": right,
        "told": f"page.question.it_{CHOICES[right]}", "before": first / weight, "after": then / weight,
        "moving": moving, "pose": {"hand": grid.hand, "lean": after[0], "force": after[1]},
    }  # fmt: skip
