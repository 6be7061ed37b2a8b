"""A pose from joint angles: rigid, mirrored, either side alike; shorter legs are shorter shapes, not squeezed poses."""

from __future__ import annotations

import dataclasses
import json

import numpy as np
import pytest
from hypothesis import given, settings
from scipy.spatial.transform import Rotation

from tests.properties.test_metamorphic import people, postures
from viz3d.body.names import LEFT, RIGHT, SIDES
from viz3d.body.person import Body, make_body
from viz3d.body.segments import lengths
from viz3d.kinematics.angles import LEVELS, JointAngles, angles_of, between, rotation, sensed
from viz3d.kinematics.chain import pose
from viz3d.kinematics.posture import Posture, make_posture
from viz3d.kinematics.standing import standing_angles
from viz3d.scene.reader import load_scene
from viz3d.shapes.skeleton import build_figure
from viz3d.solution.script import Script
from viz3d.solution.solve import solve_batch

few = settings(max_examples=40, deadline=None)
RIGHT_ONE = np.array([True])


def random_angles(rng: np.random.Generator, count: int) -> JointAngles:
    def some(*shape: int) -> np.ndarray:
        return rng.uniform(-0.7, 0.7, (count, *shape))

    return JointAngles(
        root=some(3) + np.array([0.0, 0.9, 0.0]), pelvis=some(3), hips=some(2, 3), knees=some(2, 3), ankles=some(2, 3),
        lumbar=some(LEVELS, 3) / LEVELS, head=some(3), shoulders=some(2, 3), elbows=some(2, 3), wrists=some(2, 3),
        trunk_slide=0.1 * some(3), shoulder_slide=0.1 * some(2, 3), toes=some(2),
    )  # fmt: skip


def test_cardan_angles_against_a_general_library(rng: np.random.Generator) -> None:
    angles = rng.uniform(-1.5, 1.5, (500, 3))
    expected = Rotation.from_euler("ZXY", angles).as_matrix()
    assert rotation(angles) == pytest.approx(expected, abs=1e-14)
    assert angles_of(expected) == pytest.approx(angles, abs=1e-9)


def test_a_chain_of_any_angles_against_a_general_library(house: Body, rng: np.random.Generator) -> None:
    """Places of a leg's and an arm's joints by composing library rotations by hand."""
    angles = random_angles(rng, 20)
    found, size = pose(house, angles, np.zeros(20, dtype=bool)), lengths(house)
    for n in range(20):
        pelvis = Rotation.from_euler("ZXY", angles.pelvis[n])
        for k, (side, out) in enumerate(((LEFT, -1.0), (RIGHT, 1.0))):
            senses = np.array([1.0, out, out])
            hip = angles.root[n] + pelvis.apply([0.0, 0.0, out * house.hip_spacing[0] / 2])
            thigh = pelvis * Rotation.from_euler("ZXY", angles.hips[n, k] * senses)
            knee = hip + thigh.apply([0.0, -size.thigh[0], 0.0])
            shank = thigh * Rotation.from_euler("ZXY", angles.knees[n, k] * senses * [-1.0, 1.0, 1.0])
            ankle = knee + shank.apply([0.0, -size.shank[0], 0.0])
            assert found.joints[f"{side}_ankle"][n] == pytest.approx(ankle, abs=1e-12)
            foot = shank * Rotation.from_euler("ZXY", angles.ankles[n, k] * senses)
            assert found.frames[f"{side}_foot"][n, :3, :3] == pytest.approx(foot.as_matrix(), abs=1e-12)


@few
@given(people, postures)
def test_every_transform_is_rigid(body: Body, posture: Posture) -> None:
    body = dataclasses.replace(body, left=dataclasses.replace(body.left, shortening=np.array([0.06])))
    frames = solve_batch(body, posture).posed.frames
    assert len(frames) > 15
    for name, frame in frames.items():
        part = frame[0, :3, :3]
        assert part @ part.T == pytest.approx(np.eye(3), abs=1e-12), name
        assert np.linalg.det(part) == pytest.approx(1.0, abs=1e-12), name


