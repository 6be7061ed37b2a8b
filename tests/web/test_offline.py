"""The offline page in a real browser: its numbers against the solver, and that it needs nothing but itself."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Playwright

from tests.web.conftest import DESKTOP, PHONE, TABLET, Opened, faults, launched, overlaps, patient
from viz3d.errors import InputError, SceneError
from viz3d.questions.vary import case_of
from viz3d.scene.reader import check_scene, library_scenes, load_scene
from viz3d.solution.inputs import body_of
from viz3d.solution.solved import Solved
from viz3d.stage.compose import compose
from viz3d.web.offline import LARGEST, write_page
from viz3d.web.table import LARGEST_ERROR, cane_key, make_table, weights, with_cane

NAME = "cane-opposite-hand"


def solved_at(name: str, hand: str, degrees: float, percent: float) -> Solved:
    """The solver's own answer for a pose of the page."""
    scene = with_cane(load_scene(name), hand)
    values = {"posture.lean": np.radians([degrees])}
    key = cane_key(scene, hand)
    if key is not None:
        values[key] = np.array([percent / 100 * float(body_of(scene).weight[0])])
    return case_of(scene, 0).solved(values)


def set_pose(opened: Opened, hand: str, degrees: float, percent: float) -> None:
    opened.page.check(f"#hand-{hand}", force=True)
    opened.slide("#lean", degrees)
    if hand != "none":
        opened.slide("#force", percent)


def read_newtons(opened: Opened) -> float:
    return float(opened.text("#joint").removesuffix(" N").replace("\u2212", "-"))


