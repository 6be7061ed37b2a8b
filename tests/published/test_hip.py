"""The whole solver against published findings. Source beside each; defaults are not chosen to meet them."""

from __future__ import annotations

import numpy as np
import pytest

from viz3d.body.person import Body, make_body, stance_hip
from viz3d.body.replacement import CHOICES, Choice, change_of
from viz3d.body.segments import lengths
from viz3d.kinematics.posture import make_posture
from viz3d.questions.target import neutral_moment_arm
from viz3d.solution.solve import solve_batch
from viz3d.solution.solved import HELD


def test_one_legged_stance_band(house: Body) -> None:
    """Gray's Anatomy, hip chapter (about 2.5 BW, read); Inman 1947, J Bone Joint Surg 29:607 (2.4-2.6, memory).

    Shown beside the literature's 2.3-2.6 BW; gated only by the plan's sanity band of 2.0-2.8.
    """
    solved = solve_batch(house, make_posture())
    print(f"one-legged stance: {solved.joint_bw[0]:.2f} BW beside 2.3-2.6 in the literature")
    assert 2.0 <= solved.joint_bw[0] <= 2.8
    abductors_over_supported = solved.load.muscle_force[0] / solved.load.weight[0]
    assert abductors_over_supported == pytest.approx(2.0, abs=0.3)  # Gray's: about twice the supported weight


def test_relief_opposite_hand(house: Body) -> None:
    """Common practice, no source: seven or eight to one. The plan's band for the house person is 7-9.5, D stated."""
    solved = solve_batch(house, make_posture(has_cane=[False, True], cane_force=0.0))
    assert 7.0 <= solved.cane.held.total[0] <= 9.5
    assert solved.cane.distance[0] == pytest.approx(0.357, abs=0.005)


def test_relief_same_hand_is_not_one_to_one(house: Body) -> None:
    """Common practice says about one to one (no source): that is the limit of a cane under the hip, D = 0.

    With the tip 15 cm outside the toe, statics says the upright joint force rises; Chan et al. 2005 measured
    larger frontal hip moments with a same-side cane.
    """
    solved = solve_batch(house, make_posture(has_cane=[True, False], cane_force=0.0))
    assert solved.cane.held.total[0] < 0
    under_hip = solved.cane.held.unweighting[0]
    assert under_hip == pytest.approx(1.0, abs=0.05)


def test_same_side_cane_with_lean_falls(house: Body) -> None:
    """The plan's scratch run with 10 %BW: 2.43, 2.14, 1.86 at 0, 5, 10 degrees against 2.30 unaided: direction only."""
    bw = house.weight[0]
    plain = solve_batch(house, make_posture()).joint_bw[0]
    leant = solve_batch(
        house, make_posture(3, lean=np.radians([0, 5, 10]), has_cane=[True, False], cane_force=[0.1 * bw, 0])
    ).joint_bw
    assert leant[0] > plain > leant[1] > leant[2]


def test_dropping_the_pelvis_does_not_unload(house: Body) -> None:
    """Direction of the plan's scratch run (2.30, 2.42, 2.54 BW at 0, 5, 10 degrees of drop); Merchant 1965 likewise."""
    joint = solve_batch(house, make_posture(3, obliquity=np.radians([0, 5, 10]))).joint_bw
    assert joint[0] < joint[1] < joint[2]


def test_pelvis_tilted_into_abduction_needs_least_muscle(house: Body) -> None:
    """Merchant 1965 found least abductor force with the pelvis tilted into abduction, most in adduction (direction)."""
    force = solve_batch(house, make_posture(3, obliquity=np.radians([-8, 0, 8]))).load.muscle_force
    assert force[0] < force[1] < force[2]


def test_bag_side(house: Body) -> None:
    """Neumann & Hase 1994, J Orthop Sports Phys Ther 19:296: same-side bag up to 30 %BW keeps EMG at or under the
    unloaded level; opposite side above 3 %BW raises it. Direction of the muscle force."""
    bags = [[0, 0], [0.1, 0], [0.2, 0], [0, 0.04], [0, 0.1]]
    force = solve_batch(house, make_posture(5, bag_mass=np.array(bags) * house.mass[0])).load.muscle_force
    assert force[1] <= force[0] * 1.005
    assert force[3] > force[0]
    assert force[4] > force[3]


def test_opposite_cane_at_the_force_people_use(house: Body) -> None:
    """Hart 2019, Gait Posture: untrained peak 7.2 (2.5) %BW. Neumann 1998, Phys Ther 78:490: abductor EMG −31.1 %
    with an opposite-side cane, −42.3 % pressed near-maximally, no drop on the same side.

    Shown side by side; EMG is not force, so only the direction and that 7.2 %BW lies between are asserted.
    """
    bw = house.weight[0]
    force = solve_batch(
        house, make_posture(2, has_cane=[False, True], cane_force=np.array([[0, 0.0], [0, 0.072 * bw]]))
    ).load.muscle_force
    drop = 1 - force[1] / force[0]
    print(f"abductor force −{drop * 100:.0f} % at 7.2 %BW beside EMG −31 to −42 %")
    assert 0.2 < drop < 0.45


def test_brand_crowninshield_sixty_percent(house: Body) -> None:
    """Brand & Crowninshield 1980, Clin Orthop 147:181: about 60 % of the normal contact force remains with a cane,
    and canes rarely carry over 20 %BW. Their force is not stated in what was read, so ours is shown at 10 and 15 %BW.
    """
    bw = house.weight[0]
    push = np.array([[0, 0.0], [0, 0.10 * bw], [0, 0.15 * bw]])
    joint = solve_batch(house, make_posture(3, has_cane=[False, True], cane_force=push)).joint_bw
    left = joint[1:] / joint[0]
    print(f"{left[0] * 100:.0f} % and {left[1] * 100:.0f} % of the contact force remain; published about 60 %")
    assert left[1] < 0.6 < left[0]


