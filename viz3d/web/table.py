"""A solved table over what a page's reader moves: what a page needs to answer without the solver.

Question answered: at which settings is the scene solved beforehand, and how far off is the page in between?

Rows lie on a grid; the page interpolates with cubic polynomials through the four nearest rows of each axis. A column
that does not depend on an axis is kept without it. The error is measured against the solver at random settings, many
of them close to where the muscle changes, and written on the page.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from viz3d.arrays import Array
from viz3d.errors import InputError
from viz3d.questions.vary import Case, case_of
from viz3d.scene.schema import Scene
from viz3d.solution.solved import LUNE, Solved
from viz3d.stage.compose import compose
from viz3d.stage.plan import Plan
from viz3d.statics.equivalent import ABDUCTOR, ADDUCTOR
from viz3d.statics.model import EQUIVALENT
from viz3d.web.axes import (
    LEAN,
    NONE,
    OPPOSITE,
    OWN,
    PUSH,
    SAME,
    Dial,
    axes_of,
    controls_of,
    hands_of,
    pressed,
    solved_values,
    start_of,
    with_cane,
    words_of,
)
from viz3d.web.state import State, lune_rows, state_of

__all__ = ["NONE", "OPPOSITE", "OWN", "SAME", "Grid", "Table", "cane_key", "make_table", "with_cane"]

_OF_SET = ({LEAN: 97, PUSH: 33}, 7)
"""The same where muscles share the load: their curves have a bend wherever one of them begins to pull."""
_NODES = (({LEAN: 13, PUSH: 9}, 7), ({LEAN: 9, PUSH: 6}, 5), ({LEAN: 7, PUSH: 5}, 4))
"""Nodes of lean and push and of any other axis, from fine to coarse: the coarsest that stays below ``_AIM``."""
TRIALS = 2400
LARGEST_ERROR = 0.01
_AIM = 0.004
"""Error that more nodes are taken for where a page moves three inputs or more."""
_MOST_ROWS = 20_000
_UNMEASURED = 1.25
"""What is printed over the largest error that was found: other settings may be a little further off."""
_DEPENDS, _SMOOTH = 1e-7, 1e-4
"""Shares of a column's size: by which it must vary along an axis to depend on it, and by which nodes between others may
be missed."""
_MISSED = {"link": 3e-4, "active": 0.03}
"""The same for bones, m or half turns, and for how active muscles look: beginning of the name -> most."""
_STRIDES, _LEAST = (8, 6, 4, 3, 2, 1), 4
"""Every so manieth node that may be kept, and how many of them must be left."""


@dataclass(frozen=True)
class Along:
    """A column depends on this axis; it has the nodes at every so manieth of the axis's."""

    axis: int
    stride: int


@dataclass(frozen=True)
class Grid:
    """One hand's rows, one for each mixture of the axes' nodes, the last axis running fastest."""

    hand: str
    axes: list[Dial]
    state: State
    columns: dict[str, tuple[tuple[Along, ...], Array]]
    """Name -> the axes that it depends on, and its values (nodes of those axes..., width)."""
    start: dict[str, float]
    """Control -> what the scene's step has."""
    lune: dict[str, Any] | None
    """Solved rows of the lune for 1 N; none for a horseshoe."""
    largest: float
    """Joint force in any of the rows, N."""

    @property
    def leans(self) -> Array:
        """Nodes of the lean, rad; where it does not move, the one that holds."""
        return self._nodes(LEAN)

    @property
    def forces(self) -> Array:
        """Nodes of the push, body weights."""
        return self._nodes(PUSH)

    def _nodes(self, word: str) -> Array:
        return next((a.nodes for a in self.axes if a.word == word), np.zeros(1))


@dataclass(frozen=True)
class Table:
    """Every hand's grid, one plan to name things by, and the largest error to be expected in between."""

    grids: list[Grid]
    plan: Plan
    scene: Scene
    error: float
    """Largest error between rows: joint and muscle force as fractions of the joint force, and the highest pressure."""
    trials: int


def make_table(scene: Scene, step: int) -> Table:
    """Solve a scene's step over its page's controls.

    Parameters
    ----------
    step : index of the step whose other inputs hold.

    Raises
    ------
    InputError : an error above one percent, too many rows, or nothing that can be moved.
    """
    few = len(controls_of(scene)) <= 3
    finest = _NODES[0] if scene.model.muscles == EQUIVALENT else _OF_SET
    found, error = _made(scene, step, *finest) if few else _fine_enough(scene, step)
    if error > LARGEST_ERROR:
        raise InputError(f"{scene.title}: the page would be {100 * error:.1f} % off; allowed: at most 1 %")
    main = next((g.hand for g in found if g.hand == OPPOSITE), found[0].hand)
    named = with_cane(scene, main)
    plan = compose(named, case_of(named, step).solved())
    return Table(found, plan, named, error, TRIALS * len(found))


