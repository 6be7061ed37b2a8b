"""Exercises as they are handed out: every number of the package and of the plain text read back, in each language.

The package is unzipped and read by another library than the one that wrote it. Every number with its unit must be one
that the plane's own arithmetic gives for the exercise's scene, written here with the language's decimal sign.
"""

from __future__ import annotations

import math
import re
import zipfile
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from lxml import etree

from tests.teach.planar import ABOVE, planar, vector
from viz3d.output.assessment import write_package
from viz3d.scene.schema import Scene
from viz3d.solution.records import scene_record
from viz3d.solution.script import Script
from viz3d.teach.exercises.draw import KINDS, draw_exercises
from viz3d.teach.exercises.exercise import Exercise, letter
from viz3d.teach.exercises.text import as_text
from viz3d.words.voice import Voice

NUMBER = re.compile(r"(?<![\w.,])\d+(?:[.,]\d+)*(?: (?:N·m|N|cm|mm|m|kg|%)(?![^\W²])|°)?")
SEED = 7
BAR, TO_THE_MM = 500.0, 20.0
"""The scale bar of drawn free bodies, and newtons of a millimetre."""
DECIMALS = {" N": 0, " N·m": 1, " cm": 1, " mm": 0, " m": 2, " kg": 0, " %": 0, "°": 1}


def written(value: float, unit: str, language: str, decimals: int | None = None) -> str:
    """A number as people write it in a language; halves go up."""
    places = DECIMALS[unit] if decimals is None else decimals
    text = str(Decimal(float(value)).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP))
    return (text.replace(".", ",") if language == "es" else text) + unit


class Item(NamedTuple):
    """One exercise of a package, as its reader sees it."""

    title: str
    told: list[str]
    givens: list[str]
    prompt: str
    choices: list[str]
    right: int
    feedback: list[list[str]]
    drawn: list[str]
    """Words in its picture."""

    @property
    def numbers(self) -> list[str]:
        """All numbers but the exercise's own."""
        lines = [*self.told, *self.givens, self.prompt, *self.choices, *(t for f in self.feedback for t in f)]
        return [n for line in [*lines, *self.drawn] for n in NUMBER.findall(line)]


def read_package(path: Path) -> list[Item]:
    with zipfile.ZipFile(path) as packed:
        names = sorted(n for n in packed.namelist() if re.fullmatch(r"items/.*\.xml", n))
        return [read_item(packed, name) for name in names]


def read_item(packed: zipfile.ZipFile, name: str) -> Item:
    root = etree.fromstring(packed.read(name))

    def found(path: str, of: Any = root) -> list[Any]:
        steps = re.sub(r"(?<=/)(?=[a-z])", "{*}", path)
        return list(of.iterfind(steps))

    def lines(path: str, of: Any = root) -> list[str]:
        return [text for text in ("".join(one.itertext()).strip() for one in found(path, of)) if text]

    marks = [c.get("identifier") for c in found(".//qti-simple-choice")]
    [correct] = lines(".//qti-correct-response/qti-value")
    pictures = [etree.fromstring(packed.read(f"items/{i.get('src')}")) for i in found(".//img")]
    told = {f.get("identifier"): lines(".//p", f) for f in found(".//qti-modal-feedback")}
    return Item(
        root.get("title"), lines(".//qti-item-body/p"), lines(".//li"), lines(".//qti-prompt")[0],
        lines(".//qti-simple-choice"), marks.index(correct), [told[mark] for mark in marks],
        [text for picture in pictures for text in lines(".//text", picture)],
    )  # fmt: skip


# ---- what the solver says ---------------------------------------------------------------------------


def solved(scene: Scene) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = scene_record("exercise", scene, Script(scene).shots())["situations"]
    return found


def loads(record: dict[str, Any]) -> list[tuple[float, float]]:
    """Size and lever arm of each force from outside on the body above the hip, its own weight first."""
    hip, out = vector(record["hip_centre_m"]), []
    for one in record["loads"]:
        if one["on"] == ABOVE and one["force"] not in ("muscle", "joint"):
            away, force = vector(one["point_m"]) - hip, vector(one["force_N"])
            size = math.hypot(*force)
            out.append((size, abs(away[2] * force[1] - away[1] * force[2]) / size if size > 1e-9 else 0.0))
    return out


