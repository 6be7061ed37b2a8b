"""The posed chain in space: joints, segment centres and transforms, for pictures and for the second free body.

Question answered: where in the room is every joint, every segment's centre of mass, every bone?

World frame: origin on the floor under the stance foot's midline; ISB axes (x forward, y up, z right).
Positions (N, 3), metres; transforms (N, 4, 4) take a segment's own frame (origin at its upper joint, y up
along it, z right) to the world. This path is independent of :mod:`viz3d.kinematics.frontal`'s closed sums:
it places joints first and takes centres of mass from them.

Left out: bending of spine and stance knee. Called by statics' stance-limb free body and by the stage.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from viz3d.body.landmarks import pelvis_landmark
from viz3d.body.person import Array, Body
from viz3d.body.segments import SEGMENTS, Lengths, com_fractions, lengths
from viz3d.errors import InputError
from viz3d.kinematics.frontal import Stance
from viz3d.kinematics.masses import backpack_height
from viz3d.kinematics.posture import STANCE_HAND, posture_rows
from viz3d.kinematics.reach import free_arm_angle, leg_bend, reach, swing_span

Link = Callable[[str, Array, Array], None]

_GRIP = 0.39
"""Where a carried bag hangs in the hand, as a share of the way from the wrist to the knuckles (as drawn)."""


@dataclass(frozen=True)
class Pose:
    """The posed chain. ``joints`` name -> (N, 3); ``frames`` link -> (N, 4, 4)."""

    joints: dict[str, Array]
    frames: dict[str, Array]
    sign: Array
    """(N,) +1 where the stance leg is the right one: lateral l is sign * z."""


def frontal_turn(angle: Array, sign: Array) -> Array:
    """Rotation (N, 3, 3) that leans an upright segment by ``angle`` towards the stance side."""
    c, s = np.cos(angle), np.sin(angle) * sign
    out = np.zeros((len(c), 3, 3))
    out[:, 0, 0] = 1.0
    out[:, 1, 1], out[:, 1, 2] = c, -s
    out[:, 2, 1], out[:, 2, 2] = s, c
    return out


def sagittal_turn(angle: Array) -> Array:
    """Rotation (N, 3, 3) about z that swings a hanging segment's lower end forward by ``angle``."""
    c, s = np.cos(angle), np.sin(angle)
    out = np.zeros((len(c), 3, 3))
    out[:, 0, 0], out[:, 0, 1] = c, -s
    out[:, 1, 0], out[:, 1, 1] = s, c
    out[:, 2, 2] = 1.0
    return out


def along(down: Array, forward: Array) -> Array:
    """Rotation (N, 3, 3) whose y axis is opposite to ``down`` and whose z axis is square to ``forward``."""
    y = -down / np.linalg.norm(down, axis=-1, keepdims=True)
    z = np.cross(forward, y)
    z /= np.linalg.norm(z, axis=-1, keepdims=True)
    return np.stack([np.cross(y, z), y, z], axis=-1)


def placed(origin: Array, turn: Array, x: object, y: object, z: object) -> Array:
    """A point (x, y, z) of a turned frame, in the world, (N, 3)."""
    local = np.stack(np.broadcast_arrays(*(np.asarray(v, dtype=float) for v in (x, y, z))), axis=-1)
    return np.asarray(origin + np.einsum("nij,nj->ni", turn, np.broadcast_to(local, origin.shape)))


def pose(body: Body, stance: Stance) -> Pose:
    """Place every joint and link.

    Raises
    ------
    InputError : the swing foot would be in the floor.
    """
    size = lengths(body)
    sign = np.where(stance.posture.on_right, 1.0, -1.0)
    count = len(sign)
    joints: dict[str, Array] = {}
    frames: dict[str, Array] = {}

    def link(name: str, turn: Array, origin: Array) -> None:
        frame = np.zeros((count, 4, 4))
        frame[:, :3, :3], frame[:, :3, 3], frame[:, 3, 3] = turn, origin, 1.0
        frames[name] = frame

    leg = frontal_turn(stance.inclination, sign)
    pelvic = frontal_turn(-stance.posture.obliquity, sign)
    ankle = np.zeros((count, 3))
    ankle[:, 1] = stance.leg.stance_ankle
    joints["stance_ankle"] = ankle
    joints["stance_knee"] = placed(ankle, leg, 0, stance.leg.stance_shank, 0)
    joints["stance_hip"] = placed(ankle, leg, 0, stance.leg.stance_length, 0)
    out, up = stance.leg.stance_hip[:, 0], stance.leg.stance_hip[:, 1]
    joints["middle_hip"] = placed(joints["stance_hip"], pelvic, 0, -up, -out * sign)
    away, rise = stance.leg.swing_hip[:, 0], stance.leg.swing_hip[:, 1]
    joints["swing_hip"] = placed(joints["middle_hip"], pelvic, 0, rise, away * sign)
    _swing_leg(stance, size, joints, sign, link)
    _trunk(body, stance, size, joints, sign, link)
    for k, where in enumerate(("stance", "swing")):
        _arm(stance, size, joints, where, k, sign)
    link("pelvis", pelvic, joints["middle_hip"])
    level = np.broadcast_to(np.eye(3), (count, 3, 3))
    shin = leg * _shin_scale(stance.leg.stance_shank / size.shank)
    for name, turn, joint in (("thigh", leg, "hip"), ("shank", shin, "knee"), ("foot", level, "ankle")):
        link(f"stance_{name}", turn, joints[f"stance_{joint}"])
    _link_arms(stance, joints, sign, link)
    return Pose(joints, _by_side(frames, stance), sign)


