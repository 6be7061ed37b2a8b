"""Limits: can this be held, and what is the least that makes it holdable?

Question answered: are the muscles strong enough and the balance good enough for this step; if not, how little lean,
cane force, pelvic drop or hike would do?

One input at a time is swept over its range in one batch; the edge of what can be held is refined, many places at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.errors import InputError
from viz3d.questions.target import present_value, solve_target
from viz3d.questions.vary import Case, Input, case_of, named_input
from viz3d.scene.schema import Scene
from viz3d.solution.solved import HELD, Solved
from viz3d.solution.strain import Hardest
from viz3d.words.message import Amount
from viz3d.words.voice import USUAL

_SAMPLES = 401
_PARTS, _ROUNDS = 16, 12
"""The edge of what can be held is looked for among this many parts at once, so often: as close as 45 halvings."""
REMEDIES = ("cane", "lean", "drop")
_WRITTEN = {"angle": float(np.radians(0.1)), "force": 1.0, "mass": 0.1, "length": 0.001}
"""Last decimal that an answer shows of each dimension, SI."""


@dataclass(frozen=True)
class Remedy:
    """The smallest change of one input that makes the step holdable; ``value`` is None where none does; SI."""

    input: Input
    value: float | None


@dataclass(frozen=True)
class Limit:
    """Whether a step can be held, what is missing, and what would help."""

    status: str
    missing: float
    """N m of muscle moment where too weak, m outside the foot where it would fall; NaN where held."""
    remedies: tuple[Remedy, ...]
    hardest: Hardest | None = None
    """Of a walk, the moment that is hardest; None for a body that stands."""


def find_limit(scene: Scene, step: int, words: tuple[str, ...] = REMEDIES, file: str = "scene") -> Limit:
    """Judge one step, and look for the least that helps; of a walk, say only whether its hardest moment can be held.

    Parameters
    ----------
    words : inputs to try, as in ``viz3d target``.

    Raises
    ------
    InputError : an unknown word. SceneError : the step asks for what nobody could take.
    """
    case = case_of(scene, step, file)
    now = case.solved()
    case.refuse(now)
    status = str(now.status[0])
    if now.gait is not None:
        return Limit(status, float(now.shortfall[0]), (), now.gait.hardest)
    if status == HELD:
        return Limit(status, float("nan"), ())
    return Limit(status, float(now.shortfall[0]), tuple(_remedy(case, word) for word in words))


def _able(case: Case, solved: Solved) -> Array:
    return np.asarray((solved.status == HELD) & case.allowed(solved))


def _remedy(case: Case, word: str) -> Remedy:
    try:
        case, what = named_input(case, word)
    except InputError:  # no hand is free for it
        return Remedy(Input(word, "", "", 0.0, 0.0), None)
    start = present_value(case, what)
    grid = np.linspace(what.low, what.high, _SAMPLES)
    able = _able(case, case.solved({what.key: grid}))
    if not able.any():
        return Remedy(what, None)
    best = grid[able][np.argmin(np.abs(grid[able] - start))]
    if best == start:
        return Remedy(what, float(best))
    good, bad = float(best), float(best + np.sign(start - best) * (grid[1] - grid[0]))
    bad = min(max(bad, what.low), what.high)
    for _ in range(_ROUNDS):
        tried = np.linspace(good, bad, _PARTS + 1)
        lost = np.flatnonzero(np.logical_not(_able(case, case.solved({what.key: tried[1:-1]}))))
        first = int(lost[0]) + 1 if len(lost) else _PARTS
        good, bad = float(tried[first - 1]), float(tried[first])
    inside = good + np.sign(good - start) * 1e-6 * (what.high - what.low)
    some = [v for v in (_as_told(what, good, start), inside) if what.low <= v <= what.high]
    return Remedy(what, next((float(v) for v in some if _held_at(case, what, v)), good))


def _held_at(case: Case, what: Input, value: float) -> bool:
    return bool(_able(case, case.solved({what.key: np.array([value])}))[0])


def _as_told(what: Input, value: float, start: float) -> float:
    """A value rounded away from where the step stands, to the last decimal shown: what is read can be typed."""
    step = _WRITTEN[what.dimension]
    return float((np.ceil if value > start else np.floor)(value / step) * step)


@dataclass(frozen=True)
class Match:
    """Two interventions with the same joint force: the first was given, the second found; SI."""

    start_bw: float
    """As the step stands."""
    held_bw: float
    """With the hands that the comparison needs, nothing pressed or carried yet."""
    joint_bw: float
    given: Input
    input: Input
    values: list[float]


def find_match(scene: Scene, step: int, word: str, value: float, by: str, file: str = "scene") -> Match:
    """How much of ``by`` does the same to the joint as setting ``word`` to ``value``.

    Raises
    ------
    InputError : unknown words, the same word twice, or a posture that cannot be taken.
    """
    if word == by:
        raise InputError("the two interventions must differ")
    start = case_of(scene, step, file)
    both_held, _ = named_input(start, by)  # the same arm pose on both sides of the comparison
    holding, what = named_input(both_held, word)
    if not what.low <= value <= what.high:
        typed, low, high = (_written(what, v) for v in (value, what.low, what.high))
        raise InputError(f"{word}: found {typed}; allowed: {low} to {high}")
    done = holding.solved({what.key: np.array([value])})
    holding.refuse(done)
    if not holding.allowed(done)[0]:
        raise InputError(f"{word}: that posture cannot be taken: the body would fall")
    wanted = float(done.load.joint_magnitude[0]) / start.weight
    found = solve_target(holding, by, wanted)
    held_bw = float(holding.solved().joint_bw[0])
    return Match(float(start.solved().joint_bw[0]), held_bw, wanted, what, found.input, found.roots)


def _written(what: Input, value: float) -> str:
    """An input's value for an error message."""
    kind = {"force": "absolute_force", "mass": "tenths_mass"}.get(what.dimension, what.dimension)
    return USUAL.number(Amount(value, kind))
