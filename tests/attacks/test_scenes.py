"""Mutated scenes: read, checked, solved and told; only our own errors, only numbers that are some."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.attacks.mutants import scene_text
from tests.attacks.watch import check_numbers, failures, outcome, pieces
from viz3d.scene.reader import check_scene, parse_text
from viz3d.scene.schema import Scene
from viz3d.solution.records import scene_record
from viz3d.solution.script import Script
from viz3d.stage.alt import alt_text
from viz3d.stage.compose import compose


def told(scene: Scene) -> None:
    """Solve a scene and say everything that can be said of it."""
    shots = Script(scene, "mutant.toml").shots()
    record = scene_record("mutant", scene, shots)
    voice = scene.picture.voice
    for shot in shots:
        plan = compose(shot.scene, shot.solved, bodies=False)
        record |= {f"shown {k}": plan.shown(shot.row(k), voice) for k in shot.rows}
        record |= {f"alt {k}": alt_text(plan, shot.row(k), voice) for k in shot.rows}
    for one in record["situations"]:
        one.pop("step")
    json.dumps(record, allow_nan=False)
    check_numbers(record)


def attack(seed: int) -> None:
    path = Path("mutant.toml")
    outcome(lambda: told(check_scene(parse_text(scene_text(seed), path), path)))


def test_a_sample_of_mutated_scenes() -> None:
    assert not failures(range(1_000_000, 1_000_080), attack)


@pytest.mark.long
@pieces("scenes", 100_000, 1_000)
def test_mutated_scenes(seeds: range) -> None:
    assert not failures(seeds, attack)
