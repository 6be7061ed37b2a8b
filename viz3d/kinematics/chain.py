"""The posed chain in space: joints, segment centres and rigid transforms, from joint angles.

Question answered: where in the room is every joint, every segment's centre of mass, every bone?

World frame: ISB axes (x forward, y up, z right); standing, the origin lies on the floor under the stance foot's
midline. Positions (N, 3), metres; transforms (N, 4, 4) take a segment's own frame (origin at its upper joint, y up
along it, z right) to the world and are rigid: a shape's size is the shape's affair. Left and right alike. Left out:
bending of bones, gliding joints but for the shoulder girdle and the lumbosacral joint.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.body.landmarks import pelvis_landmark, toe_hinge
from viz3d.body.names import LEFT, RIGHT, SIDES
from viz3d.body.person import Body
from viz3d.body.segment_tables import SEGMENTS
from viz3d.body.segments import Lengths, com_fractions, lengths
from viz3d.kinematics.angles import LEVELS, JointAngles, rotation, sensed
from viz3d.kinematics.carried import THINGS

KNEE = -1.0
"""A knee bends the other way: its flexion turns the shank backward."""


@dataclass(frozen=True)
class Pose:
    """The posed chain. ``joints`` name -> (N, 3), by side and by stance; ``frames`` link -> (N, 4, 4)."""

    joints: dict[str, Array]
    frames: dict[str, Array]
    levels: Array
    """(N, LEVELS, 4, 4) the lumbar levels, from the sacrum up; origin at each level's joint."""
    sign: Array
    """(N,) +1 where the studied hip is the right one: lateral l is sign * z."""


def placed(origin: Array, turned: Array, x: object, y: object, z: object) -> Array:
    """A point (x, y, z) of a turned frame, in the world, (N, 3)."""
    local = np.stack(np.broadcast_arrays(*(np.asarray(v, dtype=float) for v in (x, y, z))), axis=-1)
    return np.asarray(origin + np.einsum("nij,nj->ni", turned, np.broadcast_to(local, origin.shape)))


def frame(turned: Array, origin: Array) -> Array:
    """A rigid transform (N, 4, 4)."""
    out = np.zeros((len(origin), 4, 4))
    out[:, :3, :3], out[:, :3, 3], out[:, 3, 3] = turned, origin, 1.0
    return out


def pose(body: Body, angles: JointAngles, on_right: Flags) -> Pose:
    """Place every joint and link.

    Parameters
    ----------
    angles : N poses. on_right : (N,) True where the right hip is studied; a column like any other.
    """
    size = lengths(body)
    joints: dict[str, Array] = {"middle_hip": angles.root}
    frames = {"pelvis": frame(rotation(angles.pelvis), angles.root)}
    levels = _trunk(body, size, angles, joints, frames)
    for k, side in enumerate(SIDES):
        _leg(body, size, angles, k, side, joints, frames)
        _arm(size, angles, k, side, joints, frames)
    _by_stance(joints, on_right)
    return Pose(joints, frames, levels, np.where(on_right, 1.0, -1.0))


def _leg(
    body: Body, size: Lengths, angles: JointAngles, k: int, side: str,
    joints: dict[str, Array], frames: dict[str, Array],
) -> None:  # fmt: skip
    """Hang a leg under its hip centre."""
    hip, outward = body.hip(side), 1.0 if side == RIGHT else -1.0
    pelvis = frames["pelvis"][:, :3, :3]
    thigh = pelvis @ rotation(sensed(angles.hips[:, k], side))
    shank = thigh @ rotation(sensed(angles.knees[:, k], side, KNEE))
    foot = shank @ rotation(sensed(angles.ankles[:, k], side))
    out = outward * (body.hip_spacing / 2 + hip.socket_out)
    joints[f"{side}_hip"] = placed(angles.root, pelvis, 0, hip.socket_up, out)
    joints[f"{side}_knee"] = placed(joints[f"{side}_hip"], thigh, 0, -size.thigh, 0)
    joints[f"{side}_ankle"] = placed(joints[f"{side}_knee"], shank, 0, hip.shortening - size.shank, 0)
    for name, turned, joint in (("thigh", thigh, "hip"), ("shank", shank, "knee"), ("foot", foot, "ankle")):
        frames[f"{side}_{name}"] = frame(turned, joints[f"{side}_{joint}"])
    frames[f"{side}_toes"] = _toes(frames[f"{side}_foot"], size, angles.toes[:, k], outward)


def _toes(foot: Array, size: Lengths, bend: Array, outward: float) -> Array:
    """The foot's frame (N, 4, 4) bent up at the toes' joints, so that what is drawn in it stays in the foot's own."""
    where, slant = toe_hinge(size.foot, size.ankle)
    axis = np.array([-outward * np.sin(slant), 0.0, np.cos(slant)])
    across = np.array([[0.0, -axis[2], axis[1]], [axis[2], 0.0, -axis[0]], [-axis[1], axis[0], 0.0]])
    sine, rest = np.sin(bend)[:, None, None], (1.0 - np.cos(bend))[:, None, None]
    turned = np.eye(3) + sine * across + rest * (across @ across)
    stay = where - np.einsum("nij,nj->ni", turned, np.broadcast_to(where, (len(bend), 3)))
    return foot @ frame(turned, stay)


