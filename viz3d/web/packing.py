"""A grid of solved rows as a page reads it: one run of numbers, and what they are.

Question answered: how do a table's columns travel to the browser?
"""

from __future__ import annotations

import base64
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.web.axes import PUSHES, Dial
from viz3d.web.table import Grid


def coded(values: Array) -> str:
    """Numbers of 32 bits in base64."""
    return base64.b64encode(np.ascontiguousarray(values).astype("<f4").tobytes()).decode()


def packed(grid: Grid) -> dict[str, Any]:
    """A grid's columns as one run of 32-bit numbers in base64, with what each depends on and is drawn as."""
    layout = [
        [name, values.shape[-1], [[a.axis, a.stride] for a in along]] for name, (along, values) in grid.columns.items()
    ]
    rows = np.concatenate([values.ravel() for _, values in grid.columns.values()])
    axes = [{"word": a.word, "nodes": a.nodes.tolist(), "each": a.shapes} | _pressed(a, grid) for a in grid.axes]
    return {
        "hand": grid.hand, "axes": axes, "layout": layout, "rows": coded(rows), "about": grid.state.about,
        "lune": grid.lune, "most": grid.largest,
    }  # fmt: skip


def _pressed(axis: Dial, grid: Grid) -> dict[str, str]:
    """Which hand's push an axis moves, and on what."""
    if axis.word not in PUSHES:
        return {}
    side = axis.keys[0].split(".")[1]
    return {"side": side, "holds": grid.state.about["aids"][side].replace(" ", "_")}