def _fine_enough(scene: Scene, step: int) -> tuple[list[Grid], float]:
    """The coarsest grids whose error is small, else the finest that are not too large.

    Raises
    ------
    InputError : even the coarsest are too large.
    """
    words = words_of(scene)
    made: list[tuple[list[Grid], float]] = []
    for nodes, others in reversed(_NODES):
        if made and np.prod([nodes.get(word, others) for word in words], dtype=float) > _MOST_ROWS:
            break
        made.append(_made(scene, step, nodes, others))
        if made[-1][1] <= _AIM:
            break
    return made[-1]


def _made(scene: Scene, step: int, nodes: Mapping[str, int], others: int) -> tuple[list[Grid], float]:
    """Every hand's grid, and the largest error to be expected between rows."""
    count = {word: nodes.get(word, others) for word in words_of(scene)}
    grids, worst = [], 0.0
    for hand in hands_of(scene):
        variant = with_cane(scene, hand)
        case = case_of(variant, step)
        axes = axes_of(variant, case, count)
        if axes is None:
            continue
        grids.append(_grid(variant, case, hand, axes))
        worst = max(worst, _worst(case, grids[-1]))
    if not grids:
        raise InputError(f"{scene.title}: no hand reaches a cane, and no lean can be held, so there is nothing to move")
    return grids, _UNMEASURED * worst


def _grid(scene: Scene, case: Case, hand: str, axes: list[Dial]) -> Grid:
    """One hand's rows.

    Raises
    ------
    InputError : too many.
    """
    sizes = [len(axis.nodes) for axis in axes]
    if np.prod(sizes, dtype=float) > _MOST_ROWS:
        told = " x ".join(str(size) for size in sizes)
        raise InputError(f"page.controls: {told} settings to solve; allowed: {_MOST_ROWS}; list fewer controls")
    mixed = np.meshgrid(*(axis.nodes for axis in axes), indexing="ij")
    at = {axis.word: values.ravel() for axis, values in zip(axes, mixed, strict=True)}
    solved = _solved(case, axes, at)
    state = state_of(scene, solved)
    columns = {name: alone(name, values.reshape(*sizes, -1), axes) for name, values in state.columns.items()}
    lune = lune_rows(solved) if scene.model.pressure == LUNE else None
    start = {axis.word: start_of(axis, case) for axis in axes}
    return Grid(hand, axes, state, columns, start, lune, float(np.nanmax(solved.load.joint_magnitude)))


def _solved(case: Case, axes: list[Dial], at: Mapping[str, Array]) -> Solved:
    return case.solved(solved_values(axes, at, case.weight))


def alone(name: str, values: Array, axes: list[Dial]) -> tuple[tuple[Along, ...], Array]:
    """A column (nodes..., width) along the axes that it depends on alone, every so manieth node of each: as few as give
    the others back."""
    size = max(float(np.abs(values).max()), 1e-12)
    rows: Array = values
    missed = next((most for start, most in _MISSED.items() if name.startswith(start)), _SMOOTH * size)
    kept = []
    for k in reversed(range(values.ndim - 1)):
        if float(np.ptp(rows, axis=k).max()) <= _DEPENDS * size:
            rows = np.asarray(rows.take(0, axis=k))
            continue
        stride = next(s for s in _STRIDES if _gives_back(rows, k, axes[k].nodes, s, missed))
        rows = rows[(slice(None),) * k + (slice(None, None, stride),)]
        kept.append(Along(k, stride))
    return tuple(reversed(kept)), np.ascontiguousarray(rows)


def _gives_back(values: Array, k: int, nodes: Array, stride: int, tolerance: float) -> bool:
    """Whether every so manieth node of an axis gives back all others."""
    if stride == 1:
        return True
    if (len(nodes) - 1) % stride or (len(nodes) - 1) // stride < _LEAST - 1:
        return False
    shares = _shares(tuple(nodes.tolist()), stride)
    few = np.moveaxis(values, k, 0)
    return bool(np.abs(np.tensordot(shares, few[::stride], axes=1) - few).max() <= tolerance)


@lru_cache(maxsize=32)
def _shares(nodes: tuple[float, ...], stride: int) -> Array:
    """What every so manieth node has of each of them."""
    return np.stack([weights(np.array(nodes[::stride]), x) for x in nodes])


def cane_key(scene: Scene, hand: str) -> str | None:
    """The scene's key of the force that a hand's table moves; None for no aid."""
    keys = pressed(with_cane(scene, hand))
    return keys[0] if keys else None


