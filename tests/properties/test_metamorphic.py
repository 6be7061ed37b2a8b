"""What must hold whatever the person and the posture: closure, mirror, scale, slide, zero."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from viz3d.body.person import Body, make_body
from viz3d.body.segment_tables import SEGMENTS
from viz3d.body.segments import mass_fractions
from viz3d.kinematics.chain import segment_centres
from viz3d.kinematics.posture import Posture, make_posture
from viz3d.solution.solve import solve_batch
from viz3d.solution.solved import Solved
from viz3d.statics.planar import solve_planar

people = st.builds(
    make_body,
    sex=st.sampled_from(["female", "male"]),
    mass=st.floats(40, 130),
    stature=st.floats(1.45, 2.0),
    hip_spacing=st.floats(0.14, 0.18),
    left=st.fixed_dictionaries(
        {
            "neck_shaft_angle": st.floats(2.0, 2.4),
            "offset": st.floats(0.03, 0.05),
            "version": st.floats(-0.1, 0.6),
            "trochanter_height": st.floats(-0.005, 0.02),
        }
    ),
    segment_table=st.sampled_from(["de-leva", "dempster"]),
)
postures = st.builds(
    make_posture,
    lean=st.floats(-0.2, 0.25),
    obliquity=st.floats(-0.12, 0.18),
    cane_force=st.tuples(st.floats(0, 120), st.floats(0, 120)),
    has_cane=st.tuples(st.booleans(), st.booleans()),
    cane_tilt=st.tuples(st.floats(-0.2, 0.2), st.floats(-0.2, 0.2)),
    bag_mass=st.tuples(st.floats(0, 15), st.floats(0, 15)),
)
few = settings(max_examples=60, deadline=None)
many = settings(max_examples=4000, deadline=None)


def assert_two_free_bodies_agree(body: Body, posture: Posture) -> None:
    solved = solve_batch(body, posture)
    weight = body.weight[0]
    assert solved.residual_force[0] < 1e-9 * weight
    assert solved.residual_moment[0] < 1e-9 * weight * 0.1


@few
@given(people, postures)
def test_two_free_bodies_agree(body: Body, posture: Posture) -> None:
    assert_two_free_bodies_agree(body, posture)


@pytest.mark.long
@many
@given(people, postures)
def test_two_free_bodies_agree_long(body: Body, posture: Posture) -> None:
    assert_two_free_bodies_agree(body, posture)


@few
@given(people, st.floats(0.5, 0.99))
def test_two_free_bodies_agree_on_two_legs(body: Body, share: float) -> None:
    assert_two_free_bodies_agree(body, make_posture(share=share, lifted=0.0))


@few
@given(people, st.floats(0.0, 1.0), st.floats(0, 100))
def test_two_free_bodies_agree_while_the_foot_lifts(body: Body, lifted: float, push: float) -> None:
    assert_two_free_bodies_agree(body, make_posture(lifted=lifted, has_cane=[False, True], cane_force=[0, push]))


@few
@given(people, postures)
def test_whole_body_balances_over_the_foot(body: Body, posture: Posture) -> None:
    """Independent of both free bodies: all weights and pushes about the foot's midline sum to zero."""
    solved = solve_batch(body, posture)
    centres = segment_centres(body, solved.posed)[0]
    from viz3d.body.segments import mass_fractions
    from viz3d.units import GRAVITY

    weight = GRAVITY * mass_fractions(body)[0] * body.mass[0]
    lateral = centres[:, 2] * solved.posed.sign[0]
    moment = -(weight * lateral).sum()
    for k, where in enumerate(("stance", "swing")):
        wrist = solved.posed.joints[f"{where}_wrist"][0, 2] * solved.posed.sign[0]
        moment -= GRAVITY * posture.bag_mass[0, k] * wrist
        moment += solved.stance.hand_force[0, k, 1] * solved.stance.tip_lateral[0, k]
    assert abs(moment) < 1e-9 * body.weight[0]


@few
@given(people, postures)
def test_mirror(body: Body, posture: Posture) -> None:
    """The same person and posture on the other side give the same numbers."""
    other_body = dataclasses.replace(body, left=body.right, right=body.left)
    other = dataclasses.replace(posture, on_right=~posture.on_right)
    a, b = solve_batch(body, posture), solve_batch(other_body, other)
    for get in (
        lambda s: s.joint_bw,
        lambda s: s.load.joint_angle,
        lambda s: s.load.muscle_force,
        lambda s: s.pressure.peak,
    ):
        assert get(a) == pytest.approx(get(b), rel=1e-12, nan_ok=True)
    assert a.side(0) != b.side(0)


@few
@given(people, postures)
def test_mass_scales_forces(body: Body, posture: Posture) -> None:
    """Mass x 1.25 at the same shape and loads x 1.25 give forces x 1.25."""
    heavy = dataclasses.replace(body, mass=body.mass * 1.25)
    loaded = dataclasses.replace(posture, cane_force=posture.cane_force * 1.25, bag_mass=posture.bag_mass * 1.25)
    a, b = solve_batch(body, posture), solve_batch(heavy, loaded)
    assert b.load.joint_magnitude == pytest.approx(1.25 * a.load.joint_magnitude, rel=1e-10)
    assert b.joint_bw == pytest.approx(a.joint_bw, rel=1e-10)


