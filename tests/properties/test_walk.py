"""Walking: what must hold whatever the motion is."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from viz3d.body.names import SIDES
from viz3d.body.person import Body, make_body
from viz3d.body.segment_tables import LEG, SEGMENTS
from viz3d.kinematics.angles import JointAngles
from viz3d.kinematics.frontal import stand
from viz3d.kinematics.muscle_paths import HipBones, paths_between
from viz3d.kinematics.posture import make_posture
from viz3d.kinematics.standing import standing_angles
from viz3d.motion.cycle import Cycle, cycle_of
from viz3d.motion.library import usual_motion
from viz3d.motion.momenta import momenta
from viz3d.motion.series import rate
from viz3d.motion.swing import closed
from viz3d.solution.solve import solve_batch
from viz3d.solution.walk import Walked, solve_walk
from viz3d.statics.model import MODELS, MuscleModel
from viz3d.statics.moving import hip_frame, moving_lines
from viz3d.units import GRAVITY


@pytest.fixture(scope="module")
def cycle(house: Body) -> Cycle:
    return cycle_of(house, usual_motion())


@pytest.fixture(scope="module")
def walked(house: Body, cycle: Cycle) -> Walked:
    return solve_walk(house, cycle, "right", MuscleModel("three-axis set"))


def test_a_shorter_leg_is_put_on_the_floor_too() -> None:
    body = make_body("female", 64.0, 1.66, left={"shortening": 0.01})
    found = solve_walk(body, cycle_of(body, usual_motion()), "left")
    assert max(found.cycle.planted.slid.values()) < 0.005
    assert set(found.cycle.planted.slid) == set(SIDES)
    heights = found.posed.joints["left_ankle"][:, 1]
    assert heights.min() > 0.039 * 1.66 - 0.003
    assert found.residual_moment.max() < 1e-9


def test_both_sides_as_measured() -> None:
    """Where both sides are given each leg walks its own angles; here the left one bends its knee a tenth more."""
    usual = usual_motion()
    share, added = usual.times / usual.period, {}
    for key in usual.values:
        if key.endswith("_right") and not key.startswith("root"):
            sign = -1.0 if key.startswith("ground_right") else 1.1 if key.startswith("knee") else 1.0
            later = np.interp(np.mod(share + 0.5, 1.0), share[:-1], closed(usual, key), period=1.0)
            added[key.removesuffix("right") + "left"] = sign * later
    both = dataclasses.replace(usual, values=usual.values | added)
    body = make_body("female", 64.0, 1.66)
    cycle = cycle_of(body, both)
    assert not both.one_sided
    bends = [float(np.ptp(cycle.angles.knees[:, k, 0])) for k in range(2)]
    assert 1.03 < bends[0] / bends[1] < 1.2
    assert max(cycle.planted.slid.values()) < 0.005
    found = solve_walk(body, cycle, "left")
    assert found.residual_moment.max() < 1e-9
    assert 2.0 < found.joint_bw.max() < 3.0


def test_both_paths_agree(walked: Walked) -> None:
    assert walked.residual_moment.max() < 1e-9
    assert walked.residual_force.max() < 1e-9


def test_feet_stand(cycle: Cycle) -> None:
    assert max(cycle.planted.slid.values()) < 0.005
    assert max(cycle.planted.sunk.values()) < 0.0025


def test_other_hip_does_the_same_half_a_cycle_later(house: Body, cycle: Cycle) -> None:
    for kind in MODELS:
        left, right = (solve_walk(house, cycle, side, MuscleModel(kind)) for side in SIDES)
        later = np.roll(left.joint_bw, 50)
        assert right.joint_bw == pytest.approx(later, abs=1e-7)
        assert right.moment_below == pytest.approx(np.roll(left.moment_below, 50, axis=0), abs=1e-8)


def test_a_heavier_body_of_the_same_shape_scales(house: Body, cycle: Cycle) -> None:
    heavy = make_body("female", 80.0, 1.66)
    more, usual = solve_walk(heavy, cycle_of(heavy, usual_motion())), solve_walk(house, cycle)
    assert more.load.joint_force == pytest.approx(1.25 * usual.load.joint_force, rel=1e-9)


@pytest.mark.parametrize("pace", [0.5, 1.3])
def test_pace_changes_rates_only(house: Body, cycle: Cycle, pace: float) -> None:
    other = cycle_of(house, usual_motion(), pace=pace)
    a, b = (momenta(house, c.posed(house), c.frames, c.period, c.speed) for c in (cycle, other))
    assert b.centre == pytest.approx(a.centre, abs=1e-12)
    assert b.velocity == pytest.approx(pace * a.velocity, abs=1e-9)
    assert b.acceleration == pytest.approx(pace**2 * a.acceleration, abs=1e-8)
    assert b.energy == pytest.approx(pace**2 * a.energy, rel=1e-9)


def test_backward_in_time_velocities_turn_round_and_accelerations_stay(house: Body, cycle: Cycle) -> None:
    order = -np.arange(cycle.frames) % cycle.frames
    angles = JointAngles(*(getattr(cycle.angles, f.name)[order] for f in dataclasses.fields(JointAngles)))
    back = dataclasses.replace(cycle, angles=angles, speed=-cycle.speed)
    a, b = (momenta(house, c.posed(house), c.frames, c.period, c.speed) for c in (cycle, back))
    assert b.velocity == pytest.approx(-a.velocity[order], abs=1e-9)
    assert b.spin == pytest.approx(-a.spin[order], abs=1e-9)
    assert b.angular == pytest.approx(-a.angular[order], abs=1e-9)
    assert b.acceleration == pytest.approx(a.acceleration[order], abs=1e-8)
    assert b.angular_rate == pytest.approx(a.angular_rate[order], abs=1e-8)


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("kind", ["equivalent", "frontal set"])
def test_a_motion_that_stands_still_is_the_standing_answer(house: Body, cycle: Cycle, side: str, kind: str) -> None:
    posture = make_posture(cycle.frames, on_right=side == "right", lean=0.1, obliquity=0.05)
    angles = standing_angles(house, stand(house, posture))
    alone = np.array([[one == side for one in SIDES]] * cycle.frames)
    still = dataclasses.replace(cycle, angles=angles, speed=0.0, stands=alone)
    moving = solve_walk(house, still, side, MuscleModel(kind))
    standing = solve_batch(house, posture, model=MuscleModel(kind))
    weight = float(house.weight[0])
    assert moving.load.external_moment == pytest.approx(standing.load.external_moment, abs=1e-9 * weight)
    assert moving.load.joint_force == pytest.approx(standing.load.joint_force, abs=1e-8 * weight)
    assert moving.pressure.peak == pytest.approx(standing.pressure.peak, rel=1e-7)
    place = moving.floor.place[:, SIDES.index(side)]
    assert place[:, 2] == pytest.approx(0.0, abs=1e-9)


def test_twenty_times_slower_is_the_standing_answer(house: Body) -> None:
    """While one foot is down, within 1 %: the weight's lever about the hip, and one muscle against it, frame by frame."""
    slow = cycle_of(house, usual_motion(), pace=0.05)
    walked = solve_walk(house, slow)
    alone = walked.cycle.stands[:, 1] & ~walked.cycle.stands[:, 0]
    counted = [n for n in SEGMENTS if n not in {f"right_{part}" for part in LEG}]
    moving, rows = walked.moving, [SEGMENTS.index(n) for n in counted]
    kg = moving.mass[0, rows]
    away = moving.centre[:, rows, 2] - walked.posed.joints["right_hip"][:, None, 2]
    adducting = -GRAVITY * (kg * away).sum(axis=1)
    line = walked.load.puller
    joint = kg.sum() * GRAVITY * np.array([0.0, 1.0, 0.0]) - (adducting / line.moment_arm)[:, None] * line.direction
    size = np.linalg.norm(joint, axis=1)[alone]
    assert walked.load.joint_magnitude[alone] == pytest.approx(size, rel=0.01)
    assert alone.sum() >= 35


