"""The statics against inverse dynamics of a tree of rigid bodies, by a general library.

Reference: Pinocchio (PyPI: pin; Carpentier et al. 2019, doi 10.1109/SII.2019.8700380), recursive Newton-Euler at zero
velocity and acceleration: Featherstone 2008, Rigid Body Dynamics Algorithms, section 5.3. It knows nothing of hips.

The tree is built once from the person standing upright (joint centres and centres of mass in each link's own frame)
and then turned into the posture by joint angles alone, so its own forward kinematics has to find the posed chain's
joints again. Only a shoulder with a cane in the hand may also glide. Segment masses are point masses: at rest,
inertia does nothing. Loads are forces at points: the cane's push at its handle, along the line from tip to handle; a
bag at the wrist; the other foot's share under its ankle; the muscle as a pair, between the points of pelvis and thigh
that it has upright, carried along by their bones.

Compared, both ways round:
* rooted in the stance foot, upwards: the floor's wrench on the foot with the balance found (centre of pressure under
  the foot's midline, or where it was said to be); the moment and, with the muscle, the force that the thigh must pass
  to the pelvis with the external moment and the force on the socket; no moment about the hip may be left.
* rooted in the pelvis, downwards, with the floor's force on the foot: the same for the force on the femoral head; and
  nothing may be left to hold the pelvis by.

The product balances the frontal plane only, so moments are compared about the x axis; forces in all three.
World: ISB axes, x forward, y up, z right. Bounds: 1e-9 of body weight, and of body weight times the hip spacing.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from viz3d.arrays import Array
from viz3d.body.person import Body, make_body
from viz3d.body.segment_tables import SEGMENTS
from viz3d.body.segments import mass_fractions
from viz3d.kinematics.chain import Pose, segment_centres
from viz3d.kinematics.frontal import Stance, stand
from viz3d.kinematics.posture import Posture, make_posture
from viz3d.kinematics.standing import standing_pose
from viz3d.solution.solve import solve_batch
from viz3d.solution.solved import Solved
from viz3d.statics.equivalent import ABDUCTOR, ADDUCTOR, muscle_line
from viz3d.units import GRAVITY

if sys.platform == "win32":
    pytest.skip("the reference library is not published for Windows", allow_module_level=True)

import pinocchio as pin

BOUND = 1e-9
SAME_PLACE = 1e-12
"""Metres between a joint of the reference's forward kinematics and of the posed chain."""
FLOOR = "floor"
CARRIED_BY = {"lower_trunk": "pelvis", "mid_trunk": "trunk", "upper_trunk": "trunk", "head_arms_trunk": "trunk"}
"""Links of segments that are not links of their own name."""

Load = tuple[str, Array, Array]
"""Link, point and force in the world."""
Joint = tuple[str, str, str]
"""Parent link, child link, name of the joint centre in the posed chain."""


def joints_from_the_foot(on: str, off: str) -> list[Joint]:
    """The tree rooted in the stance foot; ``on`` and ``off`` are the sides of stance and swing leg."""
    up = [
        (f"{on}_foot", f"{on}_shank", "stance_ankle"),
        (f"{on}_shank", f"{on}_thigh", "stance_knee"),
        (f"{on}_thigh", "pelvis", "stance_hip"),
    ]
    return [(FLOOR, f"{on}_foot", "origin"), *up, *_joints_beyond_the_pelvis(on, off)]


def joints_from_the_pelvis(on: str, off: str) -> list[Joint]:
    """The tree rooted in the pelvis, the stance leg hanging from it."""
    down = [
        ("pelvis", f"{on}_thigh", "stance_hip"),
        (f"{on}_thigh", f"{on}_shank", "stance_knee"),
        (f"{on}_shank", f"{on}_foot", "stance_ankle"),
    ]
    return [(FLOOR, "pelvis", "middle_hip"), *down, *_joints_beyond_the_pelvis(on, off)]


