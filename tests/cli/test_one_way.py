"""Every answer goes through the one way to solve, with all inputs of the step, and refuses what a scene may not ask for."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Ran
from viz3d.questions.hold import find_limit
from viz3d.questions.vary import case_of
from viz3d.scene.reader import library_scenes, load_scene
from viz3d.scene.schema import Scene
from viz3d.solution.script import Script

Run = Callable[..., Ran]


def written(tmp_path: Path, level_text: str, more: str) -> str:
    """A scene file: level stance with other steps."""
    path = tmp_path / "mine.toml"
    path.write_text(level_text.split("[[steps]]", maxsplit=1)[0] + more, encoding="utf-8")
    return str(path)


@pytest.mark.parametrize("name", sorted(library_scenes()))
def test_each_step_varied_by_nothing_is_the_step(name: str) -> None:
    scene = load_scene(name)
    for shot in Script(scene, name).shots():
        for row, step in enumerate(shot.rows):
            alone = case_of(scene, int(step)).solved()
            assert alone.load.joint_magnitude[0] == pytest.approx(shot.solved.load.joint_magnitude[row], rel=1e-12)
            assert alone.status[0] == shot.solved.status[row]


def test_hold_knows_a_step_s_strength(run: Run, tmp_path: Path, level_text: str) -> None:
    """A step that takes strength away is judged with what it leaves."""
    steps = """[[steps]]
name = "Whole"
[[steps]]
name = "Weak"
set = { "strength.left_abductors" = "30 %" }
"""
    name = written(tmp_path, level_text, steps)
    solved = json.loads(run("solve", name, "--json").out)["situations"]
    held = json.loads(run("hold", name, "--json").out)["steps"]
    assert [s["status"] for s in solved] == ["held", "too_weak"]
    assert [s["status"] for s in held] == ["held", "too_weak"]
    assert find_limit(load_scene(name), 1).missing == pytest.approx(solved[1]["shortfall"]["value"], rel=1e-9)


def test_spread_heads_with_what_solve_says(run: Run) -> None:
    """An offset that follows a measured neck angle is varied about where it has gone, not about the usual neck's."""
    solved = json.loads(run("solve", "neck-angles", "--json").out)["situations"]
    for k, situation in enumerate(solved, 1):
        bands = json.loads(run("spread", "neck-angles", "--step", str(k), "--people", "64", "--json").out)["bands"]
        joint = next(b for b in bands if b["name"] == "joint_force_bw")
        assert joint["here"] == pytest.approx(situation["joint_force_bw"], rel=1e-12)
        assert joint["low"] < joint["here"] < joint["high"]


def test_match_refuses_what_solve_refuses(run: Run) -> None:
    asked = run("match", "weight-shift", "--this", "drop=5 deg")
    solved = run("solve", "weight-shift", "--set", "posture.obliquity=5 deg")
    assert (asked.code, solved.code) == (1, 1)
    told = "with the other foot lifted or the pelvis tilted"
    assert told in asked.err
    assert told in solved.err
    assert len(asked.err.strip().splitlines()) == 1


def test_no_hand_holds_two_things(run: Run) -> None:
    for arguments in (["bag-sides", "--step", "3", "--by", "cane"], ["elbow-crutches", "--step", "2", "--by", "bag"]):
        held = json.loads(run("solve", arguments[0], "--json").out)["situations"][int(arguments[2]) - 1]["loads"]
        done = run("target", *arguments, "--joint", "2 BW")
        busy = {x["side"] for x in held if x["force"].startswith(("bag", "cane")) and x["on"] == "body above the hip"}
        if len(busy) == 2:
            assert done.code == 1
            assert "no hand is free" in done.err
        else:
            assert done.code == 0
            assert f"in the {({'left', 'right'} - busy).pop()} hand" in done.out


def test_a_free_hand_takes_the_cane_where_the_other_is_busy(run: Run) -> None:
    done = run(
        "target",
        "level-stance",
        "--joint",
        "2 BW",
        "--by",
        "cane",
        "--set",
        "hands.right.holds=bag",
        "--set",
        "hands.right.mass=2 kg",
    )
    assert done.code == 0
    assert "cane in the left hand" in done.out


def test_one_now_whatever_is_asked(run: Run) -> None:
    """The joint force a question starts from is the scene's own, as solve prints it."""
    own = json.loads(run("solve", "level-stance", "--json").out)["situations"][0]["joint_force_bw"]
    for by in ("cane", "lean", "drop", "bag", "mass", "lever"):
        answer = json.loads(run("target", "level-stance", "--joint", "2.3 BW", "--by", by, "--json").out)
        assert answer["start_bw"] == pytest.approx(own, rel=1e-12), by


def test_match_names_the_hands(run: Run) -> None:
    said = run("match", "level-stance", "--this", "lean=10 deg", "--by", "cane").out
    assert re.search(r"cane in the (left|right) hand", said)


def test_a_scene_is_taken_apart_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """One step of a scene of six segments: a validation a changing step, when it is read; a body a person."""
    made: list[str] = []
    validate = Scene.model_validate.__func__  # type: ignore[attr-defined]

    def counted(cls: type[Scene], *args: Any, **more: Any) -> Scene:
        made.append("scene")
        return validate(cls, *args, **more)

    monkeypatch.setattr(Scene, "model_validate", classmethod(counted))
    scene = load_scene("socket-tour")
    read = len(made)
    assert read <= 1 + len(scene.steps)
    import viz3d.solution.script as module

    bodies: list[object] = []
    real = module.body_of
    monkeypatch.setattr(module, "body_of", lambda *a, **k: bodies.append(a) or real(*a, **k))
    Script(scene, "socket-tour").shot_at(3)
    assert len(made) == read
    assert len(bodies) == 1
