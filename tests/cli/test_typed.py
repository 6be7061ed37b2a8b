"""What people type: understood where it means one thing, else answered with the right form, in our own words."""

from __future__ import annotations

import json
import re
import shlex
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
        ("person.stature=5'13\"", "after a whole number of ft, allowed: 0 to under 12 in"),
        ("person.stature=5.5 ft 5 in", "after a whole number of ft, allowed: 0 to under 12 in"),
        ("hands.right.mass=3 kg", "'mass' does not belong to a hand that holds cane: one hand holds one thing"),
        ('hands.right.holds=["cane", "bag"]', "one hand holds one thing"),
        ("hands.right=cane", 'write [hands.right], and below it holds = "cane"'),
        ("steps=[]", "found []; a scene has at least one step"),
        ("picture.language=English", "allowed: en, es, qps"),
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
            *folders, last = key.replace(".1.", ".").split(".")  # the first of a list of tables
            for folder in folders:
                node = node.setdefault(folder, {})
                node = node[0] if isinstance(node, list) else node
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


def test_help_and_words_of_options_however_typed(run: Run) -> None:
    for words in (["-h"], ["solve", "-h"], ["Solve", "--HELP"]):
        told = run(*words)
        assert (told.code, "Usage" in told.out) == (0, True)
    typed, same = (
        run("target", CANE, "--joint", joint, "--by", by) for joint, by in (("1,5 BW", "Lean"), ("1.5 BW", "lean"))
    )
    assert typed.out == same.out
    assert typed.code == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["solve"], "SCENE is missing: a scene file, or a name that 'viz3d scenes' lists"),
        (["sovle", CANE], "'sovle' is no command; 'viz3d -h' shows what there is; did you mean solve?"),
        (["still", CANE, "--stepp", "2"], "'--stepp' is no option of 'viz3d still'"),
        (["still", CANE, "--step", "two"], "--step: found 'two'; allowed: a whole number; 'viz3d still -h'"),
        (["still", CANE, "--step"], "--step: its value is missing; 'viz3d still -h'"),
        (["film", CANE, "--workers", "99"], "allowed: a whole number from 0 to 64"),
        (
            ["bones", CANE, "--side", "lft"],
            "allowed: left, right, both; 'viz3d bones -h' shows how it is used; did you",
        ),
        (["still", "my", "scene"], "'scene' is more than 'viz3d still' takes; names with spaces stand in quotes"),
        ([""], "'' is no command"),
    ],
)
def test_wrong_usage_is_one_line_of_ours(run: Run, words: list[str], said: str) -> None:
    told = run(*words)
    assert (told.code, told.out, told.err.count("\n")) == (2, "", 1)
    assert said in told.err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["compare", "level-stance:3", CANE], "level-stance:3: found 3; this scene has 1 step"),
        (["compare", f"{CANE}:1", "x:3"], "x: no such scene file"),
        (["raise", CANE, "--angle", "20"], "--angle: found '20' without a unit; write it like \"20 deg\""),
        (["match", CANE, "--this", "lean=10"], "--this: found '10' without a unit"),
        (["solve", CANE, "--brief", "--csv"], "choose one of --csv and --brief"),
    ],
)
def test_errors_name_what_was_typed(run: Run, words: list[str], said: str) -> None:
    told = run(*words)
    assert (told.code, told.out, told.err.count("\n")) == (1, "", 1)
    assert said in told.err


def test_hints_can_be_typed_as_they_stand(run: Run) -> None:
    hint = run("new", "my scene").out.rstrip("\n").rpartition("next: ")[2]
    assert hint == "viz3d check 'my scene.toml'"
    assert run(*shlex.split(hint)[1:]).out.startswith("my scene.toml: good")


def test_the_brief_table_is_rows_units_and_a_caution(run: Run) -> None:
    head, who, empty, columns, one, two, caution = run("solve", CANE, "--brief").out.splitlines()
    assert (head, empty) == (load_scene(CANE).title, "")
    assert "BW = 628 N" in who
    assert columns.split()[-3:] == ["relief", "peak", "status"]
    relief = json.loads(run("solve", CANE, "--json").out)["situations"]
    for row, situation in zip((one, two), relief, strict=True):
        assert f"{situation['relief']:.2f} N/N" in row
    assert "not for diagnosis" in caution


def test_a_step_named_is_in_the_files_name(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    from viz3d.output import still

    drawn: list[str] = []
    monkeypatch.setattr(still, "draw_still", lambda scene, path, *_: drawn.append(path.name))
    for words in ([], ["--step", "1"], ["--step", "2"], ["--set", "picture.step=2"], ["--step", "2", "--out", "a.svg"]):
        assert run("still", CANE, *words).code == 0
    assert drawn == [f"{CANE}.png", f"{CANE}-step-1.png", f"{CANE}-step-2.png", f"{CANE}-step-2.png", "a.svg"]