def test_work_of_joints_and_ground_is_the_change_of_the_limb_s_energy(walked: Walked) -> None:
    """Power into the limb at the hip, at its joints and from the ground, against the rate of its energy, within 1e-7 W."""
    moving, below, k = walked.moving, walked.below, SIDES.index("right")
    cycle, posed = walked.cycle, walked.posed
    rows = [SEGMENTS.index(f"right_{name}") for name in ("foot", "shank", "thigh")]
    velocity = moving.velocity - np.array([cycle.speed, 0.0, 0.0])

    def power(force: np.ndarray, along: np.ndarray) -> np.ndarray:
        return np.asarray((force * along).sum(axis=-1))

    energy = sum(
        0.5 * moving.mass[:, s] * power(velocity[:, s], velocity[:, s])
        + 0.5 * power(moving.spin[:, s], moving.angular[:, s])
        + moving.mass[:, s] * GRAVITY * moving.centre[:, s, 1]
        for s in rows
    )
    hip = rate(posed.joints["right_hip"], cycle.frames, cycle.period)
    ankle = rate(posed.joints["right_ankle"], cycle.frames, cycle.period)
    foot, shank, thigh = (moving.spin[:, s] for s in rows)
    given = power(below.force["hip"], hip) + power(below.moment["hip"], thigh)
    given = given + power(below.moment["knee"], shank - thigh) + power(below.moment["ankle"], foot - shank)
    place = walked.floor.place[:, k] - posed.joints["right_ankle"]
    given = (
        given + power(walked.floor.force[:, k], ankle + np.cross(foot, place)) + walked.floor.twist[:, k] * foot[:, 1]
    )
    assert rate(energy, cycle.frames, cycle.period) == pytest.approx(given, abs=1e-7)
    assert walked.energy_gap.max() < 1e-7
    assert np.abs(rate(energy, cycle.frames, cycle.period)).max() > 50.0