class Numbers:
    """Everything that an exercise's texts may say, in SI, by unit."""

    def __init__(self, exercise: Exercise) -> None:
        records = solved(exercise.scene)
        self.exercise, record = exercise, records[exercise.step]
        self.plane, self.first = planar(record), planar(records[0])
        self.weight = exercise.scene.person.mass * 9.80665
        (self.above, self.lever), *others = loads(record)
        self.other, self.other_lever = others[0] if others else (0.0, 0.0)
        self.far = loads(records[0])[0][1]
        self.lean = record["lean_deg"]
        hip = vector(record["hip_centre_m"])
        pull = next(x for x in record["loads"] if x["force"] == "muscle" and x["on"] != ABOVE)
        self.along = math.hypot(*(vector(pull["point_m"]) - hip)[1:])
        self.side = self.plane["muscle"] * math.sin(self.plane["slope"])
        self.up = math.sqrt(self.plane["joint"] ** 2 - self.side**2)
        self.bare, self.turned = self._without(), self._turned()

    def _without(self) -> float:
        """Joint force with nothing in the hands, N."""
        hands = self.exercise.scene.hands
        nothing = type(hands.left).model_validate({"holds": "nothing"})
        return self._joint({"left": nothing, "right": nothing})

    def _turned(self) -> float:
        """Joint force with what the hands hold changed over, N."""
        hands = self.exercise.scene.hands
        return self._joint({"left": hands.right, "right": hands.left})

    def _joint(self, hands: dict[str, Any]) -> float:
        if self.exercise.kind != "bag":
            return self.first["joint"]
        scene = self.exercise.scene
        return planar(solved(scene.model_copy(update={"hands": scene.hands.model_copy(update=hands)}))[0])["joint"]

    def of_givens(self) -> dict[str, tuple[float, str]]:
        """Key of a given -> its value and unit."""
        plane, mm = self.plane, 0.001 * TO_THE_MM
        return {
            "body_weight": (self.weight, " N"), "weight_above": (self.above, " N"), "weight_lever": (self.lever, " cm"),
            "lever_upright": (self.far, " cm"), "muscle_lever": (plane["lever"], " cm"), "along_bone": (self.along, " cm"),
            "push": (self.other, " N"), "pull": (plane["muscle"], " N"), "slope": (math.degrees(plane["slope"]), "°"),
            "cane_lever": (self.other_lever, " cm"), "bag_lever": (self.other_lever, " cm"), "joint_before": (self.bare, " N"),
            "wanted_pull": (plane["muscle"], " N"), "drawn_muscle": (plane["muscle"] / mm / 1000, " mm"),
            "drawn_joint": (plane["joint"] / mm / 1000, " mm"), "drawn_bar": (BAR / mm / 1000, " mm"),
        }  # fmt: skip

    def mistaken(self) -> list[float]:
        """Forces that typical mistakes lead to, N."""
        plane, above, w, push = self.plane, self.above, self.weight, self.other
        arm, pull, joint = plane["lever"], plane["muscle"], plane["joint"]
        of_kind: dict[str, list[float]] = {
            "abductor": [w * self.lever / arm, above * self.lever / self.along, above, above * arm / self.lever],
            "joint": [above + push + pull, abs(above - push), math.hypot(self.up + w - above, self.side),
                      math.hypot(self.up + 2 * push, self.side), pull],
            "hand": [self.bare - push],
            "bag": [self.bare + push, self.turned, self.bare, above + push, self.bare + 2 * push],
            "reading": [k * size for size in (pull, joint) for k in (w / BAR, 10 / TO_THE_MM, 2, 0.5)],
            "error": [w],
        }  # fmt: skip
        return of_kind.get(self.exercise.kind, [])

    def pool(self, language: str) -> set[str]:
        """Every number that may be read, as written."""
        plane, person = self.plane, self.exercise.scene.person
        forces = [
            self.weight,
            self.above,
            self.other,
            self.bare,
            plane["muscle"],
            plane["joint"],
            self.up,
            self.side,
            BAR,
        ]
        moments = [self.above * self.lever, self.other * self.other_lever, plane["moment"]]
        out = {written(v, " N", language) for v in [*forces, *self.mistaken()]}
        out |= {written(v, " N·m", language) for v in moments}
        for value, unit in self.of_givens().values():
            out.add(written(100 * value if unit == " cm" else value, unit, language))
        out |= {written(person.mass, " kg", language), written(person.stature, " m", language)}
        if self.exercise.kind == "lean":
            out |= {written(k * self.lean, "°", language, 0) for k in (0.5, 1, 2)}
            out.add(written(1000 * (self.far - self.lever) / self.lean, " mm", language, 1))
        if self.exercise.kind == "bag":
            out.add(written(self.other / 9.80665, " kg", language))
        if self.exercise.kind in ("joint", "hand", "error"):
            out.add(written(100 * self.other / self.weight, " %", language))
        return out


