"""A scene chooses register and units; what is said changes, what is computed does not; no logic reads a text."""

from __future__ import annotations

import dataclasses
import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from viz3d.errors import SceneError
from viz3d.scene.reader import load_scene
from viz3d.solution.script import Script
from viz3d.stage.alt import alt_text
from viz3d.stage.compared import compare_page
from viz3d.stage.compose import compose
from viz3d.stage.drawing import Words
from viz3d.stage.panels import Situation
from viz3d.stage.plan import Plan
from viz3d.stage.sheets import lay_out
from viz3d.stage.theme import theme_of, usual_theme
from viz3d.words.catalogue import REGISTERS, catalogue, holes_of
from viz3d.words.message import force
from viz3d.words.voice import USUAL, Units, Voice

NAME = "cane-opposite-hand"
TRADE = re.compile(
    r"abduct|adduct|\blever|\bmoment\b|unweight|obliqu|lune|femor|acetab|medial|lateral|\bstance|\bswing|facet|equilib"
    r"|inclination|trochant|iliac|ischi|\bsacr|static|co-contract|residual|equivalent|\bhead\b.*socket", re.I,
)  # fmt: skip
"""Words of the trade that a patient need not know."""
INPUTS = "input_word."
"""Words that the command line takes, said back as they were typed."""
STUDENTS = ("exercise.", "worksheet.", "glossary.")
"""Texts that are for students alone, whatever the scene's words."""


def plan_of(*changes: str, name: str = NAME) -> tuple[Plan, int, Voice]:
    scene = load_scene(name, changes)
    shot, row = Script(scene).shot_at(len(scene.steps) - 1)
    return compose(shot.scene, shot.solved), row, shot.scene.picture.voice


def test_plain_texts_have_no_words_of_the_trade() -> None:
    for key, entry in catalogue("en").items():
        for text in entry.forms["plain"].values():
            bare = re.sub(r"\{\w+\}", "", text)
            if not key.startswith((INPUTS, *STUDENTS)):
                assert not TRADE.search(bare), f"{key}: {text}"


def test_plain_sentences_are_short_and_easy() -> None:
    """Grade 8 or lower by Flesch and Kincaid's formula (1975), over all plain sentences together."""
    texts = [t for k, e in catalogue("en").items() for t in e.forms["plain"].values() if t.endswith((".", "?"))]
    sentences = [s for t in texts for s in re.split(r"[.?!]", re.sub(r"\{\w+\}", "ten", t)) if len(s.split()) > 1]
    words = [w for s in sentences for w in re.findall(r"[a-z']+", s.lower())]
    syllables = sum(max(1, len(re.findall(r"[aeiouy]+", re.sub(r"([^l])e$", r"\1", w)))) for w in words)
    grade = 0.39 * len(words) / len(sentences) + 11.8 * syllables / len(words) - 15.59
    print(f"grade {grade:.1f} over {len(sentences)} sentences")
    assert len(sentences) > 40
    assert grade <= 8.0


@pytest.mark.parametrize("register", REGISTERS)
def test_both_registers_say_every_number(register: str) -> None:
    plan, i, voice = plan_of(f"picture.words={register}")
    told = plan.shown(i, voice)
    usual = plan.shown(i)
    assert told.keys() == usual.keys()
    for key, item in told.items():
        digits = [re.findall(r"\d+[.,]\d+|\d+", " ".join(one["lines"])) for one in (item, usual[key])]
        assert digits[0] == digits[1], key
    assert (told["muscle"]["label"] == usual["muscle"]["label"]) == (register == "trade")
    assert alt_text(plan, i, voice).count("MPa") == 1


def test_a_person_typed_in_pounds_and_feet_is_told_so() -> None:
    plan, _, voice = plan_of("person.mass=141 lb", "person.stature=5 ft 5 in")
    assert voice.units == Units("BW and N", "lb", "in")
    assert voice.say(plan.person) == "Woman, 141 lb, 5 ft 5 in"
    kept = load_scene(NAME, ["person.mass=141 lb", "picture.mass=kg"])
    assert kept.picture.voice.units.mass == "kg"
    metric, _, voice = plan_of()
    assert voice.say(metric.person) == "Woman, 64 kg, 1.66 m"


