"""Units at the edge, against an independent unit library and by what must be refused."""

from __future__ import annotations

import math

import pint
import pytest

from viz3d.errors import InputError
from viz3d.units import UNITS, Force, parse_force, parse_quantity

NAMES = {
    "lbs": "lb",
    "st": "stone",
    "deg": "degree",
    "°": "degree",
    "degrees": "degree",
    "kgf": "kilogram_force",
    "lbf": "pound_force",
}
BASE = {"mass": "kg", "length": "m", "angle": "rad", "force": "N", "time": "s"}


@pytest.mark.parametrize(("dimension", "unit"), [(d, u) for d in BASE for u in UNITS[d] if u not in ("%BW", "BW")])
def test_factors_agree_with_pint(dimension: str, unit: str) -> None:
    """Reference: the pint library's registry (general reference library)."""
    registry = pint.UnitRegistry()
    expected = registry.Quantity(1.0, NAMES.get(unit, unit)).to(BASE[dimension]).magnitude
    assert UNITS[dimension][unit] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [("64 kg", "mass", 64.0), ("141 lb", "mass", 63.9565), ("5 ft 5 in", "length", 1.651), ("15 deg", "angle", math.radians(15)),
     ("-7.5deg", "angle", -math.radians(7.5)), ("−7.5 °", "angle", -math.radians(7.5)), ("2.5 s", "time", 2.5), ("50 %", "fraction", 0.5),
     ("1.8 N m/kg", "torque", 1.8), ("1e2 cm", "length", 1.0)],
)  # fmt: skip
def test_reads(text: str, dimension: str, value: float) -> None:
    assert parse_quantity(text, dimension) == pytest.approx(value, rel=1e-4)


def test_forces_may_be_relative() -> None:
    assert parse_force("12 %BW") == Force(0.12, True)
    assert parse_force("80 N") == Force(80.0, False)
    assert parse_force("12 %BW").newtons(600.0) == pytest.approx(72.0)


@pytest.mark.parametrize(
    "text", ["", "kg", "64", "64 kgs", "64 m", "nan kg", "inf kg", "1e999 kg", "6 4 kg", "64 kg 3 lbz", "0x10 kg"]
)
def test_refuses(text: str) -> None:
    with pytest.raises(InputError):
        parse_quantity(text, "mass")


@pytest.mark.parametrize("value", [None, 64, 64.0, True, ["64 kg"], float("nan")])
def test_refuses_other_kinds(value: object) -> None:
    with pytest.raises(InputError, match="in quotes"):
        parse_quantity(value, "mass")
