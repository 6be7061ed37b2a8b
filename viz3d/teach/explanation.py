"""An explanation as data: headed parts of sentences, and the quantities that every output repeats.

Question answered: what is told of a situation, in which order, with which numbers?

Sentences are messages and quantities are amounts: a voice says both, once, at the edge. Whatever is printed, drawn on a
slide or written into a table says a quantity through the same voice, so that no two outputs can differ.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from viz3d.words.message import Amount, Message, Said, message
from viz3d.words.voice import Voice


@dataclass(frozen=True)
class Fact:
    """One quantity of a situation: ``key`` for programs, what it is called, its value in SI with its dimension."""

    key: str
    name: Message
    value: Amount
    beside: Amount | None = None
    """The same force in the voice's second unit."""

    def said(self, voice: Voice) -> str:
        """The value as every output writes it."""
        return ", ".join(voice.lines([self.value, *([] if self.beside is None else [self.beside])]))


@dataclass(frozen=True)
class Passage:
    """One step of an explanation: a heading and its sentences."""

    key: str
    heading: Message
    told: tuple[Said, ...]


def passage(key: str, told: Sequence[Said]) -> Passage:
    """A part with its heading."""
    return Passage(key, message(f"explain.head.{key}"), tuple(told))


def signed(size: Amount, value: float, first: bool = False) -> Message:
    """A term of a sum with its sign: ``size`` as it is printed, ``value`` for the sign."""
    return message(f"explain.term.{'minus' if value < 0.0 else 'first' if first else 'plus'}", term=size)


@dataclass(frozen=True)
class Explanation:
    """One situation of a scene, explained."""

    title: str
    step: str
    person: Message
    parts: tuple[Passage, ...]
    facts: tuple[Fact, ...]
    cautions: tuple[Said, ...]

    def lines(self, voice: Voice) -> list[str]:
        """The explanation as lines of text: title, person, numbered parts."""
        out = [voice.say(message("explain.title", title=self.title, step=self.step)), voice.say(self.person), ""]
        for number, one in enumerate(self.parts, 1):
            out.append(f"{number}. {voice.say(one.heading)}")
            out += [f"   {line}" for line in voice.lines(list(one.told))]
        return [*out, ""]