def test_best_cane_force_exists(house: Body) -> None:
    """The plan's scratch run finds the best planted cane force at 27 %BW; beyond it the joint force rises again."""
    bw = house.weight[0]
    share = np.linspace(0, 0.45, 91)
    posture = make_posture(91, has_cane=[False, True], cane_force=np.stack([0 * share, share * bw], axis=-1))
    solved = solve_batch(house, posture)
    best = int(np.argmin(solved.joint_bw))
    assert 0.22 < share[best] < 0.36
    assert solved.joint_bw[-1] > solved.joint_bw[best] + 0.05
    assert not solved.load.abducts[-1]


def test_nerve_block_still_holds() -> None:
    """Kendall 2013, Clin J Sport Med 23:45; Pohl 2015, PMC4560003: 52 % less abductor strength, no systematic drop."""
    weak = {"strength": 0.48}
    body = make_body("female", 64.0, 1.66, left=weak, right=weak)
    assert solve_batch(body, make_posture()).status[0] == HELD
    gone = {"strength": 0.3}
    body = make_body("female", 64.0, 1.66, left=gone, right=gone)
    solved = solve_batch(body, make_posture())
    assert solved.status[0] == "too_weak"
    assert solved.shortfall[0] == pytest.approx(50.21 - 0.3 * 1.8 * 64, abs=0.05)


def test_cane_length_rule(house: Body) -> None:
    """Kumar, Roe & Scremin 1995, Arch Phys Med Rehabil 76:1173: length = 0.45 stature + 0.087 m, treat as ±2 cm.

    Ours is the barefoot wrist crease of the stature fractions: 2.7 cm shorter for the house person, more than
    the 2 cm the rule is good for; ours is measured barefoot, and a shoe's heel would add about that. Kept as it is.
    """
    rule = 0.45 * 1.66 + 0.087
    ours = lengths(house).wrist_crease[0]
    assert 0.0 < rule - ours < 0.02 + 0.02


def test_centre_of_pressure_matters_little(house: Body) -> None:
    """What every answer says of it: moving the centre of pressure by 30 mm changes the joint force by 0.04 BW.

    (The plan's scratch run said 0.02; both free bodies and an independent script give 0.037 to 0.040.) Solved
    through the inclination that puts the centre of pressure there.
    """
    free = solve_batch(house, make_posture())
    tilt, steps = free.stance.inclination[0], np.radians(np.linspace(-6, 6, 2001))
    moved = solve_batch(house, make_posture(2001, inclination=tilt + steps))
    for shift in (-0.03, 0.03):
        there = int(np.argmin(np.abs(moved.stance.pressure_shift - shift)))
        assert abs(moved.joint_bw[there] - free.joint_bw[0]) == pytest.approx(0.0385, abs=0.004)


def test_strength_default_is_the_isometric_row(house: Body) -> None:
    """Sugimoto 2014, Clin J Sport Med 24:422: isometric 2.0 and 1.8 N m/kg (in runners)."""
    hip = stance_hip(house, np.array([False]))
    assert hip.abductor_torque[0] == pytest.approx(1.8 * 64.0)


def test_replacement_hips_change_arms_as_published() -> None:
    """Terrier 2014, Clin Orthop 472:3159: a cup set deeper, offset raised as much, lengthens the abduction arm by 10 to
    85 % of that in 15 models; ours by 85.5 %, more than any of theirs by half a point, and never more than the whole. Front
    Bioeng Biotechnol 2021, PMC8045972, table 3: 5 % more arm of gluteus medius takes 3.7 to 5.7 mm."""

    def arm(choice: Choice) -> float:
        body = make_body("female", 64.0, 1.66, left={"replacement": choice})
        return 1e3 * neutral_moment_arm(body, False)

    own = arm("own hip")
    deep = change_of("deep cup, high offset")
    assert deep.offset == pytest.approx(-deep.outward)
    share = (arm("deep cup, high offset") - own) / (1e3 * deep.offset)
    assert share > 0.10
    assert 0.0 < share - 0.85 < 0.01  # outside the printed range, by this much: docs/evidence.md says so
    per_five = 0.05 * own / ((arm("high offset") - own) / (1e3 * change_of("high offset").offset))
    assert 3.7 < per_five < 5.7


def test_a_longer_neck_adds_offset_and_length() -> None:
    """Along the neck: sine and cosine of its angle to the shaft; undone by a neck as much shorter."""
    hips = {c: make_body("male", 78.0, 1.76, left={"replacement": c}).left for c in CHOICES}
    own, longer = hips["own hip"], hips["longer neck"]
    step, angle = change_of("longer neck").neck, own.neck_shaft_angle
    assert longer.offset - own.offset == pytest.approx(step * np.sin(angle))
    assert own.shortening - longer.shortening == pytest.approx(-step * np.cos(angle))
    assert own.trochanter_height - longer.trochanter_height == pytest.approx(-step * np.cos(angle))
    back = change_of("shorter neck").applied(
        {n: getattr(longer, n) for n in ("neck_shaft_angle", "offset", "trochanter_height", "shortening", "socket_out")}
    )
    assert back["offset"] == pytest.approx(own.offset)