def without_load_on_cane(body: Body, force: float) -> Solved:
    return solve_batch(body, make_posture(has_cane=[False, True], cane_force=[0.0, force]))


def test_zero_cane_equals_no_push(house: Body) -> None:
    """A cane that is held but not pressed changes only the arm's pose: no more than the arm's weight, as far out as the
    hand went, asks of the muscle."""
    held = without_load_on_cane(house, 0.0)
    none = solve_batch(house, make_posture())
    outward = np.abs(held.posed.joints["swing_wrist"] - none.posed.joints["swing_wrist"])[0, 2]
    arm = sum(mass_fractions(house)[0, SEGMENTS.index(f"right_{n}")] for n in ("upper_arm", "forearm", "hand"))
    most = arm * house.weight[0] * outward * (1.0 / held.load.muscle.moment_arm[0])
    assert 0.0 < held.load.joint_magnitude[0] - none.load.joint_magnitude[0] < most
    assert held.stance.hand_force[0, 1, 1] == 0.0
    same_arm = dataclasses.replace(held.posture, cane_force=np.zeros((1, 2)))
    assert solve_batch(house, same_arm).load.joint_magnitude == pytest.approx(held.load.joint_magnitude, rel=1e-15)


@few
@given(st.floats(-2, 2), st.floats(-3, 3))
def test_sliding_a_force_along_its_line_changes_nothing(slide: float, angle: float) -> None:
    direction = np.array([np.cos(angle), np.sin(angle)])
    base = solve_planar([[0.3, 0.1]], [5 * direction], [-0.1, 0.02], [0.2, -1.0])
    moved = solve_planar([np.array([0.3, 0.1]) + slide * direction], [5 * direction], [-0.1, 0.02], [0.2, -1.0])
    assert moved.muscle_force == pytest.approx(base.muscle_force, abs=1e-9)
    assert moved.joint_force == pytest.approx(base.joint_force, abs=1e-9)


@few
@given(people, st.floats(1, 60))
def test_relief_splits_and_matches_the_slope(body: Body, push: float) -> None:
    """unweighting + leverage = relief; the re-balanced slope matches a coarser difference quotient."""
    posture = make_posture(
        3, has_cane=[False, True], cane_force=np.array([[0, push - 0.5], [0, push], [0, push + 0.5]])
    )
    solved = solve_batch(body, posture)
    held = solved.cane.held
    assert held.unweighting + held.leverage == pytest.approx(held.total, rel=1e-12)
    assume(solved.load.abducts.all())
    quotient = -(solved.load.joint_magnitude[2] - solved.load.joint_magnitude[0])
    assert solved.cane.rebalanced[1] == pytest.approx(quotient, rel=2e-3)


def test_held_relief_is_the_slope_with_the_posture_held(house: Body) -> None:
    """−d|R|/dC against a difference quotient in which nothing moves."""
    from viz3d.body.person import stance_hip
    from viz3d.statics.hip import hip_load
    from viz3d.statics.relief import held_relief

    posture = make_posture(has_cane=[False, True], cane_force=[0.0, 40.0])
    solved = solve_batch(house, posture)
    hip = stance_hip(house, posture.on_right)

    def joint(extra: float) -> float:
        pushed = solved.stance.hand_force + np.array([[0, 0], [0, extra]])
        stance = dataclasses.replace(solved.stance, hand_force=pushed)
        return float(hip_load(house, hip, stance).joint_magnitude[0])

    slope = -(joint(0.01) - joint(-0.01)) / 0.02
    assert held_relief(solved.stance, solved.load, np.array([1])).total[0] == pytest.approx(slope, rel=1e-6)


def test_given_inclination_solves_the_hand_force(house: Body) -> None:
    """Given the hand force, balance finds the inclination; given that inclination, it finds the force back."""
    there = solve_batch(house, make_posture(has_cane=[False, True], cane_force=[0.0, 55.0]))
    back = solve_batch(
        house,
        make_posture(has_cane=[False, True], cane_force=[0.0, np.nan], inclination=there.stance.inclination),
    )
    assert back.stance.hand_force[0, 1, 1] == pytest.approx(55.0, rel=1e-9)
    assert back.load.joint_magnitude == pytest.approx(there.load.joint_magnitude, rel=1e-9)
    assert back.residual_force[0] < 1e-9 * house.weight[0]


def test_joint_force_has_a_kink_not_a_gap(house: Body) -> None:
    """Where the moment turns, adductor takes over from abductor: the joint force stays continuous."""
    push = np.linspace(0.2, 0.4, 2001) * house.weight[0]
    solved = solve_batch(
        house, make_posture(2001, has_cane=[False, True], cane_force=np.stack([0 * push, push], axis=-1))
    )
    assert solved.load.abducts[0]
    assert not solved.load.abducts[-1]
    assert np.abs(np.diff(solved.joint_bw)).max() < 0.005


