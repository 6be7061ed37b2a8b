"""solve, check, scenes, new, schema: every command, every library scene."""

from __future__ import annotations

import csv
import io
import json
import math
import re
import subprocess
import sys
from typing import Any

import pytest

from viz3d.scene.reader import library_scenes

FIELDS = [
    "time_s",
    "stance_side",
    "hip",
    "status",
    "shortfall",
    "model",
    "assumed",
    "lean_deg",
    "obliquity_deg",
    "cane_side",
    "cane_force_N",
    "cane_line_distance_m",
    "external_moment_Nm",
    "weight_lever_m",
    "muscle",
    "muscle_force_N",
    "muscle_lever_m",
    "joint_force_N",
    "joint_force_bw",
    "joint_angle_deg",
    "peak_pressure_MPa",
    "residual_N",
    "residual_Nm",
    "relief",
    "relief_unweighting",
    "relief_leverage",
    "relief_rebalanced",
    "relief_chord",
]
SCENES = list(library_scenes())


def no_nan(value: Any) -> bool:
    if isinstance(value, dict):
        return all(no_nan(v) for v in value.values())
    if isinstance(value, list):
        return all(no_nan(v) for v in value)
    return not (isinstance(value, float) and not math.isfinite(value))


def test_the_library_is_there() -> None:
    assert len(SCENES) >= 6


@pytest.mark.parametrize("scene", SCENES)
def test_json_of_every_scene(run: Any, scene: str) -> None:
    done = run("solve", scene, "--json")
    assert done.code == 0
    answer = json.loads(done.out)
    assert list(answer)[:4] == ["scene", "format", "person", "situations"]
    weight = answer["person"]["body_weight_N"]
    assert weight == pytest.approx(answer["person"]["mass_kg"] * 9.80665)
    for s in answer["situations"]:
        assert set(FIELDS) <= set(s)
        assert no_nan(s)
        assert {k for k, v in s.items() if v is None} == set(s["reasons"])
        assert s["residual_N"] < 1e-9 * weight
        assert s["residual_Nm"] < 1e-9 * weight * s["weight_lever_m"]
        assert s["joint_force_bw"] == pytest.approx(s["joint_force_N"] / weight)
        assert s["status"] == "held"


def test_several_scenes_make_an_array(run: Any) -> None:
    answer = json.loads(run("solve", "level-stance", "pelvic-drop", "--json").out)
    assert [a["scene"] for a in answer] == ["level-stance", "pelvic-drop"]


def test_csv_has_a_row_per_situation(run: Any) -> None:
    rows = list(csv.DictReader(io.StringIO(run("solve", "cane-opposite-hand", "--csv").out)))
    assert len(rows) == 2
    assert float(rows[1]["joint_force_bw"]) < float(rows[0]["joint_force_bw"])


def test_table_says_what_is_assumed_and_left_out(run: Any) -> None:
    out = run("solve", "cane-same-hand").out
    assert "from-memory" in out
    assert "unweighting" in out
    assert "licensed clinician" in out


def test_set_changes_a_value(run: Any) -> None:
    plain = json.loads(run("solve", "level-stance", "--json").out)
    heavy = json.loads(run("solve", "level-stance", "--set", 'person.mass="80 kg"', "--json").out)
    assert heavy["person"]["mass_kg"] == 80
    a, b = plain["situations"][0], heavy["situations"][0]
    assert b["joint_force_N"] == pytest.approx(a["joint_force_N"] * 80 / 64)
    assert run("solve", "level-stance", "--set", "person.mass=141 lb").code == 0


def test_too_weak_exits_zero_with_its_status(run: Any) -> None:
    done = run("solve", "level-stance", "--set", "strength.left_abductors=20 %", "--json")
    assert done.code == 0
    s = json.loads(done.out)["situations"][0]
    assert s["status"] == "too_weak"
    assert s["shortfall"]["value"] > 0
    assert run("still", "level-stance", "--set", "strength.left_abductors=20 %", "--strict").code == 1


def test_falling_is_reported(run: Any) -> None:
    s = json.loads(run("solve", "level-stance", "--set", "posture.inclination=0 deg", "--json").out)["situations"][0]
    assert s["status"] == "would_fall"
    assert s["shortfall"]["unit"] == "cm"


@pytest.mark.parametrize("scene", SCENES)
def test_check(run: Any, scene: str) -> None:
    done = run("check", scene)
    assert done.code == 0
    assert "good" in done.out
    assert "note" not in done.out, "a library caption must be readable in its time"


def test_scenes_lists_aims(run: Any) -> None:
    out = run("scenes").out
    assert all(name in out for name in SCENES)


def test_new_copies_and_never_overwrites(run: Any, tmp_path: Any) -> None:
    assert run("new", "mine", "--from", "lean-over-hip").code == 0
    assert run("check", "mine.toml").code == 0
    before = (tmp_path / "mine.toml").read_text()
    again = run("new", "mine")
    assert again.code == 1
    assert "already there" in again.err
    assert (tmp_path / "mine.toml").read_text() == before
    assert run("new", "../out").code == 1


def test_schema_marks_posing_and_shaping(run: Any) -> None:
    text = run("schema").out
    schema = json.loads(text)
    assert schema["properties"]["format"]["const"] == 1
    assert '"x-kind": "posing"' in text
    assert '"x-kind": "shaping"' in text


def test_help_is_grouped(run: Any) -> None:
    ran = run("--help")
    assert ran.code == 0
    for word in ("Numbers", "Pictures", "Set-up"):
        assert word in ran.out


@pytest.mark.parametrize("coding", ["cp1252", "ascii", "utf-8"])
def test_output_survives_any_terminal(coding: str) -> None:
    import os

    env = {**os.environ, "PYTHONIOENCODING": coding, "LC_ALL": "C"}
    done = subprocess.run(
        [sys.executable, "-m", "viz3d", "solve", "cane-opposite-hand"],
        capture_output=True,
        env=env,
        timeout=600,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    text = done.stdout.decode(coding)
    assert re.search(r"\d\.\d\d BW", text)
    assert "?" not in text