def _shin_scale(part: Array) -> Array:
    """Factor (N, 1, 3) on a shin's rotation that draws it shorter along its own axis."""
    out = np.ones((len(part), 1, 3))
    out[:, 0, 1] = part
    return out


def _trunk(body: Body, stance: Stance, size: Lengths, joints: dict[str, Array], sign: Array, link: Link) -> None:
    """Stack the trunk on the lumbosacral joint, and hang the shoulders on it."""
    pelvic, trunk = frontal_turn(-stance.posture.obliquity, sign), frontal_turn(stance.posture.lean, sign)
    pivot = pelvis_landmark("lumbosacral", body)
    middle = joints["middle_hip"]
    base = placed(middle, pelvic, pivot[:, 0], pivot[:, 1], 0)
    base[:, 2] += sign * stance.posture.trunk_shift
    joints["lumbosacral"] = base
    joints["omphalion_pelvis"] = placed(middle, pelvic, 0, size.omphalion - size.hip, 0)
    heights = {
        "omphalion_trunk": size.omphalion,
        "xiphion": size.xiphion,
        "neck": size.shoulder,
        "chin": size.chin,
        "vertex": size.vertex,
        "backpack": backpack_height(size),
    }
    for name, height in heights.items():
        joints[name] = placed(base, trunk, -pivot[:, 0], height - size.hip - pivot[:, 1], 0)
    top = size.shoulder - size.hip - pivot[:, 1]
    for where, outward in (("stance", sign), ("swing", -sign)):
        joints[f"{where}_shoulder"] = placed(base, trunk, -pivot[:, 0], top, outward * size.half_shoulder)
    link("trunk", trunk, base)
    link("head", trunk, joints["chin"])


def _swing_leg(stance: Stance, size: Lengths, joints: dict[str, Array], sign: Array, link: Link) -> None:
    """Hang the swing leg under its hip, knee bent so that the foot clears the floor."""
    p, leg = stance.posture, stance.leg
    hip = joints["swing_hip"]
    length = leg.swing_shank + leg.thigh
    down = (hip[:, 2] * sign - stance.other_foot_lateral) / length
    tilt = (1.0 - p.lifted) * np.clip(down, -0.9, 0.9) + p.lifted * np.sin(p.swing_abduction)
    plane = frontal_turn(np.arcsin(tilt), sign)
    if bool(np.any(hip[:, 1] - leg.swing_ankle - p.clearance * p.lifted < 0.35 * length)):
        raise InputError("posture.clearance: the swing foot cannot be lifted that high")
    bend, back = leg_bend(swing_span(hip[:, 1], leg.swing_ankle, tilt, p), leg.thigh, leg.swing_shank)
    thigh = np.einsum("nij,njk->nik", plane, sagittal_turn(bend))
    shank = np.einsum("nij,njk->nik", plane, sagittal_turn(-back))
    drop = np.zeros_like(hip)
    drop[:, 1] = -size.thigh
    joints["swing_knee"] = hip + np.einsum("nij,nj->ni", thigh, drop)
    drop = np.zeros_like(hip)
    drop[:, 1] = -leg.swing_shank
    joints["swing_ankle"] = joints["swing_knee"] + np.einsum("nij,nj->ni", shank, drop)
    link("swing_thigh", thigh, hip)
    link("swing_shank", shank * _shin_scale(leg.swing_shank / size.shank), joints["swing_knee"])
    level = np.broadcast_to(np.eye(3), thigh.shape)
    link("swing_foot", level, joints["swing_ankle"])


def _arm(stance: Stance, size: Lengths, joints: dict[str, Array], where: str, k: int, sign: Array) -> None:
    """Free arms hang; a hand on a cane reaches its handle, the elbow bent straight back or, out of
    the straight arm's reach, the shoulder gliding towards it."""
    shoulder = joints[f"{where}_shoulder"]
    held = stance.posture.has_cane[:, k]
    palm = float(posture_rows()["palm_on_handle"].value)
    angle = free_arm_angle(stance.posture)[:, k]
    down = np.stack([np.zeros(len(sign)), -np.cos(angle), -sign * np.sin(angle)], axis=-1)
    hang = down * np.broadcast_to(size.upper_arm + size.forearm, angle.shape)[:, None]
    handle = np.stack([np.zeros(len(sign)), stance.handle[:, k, 1] + palm, sign * stance.handle[:, k, 0]], axis=-1)
    handle[:, 0] = shoulder[:, 0]
    wrist = np.where(held[:, None], handle, shoulder + hang)
    glide, fraction, _ = reach(shoulder[:, None, 1:], wrist[:, None, 1:], size)
    shoulder = shoulder + glide * (wrist - shoulder)
    joints[f"{where}_shoulder"] = shoulder
    span = wrist - shoulder
    distance = np.linalg.norm(span, axis=-1)
    at = fraction[:, 0] * distance
    height = np.sqrt(np.maximum(size.upper_arm**2 - at**2, 0.0))
    back = np.array([-1.0, 0.0, 0.0])
    joints[f"{where}_elbow"] = shoulder + span * fraction + back * height[:, None]
    joints[f"{where}_wrist"] = wrist
    straight = np.where(held[:, None], [[0.0, -1.0, 0.0]], down)
    joints[f"{where}_knuckle"] = wrist + straight * np.broadcast_to(size.hand, distance.shape)[:, None]


