"""How much of the person a picture shows: the pelvis, the hip from the loins to the knees, or head to floor.

Question answered: which point of the world stands in the middle of the picture, and how large is a metre?

One answer serves all frames. The hip's picture is as large as the hands, and what they hold, allow; the pelvis's as
large as those that press allow.
World positions in metres, pixels on the page.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np

from viz3d.arrays import Array
from viz3d.scene.posture import AIDS
from viz3d.solution.gait import Gait
from viz3d.solution.passing import prints_passed
from viz3d.stage.camera import Camera
from viz3d.stage.drawing import Box
from viz3d.stage.plan import Plan

FRAMES = PELVIS, HIP, WHOLE = "pelvis", "hip", "whole"
USUAL, NEAREST = 1110.0, 1560.0
"""Pixels (u) per metre of a hip's picture: at least, and at most."""
_HAND = 0.055
"""Half a hand that holds something, m."""
_CROWN = 0.157
"""From the head's origin to its crown, share of the origin's height: measured on the body shell."""
_TOES = 0.19
"""From the ankle to the toes' ends, m."""
_HIPS, _ABOVE = 0.176, 0.030
"""Half the width of a pelvis with both hips, and how far its middle lies above them, m."""
_FRAME, _BEHIND = 0.285, 0.14
"""Half a walking frame's length for a person of 1.70 m, and how far a body reaches behind the hips, m."""
_ASIDE = 0.06
"""A hip's picture moves at most so far aside for the arms, m."""


def centre_of(plans: Sequence[Plan], frame: str) -> Array:
    """World point, (3,), in the middle of the picture of these plans."""
    if frame == WHOLE:
        points = np.concatenate([reach_of(p) for p in plans])
        return np.asarray((points.min(axis=0) + points.max(axis=0)) / 2.0)
    hip, middle = (np.concatenate([getattr(p, name) for p in plans]) for name in ("hip", "middle_hip"))
    ahead = _walking_frame(plans[0])[:, 0]
    x = (float(ahead.max()) + min(float(ahead.min()), -_BEHIND)) / 2.0 if len(ahead) else 0.0
    if frame == PELVIS:
        return np.array([0.0, float(hip[:, 1].mean()) + _ABOVE, float(middle[:, 2].mean())])
    arms = np.concatenate([p.frames[f"{side}_hand"][:, 2, 3] for p in plans for side in ("left", "right")])
    between, hips = (float(arms.min()) + float(arms.max())) / 2.0, float(middle[:, 2].mean())
    return np.array([x, float(hip[:, 1].mean()), float(np.clip(between, hips - _ASIDE, hips + _ASIDE))])


def _walking_frame(plan: Plan) -> Array:
    """World points (P, 3) before and behind a walking frame in every frame; none where there is none."""
    size = _FRAME * (1.0 + _CROWN) * plan.frames["head"][:, 1, 3] / 1.70
    tips = [plan.frames[f"{s}_cane"] for s in ("left", "right") if plan.aids.get(s) == "frame"]
    ends = [t[:, :3, 3] + way * size[:, None] * t[:, :3, 0] for t in tips for way in (1.0, -1.0)]
    return np.concatenate(ends) if ends else np.zeros((0, 3))


def reach_of(plan: Plan) -> Array:
    """World points, (P, 3), that hold the whole figure between them in every frame: crown, hands, aids, floor."""
    head = plan.frames["head"]
    crown = head[:, :3, 3] + _CROWN * head[:, 1:2, 3] * head[:, :3, 1]
    found = [crown, head[:, :3, 3]]
    for side in ("left", "right"):
        found += [plan.frames[f"{side}_{link}"][:, :3, 3] for link in ("hand", "forearm", "foot")]
        if plan.aids.get(side) in AIDS:
            found.append(plan.frames[f"{side}_cane"][:, :3, 3])
    points = np.concatenate([*found, _walking_frame(plan)])
    floor = points * [1.0, 0.0, 1.0]
    aside = np.array([0.0, 0.0, _HAND])
    behind, ahead = np.array([-0.12, 0.0, 0.0]), np.array([_TOES, 0.0, 0.0])
    every = np.concatenate([points + aside, points - aside, floor + behind, floor + ahead])
    return every if plan.gait is None or not plan.gait.passes else _passed(every, plan.gait)


def _passed(points: Array, gait: Gait) -> Array:
    """World points (P, 3) of every frame, frames innermost, at both ends of a pass, with its footprints."""
    there = np.resize(gait.gone, len(points))
    forward = np.array([1.0, 0.0, 0.0])
    begins = points - there[:, None] * forward
    prints = np.concatenate([one.outline for one in prints_passed(gait)])
    floor = np.column_stack([prints[:, 0], np.zeros(len(prints)), prints[:, 1]])
    return np.concatenate([begins, begins + gait.passes * gait.stride * forward, floor])


