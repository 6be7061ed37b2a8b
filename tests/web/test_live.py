"""The live page in a real browser: its numbers are the solver's, its bones follow, and nobody else may ask."""

from __future__ import annotations

import json
import re
import socket
import subprocess
import sys
import tomllib
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.web.conftest import DESKTOP, PHONE, TABLET, Opened, faults, launched, overlaps, patient
from tests.web.server import PATIENCE, send, serving
from tests.web.test_layout import IN_SIGHT
from viz3d.scene.picture import Step
from viz3d.scene.reader import library_scenes, load_scene
from viz3d.scene.schema import Scene
from viz3d.scene.segments import changed
from viz3d.solution.script import solve_scene
from viz3d.stage.compose import compose

NAME = "cane-opposite-hand"


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A running live server, as a person starts it."""
    with serving(NAME, tmp_path_factory.mktemp("bones")) as (where, _):
        yield where


def flat(name: str = NAME) -> Scene:
    scene = load_scene(name)
    return scene.model_copy(update={"steps": [Step(name="As it stands")]})


def shown(changes: dict[str, str], name: str = NAME) -> dict[str, Any]:
    scene = changed(flat(name), changes)
    return compose(scene, solve_scene(scene), bodies=False).shown(0)


def waited(opened: Opened, act: Callable[[], Any]) -> None:
    """Do something on the page and wait until the solver's answer is shown."""
    before = opened.page.evaluate("() => viz.settled || 0")
    act()
    opened.page.wait_for_function("n => viz.settled > n", arg=before)
    opened.settled()


def reads(opened: Opened, force: str) -> None:
    """Wait until the joint force reads so."""
    opened.page.wait_for_function("s => document.getElementById('joint').textContent === s", arg=force)


def ready(open_page: Callable[..., Opened], address: str, size: tuple[int, int] = DESKTOP) -> Opened:
    opened = open_page(address, size)
    opened.page.wait_for_function("() => viz.settled > 0 && document.body.dataset.bones === 'true'")
    return opened


