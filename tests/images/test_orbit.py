"""The desktop window, drawn off-screen: everything stands where the solution says, and every click does what it says."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.conftest import Ran
from viz3d.output import gl
from viz3d.output.dressed import clearness
from viz3d.output.orbit import Orbit, make_orbit
from viz3d.output.orbit_hand import Hand3D
from viz3d.output.orbit_shot import ShotInWindow
from viz3d.output.overlay import see_through
from viz3d.output.solid_arrows import METRES_PER_WEIGHT, POINT
from viz3d.scene.reader import load_scene
from viz3d.shapes.body_shell import GRIP, HANDS
from viz3d.solution.script import solve_scene
from viz3d.stage.beside import stand_beside
from viz3d.stage.crop import reach_of
from viz3d.stage.desk import FRAME_KEY, KEEP_KEY, LAYERS, LEAST, VIEWS, Desk, Glance
from viz3d.stage.desk_labels import Labels, arrow_ends
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words
from viz3d.stage.theme import theme_of
from viz3d.words.message import message

ALL = frozenset(LAYERS.values())


@pytest.fixture(scope="module")
def made() -> Iterator[Orbit]:
    gl.require()
    orbit = make_orbit(load_scene("cane-opposite-hand"), "cane-opposite-hand.toml")
    yield orbit
    orbit.close()


@pytest.fixture
def orbit(made: Orbit) -> Orbit:
    made.state = Glance(0.0)
    made.labels[0].boxes = {}
    made.show(0)
    made.look("front", "hip")
    return made


def solid(orbit: Orbit) -> ShotInWindow:
    return orbit.solid[0]


def test_bones_and_arrows_follow_the_timeline(orbit: Orbit) -> None:
    plan = orbit.plan
    for moment in (0, len(orbit.times) // 2, len(orbit.times) - 1):
        orbit.show(moment)
        i = orbit.row
        for _, shape, actor, _ in solid(orbit).parts:
            assert np.allclose(actor.user_matrix, plan.frames[shape.link_among(plan.frames)][i])
        for key in ("weight", "muscle", "joint"):
            rod, cone = solid(orbit).arrows[key]
            arrow = plan.arrow(key)
            tail = np.array(rod.user_matrix)[:3, 3]
            tip = (np.array(cone.user_matrix) @ [0.0, POINT, 0.0, 1.0])[:3]
            force = arrow.force[i] / plan.body_weight * METRES_PER_WEIGHT
            assert tip - tail == pytest.approx(force, abs=1e-6)
            assert np.stack([tail, tip]) == pytest.approx(arrow_ends(arrow, i, plan.body_weight, METRES_PER_WEIGHT))


def test_the_readout_is_the_solvers(orbit: Orbit) -> None:
    orbit.to_step(1)
    force = f"{solve_scene(load_scene('cane-opposite-hand')).joint_bw[1]:.2f} BW"
    assert f"Joint force on the socket: {force}" in orbit.lines()
    assert orbit.lines()[1].startswith("Pressed with 15 % of body weight")
    written = [m.text for m in orbit.desk.readout(orbit.plan, orbit.row) if isinstance(m, Words)]
    assert force in written
    assert "Step 2: Pressed with 15 % of" in written
    told = labels(orbit)
    assert [m.text for m in told if isinstance(m, Words) and m.role == "label joint"] == [
        "Joint force on the socket",
        force,
    ]


def labels(orbit: Orbit) -> list[Mark]:
    """Labels as the window writes them, in a room of the figure's size."""
    room, at = orbit.desk.figure, orbit.camera.at
    camera = dataclasses.replace(orbit.camera, at=(at[0] - room.left, at[1] - room.top))
    inner = Box(0.0, 0.0, room.right - room.left, room.bottom - room.top)
    return Labels(orbit.plan, orbit.theme, METRES_PER_WEIGHT).marks(
        orbit.row, camera, inner, orbit.state.layers, 1.0, 1.0
    )


def test_labels_stand_at_their_arrows_and_over_no_other(orbit: Orbit) -> None:
    for view, moment in itertools.product(("front", "three-quarter", "back"), (0, len(orbit.times) - 1)):
        orbit.show(moment)
        orbit.look(view)
        one, room = orbit.labels[0], orbit.desk.figure
        assert {"joint", "muscle", "weight", "cane_swing"} <= set(one.boxes)
        for a, b in itertools.combinations(one.boxes.values(), 2):
            assert not a.overlaps(b)
        for box in one.boxes.values():
            assert 0 <= box.left < box.right <= room.right - room.left
            assert 0 <= box.top < box.bottom <= room.bottom - room.top


