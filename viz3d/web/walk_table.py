"""A walk's cycle as a page's table: what a page needs to show any moment of it without the solver.

Question answered: at which phases is a walk solved beforehand, and how far off is the page in between?

The one control is the phase. Rows lie evenly on the cycle, the last one is the first again; between them the page
interpolates as along any other axis. The error is measured at every solved frame of the cycle, as a share of the
highest joint force and pressure: in swing both are next to nothing.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.errors import InputError
from viz3d.scene.schema import Scene
from viz3d.scene.segments import on_the_spot
from viz3d.solution.inputs import body_of, model_of
from viz3d.solution.refuse_walk import refuse_walking
from viz3d.solution.solved import LUNE, Solved
from viz3d.solution.walking import FINE, walked_scene
from viz3d.web.axes import PHASE, Dial, own_hand
from viz3d.web.state import lune_rows, state_of
from viz3d.web.table import LARGEST_ERROR, Grid, Table, alone, between, page_peaks, sizes

_NODES = 201
"""Phases that a page has, both ends counted."""


def walk_table(scene: Scene, step: int, file: str) -> Table:
    """Solve a walking scene over its cycle.

    Parameters
    ----------
    scene : in force at the step. step : its index.

    Raises
    ------
    SceneError : the walk holds what nobody walks with here. InputError : an error above one percent.
    """
    refuse_walking(scene, file)
    grid = walk_grid(scene, step)
    error = _error(scene, grid, step)
    if error > LARGEST_ERROR:
        raise InputError(f"{scene.title}: the page would be {100 * error:.1f} % off; allowed: at most 1 %")
    return Table([grid], grid.state.plan, scene, error, FINE)


def walk_grid(scene: Scene, step: int) -> Grid:
    """The rows of a walking scene's cycle, as in force at a step."""
    nodes = np.linspace(0.0, 1.0, _NODES)
    solved = _at(scene, nodes, step)
    state = state_of(scene, solved)
    axes = [Dial(PHASE, (), nodes)]
    columns = {name: alone(name, values, axes) for name, values in state.columns.items()}
    lune = lune_rows(solved) if scene.model.pressure == LUNE else None
    joint = solved.load.joint_magnitude
    start = {PHASE: _opening(scene, nodes, joint)}
    return Grid(own_hand(scene), axes, state, columns, start, lune, float(np.nanmax(joint)))


def _opening(scene: Scene, nodes: Array, joint: Array) -> float:
    """The phase that a page opens at: the scene's, or, where that is the heel strike, with next to nothing on the hip
    yet, that of the highest joint force (N,) of a cycle's phases (N,)."""
    assert scene.walk is not None
    return scene.walk.phase or float(nodes[np.nanargmax(joint)])


def _at(scene: Scene, phases: Array, step: int) -> Solved:
    """The walk at phases (N,) of its cycle."""
    assert scene.walk is not None
    table = scene.walk.model_copy(update={"phase": 0.0, "cycle_shown": 1.0})
    one = on_the_spot(scene.model_copy(update={"walk": table}))
    one.lies_in(scene.folder)
    return walked_scene(one, body_of(scene), model_of(scene), phases, np.full(len(phases), step))


def _error(scene: Scene, grid: Grid, step: int) -> float:
    """Largest error of joint force and highest pressure over the cycle, as shares of their highest values."""
    phases = np.arange(FINE) / FINE
    solved = _at(scene, phases, step)
    found = between(grid, {PHASE: phases}, ("arrow joint", "arrow muscle", "moment", "edge", "pressure"))
    joint = np.abs(sizes(found, "joint") - solved.load.joint_magnitude) / grid.largest
    peak = solved.peak_pressure
    off = np.abs(page_peaks(grid, found) - peak) / np.nanmax(peak) if np.isfinite(peak).any() else np.zeros(1)
    return float(max(np.nanmax(joint), np.nanmax(off)))
