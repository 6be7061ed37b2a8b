"""Units at the edge: what a person types becomes SI; what is shown is said by :mod:`viz3d.words`.

Question answered: how many kilograms, metres, newtons, radians or seconds is "5 ft 5 in" or "12 %BW"?

Inside the package every number is SI. A person writes quantities as text with a unit; only the units in
:data:`UNITS` are known, each by its exact definition (SI Brochure, 9th ed.; international yard and pound
agreement of 1959; g = 9.80665 m/s², 3rd CGPM 1901). The tests compare the table with an independent unit
library. Percent of body weight stays relative until the person's mass is known.
"""

from __future__ import annotations

import difflib
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

_RELATIVE = ("%BW", "BW")
_PART = re.compile(r"\s*([-+−]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?)\s*([^\s\d.+−-][^\d+−-]*)?")
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
    text : number and unit, or several of falling size ("5 ft 5 in").
    dimension : a key of :data:`UNITS`.

    Returns
    -------
    The quantity in SI units.

    Raises
    ------
    InputError : no number, no unit, an unknown unit, or not finite.

    Examples
    --------
    >>> round(parse_quantity("5 ft 5 in", "length"), 4)
    1.651
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


def _parts(text: object, dimension: str) -> list[tuple[float, str]]:
    example = _EXAMPLES[dimension]
    if not isinstance(text, str):
        raise InputError(f"found {shown(text)}; write a number with its unit in quotes, like {example}")
    parts, at = [], 0
    while at < len(text.rstrip()):
        match = _PART.match(text, at)
        if match is None:
            raise InputError(f"found {shown(text)}; write a number with its unit, like {example}")
        parts.append((float(match[1].replace("−", "-")), _unit(match[2], text, dimension)))
        at = match.end()
    if not parts:
        raise InputError(f"found nothing; write a number with its unit, like {example}")
    return parts


def _unit(found: str | None, text: str, dimension: str) -> str:
    known = UNITS[dimension]
    name = " ".join((found or "").split())
    if name in known:
        return name
    allowed = ", ".join(known)
    if not name:
        raise InputError(f"found {shown(text)} without a unit; allowed units: {allowed}")
    near = difflib.get_close_matches(name, known, n=1)
    hint = f"; did you mean {near[0]!r}?" if near else ""
    raise InputError(f"found {shown(text)}; {shown(name)} is not a unit of {dimension}; allowed units: {allowed}{hint}")
