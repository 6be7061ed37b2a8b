"""Films whose steps change more than the pose: which body is seen when, how pictures pass, and that arrows stay true."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pytest

from tests.conftest import Ran
from viz3d.output import layers
from viz3d.output.compare import film_comparison
from viz3d.output.film import FilmOptions
from viz3d.output.reel import Reel, make_reel
from viz3d.scene.reader import load_scene
from viz3d.scene.segments import changed, scene_at, segments_of
from viz3d.scene.timeline import frame_times
from viz3d.solution.script import Script, solve_scene
from viz3d.stage.camera import Camera, between, view_direction
from viz3d.stage.sheets import lay_out

SMALL = ("picture.size=640x480", "picture.frames_per_second=5")


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A place of its own for kept pieces."""
    monkeypatch.setattr(layers, "user_folder", lambda: tmp_path)
    return tmp_path


def reel_of(name: str, *changes: str) -> Reel:
    scene = load_scene(name, [*SMALL, *changes])
    return make_reel(scene, name, scene.picture.pixels)


def test_every_step_is_solved_with_the_body_in_force() -> None:
    """Each step of the film scene equals a scene written with that body from the start."""
    scene = load_scene("neck-angles")
    shots = Script(scene).shots()
    for k, angle in enumerate(("126 deg", "110 deg", "142 deg")):
        sides = {f"person.{s}_hip.neck_shaft_angle": angle for s in ("left", "right")}
        alone = solve_scene(changed(load_scene("level-stance"), sides)).joint_bw[0]
        (shot,) = [x for x in shots if k in x.rows]
        assert shot.solved.joint_bw[shot.row(k)] == pytest.approx(alone, rel=1e-12)


def test_the_other_hip_mirrors_the_first() -> None:
    """The step cycle's second half is the first one seen in a mirror, frame by frame of the two single stances."""
    scene = load_scene("step-cycle")
    left, right = Script(scene).shots()
    assert (left.scene.posture.stance, right.scene.posture.stance) == ("left", "right")
    for a, b in ((0, 5), (1, 6), (2, 7)):
        one, two = left.solved, right.solved
        assert one.joint_bw[left.row(a)] == pytest.approx(two.joint_bw[right.row(b)], rel=1e-9)
        assert one.load.joint_angle[left.row(a)] == pytest.approx(two.load.joint_angle[right.row(b)], abs=1e-9)


def test_a_hand_that_takes_something_up_starts_anew() -> None:
    scene = load_scene("cane-switch-hands")
    before, after = (scene_at(scene, k) for k in (2, 3))
    assert (before.hands.left.holds, before.hands.right.holds) == ("cane", "nothing")
    assert (after.hands.left.holds, after.hands.right.holds) == ("nothing", "cane")
    assert after.hands.left.force is None
    shots, clips = Script(scene).film()
    assert [c.shot for c in clips] == [0, 1]
    assert clips[1].transition == 30  # one second
    pressed = [x.solved.stance.hand_force for x in shots]
    assert float(np.abs(pressed[0][-1]).max()) == 0.0  # let go by the end of the change
    assert np.linalg.norm(pressed[1][-1]).item() == pytest.approx(0.10 * shots[1].solved.body.weight[0], rel=1e-9)


def test_cuts_cover_every_frame_once_or_twice() -> None:
    for name in ("socket-tour", "step-cycle", "cane-switch-hands", "neck-angles", "level-stance"):
        scene = load_scene(name)
        shots, clips = Script(scene).film()
        count = len(frame_times(scene))
        seen = np.zeros(count, dtype=int)
        for clip in clips:
            seen[clip.first : clip.end] += 1
            assert set(range(clip.first, clip.end)) <= set(shots[clip.shot].rows.tolist())
        assert seen.min() == 1
        assert seen.max() <= 2
        assert (seen == 2).sum() == sum(c.transition for c in clips)
        assert len(segments_of(scene)) == len(clips)


def test_one_force_scale_and_one_middle_for_all_bodies() -> None:
    reel = reel_of("neck-angles")
    sheets = [s.setup.sheet for s in reel.drawn]
    assert len({round(s.per_weight, 9) for s in sheets}) == 1
    assert len({tuple(s.camera.centre.round(9)) for s in sheets}) == 1
    for one in reel.drawn:
        row = one.row(one.clip.end - 1)
        tail, tip = one.setup.sheet.arrow_ends("joint", row)
        force = np.linalg.norm(one.setup.sheet.plan.arrow("joint").force[row])
        assert np.hypot(*(tip - tail)) == pytest.approx(force * sheets[0].per_weight, rel=1e-9)


def test_the_camera_moves_smoothly_and_only_while_no_arrow_is_drawn() -> None:
    reel = reel_of("socket-tour")
    turned = reel.drawn[4]
    assert turned.anew
    going = reel.drawn[3].setup.sheet.cameras
    frames = list(range(turned.clip.first, turned.clip.first + turned.clip.transition))
    cameras = [turned.setup.sheet.cameras[turned.row(n)] for n in frames]
    assert cameras == [going[reel.drawn[3].row(n)] for n in frames]
    still = [c for c, n in zip(cameras, frames, strict=True) if (n - frames[0] + 0.5) / len(frames) < 0.25]
    assert all(np.allclose(c.toward, [1.0, 0.0, 0.0]) for c in still)
    steps = [float(np.degrees(np.arccos(np.clip(a.toward @ b.toward, -1, 1)))) for a, b in itertools.pairwise(cameras)]
    assert max(steps) < 15.0
    assert np.allclose(cameras[-1].toward, view_direction("three-quarter", -1.0))