def _trunk(body: Body, size: Lengths, angles: JointAngles, joints: dict[str, Array], frames: dict[str, Array]) -> Array:
    """Stack the lumbar levels on the lumbosacral joint, the trunk on them, and the head; the levels' frames."""
    pelvis, pivot = frames["pelvis"][:, :3, :3], pelvis_landmark("lumbosacral", body)
    base = placed(angles.root, pelvis, pivot[:, 0], pivot[:, 1], 0)
    base = base + np.einsum("nij,nj->ni", pelvis, angles.trunk_slide)
    joints["lumbosacral"] = base
    joints["omphalion_pelvis"] = placed(angles.root, pelvis, 0, size.omphalion - size.hip, 0)
    rise = (size.xiphion - size.hip - pivot[:, 1]) / LEVELS
    turned, at, levels = pelvis, base, []
    for n in range(LEVELS):
        at = placed(at, turned, 0, rise if n else 0.0, 0)
        turned = turned @ rotation(angles.lumbar[:, n])
        levels.append(frame(turned, at))
    foot = placed(at, turned, 0, -(LEVELS - 1) * rise, 0)
    heights = {
        "omphalion_trunk": size.omphalion, "xiphion": size.xiphion, "neck": size.shoulder, "chin": size.chin,
        "vertex": size.vertex,
    }  # fmt: skip
    for name, height in heights.items():
        joints[name] = placed(foot, turned, -pivot[:, 0], height - size.hip - pivot[:, 1], 0)
    for thing in THINGS:
        up = thing.height(size) - size.hip
        on_trunk = placed(foot, turned, -pivot[:, 0], up - pivot[:, 1], 0)
        joints[thing.key] = placed(angles.root, pelvis, 0, up, 0) if thing.on_pelvis else on_trunk
    joints["trunk_foot"] = placed(foot, turned, -pivot[:, 0], -pivot[:, 1], 0)
    top = size.shoulder - size.hip - pivot[:, 1]
    for k, (side, outward) in enumerate(zip(SIDES, (-1.0, 1.0), strict=True)):
        slide = angles.shoulder_slide[:, k]
        away = (slide[:, 0] - pivot[:, 0], slide[:, 1] + top, slide[:, 2] + outward * size.half_shoulder)
        joints[f"{side}_shoulder"] = placed(foot, turned, *away)
    frames["trunk"] = frame(turned, foot)
    frames["head"] = frame(turned @ rotation(angles.head), joints["chin"])
    return np.stack(levels, axis=1)


def _arm(
    size: Lengths, angles: JointAngles, k: int, side: str, joints: dict[str, Array], frames: dict[str, Array]
) -> None:
    """Hang an arm from its shoulder."""
    turned, at = frames["trunk"][:, :3, :3], joints[f"{side}_shoulder"]
    parts = (
        ("upper_arm", angles.shoulders, size.upper_arm, "elbow"), ("forearm", angles.elbows, size.forearm, "wrist"),
        ("hand", angles.wrists, size.hand, "knuckle"),
    )  # fmt: skip
    for name, bent, long, end in parts:
        turned = turned @ rotation(sensed(bent[:, k], side))
        frames[f"{side}_{name}"] = frame(turned, at)
        at = placed(at, turned, 0, -long, 0)
        joints[f"{side}_{end}"] = at


def _by_stance(joints: dict[str, Array], on_right: Flags) -> None:
    """The same joints named by stance: of the studied side and of the other."""
    right = on_right[:, None]
    for name in [n.removeprefix("left_") for n in joints if n.startswith("left_")]:
        left_at, right_at = joints[f"{LEFT}_{name}"], joints[f"{RIGHT}_{name}"]
        joints[f"stance_{name}"] = np.where(right, right_at, left_at)
        joints[f"swing_{name}"] = np.where(right, left_at, right_at)


def segment_centres(body: Body, pose_: Pose) -> Array:
    """Centres of mass of all segments, (N, segments, 3), from joint positions.

    The stance-limb free body sums over these; the closed form of :mod:`viz3d.kinematics.frontal` does not.
    """
    j, com = pose_.joints, com_fractions(body)
    ends: dict[str, tuple[Array, Array]] = {
        "head": (j["vertex"], j["chin"]),
        "upper_trunk": (j["neck"], j["xiphion"]),
        "mid_trunk": (j["xiphion"], j["omphalion_trunk"]),
        "lower_trunk": (j["omphalion_pelvis"], j["middle_hip"]),
        "head_arms_trunk": (j["trunk_foot"], j["neck"]),
    }
    pairs = {"upper_arm": ("shoulder", "elbow"), "forearm": ("elbow", "wrist"), "hand": ("wrist", "knuckle"),
             "thigh": ("hip", "knee"), "shank": ("knee", "ankle"), "foot": ("ankle", "ankle")}  # fmt: skip
    for side in SIDES:
        for name, (a, b) in pairs.items():
            ends[f"{side}_{name}"] = (j[f"{side}_{a}"], j[f"{side}_{b}"])
    out = [ends[n][0] + com[:, i, None] * (ends[n][1] - ends[n][0]) for i, n in enumerate(SEGMENTS)]
    return np.stack(out, axis=1)
