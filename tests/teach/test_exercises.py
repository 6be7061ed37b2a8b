"""Exercises: each answer worked out anew in the plane, choices told apart, the right one marked by nothing."""

from __future__ import annotations

import math
import re
import zipfile
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from tests.conftest import Ran
from tests.teach.planar import planar
from viz3d.errors import InputError
from viz3d.output.assessment import ITEM, PACKAGE, package_files
from viz3d.scene.reader import load_scene
from viz3d.solution.records import scene_record
from viz3d.solution.script import Script
from viz3d.teach.exercises.draw import KINDS, draw, draw_exercises
from viz3d.teach.exercises.exercise import Exercise, NoExercise
from viz3d.teach.exercises.pictures import statement
from viz3d.teach.exercises.text import as_text
from viz3d.teach.facts import taught
from viz3d.words.message import newtons
from viz3d.words.voice import USUAL, Voice

FEW, MANY = range(1, 4), range(200)
Q = f"{{{ITEM}}}"


@cache
def drawn(kind: str, seed: int) -> Exercise:
    return draw(kind, seed)


def own_answer(exercise: Exercise) -> dict[str, float]:
    record = scene_record("exercise", exercise.scene, Script(exercise.scene).shots())["situations"][exercise.step]
    return planar(record) | {"lean": math.radians(record["lean_deg"])}


def right_text(exercise: Exercise) -> str:
    return USUAL.say(exercise.choices[exercise.right].said)


def given(exercise: Exercise, key: str) -> float:
    return next(f.value.value for f in exercise.givens if f.key == key)


def check_answer(exercise: Exercise) -> None:
    """The right choice says what the plane says; so does the number kept for programs."""
    own, text, kind = own_answer(exercise), right_text(exercise), exercise.kind
    if kind == "lean":
        assert own["lean"] == pytest.approx(exercise.value)
        assert own["muscle"] == pytest.approx(given(exercise, "wanted_pull"), rel=1e-9)
        assert text.startswith(f"{math.degrees(own['lean']):.0f}° over")
    elif kind == "error":
        check_flaw(exercise)
    else:
        asked = "muscle" if kind == "abductor" else "joint"
        if kind == "reading":
            asked = "muscle" if "abductors" in USUAL.say(exercise.question) else "joint"
        assert own[asked] == pytest.approx(exercise.value, rel=1e-9)
        assert USUAL.number(newtons(own[asked])) in text
    if kind == "hand":
        other = "left" if exercise.scene.posture.stance == "right" else "right"
        assert text.startswith(f"in the {other} hand")


def check_flaw(exercise: Exercise) -> None:
    """Exactly one statement is not what the solved forces say, and that is the one to choose."""
    at = taught(Script(exercise.scene), exercise.step)
    true = {USUAL.say(statement(at, key)) for key in ("weight", "muscle", "joint", "cane")}
    told = [USUAL.say(c.said) for c in exercise.choices]
    assert [n for n, text in enumerate(told) if text not in true] == [exercise.right]
    own = own_answer(exercise)
    assert any(USUAL.number(newtons(own["joint"])) in text for text in true)
    assert any(USUAL.number(newtons(own["muscle"])) in text for text in true)


def check_choices(exercise: Exercise) -> None:
    told = [USUAL.say(c.said) for c in exercise.choices]
    assert len(told) == len(set(told)) == 4
    assert [c.mistake is None for c in exercise.choices].count(True) == 1
    assert all("{" not in USUAL.say(c.mistake) for c in exercise.choices if c.mistake is not None)


@pytest.mark.parametrize("kind", KINDS)
def test_each_answer_is_that_of_the_plane(kind: str) -> None:
    for seed in FEW:
        check_answer(drawn(kind, seed))
        check_choices(drawn(kind, seed))
    assert len({as_text([drawn(kind, s)], USUAL) for s in FEW}) == len(FEW)


@pytest.mark.long
@pytest.mark.parametrize("kind", KINDS)
def test_each_answer_is_that_of_the_plane_over_200_seeds(kind: str) -> None:
    for seed in MANY:
        check_answer(drawn(kind, seed))
        check_choices(drawn(kind, seed))
    told = {as_text([drawn(kind, s)], USUAL) for s in MANY}
    assert len(told) >= 0.99 * len(MANY)  # people are whole kilograms and centimetres: two of 200 may be alike


