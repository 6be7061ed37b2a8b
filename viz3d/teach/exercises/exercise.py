"""An exercise as data: what is asked of which person, the choices with the mistake behind each, the worked answer.

Question answered: what does an exercise consist of, and which choices may stand side by side?

Everything said is a message, everything counted an amount: text, paper and assessment packages say them through one
voice. The scene it was solved from is kept, so that anybody may work the answer out anew.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from viz3d.errors import InputError
from viz3d.scene.schema import Scene
from viz3d.teach.explanation import Fact
from viz3d.words.message import Message, Said
from viz3d.words.voice import USUAL, Voice

CHOICES = 4
APART = 0.04
"""Numbers among the choices differ from the right one by at least this share, so that rounding decides nothing."""


@dataclass(frozen=True)
class Choice:
    """One answer to choose: what it says, and the mistake that leads to it (None for the right one)."""

    said: Said
    mistake: Message | None = None


@dataclass(frozen=True)
class Exercise:
    """One exercise, solved."""

    kind: str
    seed: int
    scene: Scene
    """The person and the case, as a scene that the solver takes."""
    step: int
    """The step of that scene whose numbers are asked for."""
    told: tuple[Said, ...]
    """Who stands there, doing what."""
    givens: tuple[Fact, ...]
    question: Message
    choices: tuple[Choice, ...]
    working: tuple[Said, ...]
    value: float
    """The right answer in SI, where it is a number; NaN else."""
    picture: bool = False
    """The question is asked of a drawn free body."""

    @property
    def right(self) -> int:
        """Where the right choice stands."""
        return next(n for n, choice in enumerate(self.choices) if choice.mistake is None)

    @property
    def letter(self) -> str:
        """The right choice's letter."""
        return letter(self.right)


class NoExercise(InputError):
    """This exercise has no solution for this person."""


Builder = Callable[[Scene, np.random.Generator], Exercise]
"""Makes one kind of exercise for a person, or raises NoExercise."""


def letter(index: int) -> str:
    """The letter a choice goes by.

    Examples
    --------
    >>> letter(0), letter(3)
    ('A', 'D')
    """
    return "ABCDEFGH"[index]


def refuse(kind: str, why: str) -> NoExercise:
    """What is said where a person has no such exercise."""
    return NoExercise(f"exercise {kind}: no solution for this person: {why}")


def choices_of(
    kind: str, right: Said, wrong: Sequence[tuple[Said, Message]], rng: np.random.Generator, voice: Voice = USUAL
) -> tuple[Choice, ...]:
    """The right answer among as many mistakes as are told apart in print, in an order that the generator draws.

    Raises
    ------
    NoExercise : fewer than three mistakes read otherwise.
    """
    texts, chosen = {voice.say(right)}, [Choice(right)]
    for said, mistake in wrong:
        text = voice.say(said)
        if text not in texts and len(chosen) < CHOICES:
            texts.add(text)
            chosen.append(Choice(said, mistake))
    if len(chosen) < CHOICES:
        raise refuse(kind, "two choices would read the same")
    return tuple(chosen[k] for k in rng.permutation(len(chosen)))


def numbers_apart(right: float, wrong: Sequence[tuple[float, Message]]) -> list[tuple[float, Message]]:
    """The wrong numbers that differ from the right one, and from one another, by more than rounding could hide."""
    kept: list[tuple[float, Message]] = []
    for value, mistake in wrong:
        others = [right, *(v for v, _ in kept)]
        if value > 0.0 and all(abs(value - v) > APART * max(abs(v), abs(right)) for v in others):
            kept.append((value, mistake))
    return kept
