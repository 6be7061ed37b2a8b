"""The wider cases: two free bodies agree, geometry closes, directions are right."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from viz3d.body.person import Body, make_body
from viz3d.body.segment_tables import SEGMENTS
from viz3d.errors import OutOfRange
from viz3d.kinematics.posture import Posture, make_posture
from viz3d.solution.solve import solve_batch

few = settings(max_examples=60, deadline=None)
HOUSE = make_body("female", 64.0, 1.66)


def changed_body(belly: float, shank: float, out: float, up: float, short: float) -> Body:
    added = np.zeros((1, len(SEGMENTS)))
    added[0, SEGMENTS.index("mid_trunk")], added[0, SEGMENTS.index("left_shank")] = belly, shank
    return make_body(
        "female", 70.0, 1.7, left={"socket_out": out, "socket_up": up, "shortening": short},
        right={"socket_out": -out / 2}, added=added,
    )  # fmt: skip


bodies = st.builds(
    changed_body, st.floats(-3, 20), st.floats(-2, 2), st.floats(-0.02, 0.02), st.floats(-0.015, 0.015),
    st.floats(0, 0.02),
)  # fmt: skip
one_leg = st.builds(
    make_posture,
    on_right=st.booleans(),
    lean=st.floats(-0.2, 0.2),
    obliquity=st.floats(-0.1, 0.15),
    trunk_shift=st.floats(-0.06, 0.06),
    backpack=st.floats(0, 20),
    swing_abduction=st.floats(0, 0.6),
    heel_lift=st.tuples(st.floats(0, 0.03), st.floats(0, 0.03)),
    has_cane=st.tuples(st.booleans(), st.booleans()),
    cane_force=st.tuples(st.floats(0, 100), st.floats(0, 100)),
)


def assert_closes(body: Body, posture: Posture) -> None:
    solved = solve_batch(body, posture)
    assert solved.residual_force[0] < 1e-9 * body.weight[0]
    assert solved.residual_moment[0] < 1e-10 * body.weight[0]
    assert abs(solved.stance.pressure_shift[0]) < 1e-9


@few
@given(bodies, one_leg)
def test_two_free_bodies_agree(body: Body, posture: Posture) -> None:
    assert_closes(body, posture)


@pytest.mark.long
@settings(max_examples=4000, deadline=None)
@given(bodies, one_leg)
def test_two_free_bodies_agree_long(body: Body, posture: Posture) -> None:
    assert_closes(body, posture)


@few
@given(bodies, st.floats(0.5, 0.9), st.floats(0.05, 0.3), st.floats(0, 0.02))
def test_both_feet_stand_whatever_the_width(body: Body, share: float, width: float, lift: float) -> None:
    """Independent of the closure: hip and ankle of the other leg are a straight leg apart, the ankle over its foot."""
    posture = make_posture(share=share, lifted=0.0, stance_width=width, heel_lift=[lift, 0.0])
    solved = solve_batch(body, posture)
    assume(solved.stance.foot_short[0] == 0 and abs(solved.posture.obliquity[0]) <= 0.3)
    assert_closes(body, posture)
    joints, leg = solved.posed.joints, solved.stance.leg
    span = np.linalg.norm(joints["swing_hip"][0] - joints["swing_ankle"][0])
    assert span == pytest.approx(leg.swing_shank[0] + leg.thigh[0], abs=1e-8)
    assert joints["swing_ankle"][0, 2] * solved.posed.sign[0] == pytest.approx(-width, abs=1e-8)
    assert joints["swing_ankle"][0, 1] == pytest.approx(leg.swing_ankle[0], abs=1e-8)


def test_equal_legs_side_by_side_stay_level() -> None:
    solved = solve_batch(HOUSE, make_posture(share=0.7, lifted=0.0, stance_width=0.160))
    assert solved.posture.obliquity[0] == 0.0


def test_a_lift_levels_a_short_leg() -> None:
    """12 mm lift under a leg 12 mm short: pelvis level again, the same joint force to the lift's 2nd order."""
    short = make_body("female", 64.0, 1.66, left={"shortening": 0.012})
    both = {"share": 0.5, "lifted": 0.0}
    tilted = solve_batch(short, make_posture(**both))
    level = solve_batch(short, make_posture(**both, heel_lift=[0.012, 0.0]))
    assert np.degrees(tilted.posture.obliquity[0]) == pytest.approx(-np.degrees(np.arcsin(0.012 / 0.160)), abs=0.05)
    assert abs(level.posture.obliquity[0]) < 1e-3


