"""Editing on the live page: poses stay what they were, captions are flagged by their claims, nothing is lost."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from tests.web.conftest import Opened, faults, patient
from tests.web.server import send, serving
from tests.web.test_live import waited
from viz3d.scene.reader import check_scene, library_scenes, parse_scene
from viz3d.solution.script import Script
from viz3d.web.answers import Opened as OpenedScene
from viz3d.web.answers import at_first, flattened
from viz3d.web.editing import between, edited
from viz3d.web.judged import draft_of, judged, unsupported, without_captions
from viz3d.web.made import made_of
from viz3d.web.poses import begin_of, moved, poses_of, same, start_of, tables_of

SWITCH = "cane-switch-hands"


def tables(name: str) -> dict[str, Any]:
    return parse_scene(library_scenes()[name])


def forces(data: dict[str, Any]) -> list[float]:
    """Joint force of every step, in body weights."""
    found = judged(check_scene(data, Path("scene")))["steps"]
    return [one["joint"] / one["weight"] for one in found]


@pytest.mark.parametrize(
    ("about", "order"),
    [
        ({"do": "duplicate", "at": 1}, [0, 1, 1, 2, 3, 4]),
        ({"do": "delete", "at": 0}, [1, 2, 3, 4]),
        ({"do": "delete", "at": 3}, [0, 1, 2, 4]),
        ({"do": "move", "at": 4, "to": 0}, [4, 0, 1, 2, 3]),
        ({"do": "move", "at": 0, "to": 3}, [1, 2, 3, 0, 4]),
    ],
)
def test_steps_show_what_they_showed_wherever_they_stand(about: dict[str, Any], order: list[int]) -> None:
    data = tables(SWITCH)
    before, after = forces(data), edited(data, {}, about)
    assert forces(after) == pytest.approx([before[k] for k in order], rel=1e-9)
    names = [step["name"] for step in data["steps"]]
    assert [step["name"] for step in after["steps"]] == [names[k] for k in order]
    assert data == tables(SWITCH)


@pytest.mark.parametrize("name", sorted(library_scenes()))
def test_the_poses_of_every_scene_are_its_steps(name: str) -> None:
    """Two moves that cancel leave every step with the inputs it had."""
    data = tables(name)
    last = len(data.get("steps", [])) - 1
    if last < 1:
        assert last <= 0
        return
    there = edited(data, {}, {"do": "move", "at": last - 1, "to": last})
    back = edited(there, {}, {"do": "move", "at": last - 1, "to": last})
    for one, other in zip(poses_of(data), poses_of(back), strict=True):
        assert [k for k in {*one, *other} if not same(k, one.get(k), other.get(k))] == []
    claims = [step.get("claims") for step in data["steps"]]
    assert [step.get("claims") for step in back["steps"]] == claims


def test_claims_follow_their_steps_and_go_with_them() -> None:
    data = tables(SWITCH)
    assert data["steps"][4]["claims"] == ["joint falls from step 4 by 28 to 38 %"]
    moved_up = edited(data, {}, {"do": "delete", "at": 0})
    assert moved_up["steps"][3]["claims"] == ["joint falls from step 3 by 28 to 38 %"]
    assert moved_up["steps"][0]["claims"] == []
    assert unsupported(check_scene(moved_up, Path("scene"))) == []


def test_what_is_seen_becomes_a_step_and_the_person_is_the_whole_films() -> None:
    data = tables("level-stance")
    seen = {
        "person.mass": "80 kg",
        "posture.lean": "4.0000 deg",
        "hands.right.holds": "cane",
        "hands.right.force": "10 %BW",
    }
    after = edited(data, seen, {"do": "add", "at": 0, "value": "Leaning"})
    assert after["person"]["mass"] == "80 kg"
    assert after["steps"][1] == {
        "name": "Leaning", "change": "2.5 s", "hold": "4 s",
        "set": {"posture.lean": "4 deg", "hands.right.holds": "cane", "hands.right.force": "10 %BW"},
    }  # fmt: skip
    both = edited(after, {"posture.lean": "4 deg"}, {"do": "replace", "at": 0})
    assert both["posture"]["lean"] == "4 deg"  # the film begins with what its first step shows
    assert "set" not in both["steps"][0]
    assert forces(both)[1] == pytest.approx(forces(after)[1])


@pytest.mark.parametrize("name", sorted(library_scenes()))
def test_the_page_begins_where_the_first_step_is_and_counts_changes_from_there(name: str) -> None:
    """What is typed at the first step is the scene that the page begins with; every step is found again from it."""
    data = tables(name)
    flat = at_first(check_scene(data, library_scenes()[name]))
    standing = check_scene(
        tables_of({k: v for k, v in data.items() if k not in ("steps", "questions")}, begin_of(data)), Path("scene")
    )
    for part in ("person", "strength", "model", "posture", "hands", "load"):
        assert getattr(flat, part) == getattr(standing, part), part
    if len(poses_of(data)) < 2:
        return
    draft = draft_of(data, check_scene(data, library_scenes()[name]))
    for k, (step, pose) in enumerate(zip(draft["steps"], poses_of(data), strict=True)):
        again = moved(begin_of(data), step["pose"])
        assert [key for key in {*again, *pose} if not same(key, again.get(key), pose.get(key))] == [], k


def test_what_the_first_step_sets_is_in_an_added_step_and_in_a_film_from_before() -> None:
    data = tables("level-stance") | {"steps": [{"name": "One", "set": {"posture.lean": "5 deg"}}, {"name": "Two", "set": {"posture.lean": "0 deg"}}]}  # fmt: skip
    assert draft_of(data, check_scene(data, Path("scene")))["steps"][1]["pose"] == {"posture.lean": "0 deg"}
    after = edited(data, {"posture.obliquity": "3 deg"}, {"do": "add", "at": 1, "value": "Three"})
    assert poses_of(after)[2] == moved(begin_of(data), {"posture.obliquity": "3 deg"})
    made = made_of(opened_as(data), {"kind": "film", "changes": {"posture.obliquity": "3 deg"}, "before": {"scene": "x"}}, lambda _: opened_as(data))  # fmt: skip
    assert poses_of(made.data)[0]["posture.lean"] == "5 deg"
    assert made.data["steps"][1]["set"] == {"posture.obliquity": "3 deg"}


def opened_as(data: dict[str, Any]) -> OpenedScene:
    scene = check_scene(data, Path("scene"))
    return OpenedScene(data, scene, flattened(at_first(scene)))


def test_a_picture_shows_the_step_or_the_pose_that_is_seen() -> None:
    data = tables(SWITCH)
    known = opened_as(data)
    assert made_of(known, {"kind": "still", "seen": {"step": 1}}, lambda _: known).data["picture"]["step"] == 2
    pose = {"changes": {"posture.lean": "4 deg"}}
    made = made_of(known, {"kind": "vector", "changes": pose["changes"], "seen": pose}, lambda _: known).data
    assert [step["name"] for step in made["steps"]] == ["Now"]
    assert check_scene(made, Path("scene")).posture.lean == pytest.approx(0.0698, abs=1e-4)
    assert "step" not in made_of(known, {"kind": "film", "seen": {"step": 1}}, lambda _: known).data.get("picture", {})


def test_names_and_title_are_left_out_with_captions_that_do_not_hold() -> None:
    wrong = edited(tables(SWITCH), {}, {"do": "step", "at": 4, "key": "claims", "value": ["joint rises from step 4"]})
    known = opened_as(wrong)
    made = made_of(known, {"kind": "film"}, lambda _: known)
    assert made.silent == [wrong["steps"][4]["name"]]
    assert [s["name"] for s in made.data["steps"]] == [*[s["name"] for s in wrong["steps"][:4]], "Step 5"]
    assert made.data["title"] == "What does the left hip carry?"
    assert "aim" not in made.data
    assert made_of(opened_as(tables(SWITCH)), {"kind": "film"}, lambda _: known).data["title"] == wrong["title"]


def test_a_film_from_before_to_now_changes_on_the_way() -> None:
    data = tables("level-stance")
    start = start_of(data)
    made = between(data, start, moved(start, {"posture.lean": "8 deg"}), ("Before", "Now"))
    scene = check_scene(made, Path("scene"))
    assert [step.name for step in scene.steps] == ["Before", "Now"]
    script = Script(scene)
    solved = script.solved_at(script.segments[0].scene, [0.0, 5.25, 10.0])  # held, half way, held
    assert solved.posture.lean == pytest.approx([0.0, 0.0698, 0.1396], abs=1e-3)


def test_captions_that_the_numbers_do_not_bear_out_are_left_out() -> None:
    data = tables(SWITCH)
    assert unsupported(check_scene(data, Path("scene"))) == []
    wrong = edited(data, {}, {"do": "step", "at": 4, "key": "claims", "value": ["joint rises from step 4"]})
    scene = check_scene(wrong, Path("scene"))
    assert unsupported(scene) == [4]
    kept = check_scene(without_captions(wrong, [4], {4: "Step 5"}), Path("scene"))
    assert [step.caption for step in kept.steps] == [*[s.caption for s in scene.steps[:4]], ""]


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        ({"do": "burn"}, "allowed: title, aim"),
        ({"do": ["title"]}, "allowed: title, aim"),
        ({"do": "delete", "at": 0}, "the only step cannot be deleted"),
        ({"do": "delete", "at": 7}, "at: found 7; allowed: 0 to 0"),
        ({"do": "step", "at": 0, "key": "set", "value": "x"}, "key: found 'set'"),
        ({"do": "step", "at": 0, "key": "hold", "value": "soon"}, "steps.1.hold"),
        ({"do": "step", "at": 0, "key": "claims", "value": ["joint wins"]}, "steps.1.claims"),
        ({"do": "picture", "key": "font", "value": "x.otf"}, "key: found 'font'"),
        ({"do": "title", "value": 5}, "value: found 5"),
        ({"do": "title", "value": ""}, "title: found ''"),
    ],
)
def test_edits_that_make_no_scene_get_one_line(address: str, edit: dict[str, Any], said: str) -> None:
    status, answer = send(address, "edit", {"edit": edit})
    assert (status, said in answer["error"]) == (422, True), answer
    assert "\n" not in answer["error"]


def test_tables_without_values_are_no_scene(address: str) -> None:
    data = tables("level-stance") | {"aim": None}
    assert send(address, "open", {"data": data})[0] == 422
    assert send(address, "edit", {"edit": "x"})[0] == 400


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with serving("level-stance", tmp_path_factory.mktemp("bones")) as (where, _):
        yield where


def typed(opened: Opened, place: str, text: str) -> None:
    """Type into a field and leave it."""
    opened.page.fill(place, text)
    opened.page.eval_on_selector(place, "e => e.blur()")
    opened.page.evaluate("() => viz.desk.queue")


def test_a_film_is_made_edited_and_found_again(browser: Browser, address: str, tmp_path: Path) -> None:
    context = browser.new_context()
    page = patient(context.new_page())
    opened = Opened(page)
    page.on("pageerror", lambda e: opened.errors.append(str(e)))
    page.goto(address)
    opened.settled()
    page.wait_for_function("() => window.viz && viz.settled > 0")
    typed(opened, "#edit-title", "Your cane")
    assert opened.text("#title") == "Your cane"
    page.check("[id='hand-right-cane']", force=True)
    page.wait_for_selector("#hands-right-force")
    waited(opened, lambda: opened.slide("#hands-right-force", 15.0))
    waited(opened, lambda: page.click("#add-step"))
    typed(
        opened, "#step-caption-1", "With the cane the load rises, said in more words than anybody could read so soon."
    )
    assert page.is_visible(".reading.flagged button")
    waited(opened, lambda: page.click(".reading.flagged button"))
    page.wait_for_function("() => document.getElementById('step-hold-1').value === '5.5'")
    page.click(".step-edit summary")
    page.select_option("#step-verb-1", "rises")
    page.click("#step-claim-1")
    page.wait_for_selector(".claims .flagged")
    assert opened.text("#caption").startswith("Caption held back")
    assert faults(opened) == []
    page.reload()  # nothing is lost
    page.wait_for_function("() => document.getElementById('caption').textContent.startsWith('Caption held back')")
    assert page.input_value("#edit-title") == "Your cane"
    assert opened.text("#joint") == "1.35 BW"
    with page.expect_download() as wait:
        page.click("#save")
    wait.value.save_as(tmp_path / "saved.toml")
    saved = tomllib.loads((tmp_path / "saved.toml").read_text(encoding="utf-8"))
    assert saved["steps"][1]["set"] == {"hands.right.holds": "cane", "hands.right.force": "15 %BW"}
    waited(opened, lambda: page.click("#step-delete-1"))
    assert page.locator("#edit-steps > li").count() == 1
    waited(opened, lambda: page.click("#undo"))
    assert page.locator("#step-pick-1").count() == 1
    second = patient(context.new_page())  # another tab leaves this one's scene alone
    second.goto(address)
    second.wait_for_selector("#found:not([hidden])")
    second.click("#found-go")
    second.wait_for_function("() => document.getElementById('edit-title').value === 'Your cane'")
    second.wait_for_function("() => /^What does/.test(document.getElementById('title').textContent)")  # not borne out
    assert second.inner_text("#edit-held").startswith("The numbers do not bear out what is said of these steps: 2.")
    assert second.evaluate("() => viz.desk.drafts.id") != page.evaluate("() => viz.desk.drafts.id")
    assert not opened.errors
    context.close()
