"""Units at the edge: what a person types becomes SI; what is shown is said by :mod:`viz3d.words`.

Question answered: how many kilograms, metres, newtons, radians or seconds is "5 ft 5 in" or "12 %BW"?

Inside the package every number is SI. A person writes quantities as text with a unit; only the units in
:data:`UNITS` are known, each by its exact definition (SI Brochure, 9th ed.; international yard and pound
agreement of 1959; g = 9.80665 m/s², 3rd CGPM 1901). The tests compare the table with an independent unit
library. Percent of body weight stays relative until the person's mass is known.

What people write otherwise and can mean in one way only is understood: a decimal comma, 5'5", 13 stone 4, pounds.
What has two meanings (1,660) is refused with both written out.
"""

from __future__ import annotations

import difflib
import itertools
import math
import re
from dataclasses import dataclass

from viz3d.echo import shown
from viz3d.errors import InputError

GRAVITY = 9.80665
"""Standard gravity in m/s² (3rd CGPM, 1901)."""

_POUND = 0.45359237
_INCH = 0.0254

UNITS: dict[str, dict[str, float]] = {
    "mass": {"kg": 1.0, "g": 1e-3, "lb": _POUND, "lbs": _POUND, "st": 14 * _POUND},
    "length": {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "in": _INCH, "ft": 12 * _INCH},
    "angle": {"deg": math.pi / 180, "°": math.pi / 180, "degrees": math.pi / 180, "rad": 1.0},
    "force": {"N": 1.0, "kN": 1e3, "lbf": _POUND * GRAVITY, "kgf": GRAVITY, "%BW": 0.01, "BW": 1.0},
    "time": {"s": 1.0, "ms": 1e-3, "min": 60.0},
    "fraction": {"%": 0.01},
    "torque": {"N m/kg": 1.0, "Nm/kg": 1.0},
    "stress": {"N/cm2": 1e4, "MPa": 1e6, "kPa": 1e3},
}
"""Known units per dimension: text to SI factor. For torque per body mass, N m/kg."""

_SPOKEN: dict[str, dict[str, str]] = {
    "mass": {
        "kilogram": "kg", "kilograms": "kg", "kilo": "kg", "kilos": "kg", "kgs": "kg", "gram": "g", "grams": "g",
        "pound": "lb", "pounds": "lb", "stone": "st", "stones": "st",
    },
    "length": {
        "metre": "m", "metres": "m", "meter": "m", "meters": "m", "centimetre": "cm", "centimetres": "cm",
        "centimeter": "cm", "centimeters": "cm", "millimetre": "mm", "millimetres": "mm", "millimeter": "mm",
        "millimeters": "mm", "inch": "in", "inches": "in", "foot": "ft", "feet": "ft", "'": "ft", '"': "in", "''": "in",
    },
    "angle": {"degree": "deg", "radian": "rad", "radians": "rad"},
    "force": {
        "newton": "N", "newtons": "N", "kilonewton": "kN", "kilonewtons": "kN", "%": "%BW", "percent": "%BW",
        "% of body weight": "%BW", "% body weight": "%BW", "percent of body weight": "%BW", "body weight": "BW",
        "body weights": "BW", "times body weight": "BW",
    },
    "time": {
        "second": "s", "seconds": "s", "sec": "s", "secs": "s", "minute": "min", "minutes": "min", "mins": "min",
        "millisecond": "ms", "milliseconds": "ms",
    },
    "fraction": {"percent": "%", "per cent": "%"},
    "torque": {"N·m/kg": "N m/kg", "N*m/kg": "N m/kg"},
    "stress": {"N/cm²": "N/cm2", "N/cm^2": "N/cm2"},
}  # fmt: skip
"""Other ways in which people write a unit that mean nothing else in that dimension."""

