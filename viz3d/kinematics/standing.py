"""Standing in balance as joint angles: one way to find the angles of a pose.

Question answered: which joint angles does a body have that stands balanced in the frontal plane, its swing foot clear
of the floor, its hands on their aids?

The stance leg leans as balance asks (:mod:`viz3d.kinematics.frontal`), pelvis and trunk lean as chosen; the swing leg
bends so that its foot clears the floor or stands on it; a free arm hangs, a held one reaches its handle, the elbow bent
straight back or, out of the straight arm's reach, the shoulder gliding towards it. All lumbar bending is at the
lumbosacral joint. Aids and bags hang on the hands; their frames are no part of the body's chain. SI, world frame of the
chain.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.body.landmarks import pelvis_landmark
from viz3d.body.names import LEFT, RIGHT, SIDES
from viz3d.body.person import Body
from viz3d.body.segments import Lengths, lengths
from viz3d.errors import InputError
from viz3d.kinematics.angles import LEVELS, JointAngles, between, rotation, sensed
from viz3d.kinematics.chain import KNEE, Pose, frame, placed, pose
from viz3d.kinematics.frontal import Stance
from viz3d.kinematics.posture import STANCE_HAND, posture_rows
from viz3d.kinematics.reach import free_arm_angle, leg_bend, reach, swing_span

_BACK = np.array([-1.0, 0.0, 0.0])


def standing_pose(body: Body, stance: Stance) -> Pose:
    """The posed chain of a balanced batch, with what its hands hold.

    Raises
    ------
    InputError : the swing foot cannot be lifted that high.
    """
    posed = pose(body, standing_angles(body, stance), stance.posture.on_right)
    _hold(stance, posed)
    return posed


def standing_angles(body: Body, stance: Stance) -> JointAngles:
    """Joint angles of a balanced batch.

    Raises
    ------
    InputError : the swing foot cannot be lifted that high.
    """
    size, p, on = lengths(body), stance.posture, stance.posture.on_right
    sign, count = np.where(on, 1.0, -1.0), len(stance.sine)
    leg, pelvis = lean_to(stance.inclination, sign), lean_to(-p.obliquity, sign)
    trunk = lean_to(p.lean, sign)
    ankle = np.zeros((count, 3))
    ankle[:, 1] = stance.leg.stance_ankle
    hip = placed(ankle, leg, 0, stance.leg.stance_length, 0)
    out, up = stance.leg.stance_hip[:, 0], stance.leg.stance_hip[:, 1]
    root = placed(hip, pelvis, 0, -up, -out * sign)
    thigh, shank = _swing_leg(stance, root, pelvis, sign)
    level = np.broadcast_to(np.eye(3), (count, 3, 3))
    legs = [(_either(on, leg, thigh, side), _either(on, leg, shank, side)) for side in SIDES]
    slide = np.zeros((count, 3))
    slide[:, 2] = sign * p.trunk_shift
    slide = np.einsum("nji,nj->ni", pelvis, slide)
    lumbar = np.zeros((count, LEVELS, 3))
    lumbar[:, 0] = between(pelvis, trunk)
    arms = _Arms(body, size, stance, root, pelvis, trunk, slide, sign)
    return JointAngles(
        root=root,
        pelvis=between(level, pelvis),
        hips=_sides([sensed(between(pelvis, t), s) for s, (t, _) in zip(SIDES, legs, strict=True)]),
        knees=_sides([sensed(between(t, k), s, KNEE) for s, (t, k) in zip(SIDES, legs, strict=True)]),
        ankles=_sides([sensed(between(k, level), s) for s, (_, k) in zip(SIDES, legs, strict=True)]),
        lumbar=lumbar,
        head=np.zeros((count, 3)),
        shoulders=_sides([sensed(between(trunk, arms.turns(s)[0]), s) for s in SIDES]),
        elbows=_sides([sensed(between(*arms.turns(s)[:2]), s) for s in SIDES]),
        wrists=_sides([sensed(between(*arms.turns(s)[1:]), s) for s in SIDES]),
        trunk_slide=slide,
        shoulder_slide=_sides([arms.slide(s) for s in SIDES]),
        toes=np.zeros((count, 2)),
    )


def lean_to(angle: Array, sign: Array) -> Array:
    """Rotation (N, 3, 3) that leans an upright segment by ``angle`` towards the stance side."""
    zero = np.zeros_like(angle)
    return rotation(np.stack([zero, angle * sign, zero], axis=-1))


def along(down: Array, forward: Array) -> Array:
    """Rotation (N, 3, 3) whose y axis is opposite to ``down`` and whose z axis is square to ``forward``."""
    y = -down / np.linalg.norm(down, axis=-1, keepdims=True)
    z = np.cross(forward, y)
    z /= np.linalg.norm(z, axis=-1, keepdims=True)
    return np.stack([np.cross(y, z), y, z], axis=-1)


def _sides(values: list[Array]) -> Array:
    return np.stack(values, axis=1)


def _either(on_right: Flags, stance: Array, swing: Array, side: str) -> Array:
    """Of the stance and the swing limb's turns, the one of a side."""
    mine = on_right if side == RIGHT else ~on_right
    return np.where(mine[:, None, None], stance, swing)