def _link_arms(stance: Stance, joints: dict[str, Array], sign: Array, link: Link) -> None:
    """Frames of the arm segments, of the canes and of carried bags, which hang straight down."""
    count = len(sign)
    forward = np.broadcast_to(np.array([1.0, 0.0, 0.0]), (count, 3))
    for k, where in enumerate(("stance", "swing")):
        for name, start, end in (("upper_arm", "shoulder", "elbow"), ("forearm", "elbow", "wrist"),
                                 ("hand", "wrist", "knuckle")):  # fmt: skip
            down = joints[f"{where}_{end}"] - joints[f"{where}_{start}"]
            link(f"{where}_{name}", along(down, forward), joints[f"{where}_{start}"])
        inward = -sign if k == STANCE_HAND else sign
        tip = np.stack([np.zeros(count), np.zeros(count), sign * stance.tip_lateral[:, k]], axis=-1)
        lean = frontal_turn(stance.posture.cane_tilt[:, k] * inward * sign, sign)
        joints[f"{where}_tip"] = tip
        link(f"{where}_cane", lean, tip)
        wrist, knuckle = joints[f"{where}_wrist"], joints[f"{where}_knuckle"]
        link(f"{where}_bag", np.broadcast_to(np.eye(3), lean.shape), wrist + _GRIP * (knuckle - wrist))


def _by_side(frames: dict[str, Array], stance: Stance) -> dict[str, Array]:
    """Rename stance and swing links to left and right."""
    right = stance.posture.on_right[:, None, None]
    out = {n: f for n, f in frames.items() if not n.startswith(("stance_", "swing_"))}
    for name in {n.split("_", 1)[1] for n in frames if n.startswith(("stance_", "swing_"))}:
        on, off = frames[f"stance_{name}"], frames[f"swing_{name}"]
        out[f"right_{name}"] = np.where(right, on, off)
        out[f"left_{name}"] = np.where(right, off, on)
    return out


def segment_centres(body: Body, pose_: Pose) -> Array:
    """Centres of mass of all segments, (N, segments, 3), from joint positions.

    The stance-limb free body sums over these; the closed form of :mod:`viz3d.kinematics.frontal` does not.
    """
    j, com = pose_.joints, com_fractions(body)
    right = (pose_.sign > 0)[:, None]
    ends: dict[str, tuple[Array, Array]] = {
        "head": (j["vertex"], j["chin"]),
        "upper_trunk": (j["neck"], j["xiphion"]),
        "mid_trunk": (j["xiphion"], j["omphalion_trunk"]),
        "lower_trunk": (j["omphalion_pelvis"], j["middle_hip"]),
        "head_arms_trunk": (_trunk_foot(body, pose_), j["neck"]),
    }
    pairs = {"upper_arm": ("shoulder", "elbow"), "forearm": ("elbow", "wrist"), "hand": ("wrist", "knuckle"),
             "thigh": ("hip", "knee"), "shank": ("knee", "ankle"), "foot": ("ankle", "ankle")}  # fmt: skip
    for name, (a, b) in pairs.items():
        on = (j[f"stance_{a}"], j[f"stance_{b}"])
        off = (j[f"swing_{a}"], j[f"swing_{b}"])
        ends[f"right_{name}"] = (np.where(right, on[0], off[0]), np.where(right, on[1], off[1]))
        ends[f"left_{name}"] = (np.where(right, off[0], on[0]), np.where(right, off[1], on[1]))
    out = [ends[n][0] + com[:, i, None] * (ends[n][1] - ends[n][0]) for i, n in enumerate(SEGMENTS)]
    return np.stack(out, axis=1)


def _trunk_foot(body: Body, pose_: Pose) -> Array:
    """Where the leaning trunk's line would meet the hips' height: lower end of head-arms-trunk."""
    pivot = pelvis_landmark("lumbosacral", body)
    local = np.stack([-pivot[:, 0], -pivot[:, 1], np.zeros_like(pivot[:, 1])], axis=-1)
    turn, origin = pose_.frames["trunk"][:, :3, :3], pose_.frames["trunk"][:, :3, 3]
    return np.asarray(origin + np.einsum("nij,nj->ni", turn, np.broadcast_to(local, origin.shape)))
