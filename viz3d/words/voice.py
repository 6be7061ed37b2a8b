"""The voice: one language, one register, one choice of units. All text comes out here.

Question answered: how is this message said, and how is this quantity written?

The only formatter of numbers: decimals per dimension from one table, a true minus, never "-0.0", the decimal sign of
the language (Unicode CLDR, through babel), no grouping. A force is said in the voice's unit, or in body weights first
and newtons beside. Nothing reads a text that was made here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache

from babel.numbers import format_decimal

from viz3d.errors import TableError
from viz3d.units import UNITS
from viz3d.words.catalogue import Forms, catalogue, locale_of
from viz3d.words.message import Amount, Message, Said, message, newtons
from viz3d.words.pseudo import PSEUDO

BW_AND_N = "BW and N"
FORCES = (BW_AND_N, "N", "kgf", "lbf", "BW")
"""How forces may be said; the first is usual."""
MASSES, LENGTHS = ("kg", "lb"), ("cm", "in")

SHOWN: dict[str, tuple[tuple[str, float, int | None], ...]] = {
    "mass": (("kg", 1.0, None), ("lb", UNITS["mass"]["lb"], None)),
    "tenths_mass": (("kg", 1.0, 1), ("lb", UNITS["mass"]["lb"], 1)),
    "length": (("cm", 0.01, 1), ("in", UNITS["length"]["in"], 1)),
    "small_length": (("mm", 0.001, 0), ("in", UNITS["length"]["in"], 2)),
    "fine_length": (("mm", 0.001, 1), ("in", UNITS["length"]["in"], 3)),
    "whole_length": (("cm", 0.01, 0), ("in", UNITS["length"]["in"], 0)),
    "stature": (("m", 1.0, 2), ("ft", UNITS["length"]["ft"], None)),
    "angle": (("deg", UNITS["angle"]["deg"], 1),),
    "whole_angle": (("deg", UNITS["angle"]["deg"], 0),),
    "moment": (("Nm", 1.0, 1),),
    "pressure": (("MPa", 1e6, 2),),
    "stress": (("N/cm2", 1e4, 1),),
    "whole_stress": (("N/cm2", 1e4, 0),),
    "fraction": (("percent", 0.01, 0),),
    "times": (("", 1.0, 1),),
    "relief": (("N/N", 1.0, 2),),
    "time": (("s", 1.0, 1),),
    "whole_time": (("s", 1.0, 0),),
    "number_0": (("", 1.0, 0),),
    "number_1": (("", 1.0, 1),),
    "number_2": (("", 1.0, 2),),
    "number_3": (("", 1.0, 3),),
}
"""Dimension -> its units (metric, then imperial where there is one): name, size in SI, decimals (None: four digits)."""
_FORCE = {"N": (1.0, 0), "kgf": (UNITS["force"]["kgf"], 1), "lbf": (UNITS["force"]["lbf"], 0)}
_MOMENT = {
    "kgf": ("kgfm", UNITS["force"]["kgf"], 2),
    "lbf": ("lbfft", UNITS["force"]["lbf"] * UNITS["length"]["ft"], 1),
}
"""Unit of force -> its unit of moments, where that is not the newton metre: name, size in SI, decimals."""
_BW_DECIMALS = 2
WHOLE_FROM = 5.0
"""So many times and more are said in whole times."""
_STEP = {"BW": 0.5, "N": 500.0, "kgf": 50.0, "lbf": 100.0}
"""What axes of force are rounded up to."""


@dataclass(frozen=True)
class Units:
    """Chosen units: one of ``FORCES``, ``MASSES``, ``LENGTHS``."""

    force: str = BW_AND_N
    mass: str = "kg"
    length: str = "cm"


@dataclass(frozen=True)
class Voice:
    """Who speaks: a language of the catalogue, "trade" or "plain", and units."""

    language: str = "en"
    register: str = "trade"
    units: Units = Units()

    def say(self, told: Said) -> str:
        """A message or a quantity as text; texts are given back as they are.

        Raises
        ------
        TableError : no such key, or a value is missing.

        Examples
        --------
        >>> Voice().say(message("symbol.deg", number="5"))
        '5°'
        """
        if isinstance(told, Amount):
            return self.number(told)
        return told if isinstance(told, str) else _said(self, told)

    def lines(self, told: list[Said]) -> list[str]:
        """Several messages, one a line; those with nothing to say left out."""
        return [line for line in map(self.say, told) if line]

    def number(self, quantity: Amount) -> str:
        """A quantity with its unit.

        Raises
        ------
        TableError : an unknown dimension.

        Examples
        --------
        >>> Voice().number(Amount(-0.0004, "length")), Voice().number(Amount(1447.2, "force", 628.0))
        ('0.0 cm', '2.30 BW')
        """
        if not math.isfinite(quantity.value):
            return self.say(message("number.none"))
        if "force" in quantity.dimension:
            return self._force(quantity)
        if quantity.dimension == "stature" and self.units.length == "in":
            return self._feet(quantity.value)
        if quantity.dimension == "times":
            return self._digits(float(_fixed(quantity.value, 0 if quantity.value >= WHOLE_FROM else 1)), None)
        name, size, decimals = self._unit(quantity.dimension)
        return self._with_unit(quantity.value / size, decimals, name)

    def written(self, force: Amount) -> float:
        """A force's number as it is written, in the unit that comes first."""
        value, decimals, _ = self._main_force(force)
        return float(_fixed(value, decimals))

    def difference(self, one: Amount, other: Amount) -> Amount:
        """How much more the other force is, of the numbers as they are written."""
        more = self.written(other) - self.written(one)
        if self.in_weights:
            return Amount(more, "force", 1.0)
        return Amount(more * _FORCE[self.units.force][0], "force", one.weight)

    @property
    def in_weights(self) -> bool:
        """True where forces come first in body weights."""
        return self.units.force in (BW_AND_N, "BW")

    def force_axis(self, weight: float) -> tuple[float, float, str]:
        """Axis of forces: newtons of one of its units, its step in those units, the unit's name."""
        name = "BW" if self.in_weights else self.units.force
        return (weight if name == "BW" else _FORCE[name][0]), _STEP[name], name

    @property
    def moment_size(self) -> float:
        """Newton metres of the unit in which moments are said."""
        return self._unit("moment")[1]

    def one_weight(self, weight: float, spelt: bool = True) -> str:
        """What a bar as long as the body's weight is called; ``spelt``: with newtons beside body weights."""
        if not self.in_weights:
            return self.number(Amount(weight, "force", weight))
        if not spelt or self.units.force != BW_AND_N:
            return self.say(message("scale.one_weight"))
        return self.say(message("scale.weight", weight=newtons(weight)))

    def tick(self, value: float, decimals: int) -> str:
        """A bare number on an axis."""
        return self._digits(value, decimals)

    def template(self, key: str) -> str:
        """A text with its placeholders, for programs that fill them in themselves.

        Raises
        ------
        TableError : no such key, or it has plural forms.
        """
        forms = self._forms(key)
        if len(forms) > 1:
            raise TableError(f"words: {key} has plural forms; no one text stands for it")
        return forms["other"]

    def section(self, prefix: str) -> dict[str, str]:
        """Every text whose key begins with ``prefix``: the rest of its key -> text."""
        keys = [k for k in catalogue(self.language) if k.startswith(prefix)]
        return {k.removeprefix(prefix): self.template(k) for k in keys}

    @property
    def decimal_sign(self) -> str:
        """What stands between whole and parts."""
        return self._digits(0.5, 1).strip("05")

    @property
    def three_letters(self) -> str:
        """The language's ISO 639-2 code, for film tracks."""
        return PSEUDO if self.language == PSEUDO else self.template("language.three_letters")

    # ---- numbers --------------------------------------------------------------------------------------

    def _unit(self, dimension: str) -> tuple[str, float, int | None]:
        if dimension == "moment" and self.units.force in _MOMENT:
            return _MOMENT[self.units.force]
        choices = SHOWN.get(dimension)
        if choices is None:
            raise TableError(f"words: no dimension {dimension!r}; there are {', '.join(SHOWN)}")
        imperial = self.units.mass == "lb" if dimension.endswith("mass") else self.units.length == "in"
        return choices[-1] if imperial else choices[0]

    def _main_force(self, quantity: Amount) -> tuple[float, int, str]:
        """Number, decimals and unit in which a force comes first."""
        if self.in_weights and quantity.dimension in ("force", "force_digits"):
            if quantity.weight <= 0.0:
                raise TableError("words: a force in body weights needs the body's weight")
            return quantity.value / quantity.weight, _BW_DECIMALS, "BW"
        name = self.units.force if self.units.force in _FORCE else "N"
        size, decimals = _FORCE[name]
        return quantity.value / size, decimals, name

    def _force(self, quantity: Amount) -> str:
        if quantity.dimension == "force_beside" and self.units.force != BW_AND_N:
            return ""
        value, decimals, name = self._main_force(quantity)
        return self._with_unit(value, decimals, "" if quantity.dimension == "force_digits" else name)

    def _feet(self, metres: float) -> str:
        inches = round(metres / UNITS["length"]["in"], 1)
        feet = int(inches // 12)
        rest = self._digits(inches - 12 * feet, None)
        return self._forms("symbol.feet")["other"].format(feet=feet, inches=rest)

    def _with_unit(self, value: float, decimals: int | None, unit: str) -> str:
        text = self._digits(value, decimals)
        return self._forms(f"symbol.{_KEYS.get(unit, unit)}")["other"].format(number=text) if unit else text

    def _digits(self, value: float, decimals: int | None) -> str:
        plain = _four_digits(value) if decimals is None else _fixed(value, decimals)
        return _localised(plain, self.language)

    # ---- texts ----------------------------------------------------------------------------------------

    def _forms(self, key: str) -> Forms:
        entry = catalogue(self.language).get(key)
        if entry is None:
            raise TableError(f"words: no entry {key!r} in {self.language}.toml")
        return entry.forms[self.register]

    def _value(self, value: str | int | Amount | Message) -> str:
        return str(value) if isinstance(value, int) else self.say(value)


@lru_cache(maxsize=65536)
def _localised(plain: str, language: str) -> str:
    """A number's digits with the language's decimal sign and a true minus; zero has none."""
    exact = Decimal(plain) + 0
    parts = len(plain.partition(".")[2])
    text = format_decimal(exact, format="0." + "0" * parts if parts else "0", locale=locale_of(language))
    return text.replace("-", "−") if exact else text.lstrip("-−")


def _fixed(value: float, decimals: int) -> str:
    """So many decimals; what lies half way goes up, as pages in a browser round.

    Examples
    --------
    >>> _fixed(0.125, 2), _fixed(-0.125, 2), _fixed(0.1249999, 2), _fixed(2.5, 0)
    ('0.13', '-0.13', '0.12', '3')
    """
    return str(Decimal(float(value)).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP))


