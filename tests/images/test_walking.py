"""A scene that walks: its pictures' numbers are the walk's, its forces close, and what it cannot do is said."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pygltflib import GLTF2

from tests.conftest import Ran
from tests.images.conftest import in_turn
from viz3d.arrays import Array
from viz3d.body.person import Body
from viz3d.motion.library import usual_motion
from viz3d.output.gltf import write_gltf
from viz3d.output.reel import frame_groups
from viz3d.output.still import draw_still
from viz3d.scene.reader import load_scene, walking_scenes
from viz3d.scene.segments import on_the_spot
from viz3d.scene.timeline import duration, frame_times
from viz3d.shapes.skeleton import group_shapes
from viz3d.solution.gait import EVENTS, MeasuredPeaks
from viz3d.solution.inputs import body_of
from viz3d.solution.passing import prints_passed
from viz3d.solution.script import Script, solve_scene
from viz3d.solution.solved import HELD, Solved
from viz3d.solution.walk import solve_walk, walk_cycle
from viz3d.stage.compose import compose
from viz3d.stage.drawing import Box, Shape2D, Words
from viz3d.stage.figure import rests
from viz3d.stage.frame import title_marks
from viz3d.stage.gait import footprint_marks, ground_marks
from viz3d.stage.passed import passed_floor, passed_line
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
    assert USUAL.say(plan.arrows[0].label) == "Moving weight less the left leg"
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
        (
            [
                "still",
                "walk",
                *(f"--set={one}" for one in ("walk.seen=passing", "picture.view=side", "picture.frame=hip")),
            ],
            'walk.seen: found passing, seen from the side near the hip; allowed with picture.frame = "whole"',
        ),
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
    assert gait.measured == MeasuredPeaks(2.17, 2.82, (2.27, 2.67), ((0.14, 0.20), (0.44, 0.52)))


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
    assert {"measured", "deviation", "curve now", "footprint", "way:centre", "way:pressure"} <= set(roles)
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
        for one in (m for m in ground_marks(side, i, []) if isinstance(m, Words)):
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


@pytest.fixture(scope="module")
def passed() -> Solved:
    """Two cycles over a floor that stays, at two hundred moments, of a left leg."""
    scene = load_scene("walk", ["walk.seen=passing", "walk.cycles_passed=2", "walk.cycle_shown=1 s"])
    return solve_scene(scene, np.arange(201) / 100.0)


def test_who_passes_stands_on_footprints_that_stay(solved: Solved, passed: Solved) -> None:
    """Feet that carry stay on the floor, where the prints are; nothing but places differs from a walk on the spot."""
    gait = passed.gait
    assert gait is not None
    assert passed.joint_bw[:100] == pytest.approx(solved.joint_bw, abs=1e-9)
    firm = slice(12, 32)  # the whole left sole is down
    for cycle in range(2):
        foot = passed.posed.frames["left_foot"][100 * cycle :][firm, :3, 3]
        assert np.ptp(foot[:, [0, 2]], axis=0).max() < 0.006
        prints = [one.outline for one in prints_passed(gait) if one.side == "left"]
        inside = [(p.min(axis=0) < foot[5, [0, 2]]).all() and (foot[5, [0, 2]] < p.max(axis=0)).all() for p in prints]
        assert inside == [k == cycle for k in range(3)]
    hip = passed.hip_centre[:, 0]
    assert hip[199] - hip[0] == pytest.approx(1.99 * gait.stride, abs=0.02)
    assert hip[200] == pytest.approx(hip[0], abs=1e-9)
    assert passed.centre_of_mass[:200, 0] - hip[:200] == pytest.approx(
        np.tile(solved.centre_of_mass[:, 0] - solved.hip_centre[:, 0], 2), abs=1e-9
    )
    assert len(set(frame_groups(passed)[:200].tolist())) == 200


@pytest.mark.parametrize(
    ("view", "size"), [("side", (1920, 1080)), ("three-quarter", (1920, 1080)), ("side", (720, 900))]
)
def test_a_picture_holds_the_whole_pass(passed: Solved, view: str, size: tuple[int, int]) -> None:
    """From edge to edge in every frame, with one camera; prints on the floor, names within the page."""
    scene = load_scene("walk", ["walk.seen=passing", f"picture.view={view}", "picture.muscles=none"])
    sheet = lay_out(scene, passed, size, placed=False)
    for i in (0, 60, 130, 199):
        for link, frames in passed.posed.frames.items():
            if not link.endswith(("cane", "bag")):
                x, y = sheet.camera.project(frames[i, :3, 3])
                assert 0.0 < x < (sheet.cards.left if sheet.cards.shown else size[0])
                assert 0.0 < y < sheet.band.top
    floor = passed_floor(sheet) if view == "three-quarter" else passed_line(sheet)
    assert [m.role for m in floor].count("footprint") == 6
    assert "Walking past." in USUAL.say(sheet.plan.person_line)
    if size[0] < size[1]:
        boxes = [sheet.drawing(i).label_boxes["joint"] for i in (0, 199)]
        ahead = sheet.along(199)[0] - sheet.along(0)[0]
        assert boxes[1].left - boxes[0].left == pytest.approx(ahead)
        assert min(b.left for b in boxes) > 0.0


def test_drawn_joints_bend_as_they_were_solved(solved: Solved, house: Body) -> None:
    """Hip, knee and ankle between drawn bones, at every moment, within a degree of the solved angles.

    Read off the meshes as pictures place them: the femur from its head's centre to the middle of its condyles, shin and
    shaft along their middles, the sole as a plane. At rest joint centres lie in line, and the shafts 3 degrees apart: the
    femoral head lies ahead of the shaft.
    """
    named = {s.name: s.surface.points for g in ("thigh", "shank", "foot") for s in group_shapes(g, house, "film")
             if s.side == "left"}  # fmt: skip
    low = named["femur"][named["femur"][:, 1] < named["femur"][:, 1].min() + 0.045]
    condyles = (low.min(axis=0) + low.max(axis=0)) / 2.0
    femur, shaft, shin = -condyles / np.linalg.norm(condyles), shaft_of(named["femur"]), shaft_of(named["tibia"])
    sole = sole_of(named["hindfoot"], named["forefoot"])
    tilt = {name: np.degrees(np.arctan2(v[0], v[1])) for name, v in
            {"femur": femur, "shaft": shaft, "shin": shin, "sole": sole}.items()}  # fmt: skip
    assert abs(tilt["femur"]) < 1.0
    assert abs(tilt["sole"]) < 2.0  # the heel's bone lies 2 mm nearer to the floor than the ball's
    assert tilt["shin"] - tilt["shaft"] == pytest.approx(3.0, abs=0.8)
    cycle = walk_cycle(house, usual_motion())
    order = np.argsort(np.mod(cycle.share - 0.5, 1.0))
    for carrying, carried, line, field, way in (
        ("pelvis", "left_thigh", femur, cycle.angles.hips, 1.0),
        ("left_thigh", "left_shank", shin, cycle.angles.knees, -1.0),
        ("left_shank", "left_foot", sole, cycle.angles.ankles, 1.0),
    ):
        turned = [solved.posed.frames[link][:, :3, :3] for link in (carrying, carried)]
        there = np.einsum("nji,njk,k->ni", turned[0], turned[1], line)
        drawn = np.degrees(np.arctan2(-there[:, 0], there[:, 1]) - np.arctan2(-line[0], line[1]))
        assert drawn == pytest.approx(way * np.degrees(field[order, 0, 0]), abs=1.0)


def shaft_of(points: Array) -> Array:
    """Unit vector up along the middles of a long bone's slices, its ends left out."""
    low, high = points[:, 1].min(), points[:, 1].max()
    edges = np.linspace(low + 0.2 * (high - low), low + 0.8 * (high - low), 9)
    slices = [points[(points[:, 1] >= a) & (points[:, 1] < b)] for a, b in itertools.pairwise(edges)]
    middles = np.array([(s.min(axis=0) + s.max(axis=0)) / 2.0 for s in slices])
    way = np.linalg.svd(middles - middles.mean(axis=0))[2][0]
    return np.asarray(way * np.sign(way[1]))