def test_lever_arms_are_slopes_of_the_paths_at_walking_hips(house: Body, walked: Walked) -> None:
    """Moment arm = -dL/dθ about each axis, hip and knee flexed and turned as they walk."""
    at = hip_frame(walked.posed, "right")
    lines = moving_lines(house, walked.posed, at, walked.cycle.angles.hips[:, 1, 1])
    bones = HipBones(*(turn[::5] for turn in (lines.bones.pelvis, lines.bones.thigh, lines.bones.knee)))  # type: ignore[index]
    arms = paths_between(house, house.right, bones).moment_arm
    assert paths_between(house, house.right, bones).wraps.any()
    step = 1e-5
    for axis, (way, sign) in enumerate((([1.0, 0.0, 0.0], -1.0), ([0.0, 0.0, 1.0], 1.0), ([0.0, 1.0, 0.0], 1.0))):
        x, y, z = np.array(way) * step
        skew = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
        found = [
            paths_between(
                house, house.right, dataclasses.replace(bones, thigh=(np.eye(3) + s * skew) @ bones.thigh)
            ).length
            for s in (1.0, -1.0)
        ]
        assert -sign * (found[0] - found[1]) / (2 * step) == pytest.approx(arms[..., axis], abs=1e-4)


def test_the_centre_of_pressure_stays_under_the_foot_that_stands_alone(walked: Walked) -> None:
    alone = walked.cycle.stands[:, 1] & ~walked.cycle.stands[:, 0]
    place = (walked.floor.place[:, 1] - walked.posed.joints["right_ankle"])[alone]
    foot = 0.152 * 1.66
    assert place[:, 0].min() > -0.175 * foot
    assert place[:, 0].max() < 0.76 * foot
    assert np.abs(place[:, 2]).max() < 0.055