@few
@given(people, postures)
def test_balance_s_angles_give_balance_s_joints(body: Body, posture: Posture) -> None:
    """The angles found for a balanced stance put the stance foot on the floor, and the hands on their handles."""
    solved = solve_batch(body, posture)
    joints, stance = solved.posed.joints, solved.stance
    assert joints["stance_ankle"][0] == pytest.approx([0.0, stance.leg.stance_ankle[0], 0.0], abs=1e-9)
    assert joints["stance_hip"][0, 1] == pytest.approx(stance.hip_height[0], abs=1e-9)
    assert solved.sign[0] * joints["stance_hip"][0, 2] == pytest.approx(stance.hip_lateral[0], abs=1e-9)
    for k, where in enumerate(("stance", "swing")):
        if posture.has_cane[0, k] and stance.reach_short[0, k] == 0.0:
            assert solved.sign[0] * joints[f"{where}_wrist"][0, 2] == pytest.approx(stance.handle[0, k, 0], abs=1e-9)


def test_mirrored_angles_give_a_mirrored_pose(house: Body, rng: np.random.Generator) -> None:
    angles = random_angles(rng, 8)
    flip, middle = np.array([1.0, 1.0, -1.0]), np.array([1.0, -1.0, -1.0])
    swapped = {n: getattr(angles, n)[:, ::-1] for n in ("hips", "knees", "ankles", "shoulders", "elbows", "wrists")}
    other = JointAngles(
        root=angles.root * flip, pelvis=angles.pelvis * middle, lumbar=angles.lumbar * middle,
        head=angles.head * middle, trunk_slide=angles.trunk_slide * flip,
        shoulder_slide=angles.shoulder_slide[:, ::-1] * flip, toes=angles.toes[:, ::-1], **swapped,
    )  # fmt: skip
    one, two = (pose(house, a, np.zeros(8, dtype=bool)).joints for a in (angles, other))
    for name in ("hip", "knee", "ankle", "shoulder", "elbow", "wrist", "knuckle"):
        assert one[f"left_{name}"] == pytest.approx(two[f"right_{name}"] * flip, abs=1e-12)
    assert one["vertex"] == pytest.approx(two["vertex"] * flip, abs=1e-12)


def test_bending_may_be_spread_over_the_lumbar_levels(house: Body) -> None:
    """The same bending at one level or at all: the trunk is turned alike, and stands further aside when it is lower."""
    stance = solve_batch(house, make_posture(lean=0.2)).stance
    low = standing_angles(house, stance)
    whole = low.lumbar.sum(axis=1)
    spread = dataclasses.replace(low, lumbar=np.repeat(whole[:, None] / LEVELS, LEVELS, axis=1))
    one, all_ = (pose(house, a, np.array([False])) for a in (low, spread))
    assert all_.frames["trunk"][0, :3, :3] == pytest.approx(one.frames["trunk"][0, :3, :3], abs=1e-12)
    aside = [p.joints["neck"][0, 2] - p.joints["lumbosacral"][0, 2] for p in (one, all_)]
    assert abs(aside[1]) < abs(aside[0])
    assert between(all_.levels[:, 0, :3, :3], all_.levels[:, 1, :3, :3])[0] == pytest.approx(
        whole[0] / LEVELS, abs=1e-12
    )


def test_the_studied_side_may_change_within_a_batch(house: Body) -> None:
    posture = make_posture(2, on_right=[True, False], lean=0.1, obliquity=0.05)
    joints = solve_batch(house, posture).posed.joints
    flip = np.array([1.0, 1.0, -1.0])
    for name in ("hip", "knee", "ankle", "wrist"):
        assert joints[f"stance_{name}"][0] == pytest.approx(joints[f"stance_{name}"][1] * flip, abs=1e-12)
        assert joints[f"right_{name}"][0] == pytest.approx(joints[f"left_{name}"][1] * flip, abs=1e-12)


