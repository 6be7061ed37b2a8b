"""Predict, then look: answers are solved, kept back until predicted, explained in numbers, and kept for the next visit."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.web.conftest import PHONE, Opened, faults
from viz3d.errors import SceneError
from viz3d.scene.reader import check_scene, library_scenes, load_scene
from viz3d.scene.schema import Scene
from viz3d.solution.decisions import decisions
from viz3d.solution.script import Script, solve_scene
from viz3d.web.answers import at_first, flattened, with_changes
from viz3d.web.asked import asked_of
from viz3d.web.questions import questions_of

NAME = "cane-opposite-hand"
HANDS = ["none", "opposite", "same"]
STILL = {"reduced_motion": "reduce"}
HALF = {"says": "About half of it", "claim": "joint falls from step 1 by 40 to 55 %"}
ASKED = {
    "prompt": "How much of the load goes?", "why": "The push acts far from the hip.",
    "choices": [{"says": "As much as the push", "claim": "joint falls from step 1 by 10 to 20 %"}, HALF, "None"],
}  # fmt: skip


HEAVY = {"sex": "female", "mass": "90 kg", "stature": "1.66 m", "painful_hip": "left"}


def asking_data(*questions: dict[str, Any], name: str = NAME) -> dict[str, Any]:
    return tomllib.loads(library_scenes()[name].read_text(encoding="utf-8")) | {"questions": list(questions)}


def asking(*questions: dict[str, Any], name: str = NAME) -> Scene:
    return check_scene(asking_data(*questions, name=name), library_scenes()[name])


def told(scene: Scene) -> list[dict[str, Any]]:
    return questions_of(scene, "x", 0, HANDS)


SOME = ("cane-opposite-hand", "weight-shift", "neck-angles", "bag-sides")


@pytest.mark.parametrize(
    "name", [pytest.param(n, marks=() if n in SOME else pytest.mark.long) for n in library_scenes()]
)
def test_every_scene_asks_and_the_solver_decides(name: str) -> None:
    """What is right follows from the numbers shown, and a change of one percent is a change."""
    scene = load_scene(name)
    asked = told(scene)
    assert asked
    assert len({one["id"] for one in asked}) == len(asked)
    for one in asked:
        before, after = one["why"]["rows"][-1]["values"]
        change = after / before - 1.0
        if "ask" in one:
            assert one["right"] == (1 if abs(change) < 0.01 else 0 if change < 0 else 2)
        turning = one["why"]["turning"]
        for k in (0, 1):  # the sums of the table come out: moments, and lever arm times pull
            turns = sum(row["values"][k] for row in one["why"]["rows"][:turning])
            balance, lever, pull = (row["values"][k] for row in one["why"]["rows"][turning : turning + 3])
            assert abs(turns) == pytest.approx(balance, abs=0.2)
            if scene.model.muscles == "equivalent":
                assert lever * pull == pytest.approx(balance, rel=1e-6, abs=1e-6)


def test_steps_raise_questions_of_their_own() -> None:
    true = solve_scene(load_scene("bag-sides")).load.joint_magnitude
    asked = [one for one in told(load_scene("bag-sides")) if one["ask"] == "page.question.step"]
    assert [one["values"]["after"] for one in asked] == [s.name for s in load_scene("bag-sides").steps[1:]]
    for k, one in enumerate(asked):
        assert one["why"]["rows"][-1]["values"] == pytest.approx(true[k : k + 2])
    reasons = {one["why"]["reason"]["key"] for one in told(load_scene("neck-angles"))}
    assert "page.question.because.lever" in reasons


def test_a_rise_of_five_percent_is_a_rise() -> None:
    one = next(q for q in told(load_scene("level-stance")) if q["ask"] == "page.question.same_left")
    before, after = one["why"]["rows"][-1]["values"]
    assert 1.03 < after / before < 1.08
    assert one["right"] == 2


def test_a_claim_decides_an_authors_question() -> None:
    scene = asking(
        ASKED, {"prompt": "And the weight?", "choices": [{"says": "10", "claim": "lever is 9 to 11 cm"}, "20"]}
    )
    assert [one.right for one in decisions(Script(scene))] == [1, 0]
    first, second = told(scene)[:2]
    assert (first["text"], first["right"], first["own"]) == (
        "How much of the load goes?",
        1,
        "The push acts far from the hip.",
    )
    assert first["choices"] == ["As much as the push", "About half of it", "None"]
    assert second["found"]["values"] == pytest.approx([10.0], abs=1.0)
    assert all(one["values"].get("after") != scene.steps[1].name for one in told(scene)[2:])  # not asked twice


@pytest.mark.parametrize(
    ("change", "line"),
    [
        ({"choices": [HALF, {"says": "x", "claim": "joint falls from step 1"}]}, r"questions\.1\.choices: 2 of its claims hold"),
        ({"choices": [{"says": "x", "claim": "joint rises from step 1"}, "y"]}, r"0 of its claims hold \('joint rises from step 1': -47\.\d %\)"),
        ({"choices": ["x", "y"]}, r"questions\.1: no choice has a claim; write one like"),
        ({"choices": [HALF, HALF]}, r"questions\.1: two choices say the same"),
        ({"choices": [HALF]}, r"questions\.1\.choices: found"),
        ({"step": 3}, r"questions\.1\.step: found 3; allowed: 1 to 2"),
        ({"step": 1}, r"questions\.1\.choices\.1\.claim: found step 1 .*allowed: another of the 2 steps"),
        ({"promt": "x"}, r"questions\.1\.promt: unknown key; did you mean questions\.1\.prompt\?"),
    ],
)  # fmt: skip
def test_a_question_without_one_right_answer_is_refused(change: dict[str, Any], line: str) -> None:
    with pytest.raises(SceneError, match=line):
        told(asking({**ASKED, **change}))


@pytest.mark.parametrize("name", ["cane-opposite-hand", "level-stance"])
def test_a_live_page_sets_what_its_questions_ask_about(name: str) -> None:
    """Solved with what the page sets for them, both situations of a question have the loads that its why tells."""
    data = tomllib.loads(library_scenes()[name].read_text(encoding="utf-8"))
    heavier = data | {"person": data["person"] | {"mass": "80 kg"}}
    scene = check_scene(heavier, Path("scene"))
    flat = flattened(at_first(scene))
    poses = [q for q in asked_of(scene)["questions"] if "cut" in q["look"][0]]
    assert poses
    for one in poses:
        joints = one["why"]["rows"][-1]["values"]
        for look, joint in zip(one["look"], joints, strict=True):
            solved = solve_scene(with_changes(flat, look["cut"] | look["set"]))
            assert float(solved.load.joint_magnitude[0]) == pytest.approx(joint, rel=1e-6)


def test_answers_are_kept_while_the_right_one_stays() -> None:
    """A heavier person has other numbers but the same questions; an author's that nothing answers now is left out."""
    data = asking_data(ASKED)
    found = [asked_of(check_scene(one, Path("scene"))) for one in (data, data | {"person": HEAVY})]
    assert [q["id"] for q in found[0]["questions"]] == [q["id"] for q in found[1]["questions"]]
    assert found[0]["questions"][0]["why"] != found[1]["questions"][0]["why"]
    unheld = data | {"steps": [data["steps"][0], data["steps"][1] | {"set": {"hands.right.force": "1 %BW"}}]}
    assert asked_of(check_scene(unheld, Path("scene")))["left_out"] == 1


