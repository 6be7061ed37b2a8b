"""Numbers and texts come out of one formatter: decimals, signs and units as the catalogue and babel have them."""

from __future__ import annotations

import pickle
from decimal import Decimal

import pytest
from babel import Locale
from babel.numbers import format_decimal
from hypothesis import given
from hypothesis import strategies as st

from viz3d.errors import TableError
from viz3d.tables import read_toml
from viz3d.words.catalogue import REGISTERS, catalogue, check_same, entries_of, languages
from viz3d.words.cautions import LINE, SHORT, full_caution
from viz3d.words.message import (
    Amount,
    Message,
    beside,
    force,
    joined,
    length,
    mass,
    message,
    moment,
    newtons,
    number,
    stature,
)
from viz3d.words.pseudo import LONGER, stretched
from viz3d.words.voice import SHOWN, USUAL, Units, Voice

ENGLISH = Locale("en")


@pytest.mark.parametrize("language", ["en", "de", "fr"])
@pytest.mark.parametrize("value", [0.0, 2.304, -0.4449, 12.35, -1447.9])
def test_decimal_sign_is_the_language_s(language: str, value: float) -> None:
    said = Voice(language)._digits(value, 2)
    expected = format_decimal(Decimal(f"{value:.2f}"), format="0.00", locale=language)
    assert said.replace("−", "-") == expected.replace("−", "-")
    assert "-" not in said


@given(st.floats(-1e4, 1e4))
def test_no_negative_zero_and_a_true_minus(value: float) -> None:
    for dimension in SHOWN:
        said = USUAL.number(Amount(value, dimension))
        digits = [c for c in said if c.isdigit()]
        assert not ("−" in said and set(digits) == {"0"}), said
        assert "-" not in said


def test_usual_decimals() -> None:
    shown = {"length": "8.3 cm", "small_length": "83 mm", "stature": "0.08 m", "mass": "0.083 kg", "moment": "0.1 N·m"}
    assert {d: USUAL.number(Amount(0.083, d)) for d in shown} == shown
    assert USUAL.number(force(1447.2, 628.0)) == "2.30 BW"
    assert USUAL.number(beside(1447.2, 628.0)) == "1447 N"


def test_each_unit_of_force() -> None:
    one, two = force(1000.0, 500.0), beside(1000.0, 500.0)
    said = {f: USUAL.lines([joined("join.comma", [Voice(units=Units(force=f)).number(q) for q in (one, two)])])
            for f in ("BW and N", "N", "kgf", "lbf", "BW")}  # fmt: skip
    assert said == {
        "BW and N": ["2.00 BW, 1000 N"], "N": ["1000 N"], "kgf": ["102.0 kgf"], "lbf": ["225 lbf"], "BW": ["2.00 BW"],
    }  # fmt: skip


def test_moments_follow_the_unit_of_force() -> None:
    """In exact units: one foot times one pound-force, one metre times one kilogram-force."""
    said = {f: Voice(units=Units(force=f)).number(moment(51.26)) for f in ("BW and N", "N", "kgf", "lbf", "BW")}
    newton_metres = "51.3 N·m"
    expected = {"kgf": f"{51.26 / 9.80665:.2f} kgf·m", "lbf": f"{51.26 / (4.4482216152605 * 0.3048):.1f} lbf·ft"}
    assert said == {"BW and N": newton_metres, "N": newton_metres, "BW": newton_metres} | expected


def test_pounds_feet_and_inches() -> None:
    voice = Voice(units=Units(mass="lb", length="in"))
    assert voice.number(mass(141 * 0.45359237)) == "141 lb"
    assert voice.number(stature(65 * 0.0254)) == "5 ft 5 in"
    assert voice.number(stature(71.99 * 0.0254)) == "6 ft 0 in"
    assert voice.number(length(0.0635)) == "2.5 in"


def test_texts_are_whole_in_both_registers() -> None:
    entries = catalogue("en")
    assert len(entries) > 20
    for key, entry in entries.items():
        assert set(entry.forms) == set(REGISTERS), key
        for some in entry.forms.values():
            assert all(text == text.strip(" ") and text for text in some.values() if not key.startswith("join.")), key


