"""What people type: understood where it means one thing, else answered with the right form, in our own words."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from tests.conftest import Ran
from viz3d.errors import SceneError
from viz3d.scene.choices import MEANT as WORDS
from viz3d.scene.choices import choices_of
from viz3d.scene.explain import MEANT, OWN, nearest_key, valid_keys
from viz3d.scene.person import Person
from viz3d.scene.picture import Picture, Step
from viz3d.scene.posture import Hand, PostureTable
from viz3d.scene.reader import check_scene, library_scenes, load_data, load_scene, parse_text
from viz3d.scene.schema import Model, Strength
from viz3d.scene.segments import segments_of

Run = Callable[..., Ran]
CANE = "cane-opposite-hand"
PATH = Path("mine.toml")


@pytest.fixture(scope="module")
def cane_text() -> str:
    return library_scenes()[CANE].read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("typed", "same"),
    [
        (["person.stature=1,66 m"], []),
        (["person.sex=Male", "posture.stance= LEFT"], ["person.sex=male"]),
        (["hands.right.holds=Elbow-Crutch"], ["hands.right.holds=elbow crutch"]),
        (["model.muscles=Three axis set"], ["model.muscles=three-axis set"]),
        (["hands.right.force=15%"], ["hands.right.force=15 %BW"]),
        (['picture.layers=["Bones", "JOINT"]', "picture.size=1080 x 1920"], ['picture.layers=["bones", "joint"]', "picture.size=1080x1920"]),
        (["person.mass_changes.Left Thigh=2 kg"], ["person.mass_changes.left_thigh=2 kg"]),
        (["picture.language=EN"], []),
    ],
)  # fmt: skip
def test_what_has_one_meaning_is_understood(typed: list[str], same: list[str]) -> None:
    assert load_scene(CANE, typed) == load_scene(CANE, same)


def test_a_step_understands_the_same_words(cane_text: str) -> None:
    change = 'set = {{ "hands.right.holds" = "{}", "hands.right.mass" = "{}" }}'
    typed, same = (
        segments_of(check_scene(parse_text(re.sub(r"set = .*", change.format(*it), cane_text).encode(), PATH), PATH))
        for it in (("Bag", "3,5 kg"), ("bag", "3.5 kg"))
    )
    assert [s.scene.hands for s in typed] == [s.scene.hands for s in same]
    assert typed[-1].scene.hands.right.mass == 3.5


def test_pounds_and_feet_however_typed_choose_the_pictures_units() -> None:
    picture = load_scene(CANE, ["person.mass=10 stone 1", "person.stature=5'5\""]).picture
    assert (picture.mass, picture.length) == ("lb", "in")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("person.height=1.7 m", "person.height: unknown key; did you mean person.stature?"),
        ("height=1.7 m", "did you mean person.stature?"),
        ("person.weight=60 kg", "did you mean person.mass?"),
        ("hands.right.weight=3 kg", "did you mean hands.right.mass?"),
        ("person.lean=3 deg", "did you mean posture.lean?"),
        ("steps.2.duration=3 s", "steps.2.duration: does not lead to a value"),
        ("posture.stance=both", "found 'both'; allowed: 'left' or 'right'"),
        ("person.sex=woman", "did you mean 'female'?"),
        ("hands.right.holds=walking stick", "did you mean 'cane'?"),
        ("person.stature=1,660 m", "'1,660' has two meanings: write 1.660 or 1660"),
        ("hands.right.mass=3 kg", "'mass' does not belong to a hand that holds cane: one hand holds one thing"),
        ('hands.right.holds=["cane", "bag"]', "one hand holds one thing"),
        ("hands.right=cane", 'write [hands.right], and below it holds = "cane"'),
        ("steps=[]", "found []; a scene has at least one step"),
        ("picture.language=English", "allowed: en, qps"),
    ],
)
def test_the_right_form_is_answered(change: str, said: str) -> None:
    with pytest.raises(SceneError) as told:
        load_data(CANE, [change])
    assert said in str(told.value)


def test_a_hand_is_given_once(run: Run, tmp_path: Path, cane_text: str) -> None:
    for text in (
        f'{cane_text}\n[hands.right]\nholds = "bag"\nmass = "3 kg"\n',
        cane_text.replace('holds = "cane"', 'holds = "cane"\nholds = "bag"'),
        cane_text.replace("[hands.right]", "[[hands.right]]"),
    ):
        (tmp_path / "mine.toml").write_text(text, encoding="utf-8")
        told = run("check", "mine.toml")
        assert (told.code, told.out) == (1, "")
        assert told.err.endswith("one hand holds one thing\n")
    twice = run("solve", CANE, "--set", "hands.right.holds=bag", "--set", "hands.right.holds=cane")
    assert twice.err == f"viz3d: {CANE}.toml: hands.right.holds: is set twice; one hand holds one thing\n"


def test_other_words_lead_to_keys_and_words_that_exist() -> None:
    lasts = {k.rpartition(".")[2] for k in valid_keys()}
    assert set(MEANT.values()) <= lasts
    tables = (Person, Hand, PostureTable, Picture, Step, Model, Strength)
    words = {w for t in tables for found, _ in choices_of(t).values() for w in found}
    assert set(WORDS.values()) <= words | {"radiograph"}
    assert nearest_key("steps.3.duration") == "steps.3.hold"


WRONG: tuple[object, ...] = ("x", "", 7, 2.5, -1, True, [], ["x"], ["x"] * 300, {}, {"x": 1}, "x" * 3000, float("nan"))


def test_no_sentence_of_a_library_comes_through(cane_text: str) -> None:
    """Every key of a scene, given each of many wrong kinds of value."""
    seen = 0
    for key in valid_keys():
        for wrong in WRONG:
            data = parse_text(cane_text.encode(), PATH)
            node: Any = data
            *folders, last = [int(p) - 1 if p.isdigit() else p for p in key.split(".")]
            for folder in folders:
                node = node[folder] if isinstance(folder, int) else node.setdefault(folder, {})
            node[last] = wrong
            try:
                check_scene(data, PATH)
            except SceneError as error:
                if not isinstance(error.__cause__, ValidationError):
                    continue
                seen += 1
                theirs = [e["msg"] for e in error.__cause__.errors() if e["type"] not in OWN]
                assert not [t for t in theirs if t in str(error)], error
                assert "this cannot stand here" not in str(error), error
    assert seen > 500