# ---- between rows -------------------------------------------------------------------------------------------


def _worst(case: Case, grid: Grid) -> float:
    """Largest error of joint and muscle force (fraction of the joint force) and of the highest pressure.

    Settings are drawn at random; half of them are those closest to where the muscle changes.
    """
    if not grid.axes:
        return 0.0
    draw = qmc.Sobol(len(grid.axes), seed=7).random(4096)
    at = {a.word: _random(a, draw[:, k]) for k, a in enumerate(grid.axes)}
    solved = _solved(case, grid.axes, at)
    near = np.argsort(np.abs(solved.load.external_moment))[: TRIALS // 2]
    rows = np.unique(np.concatenate([near, np.arange(TRIALS)]))[:TRIALS]
    return float(np.nanmax(errors(grid, solved, at)[:, rows], initial=0.0))


def _random(axis: Dial, draw: Array) -> Array:
    """Positions on an axis for numbers between 0 and 1; where every node has its own bones, nodes only."""
    if axis.shapes:
        return np.asarray(axis.nodes[np.minimum((draw * len(axis.nodes)).astype(int), len(axis.nodes) - 1)])
    return np.asarray(axis.nodes[0] + draw * (axis.nodes[-1] - axis.nodes[0]))


def errors(grid: Grid, solved: Solved, at: Mapping[str, Array]) -> Array:
    """How far the page's joint force, muscle force and highest pressure are off, (3, N) fractions, at settings (N,)."""
    found = between(grid, at, ("arrow joint", "arrow muscle", "moment", "edge", "pressure"))
    true, pull, peak = solved.load.joint_magnitude, solved.load.muscle_force, solved.peak_pressure
    joint, muscle = (sizes(found, key) for key in ("joint", "muscle"))
    with np.errstate(invalid="ignore", divide="ignore"):
        off = [np.abs(joint - true) / true, np.abs(muscle - pull) / true, np.abs(page_peaks(grid, found) - peak) / peak]
    return np.stack(off)


def between(grid: Grid, at: Mapping[str, Array], only: tuple[str, ...] = ("",)) -> dict[str, Array]:
    """Columns (N, width) as the page has them at settings (N,) between rows; ``only``: beginnings of their names."""
    count = len(np.atleast_1d(at[grid.axes[0].word])) if grid.axes else 1
    shares: dict[Along, Array] = {}
    out = {}
    for name, (along, values) in grid.columns.items():
        if not name.startswith(only):
            continue
        part = np.broadcast_to(values, (count, *values.shape))
        for one in along:
            if one not in shares:
                axis = grid.axes[one.axis]
                places = np.atleast_1d(at[axis.word])
                shares[one] = np.stack([weights(axis.nodes[:: one.stride], float(x)) for x in places])
            part = np.einsum("nk,nk...->n...", shares[one], part)
        out[name] = np.asarray(part)
    return out


def interpolated(grid: Grid, lean: float, force: float, others: Mapping[str, float] | None = None) -> dict[str, Array]:
    """What the page computes for a pose: column name -> its numbers."""
    set_to = grid.start | {LEAN: lean, PUSH: force} | dict(others or {})
    at = {word: np.array([value]) for word, value in set_to.items()}
    return {name: values[0] for name, values in between(grid, at).items()}


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
    name = f"arrow {key}"
    return float(np.linalg.norm(columns[name if name in columns else f"{name}@{pulling(columns)}"][3:]))


def _picked(found: dict[str, Array], key: str) -> Array:
    """The arrow (N, 6) of the muscle that pulls, or of the joint under it."""
    if f"arrow {key}" in found:
        return found[f"arrow {key}"]
    abducts = found["moment"] >= 0.0
    return np.where(abducts, found[f"arrow {key}@{ABDUCTOR}"], found[f"arrow {key}@{ADDUCTOR}"])


def sizes(found: dict[str, Array], key: str) -> Array:
    return np.asarray(np.linalg.norm(_picked(found, key)[:, 3:], axis=1))


def page_peaks(grid: Grid, found: dict[str, Array]) -> Array:
    """Highest pressures (N,) as the page has them, Pa: looked up on the lune, or between the horseshoe's."""
    rows = grid.lune
    if rows is None:
        return np.asarray(found["pressure"][:, 2])
    _, up, across = _picked(found, "joint")[:, 3:].T
    at = rows["from"] + rows["step"] * np.arange(len(rows["gap"]))
    x = np.arctan2(-grid.state.plan.sign * across, up) + found["edge"][:, 0]
    gap, size = (np.interp(x, at, rows[name]) for name in ("gap", "size"))
    return np.asarray(size * sizes(found, "joint") * np.where(gap >= 0.0, 1.0, np.cos(gap)))