def test_would_fall_is_marked(house: Body) -> None:
    solved = solve_batch(house, make_posture(2, inclination=[0.0, 0.106]))
    assert list(solved.status) == ["would_fall", "held"]
    assert solved.shortfall[0] == pytest.approx(abs(solved.stance.pressure_shift[0]) - 0.055 * 1.66 / 2, abs=1e-12)


@few
@given(people, postures)
def test_solver_agrees_with_a_planar_free_body(body: Body, posture: Posture) -> None:
    """The solver's own points and forces, typed into the textbook solver, give the same muscle and joint force."""
    solved = solve_batch(body, posture)
    load, stance = solved.load, solved.stance
    tips = [[stance.tip_from_hip[0, k], -stance.hip_height[0]] for k in (0, 1)]
    points = [[-load.weight_moment_arm[0], 0.3], *tips]
    forces = [[0.0, -load.weight[0]], *stance.hand_force[0].tolist()]
    planar = solve_planar(points, forces, load.muscle.origin[0, [2, 1]], load.muscle.direction[0, [2, 1]])
    assert planar.muscle_force == pytest.approx(load.muscle_force[0], rel=1e-9, abs=1e-6)
    assert planar.joint_force == pytest.approx(load.joint_force[0, [2, 1]], rel=1e-9, abs=1e-6)


def test_impossible_states_are_never_held(house: Body) -> None:
    """A foot that would lift off, a joint that would have to pull, a cane that would have to pull."""
    bw = house.weight[0]
    both = solve_batch(
        house, make_posture(3, has_cane=True, cane_force=np.array([[0.5, 0.5], [0.6, 0.6], [0.45, 0.45]]) * bw)
    )
    assert list(both.status) == ["would_fall"] * 3
    assert np.isnan(both.pressure.peak[1])
    pulled = solve_batch(
        house, make_posture(has_cane=[False, True], cane_force=[0.0, np.nan], inclination=np.radians(10.0))
    )
    assert pulled.status[0] == "would_fall"
    assert pulled.cane.force[0] == pytest.approx(-112.4, abs=2.0)


def test_held_relief_while_the_other_foot_keeps_its_share(house: Body) -> None:
    """−d|R|/dC with the inclination held and the share kept, against a difference quotient."""
    posture = make_posture(share=0.75, lifted=0.0, has_cane=[False, True], cane_force=[0.0, 60.0])
    solved = solve_batch(house, posture)
    tilt = solved.stance.inclination

    def joint(push: float) -> float:
        held = make_posture(share=0.75, lifted=0.0, has_cane=[False, True], cane_force=[0.0, push], inclination=tilt)
        return float(solve_batch(house, held).load.joint_magnitude[0])

    slope = -(joint(60.01) - joint(59.99)) / 0.02
    assert solved.cane.held.total[0] == pytest.approx(slope, rel=1e-5)


def test_given_inclination_has_no_rebalanced_relief(house: Body) -> None:
    solved = solve_batch(house, make_posture(has_cane=[False, True], cane_force=[0.0, 50.0], inclination=0.08))
    assert np.isnan(solved.cane.rebalanced[0])
    assert np.isnan(solved.cane.chord[0])


def test_neck_angle_alone_moves_the_numbers() -> None:
    """Coxa valga raises and coxa vara lowers the joint force when only the angle was measured."""
    joint = [
        solve_batch(make_body("female", 64.0, 1.66, left={"neck_shaft_angle": np.radians(a)}), make_posture()).joint_bw[
            0
        ]
        for a in (112.0, 124.7, 138.0)
    ]
    assert joint == sorted(joint)
    plain = solve_batch(make_body("female", 64.0, 1.66), make_posture()).joint_bw[0]
    assert joint[1] == pytest.approx(plain, rel=1e-9)


def test_measured_lever_replaces_the_landmarks(house: Body) -> None:
    measured = make_body("female", 64.0, 1.66, left={"abductor_lever": 0.052})
    neutral = solve_batch(measured, make_posture(share=0.5, lifted=0.0))
    assert neutral.load.muscle.moment_arm[0] == pytest.approx(0.052, abs=1e-12)
    drop = make_posture(2, obliquity=[0.0, np.radians(10)])
    levers, plain = (solve_batch(b, drop).load.muscle.moment_arm for b in (measured, house))
    assert levers[0] > levers[1]
    assert levers[0] - levers[1] == pytest.approx(plain[0] - plain[1], abs=1e-3)


def test_batch_equals_one_by_one(house: Body, rng: np.random.Generator) -> None:
    lean, push = rng.uniform(-0.1, 0.2, 20), rng.uniform(0, 100, 20)
    together = solve_batch(
        house, make_posture(20, lean=lean, has_cane=[False, True], cane_force=np.stack([0 * push, push], -1))
    )
    for i in range(20):
        alone = solve_batch(house, make_posture(lean=lean[i], has_cane=[False, True], cane_force=[0.0, push[i]]))
        assert alone.joint_bw[0] == pytest.approx(together.joint_bw[i], rel=1e-13)