def sole_of(hindfoot: Array, forefoot: Array) -> Array:
    """Unit vector up from the plane of heel and both sides of the ball."""
    middle = forefoot[:, 2].mean()
    three = [
        part[part[:, 1].argmin()]
        for part in (hindfoot, forefoot[forefoot[:, 2] < middle], forefoot[forefoot[:, 2] > middle])
    ]
    way = np.cross(three[1] - three[0], three[2] - three[0])
    return np.asarray(way / np.linalg.norm(way) * np.sign(way[1]))


def test_from_the_front_a_pass_looks_like_a_walk_on_the_spot(passed: Solved, solved: Solved) -> None:
    scene = load_scene("walk", ["walk.seen=passing", "picture.view=front", "picture.muscles=none"])
    one, other = (lay_out(scene, s, (1920, 1080), placed=False) for s in (passed, solved))
    assert passed_line(one) == []
    for key in ("weight", "joint"):
        assert np.allclose(one.arrow_ends(key, 30), other.arrow_ends(key, 30), atol=1e-6)
    assert "towards the viewer" in USUAL.say(one.plan.person_line)
    there = on_the_spot(scene)
    assert there.walk is not None
    assert there.walk.seen == "on the spot"


@pytest.mark.long
def test_a_walk_for_3d_viewers_is_a_loop(tmp_path: Path) -> None:
    write_gltf(load_scene("walk"), tmp_path / "walk.glb", "walk")
    for values in moved(tmp_path / "walk.glb").values():
        assert values[0] == pytest.approx(values[-1], abs=1e-6)
    write_gltf(load_scene("walk", ["walk.seen=passing"]), tmp_path / "past.glb", "walk")
    for name, values in moved(tmp_path / "past.glb").items():
        if name in ("pelvis", "left_foot", "right_foot"):
            assert 1.2 < values[-1, 0] - values[0, 0] < 1.5
            assert np.diff(values[:, 0]).min() > -0.005


def moved(path: Path) -> dict[str, Array]:
    """Places (N, 3) of the nodes of a file that move, by name."""
    found, out = GLTF2().load(str(path)), {}
    blob = found.binary_blob()
    for channel in found.animations[0].channels:
        if channel.target.path == "translation":
            accessor = found.accessors[found.animations[0].samplers[channel.sampler].output]
            start = (found.bufferViews[accessor.bufferView].byteOffset or 0) + (accessor.byteOffset or 0)
            values = np.frombuffer(blob, np.float32, 3 * accessor.count, start).reshape(-1, 3)
            out[found.nodes[channel.target.node].name] = values
    return out
