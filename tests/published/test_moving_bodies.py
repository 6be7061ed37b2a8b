"""The dynamics of walking against a general library of rigid-body dynamics.

Reference: Pinocchio (PyPI: pin; Carpentier et al. 2019, doi 10.1109/SII.2019.8700380), recursive Newton-Euler over a tree
of rigid bodies: Featherstone 2008, Rigid Body Dynamics Algorithms, section 5.3. It knows nothing of hips.

The tree is built from the person standing upright and moved by joint angles, their rates and second rates alone: three
turns about z, x and y a joint, the root free. The product differentiates places and turns in space instead, so nothing
is shared but the angles. Compared at every frame: the wrench that the whole body needs, each limb joint's force and
moment with the ground under both feet, momenta and kinetic energy. World: ISB axes. Bound: 1e-8 of body weight, of body
weight times a metre, and of what the momenta are made of.
"""

from __future__ import annotations

import sys
from typing import Any

import numpy as np
import pytest

from viz3d.arrays import Array
from viz3d.body.inertia import inertias
from viz3d.body.names import SIDES
from viz3d.body.person import Body, make_body
from viz3d.body.segment_tables import SEGMENTS
from viz3d.body.segments import mass_fractions
from viz3d.kinematics.angles import at_rest, sensed
from viz3d.kinematics.chain import pose, segment_centres
from viz3d.motion.cycle import Cycle, cycle_of
from viz3d.motion.library import usual_motion
from viz3d.motion.momenta import LINKS
from viz3d.solution.walk import Walked, solve_walk
from viz3d.units import GRAVITY

if sys.platform == "win32":
    pytest.skip("the reference library is not published for Windows", allow_module_level=True)

import pinocchio as pin

BOUND = 1e-8
LIMB = (("thigh", "hip", "hips"), ("shank", "knee", "knees"), ("foot", "ankle", "ankles"))
ARM = (("upper_arm", "shoulder", "shoulders"), ("forearm", "elbow", "elbows"), ("hand", "wrist", "wrists"))


def angles_of_links(cycle: Cycle) -> dict[str, Array]:
    """Cardan angles (N, 3) about z, x, y of every link against its parent, the signs of the chain put in."""
    a = cycle.angles
    out = {"pelvis": a.pelvis, "trunk": a.lumbar[:, 0], "head": a.head}
    for k, side in enumerate(SIDES):
        for name, _, field in (*LIMB, *ARM):
            out[f"{side}_{name}"] = sensed(getattr(a, field)[:, k], side, -1.0 if field == "knees" else 1.0)
    return out


def parents() -> dict[str, tuple[str, str]]:
    """Link -> the link that carries it, and their joint's name in the chain."""
    out = {"pelvis": ("", "middle_hip"), "trunk": ("pelvis", "lumbosacral"), "head": ("trunk", "chin")}
    for side in SIDES:
        for chain, start in ((LIMB, "pelvis"), (ARM, "trunk")):
            above = start
            for name, joint, _ in chain:
                out[f"{side}_{name}"] = (above, f"{side}_{joint}")
                above = f"{side}_{name}"
    return out


def turns() -> Any:
    """Turns about z, then x, then y as one joint."""
    joint = pin.JointModelComposite()
    for one in (pin.JointModelRZ(), pin.JointModelRX(), pin.JointModelRY()):
        joint.addJoint(one)
    return joint


def make_tree(body: Body) -> tuple[Any, dict[str, int]]:
    """The model, and the number of each link's joint; the root moves along three axes, then turns."""
    upright = pose(body, at_rest(1), np.ones(1, dtype=bool))
    model = pin.Model()
    model.gravity = pin.Motion(np.array([0.0, -GRAVITY, 0.0]), np.zeros(3))
    index = {"": model.addJoint(0, pin.JointModelTranslation(), pin.SE3.Identity(), "root")}
    origin = {"": np.zeros(3)}
    for link, (parent, joint) in parents().items():
        origin[link] = upright.joints[joint][0]
        placed = pin.SE3(np.eye(3), origin[link] - origin[parent])
        index[link] = model.addJoint(index[parent], turns(), placed, link)
    kg, centres = mass_fractions(body)[0] * body.mass[0], segment_centres(body, upright)[0]
    for s, name in enumerate(SEGMENTS):
        link = LINKS.get(name, name)
        inertia = pin.Inertia(kg[s], centres[s] - origin[link], np.diag(inertias(body)[0, s]))
        model.appendBodyToJoint(index[link], inertia, pin.SE3.Identity())
    return model, index


