"""``viz3d hold`` and ``viz3d match``: sentences, JSON, refusals."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Ran

WEAK = ["--set", "strength.left_abductors=30 %"]


def test_hold_says_what_helps_and_that_a_drop_does_not(run: Callable[..., Ran]) -> None:
    done = run("hold", "level-stance", *WEAK)
    assert done.code == 0
    assert "cannot be held" in done.out
    assert "No drop helps" in done.out
    assert "pressing on a cane in the right hand" in done.out


def test_the_least_cane_force_is_the_edge(run: Callable[..., Ran]) -> None:
    answer = json.loads(run("hold", "level-stance", *WEAK, "--json").out)
    cane = next(r for r in answer["steps"][0]["remedies"] if r["input"]["word"] == "cane")
    cane_scene = ["cane-opposite-hand", *WEAK]
    for factor, status in ((0.98, "too_weak"), (1.02, "held")):
        push = f"hands.right.force={cane['value'] * factor:.4f} N"
        record = json.loads(run("solve", *cane_scene, "--set", push, "--json").out)
        assert record["situations"][0]["status"] == status


def test_match_round_trip(run: Callable[..., Ran]) -> None:
    found = json.loads(run("match", "level-stance", "--this", "lean=10 deg", "--by", "cane", "--json").out)
    back = json.loads(
        run("match", "level-stance", "--this", f"cane={found['values'][0]:.6f} N", "--by", "lean", "--json").out
    )
    assert back["joint_force_bw"] == pytest.approx(found["joint_force_bw"], rel=1e-6)


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["--this", "lean=10"], "without a unit"),
        (["--this", "lean=80 deg"], "allowed"),
        (["--this", "lean"], "INPUT=VALUE"),
        (["--this", "cane=10 %BW", "--by", "cane"], "must differ"),
    ],
)
def test_refusals(run: Callable[..., Ran], arguments: list[str], word: str) -> None:
    done = run("match", "level-stance", *arguments)
    assert done.code == 1
    assert word in done.err


def test_muscle_set_in_a_scene(run: Callable[..., Ran]) -> None:
    spatial = ["--set", "model.muscles=three-axis set", "--set", "model.pressure=horseshoe"]
    record = json.loads(run("solve", "level-stance", *spatial, "--json").out)["situations"][0]
    assert record["model"] == "muscle set about three axes"
    assert len(record["muscles"]) == 23
    assert sum(m["share"] for m in record["muscles"]) == pytest.approx(1.0, abs=1e-6)
    assert record["sagittal"]["joint_force_bw_line_behind"] != record["sagittal"]["joint_force_bw_line_ahead"]
    assert record["horseshoe"]["peak_MPa"] == record["peak_pressure_MPa"]
    weak = json.loads(run("solve", "level-stance", *spatial, *WEAK, "--json").out)["situations"][0]
    assert weak["status"] == "too_weak"
    assert weak["joint_force_bw"] is None
    assert "joint_force_bw" in weak["reasons"]


def test_raise_lying_asks_more_than_standing(run: Callable[..., Ran]) -> None:
    lying, standing = (
        json.loads(run("raise", "level-stance", "--position", p, "--json").out) for p in ("lying", "standing")
    )
    assert lying["moment_Nm"] > standing["moment_Nm"] > 0
    assert run("raise", "level-stance", "--angle", "80 deg").code == 1
    assert "allowed: lying, standing" in run("raise", "level-stance", "--position", "sitting").err


@pytest.mark.parametrize(
    ("change", "line"),
    [
        ("person.mass_changes.left_shank=-9 kg", "at most what it weighs"),
        ("person.mass_changes.tail=1 kg", "person.mass_changes.tail: found 'tail'"),
        ("model.power=1", "model.power: found 1; allowed: 2 to 100"),
        ("strength.muscles.psoas=50 %", "needs model.muscles"),
        ("hands.left.holds=frame", "needs 'force'"),
        ("person.left_hip.socket_out=40 mm", "allowed: -25 mm to 25 mm"),
    ],
)
def test_bad_input_of_the_wider_cases(run: Callable[..., Ran], change: str, line: str) -> None:
    done = run("solve", "level-stance", "--set", change)
    assert done.code == 1
    assert line in done.err
    assert len(done.err.strip().splitlines()) == 1


def test_a_stance_too_wide_is_refused(run: Callable[..., Ran]) -> None:
    done = run("solve", "weight-shift", "--set", "posture.stance_width=500 mm")
    assert done.code == 1
    assert "short of the floor" in done.err


def test_a_muscle_set_too_weak_is_not_drawn(run: Callable[..., Ran]) -> None:
    weak = ["--set", "model.muscles=frontal set", "--set", "strength.left_abductors=10 %", "--out", "a.svg"]
    done = run("still", "level-stance", *weak)
    assert done.code == 1
    assert "too weak" in done.err
    assert not any(Path().iterdir())


def test_looking_for_remedies_works_out_nothing_beside_the_forces(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is said beside the forces costs several times as much, and no remedy depends on it."""
    from viz3d.questions.hold import find_limit
    from viz3d.scene.reader import load_scene
    from viz3d.solution import beside, script

    batches: list[int] = []
    real = script.solve_batch

    def counted(*given: object, **named: object) -> object:
        batches.append(1)
        return real(*given, **named)

    monkeypatch.setattr(script, "solve_batch", counted)
    for name in ("cane_effect", "_sagittal", "_socket"):
        monkeypatch.setattr(beside, name, lambda *_: pytest.fail("nobody asked for it"))
    scene = load_scene("muscle-set", ["load.backpack=30 kg", "strength.left_abductors=50 %"])
    limit = find_limit(scene, 0, ("drop",))
    assert limit.status == "too_weak"
    assert len(batches) <= 18


def test_the_edge_found_many_places_at_once_is_the_edge() -> None:
    """What is told can be typed and holds; one of its last decimal less does not."""
    import numpy as np

    from viz3d.questions.hold import find_limit
    from viz3d.questions.vary import case_of
    from viz3d.scene.reader import load_scene

    scene = load_scene("level-stance", ["strength.left_abductors=30 %"])
    limit = find_limit(scene, 0)
    case = case_of(scene, 0)
    found = [r for r in limit.remedies if r.input.word == "lean"]
    assert found[0].value is not None
    degrees = np.degrees(found[0].value)
    assert degrees == pytest.approx(round(degrees, 1), abs=1e-9)
    just, less = case.solved({found[0].input.key: np.radians([round(degrees, 1), round(degrees, 1) - 0.1])}).status
    assert (just, less) == ("held", "too_weak")
