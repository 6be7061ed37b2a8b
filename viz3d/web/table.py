"""A solved table over lean, cane force and hand: what a page needs to answer without the solver.

Question answered: at which poses is the scene solved beforehand, and how far off is the page in between?

Rows lie on a grid; the page interpolates with cubic polynomials through the four nearest rows of each axis. The error
of that is measured against the solver at random poses, many of them close to where the muscle changes, and written on
the page.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from viz3d.arrays import Array
from viz3d.body.names import other_side
from viz3d.errors import InputError
from viz3d.questions.vary import Case, case_of
from viz3d.scene.posture import AIDS
from viz3d.scene.schema import Scene
from viz3d.scene.segments import changed
from viz3d.solution.solved import LUNE, Solved
from viz3d.stage.compose import compose
from viz3d.stage.plan import Plan
from viz3d.statics.equivalent import ABDUCTOR, ADDUCTOR
from viz3d.statics.model import EQUIVALENT
from viz3d.web.state import State, lune_rows, state_of

NONE, OPPOSITE, SAME = "none", "opposite", "same"
LEANS = np.radians(np.linspace(-10.0, 20.0, 13))
FORCES = np.linspace(0.0, 0.20, 9)
"""Nodes of the grid: rad, body weights."""
TRIALS = 600
LARGEST_ERROR = 0.01


@dataclass(frozen=True)
class Grid:
    """One hand's rows: leans x forces, forces running fastest."""

    hand: str
    leans: Array
    forces: Array
    state: State
    lune: dict[str, Any]
    """Solved rows of the lune for 1 N."""
    largest: float
    """Joint force in any of the rows, N."""


@dataclass(frozen=True)
class Table:
    """Every hand's grid, one plan to name things by, and the largest error found in between."""

    grids: list[Grid]
    plan: Plan
    scene: Scene
    error: float
    """Largest error between rows: joint and muscle force as fractions of the joint force, and the highest pressure."""
    trials: int


def make_table(scene: Scene, step: int) -> Table:
    """Solve a scene's step over lean, cane force and hand.

    Parameters
    ----------
    step : index of the step whose other inputs hold.

    Raises
    ------
    InputError : a muscle set, or an error above one percent.
    """
    if scene.model.muscles != EQUIVALENT:
        raise InputError(f'a page needs model.muscles = "{EQUIVALENT}"; found "{scene.model.muscles}"')
    if scene.model.pressure != LUNE:
        raise InputError(f'a page needs model.pressure = "{LUNE}"; found "{scene.model.pressure}"')
    grids, plans, worst = [], {}, 0.0
    for hand in (NONE, OPPOSITE, SAME):
        variant = with_cane(scene, hand)
        forces = FORCES if hand != NONE else np.zeros(1)
        leans = _reachable_leans(variant, step, hand, forces)
        if len(leans) < 4:
            continue
        _, solved = _solve(variant, step, hand, np.repeat(leans, len(forces)), np.tile(forces, len(leans)))
        plans[hand] = compose(variant, solved)
        largest = float(solved.load.joint_magnitude.max())
        grids.append(Grid(hand, leans, forces, state_of(variant, solved), lune_rows(solved), largest))
        worst = max(worst, _worst(variant, step, grids[-1]))
    if not grids:
        raise InputError(f"{scene.title}: no hand reaches a cane, and no lean can be held, so there is nothing to move")
    if worst > LARGEST_ERROR:
        raise InputError(f"{scene.title}: the page would be {100 * worst:.1f} % off; allowed: at most 1 %")
    main = OPPOSITE if OPPOSITE in plans else next(iter(plans))
    return Table(grids, plans[main], with_cane(scene, main), worst, TRIALS * len(grids))


def with_cane(scene: Scene, hand: str) -> Scene:
    """The scene with a cane in the opposite hand, in the same hand, or in none."""
    stance = scene.posture.stance
    changes: dict[str, str] = {}
    for side in ("left", "right"):
        wanted = {OPPOSITE: other_side(stance), SAME: stance}.get(hand) == side
        held = getattr(scene.hands, side).holds
        if wanted and held != "cane":
            changes |= {f"hands.{side}.holds": "cane", f"hands.{side}.force": "0 %BW"}
        elif not wanted and held in AIDS:
            changes |= {f"hands.{side}.holds": "nothing"}
    return changed(scene, changes) if changes else scene


def cane_key(scene: Scene, hand: str) -> str | None:
    """The scene's key of the cane's force; None for no cane."""
    stance = scene.posture.stance
    side = {OPPOSITE: other_side(stance), SAME: stance}.get(hand)
    return None if side is None else f"hands.{side}.force"


