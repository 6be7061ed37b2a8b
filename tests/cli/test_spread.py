"""Spread over people: bands, seed, drivers, and what must be refused."""

from __future__ import annotations

import json
from typing import Any

import pytest

from viz3d.questions.spread import bands, varied_inputs
from viz3d.scene.reader import load_scene
from viz3d.solution.inputs import body_of


def test_bands_surround_the_middle_and_repeat() -> None:
    scene = load_scene("cane-opposite-hand")
    a, b = bands(scene, 0, 1024, 3, drivers=False), bands(scene, 0, 1024, 3, drivers=False)
    assert a == b
    for band in a:
        assert band.low < band.here < band.high
        assert band.low < band.middle < band.high
    names = {band.name for band in a}
    assert {"joint_force_bw", "relief"} <= names


def test_relief_band_of_ordinary_people() -> None:
    """The plan: seven or eight to one describes a person; its scratch band over ordinary people is about 7.3-10."""
    (relief,) = (b for b in bands(load_scene("cane-opposite-hand"), 0, 4096, 1, drivers=False) if b.name == "relief")
    print(f"relief 5-95 %: {relief.low:.1f} to {relief.high:.1f}")
    assert relief.low > 6.5
    assert relief.high < 11.5


def test_centre_edge_angle_drives_pressure_only() -> None:
    found = {b.name: b.drivers for b in bands(load_scene("level-stance"), 0, 1024, 1)}
    assert next(iter(found["peak_pressure_MPa"])).endswith("centre_edge_angle")
    assert found["joint_force_bw"]["person.left_hip.centre_edge_angle"] < 0.02
    assert sum(found["weight_lever_cm"].values()) == pytest.approx(1.0, abs=0.1)
    assert next(iter(found["weight_lever_cm"])) == "person.hip_spacing"


def test_measured_values_are_not_varied() -> None:
    scene = load_scene("level-stance", ["person.hip_spacing=170 mm", "person.left_hip.offset=41 mm"])
    keys = {v.key for v in varied_inputs(scene, body_of(scene))}
    assert not keys & {"person.hip_spacing", "person.left_hip.offset"}
    assert "person.left_hip.version" in keys


def test_command(run: Any) -> None:
    done = run("spread", "cane-opposite-hand", "--people", "512", "--json")
    assert done.code == 0
    answer = json.loads(done.out)
    assert answer["seed"] == 1
    assert answer["bands"]
    assert "5-95" in run("spread", "--help").out
    assert run("spread", "level-stance", "--people", "3").code == 1


def test_progress_is_told_and_people_come_a_few_at_a_time(monkeypatch: pytest.MonkeyPatch) -> None:
    from viz3d.questions import spread
    from viz3d.scene.reader import load_scene

    scene, told = load_scene("level-stance"), []
    whole = spread.bands(scene, 0, 128)
    monkeypatch.setattr(spread, "_AT_ONCE", 50)
    parts = spread.bands(scene, 0, 128, progress=lambda *said: told.append(said))
    assert [(p.low, p.high) for p in parts] == [pytest.approx((w.low, w.high), rel=1e-12) for w in whole]
    assert (
        told[-1][1] == told[-1][2] == 128 + 128 * (len(spread.varied_inputs(scene, spread.case_of(scene, 0).body)) + 2)
    )
    assert len(told) > 10
