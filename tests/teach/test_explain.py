"""An explanation says the solver's numbers: each is worked out anew from the printed list of forces."""

from __future__ import annotations

import json
import re
from functools import cache
from typing import Any

import pytest

from tests.conftest import Ran
from tests.teach.planar import planar
from viz3d.scene.reader import library_scenes, load_scene
from viz3d.scene.schema import Scene
from viz3d.solution.records import scene_record
from viz3d.solution.script import Script
from viz3d.teach.explain import explain
from viz3d.teach.explanation import Explanation
from viz3d.words.message import angle, force, length, moment, newtons
from viz3d.words.voice import Units, Voice

FEW = ("cane-opposite-hand", "cane-same-hand", "bag-sides", "lean-over-hip")
ALL = sorted(library_scenes())
TRADE, PLAIN = Voice(), Voice("en", "plain")


@cache
def solved(name: str) -> tuple[Scene, list[dict[str, Any]]]:
    scene = load_scene(name)
    return scene, scene_record(name, scene, Script(scene).shots())["situations"]


@cache
def explained(name: str, step: int) -> Explanation:
    return explain(solved(name)[0], step)


def text_of(one: Explanation, voice: Voice, *keys: str) -> str:
    parts = [p for p in one.parts if not keys or p.key in keys]
    return "\n".join(line for p in parts for line in voice.lines(list(p.told)))


def check_numbers(name: str) -> None:
    for step, record in enumerate(solved(name)[1]):
        if record["joint_force_N"] is None:
            continue
        one, own = explained(name, step), planar(record)
        weight = record["joint_force_N"] / record["joint_force_bw"]
        if record["muscle_force_N"] and record["muscle_force_N"] > 1.0:
            assert TRADE.number(moment(abs(own["moment"]))) in text_of(one, TRADE, "muscle")
            assert TRADE.number(length(own["lever"])) in text_of(one, TRADE, "muscle")
        joint = text_of(one, TRADE, "joint")
        assert TRADE.number(force(own["in_space"], weight)) in joint
        assert TRADE.number(newtons(own["in_space"])) in joint
        assert TRADE.number(angle(own["tilt"])) in joint


@pytest.mark.parametrize("name", FEW)
def test_numbers_are_those_of_the_list_of_forces(name: str) -> None:
    check_numbers(name)
    assert solved(name)[1]


@pytest.mark.long
@pytest.mark.parametrize("name", ALL)
def test_numbers_of_every_scene(name: str) -> None:
    check_numbers(name)
    assert solved(name)[1]


@pytest.mark.parametrize("name", FEW)
def test_products_and_sums_come_out_as_printed(name: str) -> None:
    """Within what rounding of the printed terms allows."""
    found = 0
    for step in range(len(solved(name)[1])):
        text = text_of(explained(name, step), TRADE, "turns", "muscle")
        for newton, cm, product in re.findall(r"(\d+) N × ([\d.]+) cm = ([\d.]+) N·m", text):
            slack = (0.5 * float(cm) + 0.05 * float(newton)) / 100 + 0.06
            assert float(product) == pytest.approx(float(newton) * float(cm) / 100, abs=slack)
            found += 1
        for top, cm, quotient in re.findall(r"([\d.]+) N·m ÷ ([\d.]+) cm = [\d.]+ BW, (\d+) N", text):
            share = 0.05 / float(top) + 0.05 / float(cm)
            assert float(quotient) == pytest.approx(100 * float(top) / float(cm), rel=share, abs=1.0)
            found += 1
    assert found >= 2 * len(solved(name)[1])


def test_the_sides_of_a_cane_are_told_apart() -> None:
    opposite = text_of(explained("cane-switch-hands", 4), TRADE, "cane")
    same = text_of(explained("cane-switch-hands", 1), TRADE, "cane")
    record = {k: solved("cane-switch-hands")[1][k] for k in (1, 4)}
    for text, k in ((opposite, 4), (same, 1)):
        assert f"{record[k]['relief_unweighting']:.2f} newtons" in text
        assert f"{abs(record[k]['relief_leverage']):.2f} newtons" in text
    assert "against the abductors" in same
    assert f"{record[1]['joint_force_N']:.0f} N instead of" in opposite, "the other hand is the scene's own second step"
    assert f"{record[4]['joint_force_N']:.0f} N instead of" in same


@pytest.mark.parametrize("name", FEW)
def test_plain_words_hold_no_moment_and_no_push(name: str) -> None:
    for step, record in enumerate(solved(name)[1]):
        text = text_of(explained(name, step), PLAIN)
        assert "N·m" not in text
        if record["cane_force_N"]:
            assert f"{record['cane_force_N']:.0f} N" not in text
            assert f"{record['cane_force_N'] / 627.6256:.2f} BW" not in text


def test_plain_words_read_at_grade_eight_or_lower() -> None:
    """By Flesch and Kincaid's formula (1975), over the plain sentences of several scenes, sources left out."""
    told = [re.sub(r" \([^)]*\)", "", text_of(explained(n, k), PLAIN)) for n in FEW for k in range(len(solved(n)[1]))]
    sentences = [s for s in re.split(r"[.:?!](?:\s|$)", "\n".join(told)) if re.search("[a-z]", s)]
    words = [w for s in sentences for w in re.findall(r"[a-z']+", s.lower())]
    syllables = sum(max(1, len(re.findall(r"[aeiouy]+", re.sub(r"([^l])e$", r"\1", w)))) for w in words)
    grade = 0.39 * len(words) / len(sentences) + 11.8 * syllables / len(words) - 15.59
    print(f"grade {grade:.1f} over {len(sentences)} sentences")
    assert len(sentences) > 60
    assert grade <= 8.0


def test_other_units_and_the_longer_language_are_said_too() -> None:
    one = explained("cane-opposite-hand", 1)
    pounds = text_of(one, Voice(units=Units("lbf", "lb", "in")))
    assert "lbf × " in pounds
    assert " N·m" not in pounds
    longer = text_of(one, Voice("qps"))
    assert "," in longer
    assert "muscle" not in longer


def test_the_command_prints_text_and_json(run: Any) -> None:
    told: Ran = run("explain", "cane-opposite-hand", "--step", "2")
    assert told.code == 0
    assert "Pressed with 15 % of body weight" in told.out
    assert "For teaching; not for diagnosis" in told.out
    [record] = json.loads(run("explain", "cane-opposite-hand", "--step", "2", "--json").out)
    values = {n["key"]: n["value"] for n in record["numbers"]}
    joint = solved("cane-opposite-hand")[1][1]["joint_force_N"]
    assert values["joint_force"] == f"{joint / 627.6256:.2f} BW, {joint:.0f} N"
    wrong = run("explain", "cane-opposite-hand", "--step", "9")
    assert (wrong.code, wrong.err.count("\n")) == (1, 1)
    assert "this scene has 2 steps" in wrong.err