def _joints_beyond_the_pelvis(on: str, off: str) -> list[Joint]:
    out = [
        ("pelvis", f"{off}_thigh", "swing_hip"),
        (f"{off}_thigh", f"{off}_shank", "swing_knee"),
        (f"{off}_shank", f"{off}_foot", "swing_ankle"),
        ("pelvis", "trunk", "lumbosacral"),
        ("trunk", "head", "chin"),
    ]
    for side, where in ((on, "stance"), (off, "swing")):
        out += [
            ("trunk", f"{side}_upper_arm", f"{where}_shoulder"),
            (f"{side}_upper_arm", f"{side}_forearm", f"{where}_elbow"),
            (f"{side}_forearm", f"{side}_hand", f"{where}_wrist"),
        ]
    return out


@dataclass(frozen=True)
class Tree:
    """A rigid-body tree in one posture."""

    model: Any
    index: dict[str, int]
    """Link -> number of the joint that carries it."""
    angles: Array

    def wrench(self, link: str, loads: list[Load]) -> tuple[Array, Array]:
        """Force and moment, in the world, that ``link`` must get from its parent, about their joint centre."""
        data = self.model.createData()
        pin.forwardKinematics(self.model, data, self.angles)
        total = [pin.Force.Zero() for _ in range(self.model.njoints)]
        for name, point, force in loads:
            at = data.oMi[self.index[name]]
            total[self.index[name]] += at.actInv(pin.Force(force, np.cross(point, force)))
        external = pin.StdVec_Force()
        external.extend(total)
        rest = np.zeros(self.model.nv)
        torque = pin.rnea(self.model, data, self.angles, rest, rest, external)
        j = self.index[link]
        turn, passed = data.oMi[j].rotation, data.f[j]
        start = self.model.joints[j].idx_v + self.model.joints[j].nv - 3
        assert torque[start : start + 3] == pytest.approx(passed.angular, abs=1e-12)  # the joint's generalized moment
        return turn @ passed.linear, turn @ passed.angular

    def places(self) -> dict[str, Array]:
        """Joint centre of every link by the library's forward kinematics."""
        data = self.model.createData()
        pin.forwardKinematics(self.model, data, self.angles)
        return {link: data.oMi[j].translation for link, j in self.index.items()}


def joint_centre(posed: Pose, name: str) -> Array:
    return np.zeros(3) if name == "origin" else posed.joints[name][0]


def turn_of(posed: Pose, link: str) -> Array:
    """Rotation of a link in the world; the floor's is none."""
    return np.eye(3) if link == FLOOR else posed.frames[link][0, :3, :3]


def make_tree(joints: list[Joint], body: Body, upright: Pose, posed: Pose, gliding: tuple[str, ...]) -> Tree:
    """Rigid links measured in the upright pose, turned into the posed one."""
    model = pin.Model()
    model.gravity = pin.Motion(np.array([0.0, -GRAVITY, 0.0]), np.zeros(3))
    index, origin = {FLOOR: 0}, {FLOOR: np.zeros(3)}
    angles: list[Array] = []
    for parent, link, name in joints:
        centre, turn = joint_centre(upright, name), turn_of(upright, parent)
        free = parent == FLOOR or link in gliding
        local = np.zeros(3) if parent == FLOOR else turn.T @ (centre - origin[parent])
        placed = pin.SE3(np.eye(3), local)
        kind = pin.JointModelFreeFlyer() if free else pin.JointModelSpherical()
        index[link], origin[link] = model.addJoint(index[parent], kind, placed, link), centre
        relative = turn_of(posed, parent).T @ turn_of(posed, link)
        if free:
            start = np.zeros(3) if parent == FLOOR else posed.joints["lumbosacral"][0]
            angles.append(turn_of(posed, parent).T @ (joint_centre(posed, name) - start) - local)
        angles.append(pin.Quaternion(relative).normalized().coeffs())
    kg, centres = mass_fractions(body)[0] * body.mass[0], segment_centres(body, upright)[0]
    for segment, mass, centre in zip(SEGMENTS, kg, centres, strict=True):
        link = CARRIED_BY.get(segment, segment)
        lever = turn_of(upright, link).T @ (centre - origin[link])
        model.appendBodyToJoint(index[link], pin.Inertia(mass, lever, np.zeros((3, 3))), pin.SE3.Identity())
    assert pin.computeTotalMass(model) == pytest.approx(body.mass[0], rel=1e-12)
    return Tree(model, index, np.concatenate(angles))