def test_labels_avoid_arrows_and_stay_when_they_can() -> None:
    spans = {"a": np.array([[100.0, 180.0], [100.0, 60.0]]), "b": np.array([[150.0, 60.0], [150.0, 180.0]])}
    room = Box(0, 0, 400, 300)
    first = stand_beside({"a": (60.0, 30.0), "b": (60.0, 30.0)}, spans, room, 1.0)
    assert set(first) == {"a", "b"}
    for box in first.values():
        for span in spans.values():
            assert not Box(span[0, 0] - 2, 60, span[0, 0] + 2, 180).overlaps(box)
    moved = {k: v + np.array([3.0, 0.0]) for k, v in spans.items()}
    again = stand_beside({"a": (60.0, 30.0), "b": (60.0, 30.0)}, moved, room, 1.0, before=first)
    assert all(abs(again[k].left - first[k].left) < 10 for k in first)
    assert stand_beside({"a": (900.0, 30.0)}, spans, room, 1.0) == {}


def test_right_and_left_stand_at_their_sides(orbit: Orbit) -> None:
    for view, order in (("front", ["R", "L"]), ("back", ["L", "R"]), ("side", ["front", "back"])):
        orbit.look(view)
        told = sorted((m.x, m.text) for m in labels(orbit) if isinstance(m, Words) and m.role == "side")
        assert [text for _, text in told] == order


def reach(mark: Mark) -> Box:
    if isinstance(mark, Words):
        from viz3d.stage.type import text_width

        wide = text_width(mark.text, mark.size, mark.weight)
        left = mark.x - {"start": 0.0, "middle": wide / 2, "end": wide}[mark.anchor]
        return Box(left, mark.y - 0.8 * mark.size, left + wide, mark.y + 0.2 * mark.size)
    low, high = mark.points.min(axis=0), mark.points.max(axis=0)
    return Box(float(low[0]), float(low[1]), float(high[0]), float(high[1]))


@pytest.mark.parametrize("changes", [[], ["picture.language=qps", "picture.text=large"], ["picture.words=plain"]])
@pytest.mark.parametrize("size", [(1280, 860), LEAST, (1920, 1000)])
def test_nothing_lies_over_the_figure_or_another_word(made: Orbit, size: tuple[int, int], changes: list[str]) -> None:
    theme = theme_of(load_scene("cane-opposite-hand", changes))
    desk = Desk(size, theme, made.desk.stretches, METRES_PER_WEIGHT)
    marks = desk.marks(made.plan, 0, Glance(0.0))
    inside = dataclasses.replace(desk.figure, bottom=desk.figure.bottom - 2)
    assert not [m for m in marks if reach(m).overlaps(inside)]
    boxes = [reach(m) for m in marks if isinstance(m, Words)]
    assert all(b.left >= 0 and b.right <= size[0] and b.bottom <= size[1] for b in boxes)
    assert not [1 for a, b in itertools.combinations(boxes, 2) if a.overlaps(b, -1.5)]
    assert len([m for m in marks if isinstance(m, Shape2D | Stroke)]) > 20


