"""Every answer of a question, put into the scene as a person would write it and solved forward, gives what was asked."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from viz3d.errors import InputError, SceneError
from viz3d.questions.hold import find_limit, find_match
from viz3d.questions.target import solve_target
from viz3d.questions.vary import Input, case_of, named_input, words_asked
from viz3d.scene.reader import check_scene, library_scenes, load_data
from viz3d.scene.schema import Scene
from viz3d.solution.script import Script
from viz3d.solution.solved import HELD, Solved

UNITS = {"angle": ("deg", math.degrees(1.0)), "force": ("N", 1.0), "length": ("m", 1.0), "mass": ("kg", 1.0)}
ALL = [(name, k) for name in library_scenes() for k in range(len(load_data(name)[0].steps))]
SAMPLE = ALL[:: max(1, len(ALL) // 6)]


def written(what: Input, value: float) -> str:
    """A value as a scene writes it."""
    unit, size = UNITS[what.dimension]
    return f"{value * size:.12f} {unit}"


def forward(name: str, step: int, changes: dict[str, str]) -> tuple[Scene, Solved]:
    """The scene cut after a step, with more keys set by it: read, checked, refused and solved like any other."""
    _, data = load_data(name)
    steps = data.get("steps", [{"name": "As it stands"}])[: step + 1]
    steps[step] = {**steps[step], "set": {**steps[step].get("set", {}), **changes}, "claims": []}
    scene = check_scene({**data, "steps": steps, "questions": []}, Path(f"{name}.toml"))
    shot, row = Script(scene, name).shot_at(step)
    assert shot.solved.step[row] == step
    return scene, shot.solved


def keys_for(name: str, step: int, word: str) -> tuple[Input, dict[str, str]]:
    """An input, and what else a hand needs for it."""
    case, what = named_input(case_of(load_data(name)[0], step, name), word)
    more = {}
    if what.key.startswith("hands."):
        side = what.key.split(".")[1]
        held, wanted = (
            getattr(case_of(load_data(name)[0], step).scene.hands, side).holds,
            getattr(case.scene.hands, side).holds,
        )
        if held != wanted:
            more = {f"hands.{side}.holds": wanted}
    return what, more


def check_target(name: str, step: int, word: str) -> int:
    """Ask for a tenth less, and solve every root forward."""
    case = case_of(load_data(name)[0], step, name)
    start = float(case.solved().joint_bw[0])
    if not math.isfinite(start):
        return 0
    try:
        answer = solve_target(case, word, 0.9 * start)
    except (InputError, SceneError):
        return 0  # both hands are full, or nobody could take any of it
    what, more = keys_for(name, step, word)
    for root, held in zip(answer.roots, answer.held, strict=True):
        _, solved = forward(name, step, {**more, what.key: written(what, root)})
        row = list(solved.step).index(step)
        size = case.weight if word == "mass" else float(solved.body.weight.flat[0])
        assert float(solved.load.joint_magnitude[row]) / size == pytest.approx(0.9 * start, rel=2e-6), (
            name,
            step,
            word,
        )
        assert (solved.status[row] == HELD) == held
    return len(answer.roots)


def check_hold(name: str, step: int) -> int:
    """Weaken both hips until the step cannot be held, and solve each remedy forward."""
    weak = {f"strength.{side}_abductors": "25 %" for side in ("left", "right")}
    scene, _ = forward(name, step, weak)
    limit = find_limit(scene, step, file=name)
    for remedy in limit.remedies:
        if remedy.value is None or not remedy.input.key:
            continue
        _, more = keys_for(name, step, remedy.input.word)
        _, solved = forward(name, step, {**weak, **more, remedy.input.key: written(remedy.input, remedy.value)})
        row = list(solved.step).index(step)
        assert solved.status[row] == HELD, (name, step, remedy.input.word)
    return len(limit.remedies)


def check_match(name: str, step: int) -> int:
    """What does the same as 5 degrees of lean: solved forward, the joint forces are equal."""
    scene = load_data(name)[0]
    lean = math.radians(5.0)
    found = 0
    for by in words_asked():
        if by == "lean":
            continue
        try:
            match = find_match(scene, step, "lean", lean, by, name)
        except (InputError, SceneError):
            continue
        what, more = keys_for(name, step, by)
        for value in match.values:
            _, solved = forward(name, step, {**more, what.key: written(what, value)})
            row = list(solved.step).index(step)
            weight = case_of(scene, step).weight
            joint = float(solved.load.joint_magnitude[row]) / weight
            assert joint == pytest.approx(match.joint_bw, rel=2e-6), (name, step, by)
            found += 1
    return found


@pytest.mark.parametrize(("name", "step"), SAMPLE)
def test_answers_solved_forward(name: str, step: int) -> None:
    assert sum(check_target(name, step, word) for word in ("lean", "cane")) + check_hold(name, step) >= 0
    assert len(ALL) > 40


@pytest.mark.long
@pytest.mark.parametrize(("name", "step"), ALL)
def test_answers_solved_forward_long(name: str, step: int) -> None:
    roots = sum(check_target(name, step, word) for word in words_asked())
    assert roots + check_hold(name, step) + check_match(name, step) > 0