@pytest.mark.parametrize("missing", [0.0, 0.03, 0.06])
def test_a_shorter_leg_s_shin_ends_at_its_ankle(missing: float) -> None:
    """Bones and skin of a shin as long as the leg's: nothing sticks through the foot, in any medium, since all share them."""
    both = [
        "posture.lifted=0 %",
        "posture.share=50 %",
        "posture.stance_width=250 mm",
        f"posture.left_heel_lift={missing / 2 * 1e3:g} mm",
    ]
    scene = load_scene("level-stance", [f"person.left_leg_shorter={missing * 1e3:g} mm", *both])
    shot = Script(scene).shots()[0]
    body, posed = shot.body, shot.solved.posed
    figure = build_figure(body, None, {}, "film")
    for side, length in ((LEFT, lengths(body).shank[0] - missing), (RIGHT, lengths(body).shank[0])):
        shins = [s.surface.points for s in figure.shapes.values() if s.link == "shank" and s.side == side]
        lowest = min(float(p[:, 1].min()) for p in shins)
        assert -length - 0.02 < lowest < -length + 0.005, side  # the malleolus reaches a little below the joint
        ankle = posed.frames[f"{side}_foot"][0, :3, 3]
        assert np.linalg.norm(ankle - posed.joints[f"{side}_knee"][0]) == pytest.approx(length, abs=1e-9)
    points, _ = figure.shell.posed(posed.frames, 0)
    lowest = {}
    for side in SIDES:
        near = np.abs(points[:, 2] - posed.joints[f"{side}_ankle"][0, 2]) < 0.06
        lowest[side] = float(points[near, 1].min() - posed.joints[f"{side}_ankle"][0, 1])
    assert lowest[LEFT] == pytest.approx(lowest[RIGHT], abs=0.01)


def test_senses_are_the_trade_s() -> None:
    """Flexion forward, a knee's backward, adduction towards the midline, internal rotation inward: on either side."""
    down = np.array([0.0, -1.0, 0.0])
    for side, out in ((LEFT, -1.0), (RIGHT, 1.0)):
        flexed, adducted, rotated = (rotation(sensed(0.3 * np.eye(3)[k], side)) for k in range(3))
        assert (flexed @ down)[0] > 0.2
        assert out * (adducted @ down)[2] < -0.2
        assert out * (rotated @ np.array([1.0, 0.0, 0.0]))[2] < -0.2
        assert (rotation(sensed(np.array([0.3, 0.0, 0.0]), side, -1.0)) @ down)[0] < -0.2


def test_sizes_do_not_enter_the_turns(house: Body) -> None:
    """A taller body in the same angles: the same turns, and places in proportion."""
    tall = make_body("female", 64.0, 1.66 * 1.1, hip_spacing=0.16 * 1.1)
    angles = random_angles(np.random.default_rng(3), 4)
    angles = dataclasses.replace(angles, trunk_slide=0 * angles.trunk_slide, shoulder_slide=0 * angles.shoulder_slide)
    here = pose(house, dataclasses.replace(angles, root=0 * angles.root), np.zeros(4, dtype=bool))
    there = pose(tall, dataclasses.replace(angles, root=0 * angles.root), np.zeros(4, dtype=bool))
    for name, frame in here.frames.items():
        assert there.frames[name][:, :3, :3] == pytest.approx(frame[:, :3, :3], abs=1e-14)
    assert there.joints["right_ankle"] == pytest.approx(1.1 * here.joints["right_ankle"], rel=1e-9)


def test_json_says_nothing_new_of_a_plain_leg(run: object) -> None:
    """The pose's way is internal: a scene's printed angles are those that were asked for."""
    record = json.loads(run("solve", "level-stance", "--set", "posture.lean=7 deg", "--json").out)  # type: ignore[operator]
    assert record["situations"][0]["lean_deg"] == pytest.approx(7.0, abs=1e-12)
