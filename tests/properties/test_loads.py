"""One list of forces in space: it closes both free bodies, and nothing is drawn that it does not hold."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings

from tests.conftest import Ran
from tests.properties.test_metamorphic import people, postures
from viz3d.body.person import Body
from viz3d.kinematics.posture import Posture, make_posture
from viz3d.scene.reader import library_scenes, load_scene
from viz3d.solution.script import solve_scene
from viz3d.solution.solve import solve_batch
from viz3d.stage.compose import compose
from viz3d.statics.model import SPATIAL_SET, MuscleModel


def vector(record: dict[str, float]) -> np.ndarray:
    return np.array([record["forward"], record["up"], record["right"]])


def closed(situation: dict[str, Any], on: str) -> tuple[np.ndarray, np.ndarray]:
    """Sum of the printed forces on one free body, and of their moments about the hip."""
    force, turn, hip = np.zeros(3), np.zeros(3), vector(situation["hip_centre_m"])
    for one in situation["loads"]:
        if one["on"] == on:
            force += vector(one["force_N"])
            turn += np.cross(vector(one["point_m"]) - hip, vector(one["force_N"]))
    return force, turn


@pytest.mark.parametrize("name", sorted(library_scenes()))
def test_the_printed_list_closes_both_free_bodies(run: Callable[..., Ran], name: str) -> None:
    """From the JSON alone: forces add up to nothing in space, moments to nothing in the frontal plane."""
    record = json.loads(run("solve", name, "--json", "--set", "picture.words=trade").out)
    bodies = {"body above the hip", "stance leg"}
    for situation in record["situations"]:
        weight = record["person"]["body_weight_N"]
        assert {one["on"] for one in situation["loads"]} == bodies
        for on in bodies:
            force, turn = closed(situation, on)
            assert force == pytest.approx(np.zeros(3), abs=1e-8 * weight), on
            assert turn[0] == pytest.approx(0.0, abs=1e-8 * weight), on


def test_three_axes_close_from_the_printed_muscles(run: Callable[..., Ran]) -> None:
    """The set about three axes: each muscle's printed line and force, and the loads, leave no moment about any axis."""
    situation = json.loads(run("solve", "muscle-set", "--json").out)["situations"][0]
    hip = vector(situation["hip_centre_m"])
    turn = np.zeros(3)
    for one in situation["loads"]:
        if one["on"] == "body above the hip" and one["force"] not in ("muscle", "joint"):
            turn += np.cross(vector(one["point_m"]) - hip, vector(one["force_N"]))
    muscles = situation["muscles"]
    assert len(muscles) > 20
    for one in muscles:
        turn += np.cross(vector(one["point_m"]) - hip, vector(one["force_on_pelvis_N"]))
    assert turn == pytest.approx(np.zeros(3), abs=1e-5)


def test_both_hands_both_feet_and_what_is_carried_are_printed(run: Callable[..., Ran]) -> None:
    crutches = json.loads(run("solve", "elbow-crutches", "--json").out)["situations"][-1]["loads"]
    assert sorted(x["side"] for x in crutches if x["force"].startswith("cane")) == ["left", "right"]
    shift = json.loads(run("solve", "weight-shift", "--json").out)["situations"][0]["loads"]
    assert sorted(x["side"] for x in shift if "foot" in x["force"]) == ["left", "right"]
    bags = json.loads(run("solve", "bag-sides", "--json").out)["situations"]
    assert any(x["force"].startswith("bag") and x["force_N"]["up"] < -1 for s in bags for x in s["loads"])


@pytest.mark.parametrize("name", sorted(library_scenes()))
def test_what_is_drawn_is_what_is_printed(name: str) -> None:
    """Every arrow of the plan is as long as the number in its label, and the joint's as the joint force in space."""
    scene = load_scene(name)
    solved = solve_scene(scene, file=name)
    plan = compose(scene, solved, bodies=False)
    loads = {x.key: x for x in solved.loads}
    drawn = {a.key: a for a in plan.arrows}
    assert np.linalg.norm(drawn["joint"].force, axis=1) == pytest.approx(solved.load.joint_magnitude, rel=1e-12)
    assert np.linalg.norm(drawn["muscle"].force, axis=1) == pytest.approx(solved.load.muscle_force, rel=1e-12)
    for key in drawn.keys() - {"joint", "muscle"}:
        assert drawn[key].force == pytest.approx(loads[key].force, abs=0.0)
    total = sum(a.force for a in plan.arrows)
    assert total == pytest.approx(np.zeros_like(total), abs=1e-8 * plan.body_weight)


@settings(max_examples=40, deadline=None)
@given(people, postures)
def test_sliding_every_load_along_its_line_changes_no_moment(body: Body, posture: Posture) -> None:
    solved = solve_batch(body, posture)
    for load in solved.load.loads:
        moved = load.point + 0.37 * load.line
        turn = moved[:, 2] * load.force[:, 1] - moved[:, 1] * load.force[:, 2]
        assert turn == pytest.approx(load.adducts, abs=1e-9 * body.weight[0])


@settings(max_examples=40, deadline=None)
@given(people, postures)
def test_the_weight_is_drawn_at_the_posed_chain_s_own_centre(body: Body, posture: Posture) -> None:
    """Place of the own weight: sideways from the closed balance, and the same from the posed segments."""
    from viz3d.body.segment_tables import LEG, SEGMENTS
    from viz3d.body.segments import mass_fractions

    solved = solve_batch(body, posture)
    side = solved.side(0)
    keep = [n for n in range(len(SEGMENTS)) if SEGMENTS[n] not in [f"{side}_{name}" for name in LEG]]
    kilograms = mass_fractions(body)[0, keep]
    centre = (kilograms[:, None] * solved.centres[0, keep]).sum(axis=0) / kilograms.sum()
    assert solved.loads[0].point[0, 1:] == pytest.approx(centre[1:], abs=1e-9)


def test_a_batch_may_study_either_hip(house: Body) -> None:
    """Rows of one batch on the left and on the right hip: mirrored places, the same sizes."""
    posture = make_posture(2, on_right=[False, True], has_cane=[False, True], cane_force=[0.0, 60.0], lean=0.05)
    for model in (MuscleModel(), MuscleModel(kind=SPATIAL_SET)):
        solved = solve_batch(house, posture, model=model)
        assert solved.load.joint_magnitude[0] == pytest.approx(solved.load.joint_magnitude[1], rel=1e-12)
        for load in solved.loads:
            assert load.point[0] == pytest.approx(load.point[1] * [1.0, 1.0, -1.0], abs=1e-12)
            assert load.force[0] == pytest.approx(load.force[1] * [1.0, 1.0, -1.0], abs=1e-9)
