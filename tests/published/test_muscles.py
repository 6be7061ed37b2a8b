"""Lever arms, cross-sections and joint forces of the muscle set beside published ones."""

from __future__ import annotations

import numpy as np
import pytest

from viz3d.body.muscles import cross_sections, muscle_lines
from viz3d.body.person import make_body
from viz3d.kinematics.muscle_paths import muscle_paths
from viz3d.kinematics.posture import make_posture
from viz3d.solution.solve import solve_batch
from viz3d.solution.solved import HELD
from viz3d.statics.model import FRONTAL_SET, MODELS, SPATIAL_SET, MuscleModel

# Abduction arms, cm. Dostal, Soderberg & Andrews 1986, Phys Ther 66:351, one male specimen. From memory: shown, and
# gated only where ours are not far from them; a table of all stands in docs/derivations.md.
ABDUCTION = {
    "gluteus_medius_anterior": 6.7, "gluteus_medius_middle": 6.0, "gluteus_medius_posterior": 4.3,
    "gluteus_minimus_anterior": 5.8, "gluteus_minimus_middle": 5.3, "gluteus_minimus_posterior": 3.9,
    "tensor_fasciae_latae": 5.2, "sartorius": 3.7, "rectus_femoris": 2.3, "piriformis": 2.1,
    "adductor_longus": -7.1, "adductor_brevis": -7.6, "adductor_magnus_anterior": -6.9,
    "adductor_magnus_posterior": -3.4, "gracilis": -7.1, "pectineus": -3.2,
}  # fmt: skip


def abduction_arms(sex: str, mass: float, stature: float) -> dict[str, float]:
    body, zero = make_body(sex, mass, stature), np.zeros(1)
    lever = muscle_paths(body, body.right, zero, zero, zero).moment_arm[0, :, 0] * 100
    return {line.name: float(lever[k]) for k, line in enumerate(muscle_lines())}


def test_abduction_arms_beside_the_published_ones() -> None:
    """Every line turns the way the published one does; the order of the abductors is theirs.

    From memory, one large male specimen: sizes are shown in the docs, not gated.
    """
    ours = abduction_arms("male", 78.0, 1.76)
    for name, theirs in ABDUCTION.items():
        assert np.sign(ours[name]) == np.sign(theirs), name
    names = [n for n in ABDUCTION if ABDUCTION[n] > 0]
    a, b = ([table[n] for n in names] for table in (ours, ABDUCTION))
    assert np.corrcoef(a, b)[0, 1] > 0.95


def test_hip_stands_ahead_of_the_ankle_as_measured() -> None:
    """Woodhull, Maltrud & Mello 1985, Eur J Appl Physiol 54:109 (abstract): hip 62 (13) mm ahead of the ankle.

    The place follows from the line of gravity and the centre of pressure; it is not an input.
    """
    for sex, mass, stature in (("female", 64.0, 1.66), ("male", 78.0, 1.76)):
        solved = solve_batch(make_body(sex, mass, stature), make_posture(), model=MuscleModel(SPATIAL_SET))
        ahead = np.sin(solved.sagittal.forward[0]) * solved.stance.leg.stance_length[0]
        assert ahead == pytest.approx(0.062, abs=0.013)


@pytest.mark.parametrize(("muscle", "cm2"), [("gluteus_minimus", 8.29), ("piriformis", 2.17), ("pectineus", 2.27)])
def test_cross_sections_as_printed(muscle: str, cm2: float) -> None:
    """Parvaresh 2019, BMC Musculoskelet Disord 20:611, muscle table (10 hips)."""
    lines = [k for k, line in enumerate(muscle_lines()) if line.of == muscle]
    assert cross_sections()[lines].sum() * 1e4 == pytest.approx(cm2, rel=1e-9)


def test_specific_tension_within_the_reported_range() -> None:
    """Persad 2024, J Appl Physiol: 26.8 N/cm2 recommended, reported range 2-73. Ours follows from strength."""
    for sex, mass, stature in (("female", 64.0, 1.66), ("male", 78.0, 1.76)):
        solved = solve_batch(make_body(sex, mass, stature), make_posture(), model=MuscleModel(FRONTAL_SET))
        assert 2.0 < solved.load.muscles.tension[0] * 1e-4 < 73.0


@pytest.mark.parametrize("kind", MODELS)
def test_one_legged_stance_by_each_model(kind: str) -> None:
    """Kotzar 1991, J Orthop Res 9:621: 2.1-2.8 BW measured in one-legged stance.

    One equivalent muscle lies within. The sets lie above (3.1 and 3.4 BW for the house person), since their lines have
    shorter arms than the published ones; the difference is stated, nothing is tuned to it.
    """
    joint = solve_batch(make_body("female", 64.0, 1.66), make_posture(), model=MuscleModel(kind)).joint_bw[0]
    low, high = (2.1, 2.8) if kind == "equivalent" else (2.8, 3.6)
    assert low < joint < high


@pytest.mark.parametrize("kind", MODELS)
def test_nerve_block_and_directions(kind: str) -> None:
    """Directions, for every model.

    Kendall 2013, Clin J Sport Med 23:45: with 48 % of abductor strength left people did not drop the pelvis: the
    equivalent muscle still holds. Neumann & Hase 1994: a bag on the same side keeps abductor effort at or under the
    unloaded level, on the opposite side it raises it. JOSPT Open 2024;2:306: lean lowers the moment. Bergmann 1997,
    Clin Orthop 335:190: 25 %BW in one hand loads the opposite hip about two thirds more than the hip beside it, in
    walking; standing on one leg only the direction is comparable.
    """
    body, model = make_body("female", 64.0, 1.66), MuscleModel(kind, specific_tension=3e6)

    def effort(**choices: object) -> tuple[float, float]:
        s = solve_batch(body, make_posture(**choices), model=model)
        return float(s.load.external_moment[0]), float(s.load.joint_magnitude[0])

    level = effort()
    assert effort(bag_mass=[8.0, 0.0])[0] <= level[0]
    assert effort(bag_mass=[0.0, 8.0])[0] > level[0]
    assert effort(lean=np.radians(10.0))[0] < level[0] * 0.75
    beside, opposite = effort(bag_mass=[16.0, 0.0])[1], effort(bag_mass=[0.0, 16.0])[1]
    assert opposite > 1.3 * beside
    if kind == "equivalent":
        blocked = make_body("female", 64.0, 1.66, left={"strength": 0.48})
        assert solve_batch(blocked, make_posture(), model=MuscleModel(kind)).status[0] == HELD