def test_a_camera_on_its_way_keeps_its_ends_and_its_distance() -> None:
    a = Camera(view_direction("front", 1.0), np.zeros(3), (100.0, 50.0), 400.0)
    b = Camera(view_direction("joint", 1.0), np.ones(3), (200.0, 90.0), 1600.0)
    assert between(a, b, 0.0) is a
    assert between(a, b, 1.0) is b
    half = between(a, b, 0.5)
    assert half.scale == pytest.approx(800.0)
    assert np.linalg.norm(half.toward) == pytest.approx(1.0)
    assert half.at == (150.0, 70.0)


def test_no_picture_jumps_where_one_passes_into_the_next(cache: Path) -> None:
    """Through dissolves and camera moves the whole picture changes little by little."""
    scene = load_scene("neck-angles", ["picture.size=640x480", "picture.frames_per_second=20"])
    reel = make_reel(scene, "x", (640, 480))
    first = reel.drawn[1].clip.first
    pictures = [p.astype(np.int16) for p in itertools.islice(reel.painted(None, True, None), first + 26)][first - 2 :]
    jumps = [float(np.abs(a - b).mean()) for a, b in itertools.pairwise(pictures)]
    whole = float(np.abs(pictures[0] - pictures[-1]).mean())
    assert whole > 0.3
    assert max(jumps) < 0.75 * whole


def test_layers_come_by_steps_and_the_curve_spans_the_whole_film(cache: Path) -> None:
    reel = reel_of("socket-tour", 'picture.insets=["curve"]', "picture.size=960x540")
    assert [sorted(s.setup.sheet.layers) for s in reel.drawn[:2]] == [
        ["bones"],
        ["bones", "lever", "numbers", "weight"],
    ]
    assert reel.drawn[0].setup.sheet.labels is reel.drawn[3].setup.sheet.labels  # places do not move
    plan = reel.drawn[-1].setup.sheet.plan
    assert plan.course is not None
    assert len(plan.course[0]) == reel.count
    assert plan.course[1] == pytest.approx(2.52, abs=0.01)


def test_scenes_are_filmed_side_by_side_in_step(run: Callable[..., Ran], tmp_path: Path, cache: Path) -> None:
    scenes = [load_scene(n, [*SMALL, "picture.size=960x540"]) for n in ("level-stance", "lean-over-hip")]
    film_comparison(scenes, tmp_path / "c.mp4", "x", options=FilmOptions(workers=0))
    with av.open(str(tmp_path / "c.mp4")) as film:
        assert film.streams.video[0].frames == 56  # the longer of the two, at 5 a second
        pictures = [f.to_ndarray(format="rgb24").astype(int) for f in film.decode(video=0)]
    assert np.abs(pictures[-1][60:250, :460] - pictures[0][60:250, :460]).mean() < 1.0  # A stands still
    assert np.abs(pictures[-1][60:250, 500:] - pictures[0][60:250, 500:]).mean() > 2.0  # B leans
    ran = run("compare", "level-stance:1", "lean-over-hip", "--out", "x.mp4")
    assert ran.err.strip() == "viz3d: a film plays whole scenes: leave out the steps, like lean-over-hip without :2"
    ran = run("compare", "level-stance", "socket-tour", "--out", "x.mp4", "--quiet")
    assert "its steps change more than the pose, so it cannot be filmed side by side" in ran.err
    assert not (tmp_path / "x.mp4").exists()


def test_a_step_comes_nearer_and_goes_back_at_one_force_scale(tmp_path: Path) -> None:
    """A pelvis, a hip and a whole person, each from its own place; between them the camera moves without a jump."""
    told = [("A", "pelvis", 0.0), ("B", "hip", 1.0), ("C", "whole", 1.0), ("D", "pelvis", 1.0)]
    steps = "".join(f'[[steps]]\nname="{n}"\nframe="{f}"\nchange="{c} s"\nhold="1 s"\n' for n, f, c in told)
    start = 'format=1\ntitle="T"\n[person]\nsex="female"\nmass="64 kg"\nstature="1.66 m"\n[posture]\nstance="left"\n'
    (tmp_path / "t.toml").write_text(start + steps, encoding="utf-8")
    scene = load_scene(str(tmp_path / "t.toml"), ["picture.size=960x540", "picture.frames_per_second=20"])
    sheets = [lay_out(s.scene, s.solved, (960, 540)) for s in (Script(scene).shot_at(k)[0] for k in range(4))]
    scales = [s.camera.scale for s in sheets]
    assert scales[0] == scales[3] > 1.35 * scales[1]
    assert scales[1] > 1.2 * scales[2]
    reel = make_reel(scene, "t", (960, 540))
    assert len({round(d.setup.sheet.per_weight, 9) for d in reel.drawn}) == 1
    for before, after in itertools.pairwise(reel.drawn):
        frames = range(after.clip.first, after.clip.first + after.clip.transition)
        seen = [after.setup.sheet.cameras[after.row(n)] for n in frames]
        sizes = np.array([before.setup.sheet.camera.scale, *(c.scale for c in seen), after.setup.sheet.camera.scale])
        steps_between = np.abs(np.diff(np.log(sizes)))
        assert steps_between.max() < 0.25 * abs(np.log(sizes[-1] / sizes[0]))
