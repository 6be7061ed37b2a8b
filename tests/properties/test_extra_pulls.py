"""Passive tissue and antagonists: none of either is the model without them; with them both free bodies still close."""

from __future__ import annotations

import dataclasses
import json
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.properties.test_metamorphic import people, postures
from viz3d.body.person import Body, make_body, stance_hip
from viz3d.kinematics.frontal import stand
from viz3d.kinematics.muscle_paths import mean_abduction_arm
from viz3d.kinematics.posture import Posture, make_posture
from viz3d.questions.hold import find_limit
from viz3d.scene.reader import load_scene
from viz3d.solution.solve import solve_batch
from viz3d.statics.extra_pulls import passive_stiffness
from viz3d.statics.hip import hip_load
from viz3d.statics.model import EQUIVALENT, FRONTAL_SET, MODELS, SPATIAL_SET, MuscleModel
from viz3d.statics.relief import held_relief

few = settings(max_examples=25, deadline=None)
STRONG = 5e6
shares = st.tuples(st.sampled_from(MODELS), st.floats(0.0, 0.3), st.floats(0.0, 1.0))


def model(kind: str, against: float = 0.0, passive: float = 0.0) -> MuscleModel:
    tension = None if kind == EQUIVALENT else STRONG
    return MuscleModel(kind, specific_tension=tension, co_contraction=against, passive_tissue=passive)


@few
@given(people, postures, shares)
def test_both_free_bodies_close_and_mirror(body: Body, posture: Posture, chosen: tuple[str, float, float]) -> None:
    solved = solve_batch(body, posture, model=model(*chosen))
    assume(bool(np.isfinite(solved.joint_bw[0])))  # a set that cannot hold a pose states no force
    weight = body.weight[0]
    assert solved.residual_force[0] < 1e-9 * weight
    assert solved.residual_moment[0] < 1e-8 * weight
    flipped = dataclasses.replace(body, left=body.right, right=body.left)
    other = solve_batch(flipped, dataclasses.replace(posture, on_right=~posture.on_right), model=model(*chosen))
    assert other.joint_bw == pytest.approx(solved.joint_bw, rel=1e-8)
    assert bool((solved.load.passive >= 0.0).all())
    assert bool((solved.load.against >= 0.0).all())


@few
@given(people, postures, st.sampled_from(MODELS))
def test_none_of_either_is_the_model_without(body: Body, posture: Posture, kind: str) -> None:
    tension = None if kind == EQUIVALENT else STRONG
    plain = solve_batch(body, posture, model=MuscleModel(kind, specific_tension=tension))
    none = solve_batch(body, posture, model=model(kind, 0.0, 0.0))
    least = solve_batch(body, posture, model=model(kind, 1e-12, 1e-12))
    assert np.array_equal(plain.load.joint_force, none.load.joint_force)
    assert least.load.joint_force == pytest.approx(plain.load.joint_force, abs=1e-5 * body.weight[0])


@pytest.mark.parametrize("kind", MODELS)
def test_antagonists_load_the_joint_and_passive_tissue_relieves_the_muscles(kind: str) -> None:
    body, level = make_body("female", 64.0, 1.66), make_posture()
    joint = [solve_batch(body, level, model=model(kind, x)).joint_bw[0] for x in (0.0, 0.1, 0.2)]
    assert joint[0] < joint[1] < joint[2]
    active = [solve_batch(body, level, model=model(kind, 0.0, x)).load.active_moment[0] for x in (0.0, 0.3, 0.6)]
    assert active[0] > active[1] > active[2]
    if kind == EQUIVALENT:  # along the same line: less for the muscle, nothing less for the joint
        assert solve_batch(body, level, model=model(kind, 0.0, 0.6)).joint_bw[0] == pytest.approx(joint[0], rel=1e-12)


def test_passive_stiffness_by_hand() -> None:
    """At rest in Ober's test the leg, knee bent, hangs on passive tissue: 5.05 degrees in women (BioMed Res Int
    2022:3349940, Table 1); de Leva 1996: thigh 14.78 % of the mass, its centre at 36.12 %, shank 4.81 %, foot 1.29 %;
    Drillis & Contini: thigh 24.5 % of stature."""
    held = 64.0 * 9.80665 * (0.1478 * 0.3612 + 0.0481 + 0.0129) * 0.245 * 1.66
    stiffness = passive_stiffness(make_body("female", 64.0, 1.66))[0]
    assert stiffness == pytest.approx(held / np.radians(5.05), rel=2e-4)