def in_world(solved: Solved, vector: Array) -> Array:
    """A vector of the hip frame (forward, up, outward) in the world."""
    return np.array([vector[0], vector[1], solved.posed.sign[0] * vector[2]])


def on_plane(solved: Solved, frontal: Array) -> Array:
    """A frontal pair (lateral, up) of the stance side as a world vector."""
    return in_world(solved, np.array([0.0, frontal[1], frontal[0]]))


def carried_loads(solved: Solved, sides: tuple[str, str]) -> list[Load]:
    """Hands and other foot, from what the posture says and where the posed chain is."""
    posture, joints = solved.posture, solved.posed.joints
    out, up = [], 0.0
    for k, where in enumerate(("stance", "swing")):
        wrist = joints[f"{where}_wrist"][0]
        if posture.has_cane[0, k]:
            handle, tip = on_plane(solved, solved.stance.handle[0, k]), joints[f"{where}_tip"][0].copy()
            handle[0] = tip[0] = wrist[0]
            along = handle - tip
            asked = posture.cane_force[0, k]
            size = solved.cane.force[0] if np.isnan(asked) else asked
            push = size * along / np.linalg.norm(along)
            out.append((f"{sides[k]}_hand", handle, push))
            up += push[1]
        out.append((f"{sides[k]}_hand", wrist, np.array([0.0, -GRAVITY * posture.bag_mass[0, k], 0.0])))
    weight = GRAVITY * (solved.body.mass[0] + posture.bag_mass[0].sum())
    other = (1.0 - posture.share[0]) * (weight - up)
    under = joints["swing_ankle"][0] * [1.0, 0.0, 1.0]
    return [*out, (f"{sides[1]}_foot", under, np.array([0.0, other, 0.0]))]


def muscle_pair(solved: Solved, upright: Stance, flat: Pose, sides: tuple[str, str]) -> list[Load]:
    """The muscle's pull on the pelvis at its origin, and the opposite on the thigh at its insertion.

    Both points are measured in the upright pose ``flat``, then turned with their bones; the pull runs between them.
    """
    name = ABDUCTOR if solved.load.abducts[0] else ADDUCTOR
    measured = muscle_line(solved.body, solved.hip, upright, name)
    hip, links = solved.posed.joints["stance_hip"][0], ("pelvis", f"{sides[0]}_thigh")
    points = [
        hip + turn_of(solved.posed, link) @ turn_of(flat, link).T @ in_world(solved, point[0])
        for link, point in zip(links, (measured.origin, measured.insertion), strict=True)
    ]
    span = points[1] - points[0]
    pull = solved.load.muscle_force[0] * span / np.linalg.norm(span)
    return [(links[0], points[0], pull), (links[1], points[1], -pull)]


def assert_rigid_bodies_agree(body: Body, posture: Posture) -> None:
    """Everything the module's docstring lists, for one situation."""
    solved = solve_batch(body, posture)
    on_right = bool(posture.on_right[0])
    sides = ("right", "left") if on_right else ("left", "right")
    upright = stand(body, make_posture(on_right=on_right, share=0.5, lifted=0.0, inclination=0.0))
    flat = standing_pose(body, upright)
    gliding = tuple(f"{side}_upper_arm" for k, side in enumerate(sides) if posture.has_cane[0, k])
    loads, pair = carried_loads(solved, sides), muscle_pair(solved, upright, flat, sides)
    trees = []
    for joints in (joints_from_the_foot(*sides), joints_from_the_pelvis(*sides)):
        tree = make_tree(joints, body, flat, solved.posed, gliding)
        places = tree.places()
        for _, link, name in joints:
            assert places[link] == pytest.approx(joint_centre(solved.posed, name), abs=SAME_PLACE), link
        trees.append(tree)
    floor = assert_the_floor_agrees(trees[0], solved, loads, f"{sides[0]}_foot")
    assert_the_hip_agrees(trees[0], solved, loads, pair, "pelvis", 1.0)
    below = [*loads, (f"{sides[0]}_foot", *floor)]
    assert_the_hip_agrees(trees[1], solved, below, pair, f"{sides[0]}_thigh", -1.0)
    force, moment = trees[1].wrench("pelvis", [*below, *pair])
    weight = body.weight[0]
    assert force == pytest.approx(np.zeros(3), abs=BOUND * weight)
    assert moment[0] == pytest.approx(0.0, abs=BOUND * weight * body.hip_spacing[0])