def predict(opened: Opened, choice: int) -> None:
    opened.page.locator(".choice input").nth(choice).check()
    opened.page.locator(".question .primary").click()


def test_predict_then_look(written: Callable[..., Path], open_page: Callable[..., Opened]) -> None:
    """Nothing gives the answer away before; afterwards the figure shows it and the numbers explain it."""
    opened = open_page(written(NAME).as_uri(), PHONE, predict=True, **STILL)
    scene = load_scene(NAME)
    seen = opened.page.inner_text("body")
    assert scene.title not in seen
    assert scene.aim not in seen
    assert opened.page.title() == opened.text("h1") == "What does the left hip carry?"
    for place in ("#chart", "#timeline", "#caption"):
        assert not opened.page.is_visible(place)
    opened.page.locator(".question .primary").click()
    assert opened.text(".answer") == "Choose an answer first."
    true = solve_scene(scene).joint_bw
    predict(opened, 0)
    assert opened.text(".answer") == f"Right. It falls by 47 %: from {true[0]:.2f} BW to {true[1]:.2f} BW."
    assert opened.text("#joint") == f"{true[1]:.2f} BW"
    assert "Push of the cane" in opened.text(".why")
    opened.page.get_by_role("button", name="See it before").click()
    assert opened.text("#joint") == f"{true[0]:.2f} BW"
    opened.page.click("#settings summary")  # folded on a phone
    opened.page.select_option("#unit", "absolute")
    assert re.search(r"from \d{4} N to \d{3} N", opened.text(".answer"))
    count = int(re.search(r"of (\d)", opened.text(".place"))[1])
    for _ in range(count - 1):
        opened.page.get_by_role("button", name="Next question").click()
        assert opened.page.is_hidden("#chart")
        predict(opened, 0)
    assert (opened.text("h1"), opened.text("#aim")) == (scene.title, scene.aim)
    assert opened.page.is_visible("#chart")
    assert re.search(rf"All predicted, \d of {count} right", opened.text(".foot"))
    opened.page.reload()
    opened.settled()
    assert opened.text("h1") == scene.title  # progress is kept
    opened.page.get_by_role("button", name="Start again").click()
    assert opened.text("h1") != scene.title
    assert not opened.errors