def test_with_passive_tissue_a_weak_hip_finds_a_drop_that_it_can_hold() -> None:
    """Without it dropping never helps; with it, the weaker the muscles the further the pelvis drops until it hangs."""
    weak = ["strength.left_abductors=35 %"]
    none = find_limit(load_scene("level-stance", weak), 0, ("drop",))
    assert none.status == "too_weak"
    assert (none.remedies[0].value or -1.0) < 0.0  # none, or a hike
    drops = []
    for left in (25, 15, 5):
        changes = [f"strength.left_abductors={left} %", "model.passive_tissue=40 %"]
        found = find_limit(load_scene("level-stance", changes), 0, ("drop",))
        assert found.status == "too_weak"
        drops.append(found.remedies[0].value)
    assert all(d is not None and d > 0.0 for d in drops), drops
    assert drops == sorted(drops)


@pytest.mark.parametrize("against", [0.0, 0.15])
def test_relief_is_the_slope_of_the_held_joint_force(against: float) -> None:
    """Posture held: what a newton more on the cane takes off the joint, by difference quotient."""
    body, chosen = make_body("female", 64.0, 1.66), model(EQUIVALENT, against)
    stance = stand(body, make_posture(has_cane=[False, True], cane_force=[0.0, 60.0]))
    hip = stance_hip(body, stance.posture.on_right)

    def joint(more: float) -> float:
        push = stance.hand_force.copy()
        push[:, 1, 1] += more
        return float(hip_load(body, hip, dataclasses.replace(stance, hand_force=push), chosen).joint_magnitude[0])

    slope = -(joint(0.5) - joint(-0.5))
    told = held_relief(stance, hip_load(body, hip, stance, chosen), np.array([1]))
    assert told.total[0] == pytest.approx(slope, rel=1e-6)


@pytest.mark.parametrize("kind", [FRONTAL_SET, SPATIAL_SET])
def test_a_measured_lever_arm_moves_the_set(kind: str) -> None:
    """The mean arm, weighted by cross-section, becomes the measured one; the usual one changes nothing."""
    body = make_body("female", 64.0, 1.66)
    usual = float(mean_abduction_arm(body, body.left)[0])
    joint = []
    for arm in (usual, usual - 0.01, usual + 0.01):
        own = make_body("female", 64.0, 1.66, left={"abductor_lever": arm})
        assert mean_abduction_arm(own, own.left)[0] == pytest.approx(arm, abs=2e-4)
        joint.append(solve_batch(own, make_posture(), model=MuscleModel(kind, specific_tension=STRONG)).joint_bw[0])
    base = solve_batch(body, make_posture(), model=MuscleModel(kind, specific_tension=STRONG)).joint_bw[0]
    assert joint[0] == pytest.approx(base, rel=1e-9)
    assert joint[1] > base > joint[2]


def test_what_a_set_leaves_to_others_is_told(run: Any) -> None:
    frontal = json.loads(run("solve", "level-stance", "--json", "--set", "model.muscles=frontal set").out)
    left = frontal["situations"][0]["moments_left_Nm"]
    assert abs(left["flexion"]) > 1.0
    assert abs(left["internal_rotation"]) > 1.0
    spatial = json.loads(run("solve", "muscle-set", "--json").out)["situations"][0]["moments_left_Nm"]
    assert max(abs(v) for v in spatial.values()) < 1e-6
    told = run("solve", "level-stance", "--set", "model.muscles=frontal set", "--set", "model.co_contraction=10 %").out
    assert "not balanced in this model: flexion" in told
    assert "antagonists" in told
    assert "Fore and aft" not in told
    muscles = {m["name"]: m["force_N"] for m in frontal["situations"][0]["muscles"]}
    idle = ("gluteus_maximus_upper", "rectus_femoris", "iliacus", "sartorius", "piriformis")
    assert all(muscles[name] == 0.0 for name in idle)
