"""Sweeps: one output over one or two inputs, in one batch.

Question answered: how does the joint force run with the cane's force, the lean, the bag?

Drawn by :mod:`viz3d.output.chart`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.echo import shown
from viz3d.errors import InputError
from viz3d.questions.spread import OUTPUTS
from viz3d.questions.vary import Case, Input, case_of, named_input
from viz3d.scene.schema import Scene
from viz3d.solution.solved import Solved

SHOWN = {"joint": "joint_force_bw", "muscle": "muscle_force_bw", "lever": "weight_lever_cm",
         "pressure": "peak_pressure_MPa", "relief": "relief"}  # fmt: skip
"""Plain word for an output -> its field."""
_CANE_SHARE = 0.40
"""Charts over the cane end at this part of body weight."""


@dataclass(frozen=True)
class Sweep:
    """Values of one output over a grid: ``x`` (N,), ``y`` (M,) or None, ``values`` (N,) or (M, N); NaN where a
    posture cannot be taken. Axes in %BW, degrees, kg and cm; ``weight``: body weight, N."""

    x_word: str
    y_word: str
    output: str
    x: Array
    y: Array | None
    values: Array
    weight: float


def sweep(
    scene: Scene, step: int, x_word: str, y_word: str, output: str, points: int = 121, file: str = "scene"
) -> Sweep:
    """Sweep one or two inputs.

    Parameters
    ----------
    x_word, y_word : lean, drop, cane, bag, mass or lever; y_word "" for one input. output : a key of SHOWN.

    Raises
    ------
    InputError : unknown words, or the same input twice. SceneError : nothing of it may be asked for.
    """
    if output not in SHOWN:
        raise InputError(f"found {shown(output)}; allowed: {', '.join(SHOWN)}")
    if x_word == y_word:
        raise InputError("the two inputs of a chart must differ")
    case, first = named_input(case_of(scene, step, file), x_word)
    name = SHOWN[output]
    find = OUTPUTS[name]
    weight = case.weight
    x = np.linspace(first.low, _high(first, weight), points)
    if not y_word:
        values = _values(case, {first.key: x}, find)
        return Sweep(x_word, "", name, _shown(first, x, weight), None, values, weight)
    case, second = named_input(case, y_word)
    y = np.linspace(second.low, _high(second, weight), points)
    grid_x, grid_y = np.meshgrid(x, y)
    values = _values(case, {first.key: grid_x.ravel(), second.key: grid_y.ravel()}, find).reshape(grid_x.shape)
    return Sweep(x_word, y_word, name, _shown(first, x, weight), _shown(second, y, weight), values, weight)


def _values(case: Case, inputs: dict[str, Array], find: Callable[[Solved], Array]) -> Array:
    """One output, NaN where the posture cannot be taken.

    Raises
    ------
    SceneError, InputError : none of it may be asked for.
    """
    solved = case.solved(inputs)
    allowed = case.allowed(solved)
    if not allowed.any():
        case.refuse(solved)
        raise InputError("no value of this input gives a posture that can be taken")
    return np.where(allowed, np.asarray(find(solved)), np.nan)


def _high(what: Input, weight: float) -> float:
    return _CANE_SHARE * weight if what.word == "cane" else what.high


def _shown(what: Input, values: Array, weight: float) -> Array:
    """Axis values in the units people read."""
    if what.dimension == "force":
        return values / weight * 100
    return values * {"angle": 180 / np.pi, "length": 100.0, "mass": 1.0}[what.dimension]