@pytest.mark.long
@pytest.mark.parametrize("voice", [USUAL, Voice("es")], ids=["en", "es"])
@pytest.mark.parametrize("kind", KINDS)
def test_neither_place_nor_length_marks_the_right_choice(kind: str, voice: Voice) -> None:
    """Over 200 seeds: each place about as often; the right text no oftener alone the longest or the shortest."""
    places = Counter(drawn(kind, seed).right for seed in MANY)
    expected, apart = len(MANY) / 4, 4 * math.sqrt(len(MANY) * 0.25 * 0.75)
    assert all(abs(places[k] - expected) < apart for k in range(4)), places
    for end in (max, min):
        marked = sum(alone(drawn(kind, seed), end, voice) for seed in MANY)
        assert marked < expected + apart, (end, marked)


def test_within_a_set_each_place_is_right_as_often() -> None:
    for seed in FEW:
        assert sorted(one.right for one in draw_exercises(seed, 8)) == [0, 0, 1, 1, 2, 2, 3, 3]
    assert len({tuple(one.right for one in draw_exercises(seed, 4)) for seed in FEW}) > 1


def alone(exercise: Exercise, end: Callable[[list[int]], int], voice: Voice) -> bool:
    sizes = [len(voice.say(c.said)) for c in exercise.choices]
    assert len({voice.say(c.said) for c in exercise.choices}) == len(sizes)
    return sizes.count(end(sizes)) == 1 and sizes[exercise.right] == end(sizes)


@pytest.mark.parametrize("seed", FEW)
def test_what_is_given_leads_to_the_right_choice(seed: int) -> None:
    """A student's sum with the printed numbers lies nearer to the right choice than to any other."""

    def printed(exercise: Exercise, key: str) -> float:
        fact = next(f for f in exercise.givens if f.key == key)
        return float(re.findall(r"[\d.]+", fact.said(USUAL))[0])

    def nearest(exercise: Exercise, value: float) -> int:
        told = [float(re.findall(r"[\d.]+", USUAL.say(c.said))[0]) for c in exercise.choices]
        return int(np.argmin([abs(t - value) for t in told]))

    one = drawn("abductor", seed)
    force = printed(one, "weight_above") * printed(one, "weight_lever") / printed(one, "muscle_lever")
    assert nearest(one, force) == one.right
    two = drawn("joint", seed)
    slope = math.radians(printed(two, "slope"))
    up = printed(two, "weight_above") - printed(two, "push") + printed(two, "pull") * math.cos(slope)
    assert nearest(two, math.hypot(up, printed(two, "pull") * math.sin(slope))) == two.right
    three = drawn("reading", seed)
    drawn_mm = next(printed(three, f.key) for f in three.givens if f.key in ("drawn_muscle", "drawn_joint"))
    assert nearest(three, 500 * drawn_mm / printed(three, "drawn_bar")) == three.right


def test_a_named_person_keeps_to_herself_or_is_refused() -> None:
    house = load_scene("level-stance")
    for exercise in draw_exercises(2, 7, person=house):
        assert exercise.scene.person == house.person
        assert "Woman, 64 kg, 1.66 m" in as_text([exercise], USUAL)
    weak = load_scene("level-stance", ["strength.left_abductors=10 %"])
    with pytest.raises(
        NoExercise, match="exercise abductor: no solution for this person: the abductors could not hold"
    ):
        draw("abductor", 1, person=weak)
    with pytest.raises(InputError, match=r"found 'legs'; allowed: abductor, joint"):
        draw_exercises(1, 1, ["legs"])


def test_more_exercises_leave_the_first_ones_alone() -> None:
    assert (
        as_text(draw_exercises(5, 2), USUAL, answers=False).split("\n\n")[:2]
        == as_text(draw_exercises(5, 3), USUAL, answers=False).split("\n\n")[:2]
    )


# ---- QTI --------------------------------------------------------------------------------------------


def read_item(text: str) -> dict[str, Any]:
    """An item as a learning system reads it: prompt, choices by identifier, the correct one, feedback."""
    root = ET.fromstring(text)
    correct = root.findtext(f"{Q}qti-response-declaration/{Q}qti-correct-response/{Q}qti-value")
    asked = root.find(f"{Q}qti-item-body/{Q}qti-choice-interaction")
    assert asked is not None
    return {
        "prompt": asked.findtext(f"{Q}qti-prompt"),
        "choices": {c.get("identifier"): c.text for c in asked.findall(f"{Q}qti-simple-choice")},
        "correct": correct,
        "told": ["".join(p.itertext()) for p in root.findall(f"{Q}qti-item-body//{Q}p")],
        "given": ["".join(p.itertext()) for p in root.findall(f"{Q}qti-item-body//{Q}li")],
        "feedback": {
            f.get("identifier"): [p.text for p in f.iter(f"{Q}p")] for f in root.findall(f"{Q}qti-modal-feedback")
        },
        "pictures": [(i.get("src"), i.get("alt")) for i in root.iter(f"{Q}img")],
    }