def _solve(scene: Scene, step: int, hand: str, leans: Array, forces: Array) -> tuple[Case, Solved]:
    case = case_of(scene, step)
    values = {"posture.lean": leans}
    key = cane_key(scene, hand)
    if key is not None:
        values[key] = forces * case.weight
    return case, case.solved(values)


def _reachable_leans(scene: Scene, step: int, hand: str, forces: Array) -> Array:
    """As much of the lean's range as the hand can follow and the feet can hold, on as many nodes."""
    fine = np.radians(np.linspace(-10.0, 20.0, 121))
    ok = np.ones(len(fine), dtype=bool)
    for force in (forces[0], forces[-1]):
        case, solved = _solve(scene, step, hand, fine, np.full(len(fine), force))
        ok &= case.allowed(solved)
    middle = int(np.argmin(np.abs(fine)))
    if not ok[middle]:
        return np.array([])
    low, high = middle, middle
    while low > 0 and ok[low - 1]:
        low -= 1
    while high < len(fine) - 1 and ok[high + 1]:
        high += 1
    return np.linspace(fine[low], fine[high], len(LEANS))


def _worst(scene: Scene, step: int, grid: Grid) -> float:
    """Largest error of joint and muscle force (fraction of the joint force) and of the highest pressure, random poses.

    Half of them are those closest to where the muscle changes.
    """
    draw = qmc.Sobol(2, seed=7).random(2048)
    leans = grid.leans[0] + draw[:, 0] * (grid.leans[-1] - grid.leans[0])
    forces = grid.forces[0] + draw[:, 1] * (grid.forces[-1] - grid.forces[0])
    _, solved = _solve(scene, step, grid.hand, leans, forces)
    near = np.argsort(np.abs(solved.load.external_moment))[: TRIALS // 2]
    rows = np.unique(np.concatenate([near, np.arange(TRIALS)]))[:TRIALS]
    columns = [interpolated(grid, leans[k], forces[k]) for k in rows]
    true, pull, peak = (v[rows] for v in (solved.load.joint_magnitude, solved.load.muscle_force, solved.peak_pressure))
    off = [np.abs(np.array([page_force(c, "joint") for c in columns]) - true) / true]
    off.append(np.abs(np.array([page_force(c, "muscle") for c in columns]) - pull) / true)
    off.append(np.abs(np.array([page_peak(grid, c) for c in columns]) - peak) / peak)
    return float(np.nanmax(off))


def interpolated(grid: Grid, lean: float, force: float) -> dict[str, Array]:
    """What the page computes for a pose: column name -> its numbers."""
    a, b = (weights(nodes, at) for nodes, at in ((grid.leans, lean), (grid.forces, force)))
    both = np.outer(a, b).ravel()
    return {name: both @ rows for name, rows in grid.state.columns.items()}


def weights(nodes: Array, at: float) -> NDArray[np.float64]:
    """Weight of every node for the cubic (or lower) polynomial through the nearest ones."""
    out = np.zeros(len(nodes))
    count = min(4, len(nodes))
    first = int(np.clip(np.searchsorted(nodes, at) - count // 2, 0, len(nodes) - count))
    for i in range(first, first + count):
        part = 1.0
        for j in range(first, first + count):
            if i != j:
                part *= (at - nodes[j]) / (nodes[i] - nodes[j])
        out[i] = part
    return out


def pulling(columns: dict[str, Array]) -> str:
    """The muscle that pulls in a pose, as the page picks it."""
    return ABDUCTOR if columns["moment"][0] >= 0.0 else ADDUCTOR


def page_force(columns: dict[str, Array], key: str) -> float:
    """Size of the muscle's or the joint's arrow in a pose, N."""
    return float(np.linalg.norm(columns[f"arrow {key}@{pulling(columns)}"][3:]))


def page_peak(grid: Grid, columns: dict[str, Array]) -> float:
    """Highest pressure of a pose as the page looks it up, Pa."""
    _, up, across = columns[f"arrow joint@{pulling(columns)}"][3:]
    rows = grid.lune
    at = rows["from"] + rows["step"] * np.arange(len(rows["gap"]))
    x = float(np.arctan2(-grid.state.plan.sign * across, up)) + float(columns["edge"][0])
    gap, size = (float(np.interp(x, at, rows[name])) for name in ("gap", "size"))
    return size * page_force(columns, "joint") * (1.0 if gap >= 0.0 else float(np.cos(gap)))
