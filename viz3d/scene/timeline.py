"""The timeline: which posing inputs hold at which time.

Question answered: at time t, how far has the lean, the cane's force, the weight shift got?

Each step changes the posing inputs from the previous step's values, eased so that speed and acceleration
start and end at zero, then holds. Output is one plain batch: times and an array per input, SI.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.scene.inputs import newtons
from viz3d.scene.rows import eased_rows, value_of
from viz3d.scene.schema import Scene
from viz3d.units import Force


@dataclass(frozen=True)
class Timeline:
    """Samples of the posing inputs. ``inputs``: dotted key -> (N,) SI values."""

    times: Array
    step: NDArray[np.intp]
    """(N,) index of the step in force (changing into or holding)."""
    inputs: dict[str, Array]


def eased(fraction: Array) -> Array:
    """Smooth step 10f³ − 15f⁴ + 6f⁵ on [0, 1]."""
    f = np.clip(fraction, 0.0, 1.0)
    return f * f * f * (f * (6.0 * f - 15.0) + 10.0)


def duration(scene: Scene) -> float:
    """Length of the whole timeline in seconds."""
    return sum(s.change + s.hold for s in scene.steps)


def step_values(scene: Scene, body_weight: float) -> dict[str, Array]:
    """Value of every posing input at the end of each step, (steps,) SI."""
    current = _start(scene, body_weight)
    columns: dict[str, list[float]] = {key: [] for key in current}
    for step in scene.steps:
        for key in [k for k in step.set if k.endswith(".holds")]:
            current |= {key.replace("holds", what): 0.0 for what in ("force", "mass")}
        for key, text in step.set.items():
            if key in eased_rows():
                current[key] = _number(eased_rows()[key].read(text), body_weight)
        for key, value in current.items():
            columns[key].append(value)
    return {key: np.array(values) for key, values in columns.items()}


def at_steps(scene: Scene, body_weight: float, steps: Sequence[int] | None = None) -> Timeline:
    """One sample per step, or per chosen step, when its change is complete."""
    ends = np.cumsum([s.change + s.hold for s in scene.steps])
    holds = np.array([s.hold for s in scene.steps])
    chosen = np.arange(len(scene.steps)) if steps is None else np.asarray(steps, dtype=np.intp)
    values = step_values(scene, body_weight)
    return Timeline((ends - holds)[chosen], chosen, {k: v[chosen] for k, v in values.items()})


def varied_step(scene: Scene, body_weight: Array, step: int, values: Mapping[str, Array]) -> Timeline:
    """A step's inputs at its end, some of them replaced by arrays.

    Parameters
    ----------
    body_weight : (N,) or (1,) newtons: forces given in percent of it follow. values : dotted key -> (N,) SI.
    """
    count = len(next(iter(values.values()))) if values else 1
    weight = np.broadcast_to(body_weight, (count,))
    one, two = step_values(scene, 1.0), step_values(scene, 2.0)
    inputs = {k: one[k][step] + (two[k][step] - one[k][step]) * (weight - 1.0) for k in one}
    inputs |= {k: np.asarray(v, dtype=float) for k, v in values.items() if k in inputs}
    return Timeline(np.zeros(count), np.full(count, step), inputs)


def at_times(scene: Scene, body_weight: float, times: Array) -> Timeline:
    """Samples at any times; before the first step's change its start values hold."""
    ends = step_values(scene, body_weight)
    finish = np.cumsum([s.change + s.hold for s in scene.steps])
    begin = np.concatenate([[0.0], finish[:-1]])
    change = np.array([s.change for s in scene.steps])
    step = np.minimum(np.searchsorted(finish, times, side="right"), len(finish) - 1)
    passed = times - begin[step]
    safe = np.where(change[step] > 0.0, change[step], 1.0)
    part = np.where(change[step] > 0.0, eased(passed / safe), 1.0)
    inputs = {}
    for key, first in _start(scene, body_weight).items():
        before = np.concatenate([[first], ends[key][:-1]])
        gap = np.where(part == 1.0, 0.0, (1.0 - part) * (before[step] - ends[key][step]))
        inputs[key] = ends[key][step] + gap
    return Timeline(times, step, inputs)


def resting(scene: Scene, times: Array, step: NDArray[np.intp]) -> NDArray[np.bool_]:
    """True where a step's change is complete, (N,)."""
    begins = np.cumsum([s.change + s.hold for s in scene.steps]) - np.array([s.hold for s in scene.steps])
    return np.asarray(times >= begins[step] - 1e-9)


def frame_times(scene: Scene) -> Array:
    """Time of every film frame, the middle of its exposure, (frames,)."""
    count = max(1, round(duration(scene) * scene.picture.frames_per_second))
    return (np.arange(count) + 0.5) / scene.picture.frames_per_second


def _start(scene: Scene, body_weight: float) -> dict[str, float]:
    """Every eased input at the scene's start, SI; nothing given is nothing held."""
    return {key: _number(value_of(scene, key), body_weight) for key in eased_rows()}


def _number(value: float | Force | str | None, body_weight: float) -> float:
    """An input's SI value; forces in newtons."""
    if value is None or isinstance(value, Force | str):
        return newtons(value, body_weight)
    return float(value)