@pytest.fixture(scope="module")
def package(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    return package_files(draw_exercises(1, 7), 'Tricky <b>"title"</b> & =1+1', USUAL)


def test_items_read_back_are_the_exercises(package: dict[str, str]) -> None:
    for number, exercise in enumerate(draw_exercises(1, 7), 1):
        item = read_item(package[f"items/exercise-{number:02d}.xml"])
        assert item["prompt"] == USUAL.say(exercise.question)
        assert list(item["choices"].values()) == [USUAL.say(c.said) for c in exercise.choices]
        assert item["choices"][item["correct"]] == right_text(exercise)
        assert item["given"] == [f"{USUAL.say(f.name)}: {f.said(USUAL)}" for f in exercise.givens]
        assert item["feedback"][item["correct"]] == ["Right.", *USUAL.lines(list(exercise.working))]
        assert len(item["feedback"]) == 4
        for name, alt in item["pictures"]:
            assert f"items/{name}" in package
            assert alt.startswith("Free body")


def test_the_manifest_names_every_file_and_titles_stay_data(package: dict[str, str]) -> None:
    root = ET.fromstring(package["imsmanifest.xml"])
    files = {f.get("href") for f in root.iter(f"{{{PACKAGE}}}file")}
    assert files == set(package) - {"imsmanifest.xml"}
    names = [r.get("identifier") for r in root.iter(f"{{{PACKAGE}}}resource")]
    assert len(names) == len(set(names)) == len(files)
    test = ET.fromstring(package["test.xml"])
    assert test.get("title") == 'Tricky <b>"title"</b> & =1+1'
    refs = [r.get("href") for r in test.iter(f"{Q}qti-assessment-item-ref")]
    assert refs == [f"items/exercise-{n:02d}.xml" for n in range(1, 8)]


def test_drawn_arrows_are_as_long_as_the_exercise_says(package: dict[str, str]) -> None:
    """The picture of the exercise on reading: arrow and bar measured in its file, millimetres."""
    [number] = [n for n, kind in enumerate(KINDS, 1) if kind == "reading"]
    exercise, root = draw_exercises(1, 7)[number - 1], ET.fromstring(package[f"items/exercise-{number:02d}.svg"])
    svg = "{http://www.w3.org/2000/svg}"
    heads = [
        np.array([[float(v) for v in p.split(",")] for p in (g.get("points") or "").split()])
        for g in root.iter(f"{svg}polygon")
    ]
    shafts = [[float(line.get(k) or 0) for k in ("x1", "y1", "x2", "y2")] for line in root.iter(f"{svg}line")]
    lengths = [float(np.hypot(*(head[0] - shaft[:2]))) for head, shaft in zip(heads, shafts, strict=False)]
    key = next(f.key for f in exercise.givens if f.key in ("drawn_muscle", "drawn_joint"))
    assert min(abs(1000 * given(exercise, key) - one) for one in lengths) < 0.05
    bar = shafts[len(heads)]
    assert bar[2] - bar[0] == pytest.approx(1000 * given(exercise, "drawn_bar"), abs=0.02)
    assert root.get("width", "").endswith("mm")


def test_the_command_writes_text_and_package(run: Callable[..., Ran], tmp_path: Path) -> None:
    told = run("exercises", "--seed", "4", "--count", "2", "--about", "abductor", "--about", "joint")
    assert told.out == as_text(draw_exercises(4, 2, ["abductor", "joint"]), USUAL)
    assert run("exercises", "--count", "1", "--out", "a.zip").code == 0
    assert run("exercises", "--count", "1", "--out", "b.zip").code == 0
    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "b.zip").read_bytes()
    with zipfile.ZipFile(tmp_path / "a.zip") as packed:
        assert packed.namelist()[0] == "imsmanifest.xml"
        assert packed.testzip() is None
    assert run("exercises", "--count", "1", "--no-answers", "--out", "a.txt").code == 0
    assert "Answers" not in (tmp_path / "a.txt").read_text(encoding="utf-8")
    wrong = run("exercises", "--count", "0")
    assert (wrong.code, wrong.err) == (1, "viz3d: --count: found 0; allowed: 1 to 100\n")
    assert "this command writes .txt, .zip" in run("exercises", "--out", "a.doc").err


def test_every_text_has_a_longer_language() -> None:
    said = as_text(draw_exercises(1, 7), Voice("qps"))
    assert "exercise" not in said.lower()
