"""A motion in a C3D file: the same walk as the table it was written from, and every line in which one is refused."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import ezc3d
import numpy as np
import pytest

from tests.conftest import Ran
from viz3d.motion.c3d import read_c3d
from viz3d.motion.library import usual_motion

HEAD = """
title = "the usual walk, as a laboratory would store it"
source = "viz3d's own table"
licence = "MIT"
leg_length_m = 0.82
step_width_m = 0.088
right_heel_strike_pct = 0
right_toe_off_pct = 64
frames = [1, 100]
"""
ANGLES = {
    "pelvis_back_deg": "-PELV x", "pelvis_right_deg": "PELV y", "pelvis_left_deg": "PELV z",
    "trunk_back_deg": "TRUNK x", "trunk_right_deg": "TRUNK y", "trunk_left_deg": "TRUNK z",
    "hip_flexion_right_deg": "HIPR x", "hip_adduction_right_deg": "HIPR y", "hip_rotation_right_deg": "HIPR z",
    "knee_flexion_right_deg": "-KNEER x", "ankle_flexion_right_deg": "ANKR x",
    "shoulder_flexion_right_deg": "ARMR x", "shoulder_adduction_right_deg": "ARMR y",
    "shoulder_rotation_right_deg": "ARMR z", "elbow_flexion_right_deg": "ELBR x",
    "root_forward_mm": "ROOT x", "root_up_mm": "ROOT z", "root_right_mm": "-ROOT y",
}  # fmt: skip
GROUND = {
    "ground_forward_right_BW": "FOOTR x", "ground_up_right_BW": "FOOTR y", "ground_right_right_BW": "FOOTR z",
}  # fmt: skip


def write(folder: Path, columns: dict[str, str], gap: bool = False, name: str = "lab") -> Path:
    """A C3D file of the usual motion, and the TOML file beside it."""
    motion = usual_motion()
    labels = sorted({text.split()[0].removeprefix("-") for text in (ANGLES | GROUND).values()})
    points = np.ones((4, len(labels), len(motion.times)))
    for head, text in (ANGLES | GROUND).items():
        key, unit = head.rsplit("_", 1)
        label, axis = text.split()
        size = {"deg": np.degrees(1.0), "mm": 1000.0, "BW": 1.0}[unit] * (-1.0 if label.startswith("-") else 1.0)
        points["xyz".index(axis), labels.index(label.removeprefix("-"))] = size * motion.values[key]
    if gap:
        points[:3, labels.index("KNEER"), 30:34] = np.nan
    file = ezc3d.c3d()
    file["parameters"]["POINT"]["RATE"]["value"] = [1.0 / motion.times[1]]
    file["parameters"]["POINT"]["LABELS"]["value"] = labels
    file["data"]["points"] = points
    path = folder / f"{name}.c3d"
    file.write(str(path))
    told = "\n".join(f'{head} = "{text}"' for head, text in columns.items())
    path.with_suffix(".toml").write_text(f"{HEAD}\n[columns]\n{told}\n", encoding="utf-8")
    return path


def test_the_same_motion_as_in_the_table(run: Callable[..., Ran], tmp_path: Path) -> None:
    path, usual = write(tmp_path, ANGLES | GROUND), usual_motion()
    found = read_c3d(path)
    for key, values in found.values.items():
        assert values == pytest.approx(usual.values[key], abs=2e-6), key
    assert found.period == pytest.approx(usual.period, rel=1e-3)
    assert found.strike == usual.strike
    ran = run("walk", "level-stance", "--motion", str(path), "--json")
    record = json.loads(ran.out)
    assert record["motion"]["source"] == "viz3d's own table"
    assert 2.0 < record["peaks"]["first_BW"] < 2.8


def test_without_forces_nothing_is_moved_by_them(run: Callable[..., Ran], tmp_path: Path) -> None:
    path = write(tmp_path, ANGLES)
    ran = run("walk", "level-stance", "--motion", str(path))
    assert ran.code == 0, ran.err
    assert "ground force forward is the measured one" not in ran.out
    assert (
        "the motion holds no ground forces"
        in run("walk", "level-stance", "--motion", str(path), "--double-stance", "measured").err
    )


def test_bad_files_are_refused_in_one_line(run: Callable[..., Ran], tmp_path: Path) -> None:
    whole = write(tmp_path, ANGLES).read_bytes()
    toml = (tmp_path / "lab.toml").read_text(encoding="utf-8")

    def refused(said: str, raw: bytes = whole, text: str | None = toml) -> None:
        (tmp_path / "bad.c3d").write_bytes(raw)
        (tmp_path / "bad.toml").unlink(missing_ok=True)
        if text is not None:
            (tmp_path / "bad.toml").write_text(text, encoding="utf-8")
        before = sorted(tmp_path.iterdir())
        ran = run("walk", "level-stance", "--motion", "bad.c3d", "--out", "out.csv")
        assert ran.code == 1
        assert said in ran.err
        assert ran.err.count("\n") == 1
        assert sorted(tmp_path.iterdir()) == before

    refused("is cut short", raw=whole[: len(whole) // 2])
    refused("cut short in its head", raw=whole[:12])
    refused("is no C3D file", raw=b"hello, world" * 99)
    refused("markers alone cannot be used", text=None)
    refused("[columns]: missing", text=HEAD)
    refused("no point 'KNEE'", text=toml.replace("KNEER x", "KNEE x"))
    refused("allowed: a label and an axis", text=toml.replace("KNEER x", "KNEER"))
    refused(
        "missing columns: knee_flexion_right_deg", text=toml.replace("knee_flexion_right_deg", "elbow_flexion_left_deg")
    )
    refused("allowed: within 1 to 100", text=toml.replace("[1, 100]", "[1, 900]"))
    refused("licence: missing", text=toml.replace('licence = "MIT"', ""))
    refused("mass_kg: missing", text=toml + 'ground_up_right_N = "plate 1 z"\n')
    refused("no 'plate 1'", text="mass_kg = 62\n" + toml + 'ground_up_right_N = "plate 1 z"\n')
    refused("is not TOML", text="title = ")


def test_gaps_are_told_by_frame(run: Callable[..., Ran], tmp_path: Path) -> None:
    path = write(tmp_path, ANGLES, gap=True)
    assert "frame 31: knee_flexion_right_deg: a gap" in run("walk", "level-stance", "--motion", str(path)).err
