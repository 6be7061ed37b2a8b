"""Messages: what is to be said, as a key with its numbers, before any language or unit is chosen.

Question answered: which sentence, with which quantities?

Plans, answers and records hold messages; :mod:`viz3d.words.voice` turns them into text, once, at the edge. Plain
data: frozen, hashable, picklable. SI throughout; which unit is shown is the voice's choice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Amount:
    """A number with its meaning: ``value`` in SI, ``dimension`` a key of :data:`viz3d.words.voice.SHOWN`.

    ``weight``: body weight in newtons of the person a force belongs to, so that it can be said in body weights; 0 for
    none.
    """

    value: float
    dimension: str
    weight: float = 0.0


@dataclass(frozen=True)
class Message:
    """A key of the catalogue with what its placeholders stand for, in the order of their names.

    Texts among the values are not ours: a scene's own title, a file's name.
    """

    key: str
    values: tuple[tuple[str, str | int | Amount | Message], ...] = ()


Said = str | Message | Amount
"""What a picture can say: a message, a quantity, or words of the scene's author."""


def message(key: str, **values: Said | int) -> Message:
    """A message.

    Examples
    --------
    >>> message("told.weight", force=Amount(600.0, "force")).key
    'told.weight'
    """
    return Message(key, tuple(sorted(values.items())))


def joined(key: str, parts: Sequence[Said]) -> Message:
    """Several messages one after the other; ``key`` names what stands between them, like ``join.comma``."""
    return Message(key, tuple((f"{n:03d}", part) for n, part in enumerate(parts)))


def force(newtons: float, weight: float) -> Amount:
    """A force of a person of this body weight, both in newtons."""
    return Amount(float(newtons), "force", float(weight))


def force_digits(newtons: float, weight: float) -> Amount:
    """A force's number without its unit, where the unit stands elsewhere."""
    return Amount(float(newtons), "force_digits", float(weight))


def beside(newtons: float, weight: float) -> Amount:
    """The same force as it stands beside or below itself, in the voice's second unit; empty where it has none."""
    return Amount(float(newtons), "force_beside", float(weight))


def newtons(value: float) -> Amount:
    """A force in newtons that belongs to nobody's weight, or is that weight itself."""
    return Amount(float(value), "absolute_force")


def length(metres: float) -> Amount:
    """A length as long as a lever arm."""
    return Amount(float(metres), "length")


def small_length(metres: float) -> Amount:
    """A length as short as a head's radius."""
    return Amount(float(metres), "small_length")


def angle(radians: float) -> Amount:
    """An angle."""
    return Amount(float(radians), "angle")


def moment(newton_metres: float) -> Amount:
    """A moment."""
    return Amount(float(newton_metres), "moment")


def pressure(pascals: float) -> Amount:
    """A pressure."""
    return Amount(float(pascals), "pressure")


def fraction(share: float) -> Amount:
    """A share, said in percent."""
    return Amount(float(share), "fraction")


def mass(kilograms: float) -> Amount:
    """A mass."""
    return Amount(float(kilograms), "mass")


def stature(metres: float) -> Amount:
    """A standing height."""
    return Amount(float(metres), "stature")


def relief(newtons_per_newton: float) -> Amount:
    """Newtons of joint force taken away per newton on the cane."""
    return Amount(float(newtons_per_newton), "relief")


def seconds(value: float) -> Amount:
    """A time."""
    return Amount(float(value), "time")


def number(value: float, decimals: int = 2) -> Amount:
    """A bare number with this many decimals, 0 to 3."""
    return Amount(float(value), f"number_{decimals}")