@pytest.mark.long
def test_everything_can_be_shown_at_once(written: Callable[..., Path], open_page: Callable[..., Opened]) -> None:
    opened = open_page(written(NAME).as_uri(), PHONE, predict=True)
    opened.page.get_by_role("button", name="Show everything now").click()
    assert opened.text("h1") == load_scene(NAME).title
    assert opened.page.is_visible("#timeline")


CONTRAST = """() => Array.from(document.querySelectorAll(".choice, .answer, .why p, .why td")).map(e => {
  const parts = (text) => text.match(/[\\d.]+/g).slice(0, 3).map(v => v / 255).map(v => v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
  const light = ([r, g, b]) => 0.2126 * r + 0.7152 * g + 0.0722 * b;
  let ground = e;
  while (getComputedStyle(ground).backgroundColor === "rgba(0, 0, 0, 0)") ground = ground.parentElement;
  const [a, b] = [getComputedStyle(e).color, getComputedStyle(ground).backgroundColor].map(parts).map(light);
  return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
})"""


@pytest.mark.parametrize("scheme", [pytest.param("light", marks=pytest.mark.long), "dark"])
def test_answers_are_readable_and_whole_by_keyboard_and_reader(
    written: Callable[..., Path], open_page: Callable[..., Opened], scheme: str
) -> None:
    opened = open_page(written(NAME).as_uri(), predict=True, color_scheme=scheme, **STILL)
    opened.page.focus("#choice-0")
    opened.page.keyboard.press("ArrowDown")
    opened.page.keyboard.press("ArrowDown")
    assert opened.page.is_checked("#choice-2")
    opened.page.keyboard.press("Tab")
    opened.page.keyboard.press("Enter")
    assert opened.page.evaluate("() => document.activeElement.textContent").startswith("Not quite. It falls by 47 %")
    assert opened.page.get_attribute(".answer", "role") == "status"
    marked = opened.page.locator(".choice").all_inner_texts()
    assert "right answer" in marked[0]
    assert "your prediction" in marked[2]
    assert min(opened.page.evaluate(CONTRAST)) > 7.0
    assert opened.page.get_by_role("group", name="Cane touching").count() == 1  # a named group of radio buttons
    assert faults(opened) == []
    for _ in range(3):
        opened.page.keyboard.press("Tab")
    opened.page.keyboard.press("Enter")
    assert opened.text(".place").startswith("Question 2")
    assert not opened.errors