@cache
def drawn(seed: int = SEED) -> list[Exercise]:
    return draw_exercises(seed)


@cache
def numbers(seed: int = SEED) -> list[Numbers]:
    return [Numbers(one) for one in drawn(seed)]


def packed(folder: Path, language: str, seed: int = SEED) -> list[Item]:
    return read_package(write_package(drawn(seed), "Una serie", folder / f"{seed}.zip", Voice(language)))


@pytest.fixture(scope="module", params=["en", "es"])
def language(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module")
def items(language: str, tmp_path_factory: pytest.TempPathFactory) -> list[Item]:
    return packed(tmp_path_factory.mktemp("package"), language)


def check_numbers(known: Numbers, item: Item, language: str) -> int:
    """Every number of an item is one of the solver's, each given the one it is called; how many there are."""
    pool, expected = known.pool(language), known.of_givens()
    assert [n for n in item.numbers if n not in pool] == [], known.exercise.kind
    for fact, line in zip(known.exercise.givens, item.givens, strict=True):
        value, unit = expected[fact.key]
        assert line.endswith(f": {written(100 * value if unit == ' cm' else value, unit, language)}")
    return len(item.numbers)


def test_every_number_of_the_package_is_the_solver_s(language: str, items: list[Item]) -> None:
    count = sum(check_numbers(known, item, language) for known, item in zip(numbers(), items, strict=True))
    print(f"{count} numbers read back")
    assert count > 150


@pytest.mark.long
def test_every_number_of_100_packages_is_the_solver_s(language: str, tmp_path: Path) -> None:
    for seed in range(100):
        for known, item in zip(numbers(seed), packed(tmp_path, language, seed), strict=True):
            assert check_numbers(known, item, language) > 5
            assert len(set(item.choices)) == len(item.choices) == 4


def test_right_choices_are_the_solver_s(language: str, items: list[Item]) -> None:
    for known, item in zip(numbers(), items, strict=True):
        kind, plane = known.exercise.kind, known.plane
        asked = {"abductor": "muscle", "lean": "lean", "error": ""}.get(kind, "joint")
        if kind == "reading":
            asked = "muscle" if known.exercise.givens[1].key == "drawn_muscle" else "joint"
        text = item.choices[item.right]
        if asked == "lean":
            assert NUMBER.findall(text) == [written(known.lean, "°", language, 0)]
        elif asked:
            assert NUMBER.findall(text) == [written(plane[asked], " N", language)]


def test_the_plain_text_says_what_the_package_says(language: str, items: list[Item]) -> None:
    """Line by line: so its numbers are the package's, and each answer's letter is the package's right choice."""
    blocks = as_text(drawn(), Voice(language)).rstrip("\n").split("\n\n")
    *asked, last, answers = blocks
    assert len(asked) == len(items) == len(KINDS)
    for block, item in zip(asked, items, strict=True):
        choices = [f"{letter(k)}) {text}" for k, text in enumerate(item.choices)]
        assert block.split("\n") == [item.title, item.told[0], *(f"- {g}" for g in item.givens), item.prompt, *choices]
    assert {item.told[-1] for item in items} == {last.split("\n")[0]}
    lines = iter(answers.split("\n")[1:])
    for number, item in enumerate(items, 1):
        assert next(lines) == f"{number}. {letter(item.right)}: {item.choices[item.right]}"
        told = [f"   {text}" for text in item.feedback[item.right][1:]]
        told += [f"   {letter(k)}) {text[0]}" for k, text in enumerate(item.feedback) if k != item.right]
        assert [next(lines) for _ in told] == told
    assert list(lines) == []


def test_choices_differ_as_they_are_read(items: list[Item]) -> None:
    for item in items:
        assert len(set(item.choices)) == len(item.choices) == 4