def _swing_leg(stance: Stance, root: Array, pelvis: Array, sign: Array) -> tuple[Array, Array]:
    """Turns of thigh and shank of the swing leg, knee bent so that the foot clears the floor or stands on it."""
    p, leg, rows = stance.posture, stance.leg, posture_rows()
    hip = placed(root, pelvis, 0, leg.swing_hip[:, 1], leg.swing_hip[:, 0] * sign)
    length, most = leg.swing_shank + leg.thigh, float(rows["largest_swing_tilt"].value)
    down = (hip[:, 2] * sign - stance.other_foot_lateral) / length
    tilt = (1.0 - p.lifted) * np.clip(down, -most, most) + p.lifted * np.sin(p.swing_abduction)
    least = float(rows["shortest_swing_leg"].value)
    if bool(np.any(hip[:, 1] - leg.swing_ankle - p.clearance * p.lifted < least * length)):
        raise InputError("posture.clearance: the swing foot cannot be lifted that high")
    bend, back = leg_bend(swing_span(hip[:, 1], leg.swing_ankle, tilt, p), leg.thigh, leg.swing_shank)
    plane, zero = lean_to(np.arcsin(tilt), sign), np.zeros_like(bend)
    thigh, shank = (plane @ rotation(np.stack([a, zero, zero], axis=-1)) for a in (bend, -back))
    return thigh, shank


class _Arms:
    """Both arms of a balanced batch: their shoulders' glide and their parts' turns in space."""

    def __init__(
        self, body: Body, size: Lengths, stance: Stance, root: Array, pelvis: Array, trunk: Array, slide: Array,
        sign: Array,
    ) -> None:  # fmt: skip
        self.size, self.stance, self.sign, self.trunk = size, stance, sign, trunk
        pivot = pelvis_landmark("lumbosacral", body)
        base = placed(root, pelvis, pivot[:, 0], pivot[:, 1], 0) + np.einsum("nij,nj->ni", pelvis, slide)
        top = size.shoulder - size.hip - pivot[:, 1]
        self._found: dict[str, tuple[Array, tuple[Array, Array, Array]]] = {}
        by_hand = []
        for k, outward in enumerate((sign, -sign)):
            shoulder = placed(base, trunk, -pivot[:, 0], top, outward * size.half_shoulder)
            by_hand.append(self._reached(k, shoulder))
        for side in SIDES:
            mine = stance.posture.on_right if side == RIGHT else ~stance.posture.on_right
            (a, first), (b, second) = by_hand
            turns = tuple(np.where(mine[:, None, None], x, y) for x, y in zip(first, second, strict=True))
            self._found[side] = (np.where(mine[:, None], a, b), (turns[0], turns[1], turns[2]))

    def turns(self, side: str) -> tuple[Array, Array, Array]:
        """Turns of upper arm, forearm and hand in space."""
        return self._found[side][1]

    def slide(self, side: str) -> Array:
        """How far the shoulder glides, trunk frame, (N, 3)."""
        return np.asarray(np.einsum("nji,nj->ni", self.trunk, self._found[side][0]))

    def _reached(self, k: int, shoulder: Array) -> tuple[Array, tuple[Array, Array, Array]]:
        """Glide in space and the three turns of the stance side's (0) or the other (1) arm."""
        size, stance, sign = self.size, self.stance, self.sign
        held = stance.posture.has_cane[:, k]
        palm = float(posture_rows()["palm_on_handle"].value)
        angle = free_arm_angle(stance.posture)[:, k]
        zero = np.zeros(len(sign))
        down = np.stack([zero, -np.cos(angle), -sign * np.sin(angle)], axis=-1)
        hang = down * np.broadcast_to(size.upper_arm + size.forearm, angle.shape)[:, None]
        handle = np.stack([shoulder[:, 0], stance.handle[:, k, 1] + palm, sign * stance.handle[:, k, 0]], axis=-1)
        wrist = np.where(held[:, None], handle, shoulder + hang)
        glide, fraction, _ = reach(shoulder[:, None, 1:], wrist[:, None, 1:], size)
        moved = shoulder + glide * (wrist - shoulder)
        span = wrist - moved
        at = fraction[:, 0] * np.linalg.norm(span, axis=-1)
        height = np.sqrt(np.maximum(size.upper_arm**2 - at**2, 0.0))
        elbow = moved + span * fraction + _BACK * height[:, None]
        straight = np.where(held[:, None], [[0.0, -1.0, 0.0]], down)
        forward = np.broadcast_to(np.array([1.0, 0.0, 0.0]), span.shape)
        turns = (along(elbow - moved, forward), along(wrist - elbow, forward), along(straight, forward))
        return moved - shoulder, turns


def _hold(stance: Stance, posed: Pose) -> None:
    """Add the frames of canes, which stand on their tips, and of carried bags, which hang straight down."""
    on, sign = stance.posture.on_right, posed.sign
    zero, level = np.zeros(len(sign)), np.broadcast_to(np.eye(3), (len(sign), 3, 3))
    hang = float(posture_rows()["bag_hang"].value)
    for side in SIDES:
        mine = on if side == RIGHT else ~on
        k = np.where(mine, STANCE_HAND, 1 - STANCE_HAND)
        row = np.arange(len(sign))
        tip = np.stack([zero, zero, sign * stance.tip_lateral[row, k]], axis=-1)
        inward = -1.0 if side == RIGHT else 1.0
        tilt = lean_to(stance.posture.cane_tilt[row, k] * inward, np.ones_like(sign))
        wrist, knuckle = posed.joints[f"{side}_wrist"], posed.joints[f"{side}_knuckle"]
        posed.joints[f"{side}_tip"] = tip
        posed.frames[f"{side}_cane"] = frame(tilt, tip)
        posed.frames[f"{side}_bag"] = frame(level, wrist + hang * (knuckle - wrist))
    right = on[:, None]
    left_tip, right_tip = posed.joints[f"{LEFT}_tip"], posed.joints[f"{RIGHT}_tip"]
    posed.joints["stance_tip"] = np.where(right, right_tip, left_tip)
    posed.joints["swing_tip"] = np.where(right, left_tip, right_tip)
