"""Messages: what is to be said, as a key with its numbers, before any language or unit is chosen.

Question answered: which sentence, with which quantities?

Plans, answers and records hold messages; :mod:`viz3d.words.voice` turns them into text, once, at the edge. Plain
data: frozen, hashable, picklable. SI throughout; which unit is shown is the voice's choice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Quantity:
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
    values: tuple[tuple[str, str | int | Quantity | Message], ...] = ()


Said = str | Message | Quantity
"""What a picture can say: a message, a quantity, or words of the scene's author."""


def message(key: str, **values: Said | int) -> Message:
    """A message.

    Examples
    --------
    >>> message("told.weight", force=Quantity(600.0, "force")).key
    'told.weight'
    """
    return Message(key, tuple(sorted(values.items())))


def joined(key: str, parts: Sequence[Said]) -> Message:
    """Several messages one after the other; ``key`` names what stands between them, like ``join.comma``."""
    return Message(key, tuple((f"{n:03d}", part) for n, part in enumerate(parts)))


def force(newtons: float, weight: float) -> Quantity:
    """A force of a person of this body weight, both in newtons."""
    return Quantity(float(newtons), "force", float(weight))


def force_digits(newtons: float, weight: float) -> Quantity:
    """A force's number without its unit, where the unit stands elsewhere."""
    return Quantity(float(newtons), "force_digits", float(weight))


def beside(newtons: float, weight: float) -> Quantity:
    """The same force as it stands beside or below itself, in the voice's second unit; empty where it has none."""
    return Quantity(float(newtons), "force_beside", float(weight))


def newtons(value: float) -> Quantity:
    """A force in newtons that belongs to nobody's weight, or is that weight itself."""
    return Quantity(float(value), "absolute_force")


def length(metres: float) -> Quantity:
    """A length as long as a lever arm."""
    return Quantity(float(metres), "length")


def small_length(metres: float) -> Quantity:
    """A length as short as a head's radius."""
    return Quantity(float(metres), "small_length")


def angle(radians: float) -> Quantity:
    """An angle."""
    return Quantity(float(radians), "angle")


def moment(newton_metres: float) -> Quantity:
    """A moment."""
    return Quantity(float(newton_metres), "moment")


def pressure(pascals: float) -> Quantity:
    """A pressure."""
    return Quantity(float(pascals), "pressure")


def fraction(share: float) -> Quantity:
    """A share, said in percent."""
    return Quantity(float(share), "fraction")


def mass(kilograms: float) -> Quantity:
    """A mass."""
    return Quantity(float(kilograms), "mass")


def stature(metres: float) -> Quantity:
    """A standing height."""
    return Quantity(float(metres), "stature")


def seconds(value: float) -> Quantity:
    """A time."""
    return Quantity(float(value), "time")


def number(value: float, decimals: int = 2) -> Quantity:
    """A bare number with this many decimals, 0 to 3."""
    return Quantity(float(value), f"number_{decimals}")