def assert_the_floor_agrees(tree: Tree, solved: Solved, loads: list[Load], foot: str) -> tuple[Array, Array]:
    """The floor's wrench on the stance foot; returns its place and force as balance has it."""
    weight, spacing = solved.body.weight[0], solved.body.hip_spacing[0]
    force, moment = tree.wrench(foot, loads)
    limb = solved.below
    ground = next(x.force[0] for x in solved.loads if x.key == "foot")
    assert force == pytest.approx(ground, abs=BOUND * weight)
    at = on_plane(solved, np.array([solved.stance.pressure_shift[0], 0.0]))
    assert moment[0] == pytest.approx(np.cross(at, ground)[0], abs=BOUND * weight * spacing)
    assert limb.ground_lateral[0] == pytest.approx(solved.stance.pressure_shift[0], abs=BOUND * spacing)
    return at, ground


def assert_the_hip_agrees(
    tree: Tree, solved: Solved, loads: list[Load], pair: list[Load], beyond: str, way: float
) -> None:
    """What the stance hip passes to the link ``beyond`` it; ``way`` is 1 for the socket, -1 for the head."""
    weight, load = solved.body.weight[0], solved.load
    turning = BOUND * weight * solved.body.hip_spacing[0]
    _, without = tree.wrench(beyond, loads)
    asked = way * solved.posed.sign[0] * without[0]
    assert asked == pytest.approx(load.external_moment[0], abs=turning)
    if abs(asked) > turning:
        assert bool(load.abducts[0]) == bool(asked > 0.0)
    force, left = tree.wrench(beyond, [*loads, *pair])
    carried = load.joint_force[0] if way > 0 else load.head_force[0]
    assert force == pytest.approx(in_world(solved, carried), abs=BOUND * weight)
    assert left[0] == pytest.approx(0.0, abs=turning)


SITUATIONS: dict[str, dict[str, Any]] = {
    "level": {},
    "right leg": {"on_right": True},
    "lean": {"lean": 0.2},
    "lean away": {"lean": -0.15, "on_right": True},
    "drop": {"obliquity": 0.15},
    "hike": {"obliquity": -0.1, "clearance": 0.1},
    "cane opposite": {"has_cane": [False, True], "cane_force": [0.0, 95.0]},
    "tilted cane opposite": {"has_cane": [False, True], "cane_force": [0.0, 95.0], "cane_tilt": 0.15, "on_right": True},
    "cane same side, lean": {"has_cane": [True, False], "cane_force": [60.0, 0.0], "lean": 0.1, "cane_tilt": -0.1},
    "two canes": {"has_cane": True, "cane_force": [120.0, 80.0], "cane_tilt": [0.1, -0.05], "cane_tip": 0.25},
    "cane out of the straight arm's reach": {"has_cane": [False, True], "cane_force": [0.0, 50.0], "lean": 0.25},
    "adductor": {"has_cane": [False, True], "cane_force": [0.0, 280.0]},
    "bag same side": {"bag_mass": [12.0, 0.0]},
    "bag opposite, leaning away from it": {"bag_mass": [0.0, 12.0], "lean": 0.2},
    "bag and cane": {"has_cane": [True, False], "cane_force": [40.0, 0.0], "bag_mass": [0.0, 8.0], "obliquity": 0.05},
    "two legs": {"share": 0.5, "lifted": 0.0},
    "two legs, shifted": {"share": 0.8, "lifted": 0.0, "on_right": True, "lean": 0.1, "bag_mass": [3.0, 9.0]},
    "two legs, tilted cane": {
        "share": 0.7, "lifted": 0.0, "has_cane": [False, True], "cane_force": [0.0, 70.0], "cane_tilt": 0.1,
        "placed_on_two": True,
    },
    "foot half lifted": {"lifted": 0.4, "has_cane": [False, True], "cane_force": [0.0, 30.0]},
    "pressure beside the midline": {"inclination": 0.09},
    "pressure beside the midline, cane": {"inclination": 0.07, "has_cane": [False, True], "cane_force": [0.0, 40.0]},
    "cane force from the inclination": {"inclination": 0.08, "has_cane": [False, True], "cane_force": [0.0, np.nan]},
}  # fmt: skip