_BELOW = {"ft": "in", "st": "lb", "min": "s"}
"""A bare number after this many whole feet, stones or minutes counts the next smaller unit."""
_MEANT = {("force", "lb"): "lbf", ("force", "kg"): "kgf", ("mass", "lbf"): "lb", ("mass", "kgf"): "kg"}
"""A unit of another dimension, and the one that is meant."""
_RELATIVE = ("%BW", "BW")
_DIGITS = r"(?:\d+(?:[.,]\d+)*\.?|[.,]\d+)(?:[eE][-+]?\d+)?"
_PART = re.compile(rf"\s*([-+]?{_DIGITS})\s*(N\s?/\s?cm(?:2|²|\^2)|[^\s\d.,+-][^\d,+-]*)?", re.IGNORECASE)
_ALIKE = str.maketrans({"−": "-", "–": "-", "’": "'", "‘": "'", "′": "'", "”": '"', "“": '"', "″": '"'})
"""Signs that keyboards and word processors put for others."""
_EXAMPLES = {
    "mass": '"64 kg" or "141 lb"',
    "length": '"1.66 m", "42 mm" or "5 ft 5 in"',
    "angle": '"15 deg"',
    "force": '"80 N", "18 lbf" or "12 %BW"',
    "time": '"2.5 s"',
    "fraction": '"50 %"',
    "torque": '"1.8 N m/kg"',
    "stress": '"30 N/cm2"',
}
_USUAL = {"mass": ("kg", "lb"), "force": ("N", "%BW")}
"""Units in which a bare number is given back; the dimension's first one by default."""
_METRES = 3.0
"""Below this a bare length is given back in metres, from there on in centimetres or millimetres."""


@dataclass(frozen=True)
class Force:
    """A force as typed: newtons, or a multiple of body weight."""

    value: float
    relative: bool

    def newtons(self, body_weight: float) -> float:
        """The force in newtons for a person of this body weight in newtons."""
        return self.value * body_weight if self.relative else self.value


def parse_quantity(text: object, dimension: str) -> float:
    """Turn "5 ft 5 in" into 1.651.

    Parameters
    ----------
    text : number and unit, or several ("5 ft 5 in"); units in other words ("pounds") where they mean one thing.
    dimension : a key of :data:`UNITS`.

    Returns
    -------
    The quantity in SI units.

    Raises
    ------
    InputError : no number, no unit, an unknown unit, or not finite.

    Examples
    --------
    >>> round(parse_quantity("5 ft 5 in", "length"), 4), parse_quantity("1,66 m", "length")
    (1.651, 1.66)
    """
    parts = _parts(text, dimension)
    total = sum(number * UNITS[dimension][unit] for number, unit in parts)
    if not math.isfinite(total):
        raise InputError(f"found {shown(text)}; the number must be finite")
    return math.copysign(1.0, parts[0][0]) * abs(total) if len(parts) == 1 else total


def parse_force(text: object) -> Force:
    """Turn "12 %BW" or "80 N" into a :class:`Force`.

    Raises
    ------
    InputError : as :func:`parse_quantity`; or newtons and body weights mixed.

    Examples
    --------
    >>> parse_force("12 %BW")
    Force(value=0.12, relative=True)
    """
    parts = _parts(text, "force")
    if len(parts) != 1:
        raise InputError(f"found {shown(text)}; write one number and one unit, like {_EXAMPLES['force']}")
    return Force(parse_quantity(text, "force"), parts[0][1] in _RELATIVE)


def examples(dimension: str) -> str:
    """How quantities of a dimension are written."""
    return _EXAMPLES[dimension]


def units_in(text: object, dimension: str) -> set[str]:
    """The units, as :data:`UNITS` names them, that a text is typed in; none where it cannot be read.

    Examples
    --------
    >>> units_in("13 stone 4", "mass") == {"st", "lb"}
    True
    """
    try:
        return {unit for _, unit in _parts(text, dimension)}
    except InputError:
        return set()


def _parts(text: object, dimension: str) -> list[tuple[float, str]]:
    """Numbers and the units they count.

    Raises
    ------
    InputError : no number, no unit, an unknown unit, or a number with two meanings.
    """
    if not isinstance(text, str):
        bare = f"{text:g}" if isinstance(text, int | float) and not isinstance(text, bool) and abs(text) < 1e6 else ""
        right = _right_forms(bare, dimension) if bare else f"like {_EXAMPLES[dimension]}"
        raise InputError(f"found {shown(text)}; write a number with its unit in quotes, {right}")
    parts: list[tuple[float, str]] = []
    at, plain = 0, text.translate(_ALIKE).rstrip()
    while at < len(plain):
        match = _PART.match(plain, at)
        if match is None:
            raise InputError(f"found {shown(text)}; write a number with its unit, like {_EXAMPLES[dimension]}")
        number, alone = _number(match[1], text), match[0].strip() == plain.strip()
        below = "" if match[2] else _below(parts, match[1])
        parts.append((number, below or _unit(match[2], match[1] if alone else "", text, dimension)))
        at = match.end()
    if not parts:
        raise InputError(f"found nothing; write a number with its unit, like {_EXAMPLES[dimension]}")
    for (number, unit), (less, below) in itertools.pairwise(parts):
        most = UNITS[dimension][unit] / UNITS[dimension][below]
        if number != int(number) or not 0.0 <= less < most - 1e-9:
            raise InputError(
                f"found {shown(text)}; after a whole number of {unit}, allowed: 0 to under {most:g} {below}"
            )
    return parts