def bones_on(plan: Plan, camera: Camera, i: int) -> list[Box]:
    """Where the large bones lie on the page in frame i, roughly, as boxes: what words rather leave free."""
    frames, k = plan.frames, camera.scale
    at = {name: camera.project(f[i, :3, 3]) for name, f in frames.items()}
    middle = camera.project(plan.middle_hip[i])
    boxes = [Box(*(middle + k * np.array(low)), *(middle + k * np.array(high))) for low, high in _TORSO]
    for side in ("left", "right"):
        for a, b, half in _BONES:
            boxes += _strip(at[f"{side}_{a}"], at[f"{side}_{b}"], half * k)
        hand = frames[f"{side}_hand"][i]
        boxes += _strip(at[f"{side}_hand"], camera.project(hand[:3, 3] - _FINGERS * hand[:3, 1]), 0.042 * k)
    return boxes


def _strip(a: Array, b: Array, half: float) -> list[Box]:
    """A line on the page as boxes, ``half`` pixels to each side."""
    cuts = np.linspace(a, b, 7)
    return [Box(*(np.minimum(p, q) - half), *(np.maximum(p, q) + half)) for p, q in itertools.pairwise(cuts)]


_TORSO = (
    ((-0.145, -0.13), (0.145, 0.02)), ((-0.09, 0.02), (0.09, 0.125)), ((-0.045, -0.25), (0.045, -0.13)),
    ((-0.13, -0.50), (0.13, -0.25)),
)  # fmt: skip
"""Corners of ilia and sacrum, pubis and ischia, lumbar spine, ribs from between the hips: across and down, m."""
_BONES = (
    ("upper_arm", "forearm", 0.030),
    ("forearm", "hand", 0.030),
    ("thigh", "shank", 0.028),
    ("shank", "foot", 0.03),
)
"""Pieces of a limb between two joints, and half their bones' width, m."""
_FINGERS = 0.17
"""From the wrist to the ends of fingers that hang, m."""
_LIMBS = (
    ("upper_arm", "forearm", 0.062), ("forearm", "hand", 0.046), ("thigh", "shank", 0.085), ("shank", "foot", 0.060),
)  # fmt: skip
"""Pieces of a limb between two joints, and half their width with flesh and cloth, m."""


def body_on(plan: Plan, camera: Camera, i: int) -> list[Box]:
    """Where a clothed person and what the hands press on lie on the page in frame i, roughly, as boxes."""
    frames, k = plan.frames, camera.scale
    at = {name: camera.project(f[i, :3, 3]) for name, f in frames.items()}

    def along(p: Array, q: Array, half: float) -> list[Box]:
        cuts = np.linspace(p, q, 9)
        return [
            Box(*(np.minimum(a, b) - half * k), *(np.maximum(a, b) + half * k)) for a, b in itertools.pairwise(cuts)
        ]

    middle = camera.project(plan.middle_hip[i])
    boxes = along(middle, camera.project(frames["head"][i, :3, 3]), 0.15)
    boxes += along(middle, middle + np.array([0.0, 0.2 * k]), 0.19)
    tips, hands = [], []
    for side in ("left", "right"):
        for a, b, half in _LIMBS:
            boxes += along(at[f"{side}_{a}"], at[f"{side}_{b}"], half)
        foot = frames[f"{side}_foot"][i]
        boxes += along(at[f"{side}_foot"], camera.project(foot[:3, 3] + foot[:3, :3] @ [_TOES, -0.05, 0.0]), 0.03)
        if plan.aids.get(side) in AIDS:
            tips.append(at[f"{side}_cane"])
            hands.append(at[f"{side}_hand"])
            boxes += along(tips[-1], hands[-1], 0.035)
    if "frame" in plan.aids.values() and tips:
        ends = np.array([*tips, *hands])
        boxes.append(Box(*(ends.min(axis=0) - 0.04 * k), *(ends.max(axis=0) + 0.04 * k)))
    return boxes


def half_reach(plan: Plan, camera: Camera) -> Array:
    """How far the whole figure reaches from the camera's centre, across and up, m, (2,)."""
    away = reach_of(plan) - camera.centre
    return np.array([np.abs(away @ camera.right).max(), np.abs(away @ camera.up).max()])


def whole_scale(plan: Plan, camera: Camera, area: Box) -> float:
    """Pixels per metre at which the whole figure fills an area round the camera's place on the page."""
    across, up = half_reach(plan, camera)
    x, y = camera.at
    wide, tall = min(x - area.left, area.right - x), min(y - area.top, area.bottom - y)
    return float(min(wide / across, tall / up))


def near_scale(plan: Plan, camera: Camera, half: float, u: float, frame: str = HIP) -> float:
    """Pixels per metre of a hip's or a pelvis's picture.

    Both hands, and round the pelvis those that press, stay within ``half`` pixels of the middle in every frame.
    """
    if frame == PELVIS and not any(plan.aids.get(side) in AIDS for side in ("left", "right")):
        return half / _HIPS
    hands = np.concatenate([plan.frames[f"{side}_hand"][:, :3, 3] for side in ("left", "right")])
    across = float(np.abs((hands - camera.centre) @ camera.right).max()) + _HAND
    legs = np.abs((_walking_frame(plan) - camera.centre) @ camera.right).max(initial=0.0) + 0.02
    least = min(USUAL * u, half / float(legs)) if legs > across else USUAL * u
    return float(np.clip(half / max(across, float(legs)), least, NEAREST * u))