def check_settings(opened: Opened, count: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    for _ in range(count):
        values = {
            "posture.lean": round(2 * rng.uniform(-10, 15)) / 2, "posture.obliquity": round(2 * rng.uniform(-5, 10)) / 2,
            "hands.right.force": round(2 * rng.uniform(0, 20)) / 2, "strength.left_abductors": 5.0 * rng.integers(10, 21),
        }  # fmt: skip
        units = {"posture.lean": "deg", "posture.obliquity": "deg", "hands.right.force": "%BW"}
        for key, value in values.items():
            waited(opened, lambda key=key, value=value: opened.slide("#" + key.replace(".", "-"), float(value)))
        expected = shown({k: f"{v:g} {units.get(k, '%')}" for k, v in values.items()})
        assert opened.text("#joint") == expected["joint"]["lines"][0]
        assert opened.text("#peak") == expected["peak_pressure"]["lines"][0]
        for key in ("weight", "muscle", "joint", "cane_swing"):
            row = opened.page.query_selector(f"#numbers tr[data-key={key}]")
            if row is not None:
                assert (row.query_selector("td").text_content() or "") == expected[key]["lines"][0]
        lever = opened.text("#numbers tr[data-key=weight] td:last-child")
        assert lever == expected["weight_lever"]["lines"][0]


@pytest.mark.long
def test_numbers_at_random_settings_equal_the_solvers(open_page: Callable[..., Opened], address: str) -> None:
    opened = ready(open_page, address)
    check_settings(opened, 5, 5)
    assert not opened.errors
    host = re.match(r"http://[^/]+", address)[0]
    assert {u for u in opened.asked if not u.startswith(("data:", "blob:", host))} == set()


@pytest.mark.long
def test_numbers_at_a_hundred_settings_equal_the_solvers(open_page: Callable[..., Opened], address: str) -> None:
    opened = ready(open_page, address)
    check_settings(opened, 100, 17)
    assert not opened.errors


def test_questions_are_decided_by_the_numbers_of_now(open_page: Callable[..., Opened], address: str) -> None:
    """Shut until somebody wants to predict; then whole by keyboard, and kept up with the person's measures."""
    opened = open_page(address, PHONE, predict=True, reduced_motion="reduce")
    page = opened.page
    page.wait_for_function("() => window.viz && viz.settled > 0")
    title = load_scene(NAME).title
    assert opened.text("h1") == title
    page.focus("#asked-box > summary")
    page.keyboard.press("Enter")
    page.wait_for_selector("#asked-host .choice")
    page.wait_for_function("() => document.body.dataset.predict === 'yes'")
    assert opened.text("h1") == page.title() == "What does the left hip carry?"
    assert page.is_hidden("#edit") and page.is_hidden("#chart") and page.is_hidden(".tale")
    page.focus("#choice-0")
    page.keyboard.press("Space")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    true = solve_scene(load_scene(NAME)).joint_bw
    reads(opened, f"{true[1]:.2f} BW")
    assert page.evaluate("() => document.activeElement.textContent").startswith("Right. It falls by 47 %")
    page.get_by_role("button", name="See it before").click()
    reads(opened, f"{true[0]:.2f} BW")
    before = opened.text(".answer")
    page.click("#settings summary")  # folded on a phone
    page.select_option("#unit", "absolute")
    assert opened.text(".answer") != before
    page.select_option("#unit", "BW")
    page.get_by_role("button", name="Next question").click()
    assert page.evaluate("() => document.activeElement.tagName") == "FIELDSET"
    page.check("#choice-0", force=True)
    waited(opened, lambda: opened.slide("#person-mass", 80.0))
    page.wait_for_function("() => viz.questions.about.includes('80 kg')")
    assert page.is_checked("#choice-0")
    assert faults(opened) == []
    page.click("#asked-box > summary")
    page.wait_for_function("s => document.querySelector('h1').textContent === s", arg=title)
    assert not opened.errors


def test_arrows_and_bones_stand_as_solved(open_page: Callable[..., Opened], address: str) -> None:
    opened = ready(open_page, address)
    waited(opened, lambda: opened.slide("#hands-right-force", 12.0))
    scene = changed(flat(), {"hands.right.force": "12 %BW"})
    plan = compose(scene, solve_scene(scene), bodies=False)
    for arrow in (a for a in plan.arrows if a.key in ("weight", "muscle", "joint", "cane_swing")):
        tip = opened.page.evaluate(
            "k => { const a = viz.page.figure.forces.arrows[k]; return a.children[1].position.y + 0.036 * a.children[1].scale.y; }",
            arrow.key,
        )
        assert tip == pytest.approx(np.linalg.norm(arrow.force[0]) / plan.body_weight * 0.15, rel=1e-5)
    for link, frames in plan.frames.items():
        place = opened.page.evaluate(
            "n => viz.page.figure.links[viz.page.told.links.indexOf(n)].position.toArray()", link
        )
        assert place == pytest.approx(frames[0][:3, 3], abs=1e-6)


def test_arrows_of_a_muscle_set_stand_in_space(open_page: Callable[..., Opened], address: str) -> None:
    """Tail, tip and lever ends as the drawing library has them, against the plan, all three axes."""
    opened = ready(open_page, address)
    opened.page.click("details:has(#body-inputs) > summary")
    waited(opened, lambda: opened.page.check("[id='model-three-axis set']", force=True))
    opened.settled()
    scene = changed(flat(), {"model.muscles": "three-axis set"})
    plan = compose(scene, solve_scene(scene), bodies=False)
    assert abs(plan.arrow("joint").force[0, 0]) > 0.05 * plan.body_weight  # it leans forward or back
    for arrow in (a for a in plan.arrows if a.key in ("weight", "muscle", "joint")):
        tail, tip = opened.page.evaluate(
            "k => { const a = viz.page.figure.forces.arrows[k], c = a.children[1];"
            " const end = new THREE.Vector3(0, c.position.y + 0.036 * c.scale.y, 0);"
            " return [a.position.toArray(), end.applyQuaternion(a.quaternion).add(a.position).toArray()]; }",
            arrow.key,
        )
        reach = arrow.force[0] * 0.15 / plan.body_weight
        start = arrow.point[0] - (reach if arrow.holds == "tip" else 0.0)
        assert tail == pytest.approx(start, abs=1e-6), arrow.key
        assert tip == pytest.approx(start + reach, abs=1e-6), arrow.key
    lever = next(v for v in plan.dimensions if v.key == "muscle_lever")
    drawn = opened.page.evaluate(
        "() => Array.from(viz.page.figure.forces.lines.muscle_lever.geometry.getAttribute('position').array.slice(0, 6))"
    )
    assert drawn == pytest.approx(np.concatenate([lever.start[0], lever.end[0]]), abs=1e-6)


def test_shaping_shows_warped_bones_until_the_true_ones_are_ready(
    open_page: Callable[..., Opened], address: str
) -> None:
    opened = ready(open_page, address)
    opened.page.evaluate(
        "() => { window.seen = []; new MutationObserver(() => window.seen.push(document.body.dataset.bones))"
        ".observe(document.body, { attributes: true, attributeFilter: ['data-bones'] }); }"
    )
    opened.page.click("details:has(#body-inputs) > summary")
    angle = "113.37 deg"  # a person that this server has not drawn yet
    waited(opened, lambda: opened.page.evaluate("a => viz.set({ 'person.left_hip.neck_shaft_angle': a })", angle))
    opened.page.wait_for_function("() => document.body.dataset.bones === 'true' && window.seen.length")
    assert "reshaping" in opened.page.evaluate("() => window.seen")
    assert opened.page.is_hidden("#badge")
    assert opened.text("#joint") == shown({"person.left_hip.neck_shaft_angle": angle})["joint"]["lines"][0]


def test_everything_a_person_sets(open_page: Callable[..., Opened], address: str) -> None:
    opened = ready(open_page, address)

    def choose(place: str, changes: dict[str, str]) -> None:
        waited(opened, lambda: opened.page.check(place, force=True))
        assert opened.text("#joint") == shown(changes)["joint"]["lines"][0], place

    so_far = {"hands.left.holds": "bag", "hands.left.mass": "5 kg"}
    choose("#hand-left-bag", so_far)
    so_far |= {"hands.right.holds": "nothing"}
    choose("#hand-right-nothing", so_far)
    so_far |= {"posture.stance": "right"}
    choose("#stance-right", so_far)
    opened.page.click("details:has(#body-inputs) > summary")
    so_far |= {"model.muscles": "three-axis set"}
    choose("[id='model-three-axis set']", so_far)
    so_far |= {"posture.lifted": "0 %", "posture.obliquity": "0 deg", "posture.share": "50 %"}
    choose("#feet-both", so_far)
    waited(opened, lambda: opened.slide("#posture-share", 80))
    assert opened.text("#joint") == shown(so_far | {"posture.share": "80 %"})["joint"]["lines"][0]
    first = opened.text("#joint")
    for _ in range(6):
        waited(opened, lambda: opened.page.click("#undo"))
    assert opened.page.is_disabled("#undo")
    assert opened.text("#joint") == shown({})["joint"]["lines"][0]
    for _ in range(6):
        waited(opened, lambda: opened.page.click("#redo"))
    assert opened.text("#joint") == first
    assert not opened.errors


def test_poses_nobody_could_hold_are_no_results(open_page: Callable[..., Opened], address: str) -> None:
    """One muscle too weak: said first, in grey, no comparison. A set too weak: no force at all is shown."""
    opened = ready(open_page, address)
    waited(opened, lambda: opened.slide("#strength-left_abductors", 30))
    assert opened.text("#held").startswith("This pose cannot be held: the hip muscle is ")
    assert opened.text("#result-name").endswith("if the pose could be held")
    assert opened.text("#change") == ""
    opened.page.click("details:has(#body-inputs) > summary")
    waited(opened, lambda: opened.page.check("[id='model-three-axis set']", force=True))
    assert opened.text("#joint") == "–"
    assert opened.text("#peak") == "–"
    assert "too weak" in opened.text("#held")
    assert "nan" not in (opened.page.text_content("main") or "").lower()
    assert not opened.page.evaluate(
        "() => viz.page.figure.forces.arrows.joint.visible || viz.page.figure.forces.arrows.muscle.visible"
    )
    assert not opened.errors


def test_another_mass_is_compared_in_the_unit_shown(open_page: Callable[..., Opened], address: str) -> None:
    opened = ready(open_page, address)
    opened.page.click("details:has(#body-inputs) > summary")
    waited(opened, lambda: opened.slide("#person-mass", 128))
    assert opened.text("#change") == "Same as at the start"  # in body weights nothing changes
    opened.page.select_option("#unit", "absolute")
    assert "more than at the start (about 2 times as much)" in opened.text("#change")


def test_what_is_refused_is_taken_back(open_page: Callable[..., Opened], address: str) -> None:
    opened = ready(open_page, address)
    waited(opened, lambda: opened.slide("#posture-lean", 5.0))
    before = opened.text("#joint")
    opened.slide("#posture-lean", 25.0)
    opened.page.wait_for_function("() => document.getElementById('message').textContent.includes('cannot reach')")
    assert opened.text("#joint") == before
    assert opened.page.input_value("#posture-lean") == "5"
    waited(opened, lambda: opened.slide("#posture-lean", 6.0))
    assert opened.text("#message") == ""
    assert opened.text("#joint") == shown({"posture.lean": "6 deg"})["joint"]["lines"][0]


def test_before_and_after(open_page: Callable[..., Opened], address: str) -> None:
    opened = ready(open_page, address)
    opened.page.click("#pin")
    waited(opened, lambda: opened.slide("#hands-right-force", 15.0))
    assert opened.text("#change") == "▼ 1.22 BW (47 %) less than before"
    opened.page.select_option("#unit", "absolute")
    ends = [solve_scene(changed(flat(), c)).load.joint_magnitude[0] for c in ({}, {"hands.right.force": "15 %BW"})]
    assert opened.text("#change") == f"▼ {ends[0] - ends[1]:.0f} N (47 %) less than before"
    opened.page.wait_for_function("() => document.querySelectorAll('#chart circle').length === 2")
    assert opened.page.locator("#chart circle.now").count() == 1


def test_plain_and_trade_words(open_page: Callable[..., Opened], address: str) -> None:
    opened = ready(open_page, address)
    assert opened.text("label[for=posture-obliquity]") == "Other side of the pelvis drops"
    opened.page.select_option("#words", "trade")
    assert opened.text("label[for=posture-obliquity]") == "Pelvic obliquity"
    assert opened.text("#result-name") == "Joint reaction force"


def test_scene_files_open_and_save(open_page: Callable[..., Opened], address: str, tmp_path: Path) -> None:
    opened = ready(open_page, address)
    opened.page.set_input_files("#open", str(library_scenes()["lean-over-hip"]))
    opened.page.wait_for_function("() => document.getElementById('title').textContent.startsWith('Leaning')")
    waited(opened, lambda: opened.slide("#posture-lean", 5.0))
    with opened.page.expect_download() as wait:
        opened.page.click("#save")
    saved = tmp_path / "saved.toml"
    wait.value.save_as(saved)
    data = tomllib.loads(saved.read_text(encoding="utf-8"))
    assert data["posture"]["lean"] == "5 deg"
    assert data["steps"] == tomllib.loads(library_scenes()["lean-over-hip"].read_text(encoding="utf-8"))["steps"]
    assert load_scene(str(saved)).title == "Leaning over the painful hip"
    opened.page.get_by_role("button", name="Leaning 15 degrees", exact=True).click()
    reads(opened, shown({"posture.lean": "15 deg"}, "lean-over-hip")["joint"]["lines"][0])
    opened.page.wait_for_function("() => viz.changes()['posture.lean'] === '15.0000 deg'")
    waited(opened, lambda: opened.slide("#posture-lean", 0.0))
    opened.page.click("#play")
    opened.page.wait_for_function("() => document.getElementById('caption').textContent.startsWith('Leaning over')")
    reads(opened, shown({"posture.lean": "15 deg"}, "lean-over-hip")["joint"]["lines"][0])
    assert opened.text("#play") == "Pause"
    opened.page.click("#play")
    assert opened.text("#play") == "Play"
    waited(opened, lambda: opened.page.select_option("#library", "bag-sides"))
    assert opened.text("#title") == "A bag on either side"


def test_a_scene_that_the_server_forgot_is_sent_again(open_page: Callable[..., Opened], address: str) -> None:
    opened = ready(open_page, address)
    opened.page.set_input_files("#open", str(library_scenes()["lean-over-hip"]))
    reads(opened, shown({}, "lean-over-hip")["joint"]["lines"][0])
    text = library_scenes()["lean-over-hip"].read_text(encoding="utf-8")
    for n in range(100):
        status, _ = send(address, "open", {"text": text.replace("Leaning", f"Leaning {n}", 1), "name": "a.toml"})
        assert status == 200
    waited(opened, lambda: opened.slide("#posture-lean", 5.0))
    assert opened.text("#message") == ""
    assert opened.text("#joint") == shown({"posture.lean": "5 deg"}, "lean-over-hip")["joint"]["lines"][0]
    other = open_page(address)  # the scene that the page begins with is never forgotten
    reads(other, shown({})["joint"]["lines"][0])


def test_bad_files_are_told_in_one_line_and_nothing_is_lost(
    open_page: Callable[..., Opened], address: str, tmp_path: Path
) -> None:
    opened = ready(open_page, address)
    waited(opened, lambda: opened.slide("#posture-lean", 3.0))
    before = opened.text("#joint")
    for name, text, said in [
        ("later.toml", 'format = 9\ntitle = "x"\n', "later.toml: format: found 9; this viz3d reads format 1"),
        ("not.toml", "format = \n", "not.toml: is not TOML: line 1 cannot be read"),
        ("big.toml", "# " + "x" * 260_000, "big.toml: is too large; a scene file has at most 0.25 MB"),
        ("own.toml", library_scenes()["level-stance"].read_text(encoding="utf-8") + '\n[film]\nvoice = "/etc/passwd"\n',
         "scene: film.voice: names a file; a scene opened on this page stands alone"),
    ]:  # fmt: skip
        (tmp_path / name).write_text(text, encoding="utf-8")
        opened.page.set_input_files("#open", str(tmp_path / name))
        opened.page.wait_for_function("s => document.getElementById('message').textContent.startsWith(s)", arg=said)
        assert opened.text("#joint") == before
    evil = "<img src=x onerror='window.evil=1'></script><script>window.evil=1</script>"
    text = library_scenes()["level-stance"].read_text(encoding="utf-8")
    (tmp_path / "evil.toml").write_text(
        text.replace("Standing on the left leg", evil.replace('"', "'")), encoding="utf-8"
    )
    opened.page.set_input_files("#open", str(tmp_path / "evil.toml"))
    opened.page.wait_for_function("() => document.getElementById('title').textContent.includes('onerror')")
    assert opened.page.evaluate("() => window.evil === undefined")


def test_downloads_come_whole_and_can_be_stopped(
    open_page: Callable[..., Opened], address: str, tmp_path: Path
) -> None:
    opened = ready(open_page, address)
    with opened.page.expect_download() as wait:
        opened.page.get_by_role("button", name="Drawing (SVG)").click()
    wait.value.save_as(tmp_path / "a.svg")
    drawn = (tmp_path / "a.svg").read_text(encoding="utf-8")
    assert shown({})["joint"]["lines"][0] in drawn  # the step that is seen, not the last one
    with opened.page.expect_download() as wait:
        opened.page.get_by_role("button", name="All numbers (JSON)").click()
    wait.value.save_as(tmp_path / "a.json")
    record = json.loads((tmp_path / "a.json").read_text(encoding="utf-8"))
    assert record["situations"][0]["joint_force_bw"] == pytest.approx(solve_scene(flat()).joint_bw[0])
    opened.page.get_by_role("button", name="Film", exact=True).click()
    opened.page.wait_for_selector("#job:not([hidden])")
    opened.page.wait_for_function("() => / of /.test(document.getElementById('job-says').textContent)")
    opened.page.click("#stop")
    opened.page.wait_for_function("() => document.getElementById('message').textContent === 'Stopped.'")
    waited(opened, lambda: opened.slide("#posture-lean", 2.0))  # still alive


def test_only_our_own_page_may_ask(address: str) -> None:
    good = {"changes": {}}
    assert send(address, "solve", good)[0] == 200
    assert send(address, "solve", good, Origin="https://evil.example")[0] == 403
    assert send(address, "solve", good, Origin="")[0] == 403
    assert send(address, "solve", good, Host="evil.example")[0] == 403
    root = re.match(r"http://[^/]+/", address)[0]
    assert send(root + "guessed-token/", "solve", good)[0] == 404
    assert send(root, "", good)[0] == 404
    assert send(root, "../../etc/passwd", good)[0] == 404
    with urllib.request.urlopen(address) as response:
        headers = response.headers
    assert "default-src 'none'" in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Cache-Control"] == "no-store"
    with socket.create_connection(("127.0.0.1", int(re.search(r":(\d+)/", address)[1]))) as one:
        assert one.getpeername()[0] == "127.0.0.1"


@pytest.mark.parametrize(
    ("where", "body", "status", "said"),
    [
        ("solve", b"not json", 400, "is not JSON"),
        ("solve", b"[1, 2]", 400, "no JSON object"),
        pytest.param("solve", b"[" * 100_000, 400, "more than 24 brackets in brackets", id="too deep"),
        ("solve", b'{"x": NaN}', 400, "holds NaN"),
        pytest.param("solve", b'{"x": "' + b"y" * 400_000 + b'"}', 400, "above 300 KB", id="too large"),
        ("solve", {"changes": {"posture.lean": 5}}, 400, "no texts"),
        ("solve", {"changes": {"posture.lean": "\ud800"}}, 400, "control characters"),
        ("open", {"text": 'title = "\ud800"'}, 400, "control characters"),
        ("open", {"text": "", "name": "\udfff.toml"}, 400, "control characters"),
        ("chart", {"changes": {}, "over": "\ud800"}, 400, "control characters"),
        ("solve", {"changes": {"posture.lean": "500 deg"}}, 422, "allowed: -30 deg to 30 deg"),
        ("solve", {"changes": {"person.bones": "/etc"}}, 422, "cannot be set on this page"),
        ("solve", {"changes": {"picture.font": "x.otf"}}, 422, "cannot be set on this page"),
        ("solve", {"changes": {"__class__.x": "y"}}, 422, "cannot be set on this page"),
        ("chart", {"changes": {"hands.x.force": "5 %BW"}}, 422, "hands"),
        ("solve", {"scene": "0" * 20}, 410, "no longer open here"),
    ],
)
def test_bad_messages_get_one_line_and_the_server_stays_up(
    address: str, where: str, body: Any, status: int, said: str
) -> None:
    found, answer = send(address, where, body)
    assert (found, said in answer["error"]) == (status, True), answer
    assert "\n" not in answer["error"]
    assert send(address, "solve", {"changes": {}})[0] == 200


@pytest.mark.parametrize(
    "over", ["hands.foo.force", "hands.x.force", "hands.force", "x.y.mass", "posture.stance", "", "a" * 5000]
)
def test_a_chart_of_nothing_is_empty(address: str, over: str) -> None:
    assert send(address, "chart", {"changes": {}, "over": over}) == (200, {"over": over, "points": []})


def test_jobs_are_few_and_their_names_are_not_guessed(address: str) -> None:
    assert send(address, "job", {"changes": {}, "kind": "rm"})[1]["error"].startswith("found 'rm'; allowed: still")
    assert send(address, "job/00/stop", {})[0] == 404
    started = [send(address, "job", {"changes": {}, "kind": "film"}) for _ in range(3)]
    assert [s for s, _ in started] == [200, 200, 422]
    assert "wait for one, or stop it" in started[2][1]["error"]
    for _, answer in started[:2]:
        assert send(address, f"job/{answer['job']}/stop", {})[1] == {"state": "stopped"}


def test_a_page_that_is_told_to_wait_asks_again(open_page: Callable[..., Opened], address: str) -> None:
    opened = ready(open_page, address)
    refused: list[int] = []

    def slowed(route: Any) -> None:
        if len(refused) >= 3:
            route.continue_()
            return
        refused.append(429)
        route.fulfill(status=429, json={"error": "too many questions at once; the page asks again"})

    opened.page.route("**/solve", slowed)
    waited(opened, lambda: opened.slide("#posture-lean", 4.0))
    assert len(refused) == 3
    assert opened.text("#joint") == shown({"posture.lean": "4 deg"})["joint"]["lines"][0]
    assert opened.text("#message") == ""


@pytest.mark.long
def test_ten_tabs_and_one_closed_in_mid_answer(browser: Any, address: str) -> None:
    tabs = [patient(browser.new_page()) for _ in range(10)]
    for tab in tabs:
        tab.goto(address, wait_until="commit")
    tabs[0].close()
    for n, tab in enumerate(tabs[1:], 1):
        tab.wait_for_function("() => window.viz && viz.settled > 0")
        tab.evaluate("n => viz.set({ 'posture.lean': n + ' deg' })", n)
    for n, tab in enumerate(tabs[1:], 1):
        expected = shown({"posture.lean": f"{n} deg"})["joint"]["lines"][0]
        tab.wait_for_function("s => document.getElementById('joint').textContent === s", arg=expected)
        assert tab.text_content("#message") == ""
    for tab in tabs[1:]:
        tab.close()


def test_a_port_in_use_is_told(address: str) -> None:
    port = re.search(r":(\d+)/", address)[1]
    done = subprocess.run(
        [sys.executable, "-m", "viz3d", "live", "--no-browser", "--port", port],
        capture_output=True,
        check=False,
        text=True,
        timeout=PATIENCE,
    )
    assert done.returncode == 1
    assert done.stderr.strip() == f"viz3d: port {port} is in use on this machine; choose another with --port"


@pytest.mark.parametrize("size", [DESKTOP, pytest.param(TABLET, marks=pytest.mark.long), PHONE])
def test_labels_fit_figure_and_result_stay_and_screen_readers_find_all(
    open_page: Callable[..., Opened], address: str, size: tuple[int, int]
) -> None:
    opened = ready(open_page, address, size)
    waited(opened, lambda: opened.slide("#hands-right-force", 10.0))
    for view in ("front", "turned", "side", "back", "joint"):
        opened.page.click(f"[data-view={view}]")
        opened.settled()
        assert not overlaps(opened), view
    opened.page.click("details:has(#body-inputs) > summary")
    assert opened.page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth")
    assert faults(opened) == []
    assert opened.page.evaluate(IN_SIGHT, size != DESKTOP) == []


def test_it_turns_by_touch(browser: Any, address: str) -> None:
    """A finger turns the figure and taps the buttons, as on a tablet."""
    context = browser.new_context(viewport={"width": TABLET[0], "height": TABLET[1]}, has_touch=True)
    page = patient(context.new_page())
    page.goto(address)
    page.wait_for_function("() => viz.settled > 0 && document.body.dataset.ready === 'yes'")
    page.tap("[data-view=turned]")
    turned = page.evaluate("() => viz.page.figure.orbit.round")
    assert turned != 0
    box = page.locator("#figure").bounding_box()
    touch = context.new_cdp_session(page)
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    for kind, by in (("touchStart", 0), ("touchMove", 30), ("touchMove", 60), ("touchEnd", None)):
        points = [] if by is None else [{"x": x + by, "y": y}]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    assert page.evaluate("() => viz.page.figure.orbit.round") != turned
    before = page.evaluate("() => viz.page.figure.orbit.reach")
    for kind, apart in (("touchStart", 40), ("touchMove", 80), ("touchEnd", None)):
        points = [] if apart is None else [{"x": x - apart, "y": y, "id": 1}, {"x": x + apart, "y": y, "id": 2}]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    assert page.evaluate("() => viz.page.figure.orbit.reach") < before
    context.close()


def test_without_webgl_the_live_numbers_still_work(driver: Any, address: str) -> None:
    one = launched(driver, "--disable-gpu", "--disable-webgl", "--disable-3d-apis")
    page = patient(one.new_page())
    page.goto(address)
    page.wait_for_function("() => document.body.dataset.ready === 'yes' && viz.settled > 0")
    assert "cannot draw in three dimensions" in (page.text_content("#note") or "")
    page.evaluate("() => viz.set({ 'hands.right.force': '15 %BW' })")
    page.wait_for_function("() => document.getElementById('joint').textContent === '1.35 BW'")
    assert page.locator("#chart path").count() > 0
    one.close()
