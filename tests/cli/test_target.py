"""Inverse questions: each answer, put back into the scene, gives the wanted joint force."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest

from viz3d.questions.target import find_target
from viz3d.questions.vary import case_of, named_input
from viz3d.scene.reader import load_scene
from viz3d.solution.script import solve_scene


@pytest.mark.parametrize(
    ("word", "wanted"), [("cane", 1.5), ("lean", 1.5), ("bag", 2.2), ("mass", 2.0), ("lever", 2.2), ("drop", 2.3)]
)
def test_the_root_gives_the_target(word: str, wanted: float) -> None:
    scene = load_scene("level-stance")
    answer = find_target(scene, 0, word, wanted)
    assert answer.roots
    given, what = named_input(case_of(scene, 0), word)
    joint = given.solved({what.key: np.array(answer.roots)}).load.joint_magnitude / (64 * 9.80665)
    assert joint == pytest.approx(wanted, abs=1e-9)


def test_two_roots_either_side_of_the_best_cane_force(run: Any) -> None:
    done = run("target", "level-stance", "--joint", "0.55 BW", "--by", "cane", "--json")
    assert done.code == 0
    answer = json.loads(done.out)
    assert len(answer["roots"]) >= 2
    assert answer["roots"][0] < answer["best"]["value"] < answer["roots"][1]
    assert answer["best"]["joint_force_bw"] < 0.55


def test_no_drop_helps(run: Any) -> None:
    """Dropping the pelvis does not unload: only hiking does, and 1.5 BW is out of reach."""
    done = run("target", "level-stance", "--joint", "1.5 BW", "--by", "drop")
    assert done.code == 0
    assert "No drop brings the joint force" in done.out
    assert find_target(load_scene("level-stance"), 0, "drop", 2.3).roots[0] < 0


def test_start_is_the_scene_itself() -> None:
    answer = find_target(load_scene("cane-opposite-hand"), 1, "cane", 1.5)
    assert answer.start_bw == pytest.approx(solve_scene(load_scene("cane-opposite-hand")).joint_bw[1], rel=1e-12)
    assert answer.roots[0] < 0.15 * 64 * 9.80665


@pytest.mark.parametrize(
    ("arguments", "wanted"),
    [
        (["--joint", "-1 BW"], "allowed"),
        (["--joint", "0 BW"], "more than 0"),
        (["--joint", "1.5"], "without a unit"),
        (["--joint", "1.5 BW", "--by", "hope"], "lean, drop, cane"),
        (["--joint", "1.5 BW", "--step", "7"], "--step: found 7; this scene has 1 step\n"),
    ],
)
def test_refusals(run: Any, arguments: list[str], wanted: str) -> None:
    done = run("target", "level-stance", *arguments)
    assert done.code == 1
    assert wanted in done.err
    assert done.err.count("\n") == 1