def _number(digits: str, text: str) -> float:
    """A typed number; one comma, or one point, begins its decimals.

    Raises
    ------
    InputError : commas and points that could stand for thousands.
    """
    marks = re.findall(r"[.,]", digits.rstrip("."))
    whole = re.fullmatch(r"[-+]?0*([1-9]\d{0,2}),(\d{3})", digits)
    if len(marks) > 1:
        *wholes, last = re.split(r"[.,]", digits)
        bare = "".join(wholes) + ("" if len(set(marks)) == 1 else ".") + last
        raise InputError(f"found {shown(text)}; {digits!r} has signs between thousands; write {bare}")
    if whole is not None:
        one, other = f"{whole[1]}.{whole[2]}", f"{whole[1]}{whole[2]}"
        raise InputError(f"found {shown(text)}; {digits!r} has two meanings: write {one} or {other}")
    return float(digits.replace(",", "."))


def _below(parts: list[tuple[float, str]], digits: str) -> str:
    """The unit that a bare number counts after whole feet, stones, minutes or metres ("1 m 66"); "" for none."""
    if len(parts) != 1:
        return ""
    number, unit = parts[0]
    if number != int(number) or not digits[0].isdigit():
        return ""
    if unit == "m" and re.fullmatch(r"\d\d", digits):
        return "cm"
    below = _BELOW.get(unit, "")
    known = next((d for d in UNITS.values() if unit in d and below in d), None)
    return below if known is not None and float(digits.replace(",", ".")) < known[unit] / known[below] - 1e-9 else ""


def _right_forms(digits: str, dimension: str) -> str:
    """A bare number with the units that may be meant."""
    value, units = float(digits.replace(",", ".")), _USUAL.get(dimension, tuple(UNITS[dimension])[:1])
    if dimension == "length" and abs(value) >= _METRES:
        units = ("cm", "mm")
    if dimension == "fraction" and 0.0 < value < 1.0:
        digits = f"{100.0 * value:g}"
    return "like " + " or ".join(f'"{digits} {unit}"' for unit in units)


def _unit(found: str | None, digits: str, text: str, dimension: str) -> str:
    """The unit that a name means; ``digits``: the number before it, where the text holds no other.

    Raises
    ------
    InputError : none, or none of this dimension.
    """
    known, name = UNITS[dimension], " ".join((found or "").split()).rstrip(".")
    if name in known:
        return name
    allowed = f"allowed units: {', '.join(known)}"
    if not name:
        right = _right_forms(digits, dimension) if digits else f"like {_EXAMPLES[dimension]}"
        raise InputError(f"found {shown(text)} without a unit; write it {right}; {allowed}")
    unit = _meant(name, dimension)
    if unit:
        return unit
    near = _nearest(name, dimension)
    hint = f"; did you mean {near!r}?" if near else ""
    raise InputError(f"found {shown(text)}; {shown(name)} is not a unit of {dimension}; {allowed}{hint}")


def _meant(name: str, dimension: str) -> str:
    """The one unit that a name in other words or other capitals can mean; "" for none or several."""
    known, small = {**{u: u for u in UNITS[dimension]}, **_SPOKEN[dimension]}, name.casefold().replace(" / ", "/")
    found = {unit for word, unit in known.items() if word.casefold() == small}
    return found.pop() if len(found) == 1 and name != "mPa" else ""


def _nearest(name: str, dimension: str) -> str:
    other = next((_meant(name, d) or name for d in UNITS if name in UNITS[d] or _meant(name, d)), name)
    if (dimension, other) in _MEANT:
        return _MEANT[dimension, other]
    if any(other in UNITS[d] for d in UNITS):
        return ""
    near = difflib.get_close_matches(name.casefold(), {u.casefold(): u for u in UNITS[dimension]}, n=1)
    return next((u for u in UNITS[dimension] if near and u.casefold() == near[0]), "")
