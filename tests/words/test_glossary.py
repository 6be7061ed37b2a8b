"""The glossary says every term once, in the words that pictures use, and what each means."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Ran
from viz3d.words.catalogue import catalogue
from viz3d.words.glossary import TERMS, glossary
from viz3d.words.message import message
from viz3d.words.voice import Voice


def test_every_meaning_belongs_to_one_term_and_every_term_has_one() -> None:
    named = [name for rows in TERMS.values() for name in rows]
    assert len(named) == len(set(named)) > 30
    assert {k.removeprefix("meaning.") for k in catalogue("en") if k.startswith("meaning.")} == set(named)
    assert {k for k in catalogue("en") if k.startswith("term.")} <= {
        k for rows in TERMS.values() for k in rows.values()
    }


def test_names_are_those_of_pictures_and_plates() -> None:
    found = {t.trade: t.plain for t in glossary("en")}
    for key in ("arrow.joint.name", "lever.weight.name", "bone.femur", "point.ischial_tuberosity"):
        trade, plain = (Voice(register=r).say(message(key)) for r in ("trade", "plain"))
        if key in {k for rows in TERMS.values() for k in rows.values()} or not key.startswith("lever"):
            assert found[trade] == plain


def test_the_command_prints_all_or_looks_one_up(run: Callable[..., Ran]) -> None:
    whole = run("words")
    assert whole.code == 0
    for term in glossary("en"):
        assert term.trade in whole.out
        assert term.plain in whole.out
    assert "not for diagnosis" in whole.out
    one = run("words", "Neck-Shaft").out
    assert "Neck shaft angle  (plain: Angle of the thigh bone's neck)" in one
    assert "Patella" not in one
    assert run("words", "zebra").err == "viz3d: found 'zebra'; no term holds it; 'viz3d words' lists them all\n"
    assert "--language: found 'xx'; allowed: en, es, qps" in run("words", "--language", "xx").err
