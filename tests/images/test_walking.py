"""A scene that walks: its pictures' numbers are the walk's, its forces close, and what it cannot do is said."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pygltflib import GLTF2

from tests.conftest import Ran
from tests.images.conftest import in_turn
from viz3d.motion.library import usual_motion
from viz3d.output.gltf import write_gltf
from viz3d.output.reel import frame_groups
from viz3d.output.still import draw_still
from viz3d.scene.reader import load_scene, walking_scenes
from viz3d.scene.timeline import duration, frame_times
from viz3d.solution.gait import EVENTS
from viz3d.solution.inputs import body_of
from viz3d.solution.script import Script, solve_scene
from viz3d.solution.solved import HELD, Solved
from viz3d.solution.walk import solve_walk, walk_cycle
from viz3d.stage.compose import compose
from viz3d.stage.drawing import Box, Shape2D, Words
from viz3d.stage.figure import rests
from viz3d.stage.frame import title_marks
from viz3d.stage.gait import footprint_marks, ground_marks
from viz3d.stage.sheets import lay_out
from viz3d.stage.tall import TallSheet
from viz3d.stage.type import text_width
from viz3d.words.voice import USUAL

SMALL = ("picture.size=960x540", "picture.muscles=none")


@pytest.fixture(scope="module")
def solved() -> Solved:
    """One cycle in real time, from heel strike on, at a hundred moments."""
    scene = load_scene("walk", ["walk.shown_at=100 %"])
    cycle = walk_cycle(body_of(scene), usual_motion())
    return solve_scene(scene, cycle.share * float(cycle.period[0]))


def test_numbers_are_those_of_the_walk(solved: Solved) -> None:
    scene = load_scene("walk")
    walked = solve_walk(body_of(scene), walk_cycle(body_of(scene), usual_motion()), "left")
    order = np.argsort(np.mod(walked.cycle.share - 0.5, 1.0))
    assert solved.phase == pytest.approx(walked.cycle.share, abs=1e-9)
    assert solved.joint_bw == pytest.approx(walked.joint_bw[order], abs=1e-6)
    assert (solved.status == HELD).all()


def test_forces_and_moments_on_the_body_above_the_hip_close(solved: Solved) -> None:
    load, weight = solved.load, float(solved.body.weight[0])
    total = np.sum([x.force for x in load.loads], axis=0) + load.muscle_pull + load.joint_force
    assert np.abs(total).max() < 1e-9 * weight
    turn = np.sum([x.adducts for x in load.loads], axis=0) - load.muscle_force * load.muscle.moment_arm
    assert np.abs(turn).max() < 1e-9 * weight
    below = sum(x.force for x in solved.below.loads)
    assert below[:, 1] - load.joint_force[:, 1] - load.muscle_pull[:, 1] == pytest.approx(0.0, abs=1e-9 * weight)


def test_the_curve_of_a_still_is_the_whole_cycle() -> None:
    scene = load_scene("walk", ["walk.phase=30 %"])
    found = solve_scene(scene, np.zeros(1))
    assert found.course is not None
    times, joint = found.course
    assert len(times) == 101
    now = int(np.abs(times).argmin())
    assert now == 30
    assert joint[now] == pytest.approx(found.joint_bw[0], rel=1e-9)
    assert joint.max() > 2.0


def test_the_line_of_weight_and_inertia_passes_near_the_body(solved: Solved) -> None:
    heavy = solved.load.loads[0]
    assert heavy.way is not None
    assert np.linalg.norm(heavy.way, axis=1) == pytest.approx(1.0)
    assert np.abs(heavy.point[:, 2]).max() < 0.25
    assert float(heavy.force[:, 1].max()) < 0.0


@pytest.mark.parametrize(("name",), in_turn([(n,) for n in walking_scenes()], 3))
def test_every_frame_of_a_film_differs_and_captions_can_be_read(name: str, run: Callable[..., Ran]) -> None:
    scene = load_scene(name, ["walk.shown_at=25 %"])
    found = Script(scene).solved_at(scene, frame_times(scene)[:60])
    assert len(set(frame_groups(found).tolist())) == 60
    assert duration(scene) > 4.0
    assert "note" not in run("check", name).out
    assert name in run("scenes").out


def test_words_tell_the_part_of_the_cycle_and_what_is_left_out(run: Callable[..., Ran]) -> None:
    scene = load_scene("walk", ["walk.phase=20 %"])
    plan = compose(scene, solve_scene(scene, np.zeros(1)), bodies=False)
    assert "left mid-stance (20 % of the cycle)" in USUAL.say(plan.subtitles[0])
    assert USUAL.say(plan.arrows[0].label) == "Weight and inertia above the hip"
    assert "Walking." in USUAL.say(plan.person_line)
    assert "with inertia" in USUAL.say(plan.model_line)
    out = run("solve", "walk").out
    assert "not running, stairs" in out
    assert "Static: standing" not in out


@pytest.mark.long
def test_a_still_is_drawn(tmp_path: Path) -> None:
    path = tmp_path / "walk.png"
    draw_still(load_scene("walk", [*SMALL, "walk.phase=55 %"]), path, "walk")
    assert path.stat().st_size > 30_000


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (
            ["still", "walk", *(f"--set=hands.left.{one}" for one in ("holds=cane", "force=5 %BW", "tilt=5 deg"))],
            "hands.left.tilt: found a tilt",
        ),
        (["still", "walk", "--set", "walk.change=waddle"], "walk.change: found"),
        (["still", "walk", "--set", "walk.speed=200 %"], "allowed: 78 % to 130 %"),
        (["still", "walk", "--set", "walk.phase=200 %"], "allowed: 0 % to 100 %"),
        (["still", "walk", "--set", "walk.motion=none.csv"], "allowed: a file inside the scene file's folder"),
        (["target", "walk", "--joint", "1.5 BW", "--by", "lean"], "this question is about standing"),
    ],
)
def test_what_a_walk_cannot_do_is_said_in_one_line(arguments: list[str], said: str, run: Any, tmp_path: Path) -> None:
    ran = run(*arguments)
    assert ran.code == 1
    assert said in ran.err
    assert ran.err.count("\n") == 1
    assert [p for p in tmp_path.rglob("*") if p.is_file()] == []


def test_what_stands_under_the_title_keeps_its_place_and_size() -> None:
    """However long its words are in a frame: on one line or on two, and the note below them does not move."""
    scene = load_scene("walk", ["picture.size=640x900", "picture.view=side", "picture.muscles=none"])
    shots, _ = Script(scene).film()
    sheet = lay_out(shots[-1].scene, shots[-1].solved, scene.picture.pixels, placed=False)
    seen, lines = set(), set()
    for i in range(0, len(sheet.plan), 12):
        under = [m for m in title_marks(sheet, i) if isinstance(m, Words)][1:]
        seen.add((under[0].y, under[0].size, under[-1].y))
        lines.add(len(under))
    assert len(seen) == 1
    assert len(lines) == 2


def test_events_come_in_their_order_and_where_a_walk_has_them(solved: Solved) -> None:
    gait = solved.gait
    assert gait is not None
    shares = [gait.events[name] for name in EVENTS]
    assert shares == sorted(shares)
    assert 0.03 < gait.events["foot_flat"] < 0.15
    assert 0.20 < gait.events["mid_stance"] < 0.35
    assert gait.events["push_off"] == pytest.approx(0.5)
    assert 0.58 < gait.events["toe_off"] < 0.66
    assert gait.joint == pytest.approx(np.append(solved.joint_bw, solved.joint_bw[0]), abs=1e-9)
    assert gait.measured == (2.17, 2.82)


def test_the_ground_pushes_within_the_footprints(solved: Solved) -> None:
    gait = solved.gait
    assert gait is not None
    weight = float(solved.body.weight[0])
    assert gait.ground[:, 1].mean() == pytest.approx(0.5 * weight, rel=0.01)
    soles = np.concatenate([one.outline for one in gait.prints])
    off = np.linalg.norm(gait.pressure[:, None] - soles, axis=-1).min(axis=1)
    alone = [k for k in range(101) if 16 <= k <= 46 or 66 <= k <= 96]
    assert off[alone].max() < 0.06
    assert [one.side for one in gait.prints].count("left") == 1


def test_curve_footprints_and_ground_are_drawn() -> None:
    scene = load_scene("walk", ["walk.phase=15 %", "picture.view=front", "picture.muscles=none"])
    found = solve_scene(scene, np.zeros(1))
    drawing = lay_out(scene, found, (1920, 1080)).drawing(0)
    roles = [mark.role for mark in drawing.over]
    assert {"measured", "curve now", "footprint", "way:centre", "way:pressure"} <= set(roles)
    assert "ground" in roles
    upright = lay_out(scene, found, (1080, 1920))
    marks = upright.drawing(0).over
    assert {"footprint", "way:centre", "way:pressure", "ground"} <= {mark.role for mark in marks}
    assert isinstance(upright, TallSheet)
    assert upright.prints is not None
    soles = np.concatenate([m.points for m in marks if isinstance(m, Shape2D) and m.role == "footprint"])
    assert (soles > (upright.prints.left, upright.prints.top)).all()
    assert (soles < (upright.prints.right, upright.prints.bottom)).all()
    (arrow,) = [m.points for m in marks if isinstance(m, Shape2D) and m.role == "ground"]
    assert found.gait is not None
    long = float(np.hypot(*upright.camera.direction(found.gait.ground[0]))) * upright.per_weight
    assert np.ptp(arrow[:, 1]) == pytest.approx(long, rel=0.05)
    for box in upright.drawing(0).label_boxes.values():
        assert not box.overlaps(upright.prints)
        assert not box.overlaps(upright.result)


def test_marks_of_a_walk_do_not_meet(solved: Solved) -> None:
    """From the side: the ground's number off the arrows, prints the way walked; levers only where the hip is loaded."""
    side, front = (
        lay_out(load_scene("walk", [f"picture.view={v}"]), solved, (1920, 1080), placed=False)
        for v in ("side", "front")
    )
    said, levers = 0, []
    for i in range(len(solved.times)):
        shaft = np.linspace(*side.arrow_ends("joint", i), 200)
        for one in (m for m in ground_marks(side, i) if isinstance(m, Words)):
            wide = text_width(one.text, one.size, "SemiBold")
            left = one.x - wide if one.anchor == "end" else one.x
            inside = (shaft > (left - 6, one.y - 15)) & (shaft < (left + wide + 6, one.y + 2))
            assert not inside.all(axis=1).any()
            said += 1
        levers.append(not rests(side.plan, "weight_lever", i))
        turning = [bool(front.figure.arcs(i)), bool(front.figure._hip_ring(i)), len(front.plan.arrows[0].values[i]) > 2]
        assert turning == [levers[-1]] * 3
    assert said > 0.4 * len(solved.times)
    assert levers == (solved.joint_bw >= 0.2).tolist()
    assert [m.text for m in title_marks(side, 0, bare=True) if isinstance(m, Words)] == ["A walk"]
    assert solved.gait is not None
    for sheet, ahead in ((side, -1.0), (front, 1.0)):
        marks = footprint_marks(sheet, Box(0, 0, 400, 200), 0, solved.gait, still=True)
        (way,) = (m.points for m in marks if m.role == "way:centre")
        assert np.sign(way[-1, 0] - way[0, 0]) == ahead
        assert [m.text for m in marks if isinstance(m, Words)].count("L") == 1


@pytest.mark.long
def test_a_walk_for_3d_viewers_is_a_loop(tmp_path: Path) -> None:
    write_gltf(load_scene("walk"), tmp_path / "walk.glb", "walk")
    found = GLTF2().load(str(tmp_path / "walk.glb"))
    blob = found.binary_blob()
    for channel in found.animations[0].channels:
        if channel.target.path == "translation":
            accessor = found.accessors[found.animations[0].samplers[channel.sampler].output]
            start = (found.bufferViews[accessor.bufferView].byteOffset or 0) + (accessor.byteOffset or 0)
            values = np.frombuffer(blob, np.float32, 3 * accessor.count, start).reshape(-1, 3)
            assert values[0] == pytest.approx(values[-1], abs=1e-6)