@pytest.mark.parametrize(("unit", "sign"), [("N", " N"), ("kgf", " kgf"), ("lbf", " lbf"), ("BW", " BW")])
def test_one_unit_of_force_everywhere_in_a_picture(unit: str, sign: str) -> None:
    scene = load_scene(NAME, [f"picture.force={unit}", "picture.length=in"])
    shot, row = Script(scene).shot_at(1)
    sheet = lay_out(shot.scene, shot.solved, scene.picture.pixels)
    said = " | ".join(m.text for m in sheet.drawing(row).over if isinstance(m, Words))
    others = {" N", " kgf", " lbf", " BW"} - {sign}
    assert sign in said
    assert not any(re.search(rf"\d{other}(?![·\w])", said) for other in others), said
    assert " in" in said
    assert "4 in" in said
    assert " cm" not in said
    body = sheet.plan.body_weight
    joint = float(sheet.plan.joint_force[row])
    size = {"N": 1.0, "kgf": 9.80665, "lbf": 4.4482216152605, "BW": body}[unit]
    (shown,) = (v for v in [Voice(units=Units(unit)).written(force(joint, body))])
    assert shown == pytest.approx(joint / size, abs=0.51 if unit in ("N", "lbf") else 0.051)


def test_bw_is_spelt_out_once() -> None:
    scene = load_scene(NAME)
    shot, row = Script(scene).shot_at(1)
    sheet = lay_out(shot.scene, shot.solved, scene.picture.pixels)
    said = [m.text for m in sheet.drawing(row).over if isinstance(m, Words)]
    assert sum("body weight" in t for t in said if t != shot.scene.steps[1].caption) == 1


def test_idleness_is_a_number() -> None:
    """Half of the last decimal shown decides, in every language and unit alike."""
    plan, _, _ = plan_of(name="bag-sides")
    bag = next(a for a in plan.arrows if a.role == "load")
    for newtons, idle in ((0.0049, True), (0.0051, False)):
        value = force(newtons * plan.body_weight, plan.body_weight)
        arrow = dataclasses.replace(bag, values=[[value]])
        assert arrow.is_idle(0) is idle
    other, i, _ = plan_of("picture.language=qps", "picture.force=lbf", name="bag-sides")
    assert [a.is_idle(i) for a in other.arrows] == [a.is_idle(i) for a in plan.arrows]


@pytest.mark.parametrize("unit", ["BW and N", "lbf"])
@pytest.mark.parametrize("language", ["en", "qps"])
def test_a_difference_is_of_the_numbers_written(language: str, unit: str) -> None:
    changes = [f"picture.language={language}", f"picture.force={unit}"]
    scenes = [load_scene(n, changes) for n in ("level-stance", NAME)]
    shots = [Script(s).shot_at(k) for s, k in zip(scenes, (0, 1), strict=True)]
    some = [Situation(compose(x.scene, x.solved), row) for x, row in shots]
    page = compare_page(some, (1920, 1080), "front", theme_of(scenes[0]))
    told = {m.role: m.text for m in page.over if isinstance(m, Words) and m.role}
    numbers = [float(t.replace(",", ".")) for t in re.findall(r"\d+[.,]?\d*", told["callout"])]
    (change, *_) = (float(t.replace(",", ".")) for t in re.findall(r"\d+[.,]?\d*", told["difference"]))
    assert change == pytest.approx(abs(numbers[1] - numbers[0]), abs=1e-9)
    same = compare_page([some[0], some[0]], (1920, 1080), "front", theme_of(scenes[0]))
    assert next(m.text for m in same.over if isinstance(m, Words) and m.role == "difference").endswith(" A")


def test_answers_and_records_follow_the_scene(run: Any) -> None:
    plain = run("hold", "level-stance", "--set", "strength.left_abductors=40 %", "--set", "picture.words=plain").out
    assert "too hard to hold" in plain
    assert "care team" not in plain.splitlines()[0]
    one = json.loads(run("solve", "level-stance", "--json", "--set", "picture.language=qps").out)
    assert one["language"] == "qps"
    assert not any(re.search(r"[a-z]{3,} [a-z]{3,}", t) for t in one["leaves_out"])
    assert not any(re.search(r"[a-z]{3,} [a-z]{3,}", t) for t in one["situations"][0]["reasons"].values())
    usual = json.loads(run("solve", "level-stance", "--json").out)
    assert usual["situations"][0]["joint_force_N"] == one["situations"][0]["joint_force_N"]


def test_an_unknown_language_is_refused() -> None:
    with pytest.raises(SceneError, match=r"picture.language: found 'xx'; allowed: en, es, qps"):
        load_scene(NAME, ["picture.language=xx"])


def test_every_placeholder_is_filled(tmp_path: Path) -> None:
    """Everything a plan says, of every library scene, in both registers and odd units."""
    for name in ("walking-frame", "elbow-crutches", "bag-sides", "muscle-set", "cane-switch-hands"):
        plan, i, _ = plan_of(name=name)
        for voice in (USUAL, Voice("en", "plain", Units("kgf", "lb", "in"))):
            said = json.dumps(plan.shown(i, voice)) + alt_text(plan, i, voice) + voice.say(plan.person_line)
            assert not holes_of(said.replace('{"', "").replace('": {', ""))
            assert np.isfinite(plan.joint_force).all()
    assert usual_theme("light").voice == USUAL