PEOPLE = {
    "house": make_body("female", 64.0, 1.66),
    "tall man": make_body("male", 95.0, 1.93, hip_spacing=0.171, right={"abductor_lever": 0.06}),
    "Dempster": make_body("male", 70.0, 1.75, segment_table="dempster"),
}


@pytest.mark.parametrize("person", PEOPLE)
@pytest.mark.parametrize("situation", SITUATIONS)
def test_situations(person: str, situation: str) -> None:
    """Pinocchio's inverse statics and viz3d, one situation at a time."""
    assert_rigid_bodies_agree(PEOPLE[person], make_posture(**SITUATIONS[situation]))


def shoulder_on_trunk(solved: Solved) -> Array:
    """The swing side's shoulder in the trunk's own frame."""
    frame = solved.posed.frames["trunk"][0]
    return np.asarray(frame[:3, :3].T @ (solved.posed.joints["swing_shoulder"][0] - frame[:3, 3]))


def test_situations_are_what_they_are_called() -> None:
    """The parametrized list reaches the cases that its names promise: adductor, glide, pressure off the midline."""
    solved = {n: solve_batch(PEOPLE["house"], make_posture(**s)) for n, s in SITUATIONS.items()}
    assert [n for n, s in solved.items() if not s.load.abducts[0]] == ["adductor"]
    gliding, fixed = solved["cane out of the straight arm's reach"], solved["level"]
    glide = np.linalg.norm(shoulder_on_trunk(gliding) - shoulder_on_trunk(fixed))
    assert 0.01 < glide < 0.05
    assert gliding.stance.reach_short[0, 1] == 0.0
    off = [n for n, s in solved.items() if abs(s.stance.pressure_shift[0]) > 0.001]
    assert off == ["pressure beside the midline", "pressure beside the midline, cane"]


def two(low: float, high: float) -> st.SearchStrategy[tuple[float, float]]:
    return st.tuples(st.floats(low, high), st.floats(low, high))


hips = st.fixed_dictionaries(
    {
        "neck_shaft_angle": st.floats(2.0, 2.4),
        "offset": st.floats(0.03, 0.05),
        "version": st.floats(-0.1, 0.6),
        "trochanter_height": st.floats(-0.005, 0.02),
    }
)
people = st.builds(
    make_body,
    sex=st.sampled_from(["female", "male"]),
    mass=st.floats(40, 130),
    stature=st.floats(1.45, 2.0),
    hip_spacing=st.floats(0.14, 0.18),
    left=hips,
    right=hips,
    segment_table=st.sampled_from(["de-leva", "dempster"]),
)
held = {
    "on_right": st.booleans(),
    "lean": st.floats(-0.2, 0.25),
    "has_cane": st.tuples(st.booleans(), st.booleans()),
    "cane_force": two(0, 120),
    "cane_tilt": two(-0.2, 0.2),
    "bag_mass": two(0, 15),
}
one_leg = st.builds(make_posture, obliquity=st.floats(-0.12, 0.18), **held)
lifting = st.builds(make_posture, lifted=st.floats(0, 1), **held)
two_legs = st.builds(make_posture, lifted=st.just(0.0), share=st.floats(0.5, 1.0), placed_on_two=st.booleans(), **held)
postures = st.one_of(one_leg, one_leg, lifting, two_legs)


@settings(max_examples=40, deadline=None)
@given(people, postures)
def test_random_people_and_postures(body: Body, posture: Posture) -> None:
    """Pinocchio's inverse statics and viz3d, whoever stands how."""
    assert_rigid_bodies_agree(body, posture)


@pytest.mark.long
@settings(max_examples=2000, deadline=None)
@given(people, postures)
def test_random_people_and_postures_long(body: Body, posture: Posture) -> None:
    """The same, 2000 times."""
    assert_rigid_bodies_agree(body, posture)