def check_numbers(opened: Opened, name: str, count: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    bound = float(re.search(r"at most ([\d.]+) %", opened.text("#error"))[1]) / 100
    assert bound < LARGEST_ERROR
    opened.page.select_option("#unit", "absolute")
    for _ in range(count):
        hand = str(rng.choice(["none", "opposite", "same"]))
        degrees, percent = round(2 * rng.uniform(-10, 17)) / 2, round(2 * rng.uniform(0, 20)) / 2
        set_pose(opened, hand, degrees, percent)
        solved = solved_at(name, hand, degrees, percent)
        true = float(solved.load.joint_magnitude[0])
        assert abs(read_newtons(opened) - true) <= bound * true + 0.51, (hand, degrees, percent)
        muscle, row = float(solved.load.muscle_force[0]), opened.page.query_selector("#numbers tr[data-key=muscle] td")
        if row is None:  # forces too small for an arrow have no row
            assert muscle < 0.006 * float(solved.body.weight[0]), (hand, degrees, percent)
        else:
            assert float((row.text_content() or "").split()[0]) == pytest.approx(muscle, abs=bound * true + 0.51)
        peak = float(opened.text("#peak").split()[0])
        assert peak == pytest.approx(float(solved.peak_pressure[0]) * 1e-6, abs=0.0051 + bound * peak)


@pytest.mark.parametrize("name", [NAME, pytest.param("weight-shift", marks=pytest.mark.long)])
def test_numbers_at_random_settings_are_the_solvers(
    written: Callable[..., Path], open_page: Callable[..., Opened], name: str
) -> None:
    opened = open_page(written(name).as_uri())
    check_numbers(opened, name, 10, 3)
    assert not opened.errors


@pytest.mark.long
@pytest.mark.parametrize("name", [NAME, "weight-shift", "bag-sides", "walking-frame"])
def test_numbers_at_a_hundred_settings(
    written: Callable[..., Path], open_page: Callable[..., Opened], name: str
) -> None:
    opened = open_page(written(name).as_uri())
    check_numbers(opened, name, 100, 11)
    assert not opened.errors


def test_arrows_and_bones_stand_as_solved(written: Callable[..., Path], open_page: Callable[..., Opened]) -> None:
    """In the drawing library's own scene: arrow lengths within 0.5 %, links within half a millimetre."""
    opened = open_page(written(NAME).as_uri())
    set_pose(opened, "opposite", 7.5, 11.5)
    opened.settled()
    solved = solved_at(NAME, "opposite", 7.5, 11.5)
    plan = compose(with_cane(load_scene(NAME), "opposite"), solved)
    for arrow in (a for a in plan.arrows if a.key in ("weight", "muscle", "joint", "cane_swing")):
        tip, tail, way = opened.page.evaluate(
            "k => { const a = viz.page.figure.forces.arrows[k], s = a.children[1].scale.y;"
            " const d = new THREE.Vector3(0, 1, 0).applyQuaternion(a.quaternion);"
            " return [a.children[1].position.y + 0.036 * s, a.position.toArray(), d.toArray()]; }",
            arrow.key,
        )
        reach = arrow.force[0] / plan.body_weight * 0.15
        assert tip == pytest.approx(np.linalg.norm(reach), rel=5e-3), arrow.key
        assert np.dot(way, reach) / np.linalg.norm(reach) > 0.99995
        acts = np.array(tail) + (np.array(way) * tip if arrow.holds == "tip" else 0.0)
        assert acts == pytest.approx(arrow.point[0], abs=1e-3), arrow.key
    for link, frames in plan.frames.items():
        place = opened.page.evaluate(
            "n => viz.page.figure.links[viz.page.told.links.indexOf(n)].position.toArray()", link
        )
        assert place == pytest.approx(frames[0][:3, 3], abs=5e-4), link


def test_the_timeline_ends_where_the_scene_does(written: Callable[..., Path], open_page: Callable[..., Opened]) -> None:
    from viz3d.solution.script import solve_scene

    opened = open_page(written("weight-shift").as_uri())
    steps = opened.page.query_selector_all("#steps button")
    scene = load_scene("weight-shift")
    assert [b.text_content() for b in steps] == [s.name for s in scene.steps]
    true = solve_scene(scene).joint_bw
    for k, button in enumerate(steps):
        button.click()
        assert opened.text("#caption") == scene.steps[k].caption
        assert float(opened.text("#joint").split()[0]) == pytest.approx(true[k], abs=0.0051)


def test_what_the_scene_holds_is_seen_on_its_timeline(
    written: Callable[..., Path], open_page: Callable[..., Opened]
) -> None:
    def seen() -> set[str]:
        shapes = "() => viz.page.figure.shapes.filter(o => o.visible).map(o => o.userData.group)"
        return {"frame", "cane"} & set(opened.page.evaluate(shapes))

    opened = open_page(written("walking-frame").as_uri())
    assert seen() == {"frame"}
    opened.page.locator("#steps button").first.click()
    assert seen() == {"frame"}
    opened.page.check("#hand-opposite", force=True)
    assert seen() == {"cane"}
    opened.page.check("#hand-none", force=True)
    assert seen() == set()


@pytest.mark.parametrize("size", [*(pytest.param(s, marks=pytest.mark.long) for s in (DESKTOP, TABLET)), PHONE])
def test_labels_do_not_meet_in_any_view(
    written: Callable[..., Path], open_page: Callable[..., Opened], size: tuple[int, int]
) -> None:
    opened = open_page(written(NAME).as_uri(), size)
    assert opened.page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth")
    for view in ("front", "turned", "side", "back", "joint"):
        for hand, degrees, percent in (("opposite", 0.0, 10.0), ("same", 12.0, 20.0)):
            opened.page.click(f"[data-view={view}]")
            set_pose(opened, hand, degrees, percent)
            opened.settled()
            assert not overlaps(opened), (view, hand)
            shown = opened.page.locator(".tag:visible").count()
            assert shown >= (1 if view == "joint" else 3)
        said = "The thigh bone is drawn out of the socket" if view == "joint" else "Standing on the left leg"
        assert opened.text("#note") == said
        said = opened.text("#scale")
        assert ("1 BW" in said) == (view != "joint")
        if size != PHONE:
            assert ("1 BW = 628 N" in said) == (view != "joint")
        assert ("forward" in said) == (view in ("turned", "side"))


def test_nothing_is_asked_of_the_network(written: Callable[..., Path], open_page: Callable[..., Opened]) -> None:
    path = written(NAME)
    opened = open_page(path.as_uri())
    opened.page.click("#play")
    opened.page.wait_for_function("() => Number(document.getElementById('time').value) > 0.2")
    assert [u for u in opened.asked if not u.startswith(("data:", "blob:"))] == [path.as_uri()]
    assert not opened.errors
    assert path.stat().st_size < LARGEST


def test_it_works_in_a_sandboxed_frame_and_under_a_strict_policy(
    written: Callable[..., Path], browser: Browser
) -> None:
    """As learning systems embed pages: no origin of its own, no evaluated script, nothing from elsewhere."""
    text = written(NAME).read_text(encoding="utf-8")
    policy = "default-src 'self' 'unsafe-inline' data: blob:"
    outer = '<iframe sandbox="allow-scripts" src="/page.html" width="1200" height="800"></iframe>'
    page = patient(browser.new_page())
    errors: list[str] = []
    page.on("console", lambda m: errors.append(m.text) if m.type == "error" else None)
    page.route("https://school.test/", lambda r: r.fulfill(body=outer, content_type="text/html"))
    page.route(
        "https://school.test/page.html",
        lambda r: r.fulfill(body=text, content_type="text/html", headers={"Content-Security-Policy": policy}),
    )
    page.goto("https://school.test/")
    frame = page.frames[1]
    frame.wait_for_selector("body[data-ready=yes]")
    assert frame.text_content("#joint") == "2.57 BW"
    assert frame.evaluate("() => !!viz.page.figure.root")
    assert not errors
    page.close()


def test_nothing_in_a_scene_becomes_script(tmp_path: Path, open_page: Callable[..., Opened]) -> None:
    import tomllib

    data = tomllib.loads(library_scenes()["level-stance"].read_text(encoding="utf-8"))
    evil = "</script><script>window.evil=1</script><img src=x onerror='window.evil=1'>"
    data["title"], data["aim"] = evil, evil
    data["steps"][0]["caption"] = data["steps"][0]["name"] = evil
    path = tmp_path / "evil.html"
    write_page(check_scene(data, tmp_path / "evil.toml"), path, "x")
    opened = open_page(path.as_uri())
    assert opened.text("h1") == evil
    assert opened.page.evaluate("() => window.evil === undefined")
    assert not opened.errors


def test_without_webgl_the_numbers_still_work(written: Callable[..., Path], driver: Playwright) -> None:
    one = launched(driver, "--disable-gpu", "--disable-webgl", "--disable-3d-apis")
    page = patient(one.new_page())
    page.goto(written(NAME).as_uri())
    page.wait_for_selector("body[data-ready=yes]")
    assert "cannot draw in three dimensions" in (page.text_content("#note") or "")
    assert page.text_content("#joint") == "2.57 BW"
    page.eval_on_selector("#force", "e => { e.value = 15; e.dispatchEvent(new Event('input')); }")
    assert page.text_content("#joint") == "1.35 BW"
    one.close()


@pytest.mark.parametrize("size", [pytest.param(DESKTOP, marks=pytest.mark.long), PHONE])
def test_an_accessibility_checker_finds_nothing(
    written: Callable[..., Path], open_page: Callable[..., Opened], size: tuple[int, int]
) -> None:
    assert faults(open_page(written(NAME).as_uri(), size)) == []


def test_it_works_by_keyboard(written: Callable[..., Path], open_page: Callable[..., Opened]) -> None:
    opened = open_page(written(NAME).as_uri())
    opened.page.focus("#force")
    for _ in range(10):
        opened.page.keyboard.press("ArrowRight")
    assert opened.text("label[for=force] + output") == "5.0 % of body weight, 31 N"
    assert float(opened.text("#joint").split()[0]) == pytest.approx(2.12, abs=0.006)
    opened.page.focus("#figure")
    before = opened.page.evaluate("() => viz.page.figure.orbit.round")
    opened.page.keyboard.press("ArrowLeft")
    assert opened.page.evaluate("() => viz.page.figure.orbit.round") != before
    opened.page.keyboard.press("0")
    assert opened.page.evaluate("() => viz.page.figure.orbit.round") == 0
    said = "() => document.getElementById('alt').textContent.includes('Load on the joint 2.12 BW')"
    assert opened.page.wait_for_function(said)


@pytest.mark.long
def test_first_picture_within_two_seconds(written: Callable[..., Path], open_page: Callable[..., Opened]) -> None:
    taken = []
    for _ in range(3):
        opened = open_page(written(NAME).as_uri(), ready=False)
        opened.page.wait_for_selector("body[data-ready=yes]")
        taken.append(opened.page.evaluate("() => performance.now()"))
    assert min(taken) < 2000


def test_controls_that_make_no_page_say_why(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r'page\.controls: "bag" needs a hand with holds = "bag"'):
        write_page(load_scene(NAME, ["page.controls=['lean', 'bag']"]), tmp_path / "a.html", "x")
    with pytest.raises(SceneError, match=r"page\.controls: 'lean' is listed twice; list it once"):
        load_scene(NAME, ["page.controls=['lean', 'lean']"])
    many = "page.controls=['lean', 'drop', 'push', 'mass', 'lever', 'strength', 'neck']"
    with pytest.raises(InputError, match=r"settings to solve; allowed: 20000; list fewer controls"):
        write_page(load_scene(NAME, [many]), tmp_path / "a.html", "x")
    assert not list(tmp_path.iterdir())


def test_the_page_is_refused_above_its_size(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("viz3d.web.offline.LARGEST", 1_000_000)
    with pytest.raises(InputError, match=r"the page would have \d\.\d MB; allowed: 1 MB$"):
        write_page(load_scene(NAME), tmp_path / "a.html", "x")
    with pytest.raises(InputError, match=r"allowed: 1 MB \(it holds 3 bodies; list fewer inputs in page\.controls\)"):
        write_page(load_scene("neck-angles", ["page.controls=['lean']"]), tmp_path / "a.html", "x")
    assert not list(tmp_path.iterdir())


def test_the_table_keeps_its_rows_and_its_bound() -> None:
    table = make_table(load_scene(NAME), 0)
    assert table.error < 0.0014
    assert [g.hand for g in table.grids] == ["none", "opposite", "same"]
    grid = table.grids[1]
    count = len(grid.leans)
    for k in (0, 3, count - 1):
        assert weights(grid.leans, float(grid.leans[k])) == pytest.approx(np.eye(count)[k], abs=1e-12)
    moments = grid.state.columns["moment"]
    assert moments.min() < 0 < moments.max()  # the muscle changes within the grid
