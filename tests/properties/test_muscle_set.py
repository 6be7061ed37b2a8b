"""The muscle set: taut paths, equilibrium in space from two sides, symmetry, models beside one another."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.properties.test_metamorphic import people, postures
from viz3d.body.muscles import muscle_lines
from viz3d.body.person import Body, make_body, stance_hip
from viz3d.body.segment_tables import SEGMENTS
from viz3d.body.segments import lengths, mass_fractions
from viz3d.errors import InputError
from viz3d.kinematics.muscle_paths import muscle_paths
from viz3d.kinematics.posture import Posture, make_posture, posture_rows
from viz3d.kinematics.wrapping import round_cylinder, round_ellipsoid
from viz3d.solution.solve import solve_batch
from viz3d.solution.solved import HELD, TOO_WEAK
from viz3d.statics.model import EQUIVALENT, FRONTAL_SET, MODELS, SPATIAL_SET, MuscleModel
from viz3d.units import GRAVITY

few = settings(max_examples=40, deadline=None)
many = settings(max_examples=2000, deadline=None)
STRONG = MuscleModel(SPATIAL_SET, specific_tension=5e6)


def one(value: float) -> np.ndarray:
    return np.array([value])


@pytest.mark.parametrize("axis", [0, 1])
def test_lever_arms_are_the_slopes_of_the_paths(axis: int) -> None:
    """Virtual work: a taut line's lever arm is how fast it shortens as the hip turns (abduction, flexion).

    Every line but those on the ellipsoid, whose planar path is not a geodesic there.
    """
    body = make_body("female", 64.0, 1.66)
    step = 1e-5

    def length(turn: float) -> np.ndarray:
        outward, forward = (turn, 0.0) if axis == 0 else (0.0, turn)
        return muscle_paths(body, body.right, one(0.0), one(outward), one(forward)).length[0]

    middle = muscle_paths(body, body.right, one(0.0), one(0.0), one(0.0))
    slope = (length(step) - length(-step)) / (2 * step)
    # the leg's upper end leaning outward adducts the hip, leaning forward extends it: both lengthen what resists
    for k, line in enumerate(muscle_lines()):
        if line.wrap == "greater_trochanter" and middle.wraps[0, k]:
            continue
        assert slope[k] == pytest.approx(middle.moment_arm[0, k, axis], abs=2e-6), line.name
    assert middle.wraps.any()


@few
@given(st.integers(0, 10**6))
def test_paths_are_taut(seed: int) -> None:
    """Round a sphere and a cylinder: no neighbour of the touching points gives a shorter way over the surface."""
    rng = np.random.default_rng(seed)
    start, end = rng.normal(0, 2, (2, 1, 3))
    start[0, 1], end[0, 1] = 1.2 + abs(start[0, 1]), -1.2 - abs(end[0, 1])
    start[0, 0] = end[0, 0] = 0.3
    b = round_cylinder(start, end, np.zeros((1, 3)), np.array([[0, 0, 1.0]]), np.ones(1), np.array([[1.0, 0, 0]]))
    assert b.wraps[0]
    for point, away in ((b.first, start), (b.last, end)):
        flat = point[0, :2]
        assert np.linalg.norm(flat) == pytest.approx(1.0, abs=1e-9)
        assert abs((away[0, :2] - flat) @ flat) < 1e-9  # tangent
    spread = np.arccos(np.clip(b.first[0, :2] @ b.last[0, :2], -1, 1))
    flat = sum(np.linalg.norm((p - q)[0, :2]) for p, q in ((b.first, start), (b.last, end))) + spread
    assert b.length[0] == pytest.approx(np.hypot(flat, (end - start)[0, 2]), rel=1e-9)  # unrolled, a straight line
    s = round_ellipsoid(start, end, np.zeros((1, 3)), np.eye(3)[None], np.ones((1, 3)))
    if s.wraps[0]:
        p, q = start[0], end[0]
        angle = np.arccos(p @ q / np.linalg.norm(p) / np.linalg.norm(q))
        legs = [np.sqrt(v @ v - 1.0) for v in (p, q)]
        arc = angle - sum(np.arccos(1.0 / np.linalg.norm(v)) for v in (p, q))
        assert s.length[0] == pytest.approx(sum(legs) + arc, rel=1e-6)


def assert_space_closes(body: Body, posture: Posture) -> None:
    """The stance limb in space: ground, weight, muscles and head force leave no force and no moment about three axes."""
    solved = solve_batch(body, posture, model=STRONG)
    assert solved.status[0] != TOO_WEAK
    muscles, weight = solved.load.muscles, body.weight[0]
    assert muscles is not None
    assert solved.residual_force[0] < 1e-9 * weight
    assert solved.residual_moment[0] < 1e-9 * weight * 0.1
    hip = solved.posed.joints["stance_hip"][0]
    size, pull = lengths(body), muscles.shared.force[0][:, None] * muscles.paths.direction[0]
    # moments about the hip's front-back and vertical axes, and fore-and-aft from the two sagittal places
    on_limb = np.cross(muscles.paths.point[0], -pull).sum(axis=0)
    down = -solved.load.external_force[0, 1]
    leg = solved.stance.leg
    kg = mass_fractions(body)[0] * body.mass[0]
    names = ("thigh", "shank", "foot")
    limb = np.array([kg[SEGMENTS.index(f"{solved.side(0)}_{n}")] for n in names])
    lean = np.sin(muscles.forward[0])
    from viz3d.body.segments import com_fractions

    com = com_fractions(body)[0, [SEGMENTS.index(f"left_{n}") for n in names]]
    along = np.array([com[0] * size.thigh[0], size.thigh[0] + com[1] * size.shank[0], leg.stance_length[0]])
    ground = down + GRAVITY * limb.sum()
    ahead = posture_rows()["pressure_ahead"].value
    flexing = (ahead - leg.stance_length[0] * lean) * ground + GRAVITY * (limb * along).sum() * lean
    assert on_limb[2] + flexing == pytest.approx(0.0, abs=1e-7 * weight)
    assert muscles.unasked[0] == pytest.approx(np.zeros(3), abs=1e-7 * weight)
    assert hip[1] > 0


@few
@given(people, postures)
def test_the_limb_closes_in_space(body: Body, posture: Posture) -> None:
    assert_space_closes(body, posture)


@pytest.mark.long
@many
@given(people, postures)
def test_the_limb_closes_in_space_long(body: Body, posture: Posture) -> None:
    assert_space_closes(body, posture)


@few
@given(people, postures)
def test_mirror_and_scale(body: Body, posture: Posture) -> None:
    other = solve_batch(
        dataclasses.replace(body, left=body.right, right=body.left),
        dataclasses.replace(posture, on_right=~posture.on_right),
        model=STRONG,
    )
    here = solve_batch(body, posture, model=STRONG)
    assert here.joint_bw == pytest.approx(other.joint_bw, rel=1e-9)
    heavy = dataclasses.replace(body, mass=body.mass * 1.25, added=body.added * 1.25)
    loaded = dataclasses.replace(posture, cane_force=posture.cane_force * 1.25, bag_mass=posture.bag_mass * 1.25)
    more = solve_batch(heavy, loaded, model=MuscleModel(SPATIAL_SET, specific_tension=5e6 * 1.25))
    assert more.load.joint_magnitude == pytest.approx(here.load.joint_magnitude * 1.25, rel=1e-6)


@pytest.mark.parametrize("kind", MODELS)
def test_zero_cane_is_no_cane_and_relief_is_a_slope(kind: str) -> None:
    body, model = make_body("female", 64.0, 1.66), MuscleModel(kind)
    push = 50.0

    def at(force: float) -> object:
        return solve_batch(body, make_posture(has_cane=[False, True], cane_force=[0, force]), model=model)

    solved = at(push)
    assert solved.cane.held.total[0] == pytest.approx(
        solved.cane.held.unweighting[0] + solved.cane.held.leverage[0], rel=1e-12
    )
    slope = -(at(push + 0.5).load.joint_magnitude - at(push - 0.5).load.joint_magnitude)[0]
    assert solved.cane.rebalanced[0] == pytest.approx(slope, rel=1e-3)
    none = solve_batch(body, make_posture(), model=model)
    assert at(0.0).joint_bw[0] == pytest.approx(none.joint_bw[0], rel=0.03)  # only the arm's pose differs


def test_frontal_set_leaves_out_muscles_that_cannot_help() -> None:
    solved = solve_batch(make_body("male", 78.0, 1.76), make_posture(), model=MuscleModel(FRONTAL_SET))
    assert solved.load.muscles is not None
    force, lever = solved.load.muscles.shared.force[0], solved.load.muscles.paths.moment_arm[0, :, 0]
    main = np.array([line.group == "abductor" for line in muscle_lines()])
    assert main.sum() == 7
    assert (lever[main] > 0.0).all()
    assert (force[main] > 0.0).all()
    assert (force[~main] == 0.0).all()
    assert (force * lever).sum() == pytest.approx(solved.load.external_moment[0], rel=1e-10)


def test_too_weak_is_reported_and_not_clipped() -> None:
    body = make_body("female", 64.0, 1.66, left={"strength": 0.0})
    solved = solve_batch(body, make_posture(lean=-0.2), model=MuscleModel(SPATIAL_SET))
    assert solved.status[0] == TOO_WEAK
    assert solved.shortfall[0] > 0.0
    assert np.isnan(solved.joint_bw[0])
    held = solve_batch(body, make_posture(), model=MuscleModel(EQUIVALENT))
    assert held.status[0] == TOO_WEAK
    assert solve_batch(make_body("female", 64.0, 1.66), make_posture(), model=STRONG).status[0] == HELD


@pytest.mark.parametrize(
    ("arguments", "word"),
    [({"kind": "all"}, "allowed"), ({"power": 1.0}, "2 or more"), ({"left": {"gluteus": 0.5}}, "unknown muscle")],
)
def test_refusals(arguments: dict[str, object], word: str) -> None:
    with pytest.raises(InputError, match=word):
        MuscleModel(**arguments)  # type: ignore[arg-type]


def test_hip_of_the_stance_side_is_used() -> None:
    body = make_body("female", 64.0, 1.66, left={"offset": 0.030})
    on = np.array([True])
    assert stance_hip(body, on) is body.right
    left, right = (solve_batch(body, make_posture(on_right=r), model=STRONG).joint_bw[0] for r in (False, True))
    assert left > right


@pytest.mark.parametrize("kind", MODELS)
def test_many_people_at_once_agree_with_one_by_one(kind: str) -> None:
    """Mass, stature, spacing and hip geometry varying along the batch."""
    mass, stature = np.array([55.0, 70.0, 90.0]), np.array([1.6, 1.7, 1.85])
    spacing, offset = np.array([0.15, 0.16, 0.17]), np.array([0.038, 0.042, 0.046])
    together = solve_batch(
        make_body("male", mass, stature, spacing, left={"offset": offset}), make_posture(3), model=MuscleModel(kind)
    )
    for k in range(3):
        body = make_body("male", mass[k], stature[k], spacing[k], left={"offset": offset[k]})
        alone = solve_batch(body, make_posture(), model=MuscleModel(kind))
        assert together.joint_bw[k] == pytest.approx(alone.joint_bw[0], rel=1e-9)