def test_every_place_does_what_it_says(orbit: Orbit, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    hand = Hand3D(orbit)

    def click(act: str, what: str) -> None:
        box = next(h.box for h in orbit.desk.hits if (h.act, h.what) == (act, what))
        hand.press(int((box.left + box.right) / 2), int((box.top + box.bottom) / 2))
        hand.release()

    for view in VIEWS.values():
        click("view", view)
        assert orbit.state.view == view
    click("frame", "pelvis")
    joint = orbit.camera.project(arrow_ends(orbit.plan.arrow("joint"), orbit.row, orbit.plan.body_weight, orbit.reach))
    assert 0.6 < orbit.reach / METRES_PER_WEIGHT < 0.7
    assert orbit.desk.figure.top < joint[:, 1].min() < joint[:, 1].max() < orbit.desk.figure.bottom
    click("frame", "whole")
    assert (orbit.state.frame, orbit.state.view) == ("whole", "front")
    at = orbit.camera.project(reach_of(orbit.plan))
    room = orbit.desk.figure
    assert room.left <= at[:, 0].min() <= at[:, 0].max() <= room.right
    assert room.top <= at[:, 1].min() <= at[:, 1].max() <= room.bottom
    click("layer", "weight")
    assert "weight" not in orbit.state.layers
    click("step", "1")
    assert orbit.plan.steps[orbit.row] == orbit.desk.stretches[1].name
    click("time", "")
    assert orbit.state.time == pytest.approx(orbit.times[-1] / 2, abs=0.3)
    click("play", "")
    assert orbit.state.playing
    hand.since -= 1.0  # a second passes
    before = orbit.state.time
    assert hand.tick()
    assert orbit.state.time > before + 0.9
    orbit.play(False)
    click("keep", "")
    assert hand.kept == [Path("renders/cane-opposite-hand-seen-01.png")]


def test_a_picture_of_what_is_seen(orbit: Orbit, tmp_path: Path) -> None:
    orbit.look("three-quarter")
    seen = orbit.pixels()
    paths = [orbit.keep(tmp_path), orbit.keep(tmp_path)]
    assert [p.name for p in paths] == ["cane-opposite-hand-seen-01.png", "cane-opposite-hand-seen-02.png"]
    with Image.open(paths[0]) as kept:
        room = orbit.desk.figure
        assert kept.size == (room.right, room.bottom)
        assert np.array_equal(np.asarray(kept), seen[: int(room.bottom), : int(room.right)])
        assert "Joint force on the socket: 2.57 BW" in kept.text["Description"]  # type: ignore[attr-defined]
    told = message("window.kept", file=str(paths[1]))
    assert orbit.state.told == told


def test_the_toolkits_own_keys_do_nothing(orbit: Orbit) -> None:
    from vtkmodules.vtkRenderingUI import vtkGenericRenderWindowInteractor

    hand, native = Hand3D(orbit), orbit.window.plotter.ren_win
    ears = vtkGenericRenderWindowInteractor()
    ears.SetRenderWindow(native)
    hand.listen(ears, native)
    assert ears.GetInteractorStyle() is None
    ours = {*VIEWS, *LAYERS, FRAME_KEY, KEEP_KEY, "0"}
    before = orbit.pixels()
    for sign in "abcdefghijklmnopqrstuvwxyz23456789":
        if sign in ours and sign not in "3wp":
            continue
        orbit.state = Glance(0.0)
        ears.SetKeyEventInformation(0, 0, sign, 0, sign)
        ears.KeyPressEvent()
        ears.CharEvent()
        assert native.GetStereoRender() == 0, sign
        assert {a.GetProperty().GetRepresentation() for _, _, a, _ in solid(orbit).parts} == {2}, sign
        assert not hand.done
    orbit.state, orbit.labels[0].boxes = Glance(0.0), {}
    orbit.look("front", "hip")
    assert np.abs(orbit.pixels().astype(int) - before).mean() < 0.5
    assert not hand.key("q")
    assert hand.key("Escape")
    assert hand.done


def test_dragging_turns_and_the_wheel_comes_nearer(orbit: Orbit) -> None:
    hand, room = Hand3D(orbit), orbit.desk.figure
    x, y = int((room.left + room.right) / 2), int(room.bottom / 2)
    toward, scale = orbit.camera.toward.copy(), orbit.camera.scale
    hand.press(x, y)
    hand.move(x + 100, y)
    hand.release()
    assert float(orbit.camera.toward @ toward) == pytest.approx(np.cos(np.radians(45)), abs=1e-6)
    assert orbit.state.view == ""
    hand.wheel(x, y, 2)
    assert orbit.camera.scale == pytest.approx(scale * 1.12**2)
    at = orbit.camera.project(orbit.plan.hip[0])
    hand.press(x, y, "right")
    hand.move(x + 30, y - 10)
    hand.release()
    assert orbit.camera.project(orbit.plan.hip[0]) - at == pytest.approx([30.0, -10.0])
    assert hand.key("Next")
    assert orbit.desk.stretch_at(orbit.state.time) == 1


def test_layers_and_views_change_the_picture(orbit: Orbit) -> None:
    whole = orbit.pixels().astype(int)
    before = whole
    for layer in sorted(LAYERS.values(), key=lambda x: x == "pressure"):
        if layer == "pressure":
            orbit.look("joint")
            before = orbit.pixels().astype(int)
        orbit.toggle(layer)
        assert np.abs(orbit.pixels().astype(int) - before).mean() > 0.01, layer
        orbit.toggle(layer)
    orbit.look("front")
    assert np.abs(orbit.pixels().astype(int) - whole).mean() < 0.5


def test_words_over_the_figure_are_see_through() -> None:
    theme = theme_of(load_scene("cane-opposite-hand"))
    square = np.array([[10.0, 10.0], [30.0, 10.0], [30.0, 30.0], [10.0, 30.0]])
    out = see_through((60, 40), [Shape2D(square, "#6F4D9E")], theme)
    assert out[20, 20].tolist() == [0x6F, 0x4D, 0x9E, 255]
    assert out[35, 50].tolist() == [0, 0, 0, 0]


def test_a_person_in_clothes_has_a_window_on_the_hip() -> None:
    """Bones are seen within the window, wherever it is looked from, and nowhere else."""
    orbit = make_orbit(load_scene("level-stance", ["picture.dress=patient"]), "level-stance.toml")
    try:
        assert not {"lever", "pressure"} & orbit.state.layers
        seen = {shape.name for _, shape, _, _ in solid(orbit).parts}
        assert {"hip", "sacrum", "femur"} <= seen
        assert not {"skull", "tibia", "ribs"} & seen
        for layer in ("weight", "muscle", "joint"):
            orbit.toggle(layer)
        orbit.look("front", "pelvis")
        near = orbit.camera.scale
        for view in ("front", "back"):
            orbit.look(view, "hip")
            assert near > 1.1 * orbit.camera.scale
            both = orbit.pixels().astype(int)
            orbit.toggle("bones")
            moved = np.abs(orbit.pixels().astype(int) - both).max(axis=-1) > 3
            orbit.toggle("bones")
            moved[:, : int(orbit.desk.figure.left)] = moved[:, int(orbit.desk.figure.right) :] = False
            y, x = np.mgrid[: moved.shape[0], : moved.shape[1]]
            clear = clearness(orbit.camera, orbit.plan.hip[orbit.row], x, y)
            assert not moved[clear == 0.0].any()
            assert moved[clear > 0.9].mean() > 0.6
        orbit.toggle("skin")
        orbit.resize((1000, 700))
        assert (np.abs(np.diff(orbit.pixels()[:, 400:700].astype(int), axis=1)).max(axis=-1) > 20).mean() > 0.005
    finally:
        orbit.close()


@pytest.mark.long
@pytest.mark.parametrize("dress", ["anatomy", "patient"])
def test_a_hand_grips_a_bag_only_while_there_is_something_in_it(dress: str) -> None:
    """The other hand of skin is a point, and its bones are not seen."""
    gl.require()
    orbit = make_orbit(load_scene("bag-sides", [f"picture.dress={dress}"]), "bag-sides.toml")
    shot, plan = solid(orbit), orbit.plan
    worn = [] if shot.clothes is None else [(shell, mesh) for shell, _, mesh in shot.clothes._worn]
    ((shell, mesh),) = [(s, m) for s, m in worn if s.hands is not None] or [(orbit.shots[0].figure.shell, shot.skin[1])]
    for step in range(3):
        orbit.to_step(step)
        held = plan.held_at(orbit.row)
        for number, (side, group) in enumerate(HANDS, 1):
            size = np.ptp(np.asarray(mesh.points)[shell.hands == number], axis=0).max()
            assert (size > 0.05) == ((side in held) == (group == GRIP))
        hands = {(s.side, key.split("/")[0].split()[1]): actor for key, s, actor, _ in shot.parts if s.link == "hand"}
        for (side, group), actor in hands.items():
            assert actor.GetVisibility() == ((side in held) == (group == GRIP))
        assert bool(hands) == (dress == "anatomy")
    orbit.close()


def test_without_a_display_it_says_what_else_works(run: Callable[..., Ran], monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    ran = run("orbit", "level-stance")
    assert ran.code == 1
    assert ran.err.strip() == (
        "viz3d: there is no display for a window here; 'viz3d live' or 'viz3d page' show it in a browser"
    )