@few
@given(st.floats(-0.2, 0.25))
def test_a_stiff_hip_keeps_its_adduction(adduction: float) -> None:
    solved = solve_batch(HOUSE, make_posture(hip_adduction=adduction))
    assert solved.stance.inclination[0] + solved.posture.obliquity[0] == pytest.approx(adduction, abs=1e-9)


def test_directions() -> None:
    def joint(body: Body = HOUSE, **choices: object) -> float:
        return float(solve_batch(body, make_posture(**choices)).joint_bw[0])

    level = joint()
    assert joint(trunk_shift=0.03) < level < joint(trunk_shift=-0.03)
    assert joint(backpack=8.0) > level
    assert joint(swing_abduction=0.4) > level
    in_, out = (make_body("female", 64.0, 1.66, left={"socket_out": s}) for s in (-0.008, 0.008))
    assert joint(in_) < level < joint(out)  # a medial socket shortens the weight's lever
    two = joint(has_cane=True, cane_force=[50.0, 50.0])
    assert two < level
    framed = joint(has_cane=True, cane_force=[100.0, 100.0], grip_from_middle=0.26)
    assert framed < two


def test_a_swing_limb_that_weighs_less_unloads_the_other_hip() -> None:
    added = np.zeros((1, len(SEGMENTS)))
    added[0, SEGMENTS.index("right_shank")] = -2.0
    lost = make_body("female", 64.0, 1.66, added=added)
    newtons = [float(solve_batch(b, make_posture()).load.joint_magnitude[0]) for b in (HOUSE, lost)]
    assert newtons[1] < newtons[0]
    assert lost.mass[0] == pytest.approx(62.0)
    with pytest.raises(OutOfRange, match="right shank"):
        make_body("female", 64.0, 1.66, added=added * 2)


def test_mass_changes_without_change_change_nothing() -> None:
    same = make_body("female", 64.0, 1.66, added=np.zeros((1, len(SEGMENTS))))
    assert solve_batch(same, make_posture()).joint_bw == pytest.approx(solve_batch(HOUSE, make_posture()).joint_bw)


@few
@given(st.floats(0, 0.7), st.sampled_from(["lying", "standing"]), st.floats(0, 5))
def test_a_raised_leg_closes(angle: float, position: str, ankle: float) -> None:
    """By the textbook solver, about the same hip: weight at the leg's centre of mass, muscle at its insertion."""
    from viz3d.body.segments import mass_fractions
    from viz3d.statics.equivalent import posed_line
    from viz3d.statics.leg_raise import leg_raise
    from viz3d.statics.planar import solve_planar

    found = leg_raise(HOUSE, HOUSE.right, "right", angle, position, ankle)
    line = posed_line(HOUSE, HOUSE.right, "abductor", np.zeros(1), np.array([-angle]))
    kg = mass_fractions(HOUSE)[0] * HOUSE.mass[0]
    limb = sum(kg[SEGMENTS.index(f"right_{n}")] for n in ("thigh", "shank", "foot")) + ankle
    weight = limb * 9.80665
    reach = found.moment[0] / weight / (np.cos(angle) if position == "lying" else max(np.sin(angle), 1e-300))
    down = np.array([-1.0, 0.0] if position == "lying" else [0.0, -1.0])
    at = reach * np.array([np.sin(angle), -np.cos(angle)])
    other = solve_planar([at], [weight * down], line.insertion[0, [2, 1]], -line.direction[0, [2, 1]])
    assert other.muscle_force == pytest.approx(found.muscle_force[0], abs=1e-9 * weight)
    assert -other.joint_force == pytest.approx(found.joint_force[0, [2, 1]], abs=1e-9 * weight)
