"""Drawing exercises by a seed.

Question answered: which exercises does this seed give, of these kinds, for anybody or for one person?

Each exercise has a generator of its own, made of the seed and its place, so that asking for more does not change the
first ones. Within a set no place of the right choice is commoner than another. Where a drawn person has no such
exercise the next one is drawn; a person who was named is refused.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np

from viz3d.echo import shown
from viz3d.errors import InputError, SceneError
from viz3d.scene.schema import Scene
from viz3d.teach.exercises import balance, cases, pictures
from viz3d.teach.exercises.exercise import CHOICES, Builder, Exercise, NoExercise, refuse
from viz3d.teach.exercises.people import any_person

KINDS: dict[str, Builder] = {
    "abductor": balance.abductor,
    "joint": balance.joint,
    "hand": cases.hand,
    "lean": cases.lean,
    "bag": cases.bag,
    "reading": pictures.reading,
    "error": pictures.error,
}
"""Name of a kind -> what makes it."""
MOST = 100
_TRIES = 20


def draw_exercises(
    seed: int, count: int = len(KINDS), kinds: Sequence[str] = (), person: Scene | None = None
) -> list[Exercise]:
    """Exercises by a seed, the kinds in turn.

    Parameters
    ----------
    person : whose exercises; None for another person each time.

    Raises
    ------
    InputError : an unknown kind, a count or seed out of range. NoExercise : the person has no such exercise.
    """
    if not 1 <= count <= MOST:
        raise InputError(f"--count: found {count}; allowed: 1 to {MOST}")
    if not 0 <= seed < 2**31:
        raise InputError(f"--seed: found {seed}; allowed: 0 to {2**31 - 1}")
    chosen = list(kinds) or list(KINDS)
    for kind in chosen:
        if kind not in KINDS:
            raise InputError(f"exercise: found {shown(kind)}; allowed: {', '.join(KINDS)}")
    return [draw(chosen[n % len(chosen)], seed, n, person) for n in range(count)]


def draw(kind: str, seed: int, place: int = 0, person: Scene | None = None) -> Exercise:
    """One exercise by its seed and place.

    Raises
    ------
    NoExercise : the person has none, or nobody that was drawn.
    """
    for again in range(_TRIES):
        rng = np.random.default_rng([seed, place, again])
        try:
            made = KINDS[kind](any_person(rng) if person is None else person, rng)
        except (NoExercise, SceneError) as why:
            if person is not None:
                raise why if isinstance(why, NoExercise) else refuse(kind, str(why)) from why
            continue
        return _placed(dataclasses.replace(made, seed=seed), place)
    raise refuse(kind, f"nobody of seed {seed} has one")


def _placed(made: Exercise, place: int) -> Exercise:
    """The right choice where it is its turn to stand: of eight exercises in a row, two have it in each place."""
    turns = np.random.default_rng([made.seed, place // (2 * CHOICES), CHOICES]).permutation(2 * CHOICES) % CHOICES
    wanted, choices = int(turns[place % (2 * CHOICES)]), list(made.choices)
    choices[wanted], choices[made.right] = choices[made.right], choices[wanted]
    return dataclasses.replace(made, choices=tuple(choices))