def derivative(values: Array, period: float) -> Array:
    """Rates of periodic samples, by the discrete Fourier transform."""
    order = np.fft.fftfreq(len(values), 1.0 / len(values))
    order[len(values) // 2] = 0.0
    shape = (-1, *([1] * (values.ndim - 1)))
    return np.real(np.fft.ifft(2j * np.pi / period * order.reshape(shape) * np.fft.fft(values, axis=0), axis=0))


def coordinates(cycle: Cycle, index: dict[str, int]) -> Array:
    found = angles_of_links(cycle)
    order = sorted((number, link) for link, number in index.items() if link)
    return np.concatenate([cycle.angles.root, *(found[link] for _, link in order)], axis=1)


@pytest.fixture(scope="module", params=["female", "male, Dempster"])
def walked(request: pytest.FixtureRequest) -> Walked:
    sex, _, table = request.param.partition(", ")
    body = make_body(sex, 64.0, 1.66, segment_table=table.lower() or "de-leva", left={"shortening": 0.01})
    return solve_walk(body, cycle_of(body, usual_motion()), "left" if table else "right")


def test_momenta_and_joint_wrenches_agree(walked: Walked) -> None:
    body, cycle = walked.body, walked.cycle
    model, index = make_tree(body)
    weight, floor, moving = float(body.weight[0]), walked.floor, walked.moving
    assert pin.computeTotalMass(model) == pytest.approx(body.mass[0], rel=1e-12)
    q = coordinates(cycle, index)
    v = derivative(q, float(cycle.period[0]))
    a = derivative(v, float(cycle.period[0]))
    for n in range(0, len(q), 7):
        data = model.createData()
        pin.forwardKinematics(model, data, q[n])
        free = pin.rnea(model, data, q[n], v[n], a[n])
        assert free[:3] == pytest.approx(floor.whole_force[n], abs=BOUND * weight)
        root = cycle.angles.root[n]
        at_root = floor.whole_moment[n] - np.cross(root, floor.whole_force[n])
        pelvis = data.oMi[index["pelvis"]].act(data.f[index["pelvis"]])
        turned = pelvis.angular - np.cross(root, pelvis.linear)
        assert turned == pytest.approx(at_root, abs=BOUND * weight)
        check_momenta(model, q[n], v[n], walked, n)
        check_joints(model, index, (q[n], v[n], a[n]), walked, n)
    assert moving.energy.max() > 40.0


def check_momenta(model: Any, q: Array, v: Array, walked: Walked, n: int) -> None:
    """Linear and angular momentum about the centre of mass, and kinetic energy, as seen by who walks along."""
    data, moving = model.createData(), walked.moving
    pin.computeCentroidalMomentum(model, data, q, v)
    along = moving.velocity[n] - np.array([walked.cycle.speed, 0.0, 0.0])
    linear = moving.mass[n][:, None] * along
    centre = (moving.mass[n][:, None] * moving.centre[n]).sum(axis=0) / moving.mass[n].sum()
    turning = (np.cross(moving.centre[n] - centre, linear) + moving.angular[n]).sum(axis=0)
    assert data.hg.linear == pytest.approx(linear.sum(axis=0), abs=BOUND * 100.0)
    assert data.hg.angular == pytest.approx(turning, abs=BOUND * 100.0)
    energy = 0.5 * ((linear * along).sum() + (moving.spin[n] * moving.angular[n]).sum())
    assert pin.computeKineticEnergy(model, data, q, v) == pytest.approx(energy, abs=BOUND * 100.0)


def check_joints(model: Any, index: dict[str, int], at: tuple[Array, Array, Array], walked: Walked, n: int) -> None:
    """Force and moment that the studied limb's joints pass down, with the ground's force on both feet."""
    data, weight = model.createData(), float(walked.body.weight[0])
    pin.forwardKinematics(model, data, at[0])
    pushed = pin.StdVec_Force()
    pushed.extend([pin.Force.Zero() for _ in range(model.njoints)])
    for k, side in enumerate(SIDES):
        joint = index[f"{side}_foot"]
        turn = np.cross(walked.floor.place[n, k], walked.floor.force[n, k])
        turn[1] += walked.floor.twist[n, k]
        pushed[joint] = data.oMi[joint].actInv(pin.Force(walked.floor.force[n, k], turn))
    left = pin.rnea(model, data, *at, pushed)
    assert left[:6] == pytest.approx(np.zeros(6), abs=10 * BOUND * weight)
    for link, joint, _ in LIMB:
        number = index[f"{walked.side}_{link}"]
        passed, turned = data.f[number], data.oMi[number].rotation
        assert turned @ passed.linear == pytest.approx(walked.below.force[joint][n], abs=BOUND * weight)
        assert turned @ passed.angular == pytest.approx(walked.below.moment[joint][n], abs=BOUND * weight)