def test_the_made_up_language_is_longer_and_keeps_placeholders() -> None:
    assert "qps" in languages()
    for key, entry in catalogue("qps").items():
        english = catalogue("en")[key]
        assert entry.holes == english.holes
        if key.startswith(("symbol.", "join.", "unit.")):
            continue
        for register in REGISTERS:
            for form, text in english.forms[register].items():
                letters = sum(len(w) for w in _words(text) if len(w) > 1)
                assert len(entry.forms[register][form]) >= len(text) + int(LONGER * letters), key


def _words(text: str) -> list[str]:
    import re

    return re.findall(r"[A-Za-z]+", re.sub(r"\{\w+\}", "", text))


def test_pseudo_is_the_same_every_time() -> None:
    assert stretched("Joint force") == stretched("Joint force") != "Joint force"


def test_a_plain_text_may_spare_a_number() -> None:
    entry = entries_of({"a": {"trade": "one {x}", "plain": "one", "spared": ["x"]}}, "xx.toml", ENGLISH)["a"]
    assert entry.holes == {"x"}
    weak = message("notice.weak", moment=moment(12.0))
    assert "12" in USUAL.say(weak)
    assert not any(letter.isdigit() for letter in Voice("en", "plain").say(weak))


def test_unknown_key_and_missing_value_are_refused() -> None:
    with pytest.raises(TableError, match="no entry"):
        USUAL.say(message("no.such.key"))
    with pytest.raises(TableError, match="was given"):
        USUAL.say(message("symbol.N"))
    with pytest.raises(TableError, match="was given"):
        USUAL.say(message("caution.short", more="x"))
    with pytest.raises(TableError, match="no dimension"):
        USUAL.number(Amount(1.0, "smell"))


@pytest.mark.parametrize(("table", "wrong"), [
    ({"a": "bare"}, "bare text"),
    ({"a": {"trade": "one"}}, "both, or trade and plain"),
    ({"a": {"trade": "one {x}", "plain": "one"}}, "different placeholders"),
    ({"a": {"both": {"one": "x"}}}, "other"),
])  # fmt: skip
def test_a_file_that_is_not_whole_is_refused(table: dict[str, object], wrong: str) -> None:
    with pytest.raises(TableError, match=wrong):
        entries_of(table, "xx.toml", ENGLISH)


def test_another_language_needs_the_same_keys() -> None:
    english = catalogue("en")
    fewer = dict(list(english.items())[1:])
    with pytest.raises(TableError, match="missing or unknown"):
        check_same(fewer, english, "xx.toml")


def test_a_second_language_is_one_file(monkeypatch: pytest.MonkeyPatch) -> None:
    """English read as a German file: its keys, its plural forms, a German decimal sign; a scene may then name it."""
    from viz3d.words import catalogue as room

    monkeypatch.setattr(room, "languages", lambda: ["de", "en"])
    monkeypatch.setattr(room, "read_toml", lambda package, name: read_toml(package, "en.toml"))
    room.catalogue.cache_clear()
    try:
        voice = Voice("de")
        assert voice.say(message("scale.weight", weight=newtons(628.0))) == "1 BW = 628 N"
        assert voice.number(length(0.0835)) == "8,3 cm"
        told = {"title": "T", "step": "S", "seed": "1"}
        assert "1 person drawn" in voice.say(message("spread.title", count=1, **told))
        assert "2 people drawn" in voice.say(message("spread.title", count=2, **told))
        assert set(room.letters_of("de")) >= set("ABCabc·°")
    finally:
        room.catalogue.cache_clear()
        room.letters_of.cache_clear()


def test_plural_forms_follow_the_language() -> None:
    entries = entries_of({"n": {"both": {"one": "{count} leg", "other": "{count} legs"}}}, "en.toml", ENGLISH)
    assert entries["n"].holes == {"count"}
    assert ENGLISH.plural_form(1) == "one"
    assert ENGLISH.plural_form(0) == "other"


def test_messages_travel_and_hash() -> None:
    told = message("symbol.N", number=number(1.5))
    assert pickle.loads(pickle.dumps(told)) == told
    assert len({told, message("symbol.N", number=number(1.5))}) == 1
    assert isinstance(told, Message)


@pytest.mark.parametrize("register", REGISTERS)
def test_three_lengths_of_caution(register: str) -> None:
    voice = Voice(register=register)
    lengths = [len(voice.say(SHORT)), len(voice.say(LINE)), sum(len(voice.say(m)) for m in full_caution())]
    assert lengths == sorted(lengths)
    assert "teaching" in voice.say(SHORT)
