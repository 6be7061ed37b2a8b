"""Units at the edge, against an independent unit library and by what must be refused."""

from __future__ import annotations

import math

import pint
import pytest

from viz3d.errors import InputError
from viz3d.units import UNITS, Force, parse_force, parse_quantity, units_in

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


@pytest.mark.parametrize(
    ("text", "dimension", "same"),
    [
        ("1,66 m", "length", "1.66 m"), ("0,125 m", "length", "12.5 cm"), ("5'5\"", "length", "5 ft 5 in"),
        ("5′ 5″", "length", "5 ft 5 in"), ("5 ft 5", "length", "5 ft 5 in"), ("5'5", "length", "5 ft 5 in"),
        ("5 ft. 5 in.", "length", "5 ft 5 in"), ("5 feet 5 inches", "length", "65 in"), ("1 m 66", "length", "166 cm"),
        ("13 stone 4", "mass", "13 st 4 lb"), ("13st4", "mass", "186 lb"), ("141 pounds", "mass", "141 lb"),
        ("64 KG", "mass", "64 kg"), ("64 kilos", "mass", "64 kg"), ("–7,5°", "angle", "-7.5 deg"),
        ("15%", "fraction", "15 %"), ("15 percent", "fraction", "15 %"), ("1,5 min", "time", "90 s"),
        ("2 min 30", "time", "150 s"), ("30 N/cm²", "stress", "300 kPa"), ("1.8 N·m/kg", "torque", "1.8 N m/kg"),
    ],
)  # fmt: skip
def test_what_has_one_meaning_is_understood(text: str, dimension: str, same: str) -> None:
    assert parse_quantity(text, dimension) == pytest.approx(parse_quantity(same, dimension), rel=1e-12)


@pytest.mark.parametrize("text", ["15%", "15 %bw", "15 % of body weight", "0,15 BW"])
def test_a_share_as_a_force_is_of_body_weight(text: str) -> None:
    assert parse_force(text) == Force(pytest.approx(0.15), True)


@pytest.mark.parametrize(
    ("text", "dimension", "said"),
    [
        ("1,660 m", "length", "'1,660' has two meanings: write 1.660 or 1660"),
        ("1,660.5 m", "length", "write 1660.5"),
        ("1 m 6", "length", "without a unit"),
        ("5.5 ft 5", "length", "without a unit"),
        ("5 ft 13", "length", "without a unit"),
        ("60", "mass", 'write it like "60 kg" or "60 lb"'),
        ("0.5", "fraction", 'write it like "50 %"'),
        (166, "length", 'like "166 cm" or "166 mm"'),
        ("18 pounds", "force", "did you mean 'lbf'?"),
        ("0.3 mPa", "stress", "did you mean 'MPa'?"),
    ],
)
def test_what_has_more_meanings_is_answered_with_the_right_form(text: object, dimension: str, said: str) -> None:
    with pytest.raises(InputError) as told:
        parse_quantity(text, dimension)
    assert said in str(told.value)


def test_units_that_a_text_is_typed_in() -> None:
    assert units_in("13 stone 4", "mass") == {"st", "lb"}
    assert units_in("5'5\"", "length") == {"ft", "in"}
    assert units_in("nothing", "mass") == set()


def test_forces_may_be_relative() -> None:
    assert parse_force("12 %BW") == Force(0.12, True)
    assert parse_force("80 N") == Force(80.0, False)
    assert parse_force("12 %BW").newtons(600.0) == pytest.approx(72.0)


@pytest.mark.parametrize(
    "text", ["", "kg", "64", "64 kgz", "64 m", "nan kg", "inf kg", "1e999 kg", "6 4 kg", "64 kg 3 lbz", "0x10 kg"]
)
def test_refuses(text: str) -> None:
    with pytest.raises(InputError):
        parse_quantity(text, "mass")


@pytest.mark.parametrize("value", [None, 64, 64.0, True, ["64 kg"], float("nan")])
def test_refuses_other_kinds(value: object) -> None:
    with pytest.raises(InputError, match="in quotes"):
        parse_quantity(value, "mass")