def _four_digits(value: float) -> str:
    """Four digits at most, three decimals at most, no zeros at the end."""
    text = f"{float(f'{value:.4g}'):.3f}"
    return text.rstrip("0").rstrip(".")


_KEYS = {"N/cm2": "stress", "BW": "bw", "N/N": "relief"}
"""Units whose entry is named otherwise."""
USUAL = Voice()
"""English, trade, usual units."""


@lru_cache(maxsize=65536)
def _said(voice: Voice, told: Message) -> str:
    forms = voice._forms(told.key)
    values = {name: voice._value(value) for name, value in told.values}
    if told.key.startswith("join."):
        return forms["other"].join(v for v in values.values() if v)
    holes = catalogue(voice.language)[told.key].holes
    if set(values) != holes:
        raise TableError(f"words: {told.key} was given {sorted(values)}; its text names {sorted(holes)}")
    return forms[_plural(voice, told) if len(forms) > 1 else "other"].format_map(values)


def _plural(voice: Voice, told: Message) -> str:
    count = dict(told.values)["count"]
    if not isinstance(count, int):
        raise TableError(f"words: {told.key} needs a whole count, found {count!r}")
    return str(locale_of(voice.language).plural_form(count))


def vanishes(quantity: Amount) -> bool:
    """True where a quantity would be written as nothing: it is below half of the last decimal of its usual unit.

    Examples
    --------
    >>> from viz3d.words.message import angle, force
    >>> vanishes(angle(0.0008)), vanishes(force(2.0, 600.0)), vanishes(force(4.0, 600.0))
    (True, True, False)
    """
    if "force" in quantity.dimension:
        value, decimals, _ = USUAL._main_force(quantity)
    else:
        _, size, found = SHOWN[quantity.dimension][0]
        value, decimals = quantity.value / size, 3 if found is None else found
    return float(f"{value:.{decimals}f}") == 0.0
