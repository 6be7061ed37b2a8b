"""Questions of a page: predict first, then see; every answer solved.

Question answered: what could a student predict about this scene, and what is right?

Called by the page writer.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from viz3d import units
from viz3d.scene.schema import Scene
from viz3d.web.table import NONE, OPPOSITE, SAME, Grid, Table, interpolated, page_joint

CHOICES = ("falls", "stays about the same", "rises")
_SAME = 0.03
"""A change below this share counts as none."""


def questions_of(table: Table, scene: Scene, step: int) -> list[dict[str, Any]]:
    """Up to three questions with their choices, the right one, the numbers, and the pose that shows them."""
    grids = {g.hand: g for g in table.grids}
    stance = scene.posture.stance
    other = "left" if stance == "right" else "right"
    weight = table.plan.body_weight
    asked = []
    if NONE in grids:
        ask = f"The trunk leans 10 degrees over the {stance} hip. What happens to the load on the joint?"
        asked.append(_question(ask, grids[NONE], (0.0, 0.0), (np.radians(10.0), 0.0), "lean", weight))
    if OPPOSITE in grids:
        ask = f"Upright, a cane in the {other} hand is pressed with a tenth of body weight. What happens?"
        asked.append(_question(ask, grids[OPPOSITE], (0.0, 0.0), (0.0, 0.10), "force", weight))
    if SAME in grids:
        ask = f"The same push, but with the cane in the {stance} hand. What happens?"
        asked.append(_question(ask, grids[SAME], (0.0, 0.0), (0.0, 0.10), "force", weight))
    return asked


def _question(
    ask: str, grid: Grid, before: tuple[float, float], after: tuple[float, float], moving: str, weight: float
) -> dict[str, Any]:
    first, then = (page_joint(interpolated(grid, *pose)) for pose in (before, after))
    change = (then - first) / first
    right = 1 if abs(change) < _SAME else 0 if change < 0 else 2
    told = f"It {CHOICES[right]}: from {units.show_bw(first / weight)} to {units.show_bw(then / weight)}."
    return {
        "ask": ask, "choices": [c[0].upper() + c[1:] for c in CHOICES], "right": right, "told": told,
        "moving": moving, "pose": {"hand": grid.hand, "lean": after[0], "force": after[1]},
    }  # fmt: skip
