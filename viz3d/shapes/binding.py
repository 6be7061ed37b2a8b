"""How skin follows the links: every point's share in each link, as a function of where it lies at rest.

Question answered: which links carry this point of the skin, and how much does each?

One smooth function of place, for skin, hair, clothes and hands alike: what lies close together moves together, so that
cloth stays over skin. Each joint passes its points from one link to the next over a width of its own, across a plane
(groin, armpit) or along the limb (knee, elbow, wrist, ankle); the lumbar spine passes them over all its levels.
Metres, rest stance of :func:`viz3d.shapes.body_form.neutral_frames`.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.body.landmarks import drawn

_SIDES = (("right", 1.0), ("left", -1.0))
_DRAWN = 1.70
_FOOT, _BALL = 0.2584, 0.016
"""Length of the drawn foot, and half the width over which skin passes from the foot to its toes, m."""
_LEAN = 0.7
"""Lean of the plane between arm and trunk over the arm's."""
_OVER_ARM = (0.000, 0.070)
"""Heights over the shoulder joint between which skin leaves the arm for the trunk, m."""
LUMBAR = 0.40
"""Share of the lumbar bending that the lowest level takes at once."""


def eased(value: Array, low: float, high: float) -> Array:
    """From 0 at ``low`` to 1 at ``high``, smoothly."""
    t = np.clip((value - low) / (high - low), 0.0, 1.0)
    return np.asarray(t * t * (3.0 - 2.0 * t))


def lumbar_share(rise: Array) -> Array:
    """Share of the trunk's motion at heights between the lumbosacral joint (0) and the top of the lumbar spine (1).

    Notes
    -----
    A point at height t carried by both, t·w(t) sideways per radian, bends by its slope; the slope runs from ``LUMBAR``
    below to 1 above and the ends stay where the solved pose has them: w = LUMBAR + a t/2 + b t²/3, a + b = 1 − LUMBAR,
    a/2 + b/3 = 1 − LUMBAR.
    """
    t = np.clip(rise, 0.0, 1.0)
    b = -3.0 * (1.0 - LUMBAR)
    a = 1.0 - LUMBAR - b
    share = LUMBAR + a * t / 2.0 + b * t * t / 3.0
    return np.asarray(np.where(np.asarray(rise) < 0.0, LUMBAR * eased(np.asarray(rise), -0.25, 0.0), share))


def shares(points: Array, frames: dict[str, Array], stature: float) -> Array:
    """Share of every link at every point, (V, L), rows summing to one; ``frames``: the links at rest."""
    links, size = list(frames), stature / _DRAWN
    out = np.zeros((len(points), len(links)))
    torso = np.ones(len(points))
    for side, sign in _SIDES:
        arm = _arm(points, frames, side, sign, size)
        leg = _leg(points, frames, sign, size) * (1.0 - arm)
        torso = torso - arm - leg
        limb = {name: frames[f"{side}_{name}"] for name in ("forearm", "hand", "shank")}
        fore = eased(below(points, limb["forearm"]), -0.036 * size, 0.036 * size)
        hand = eased(below(points, limb["hand"]), -0.022 * size, 0.018 * size)
        shank = eased(below(points, limb["shank"]), -0.045 * size, 0.045 * size)
        down = frames[f"{side}_foot"][1, 3] - points[:, 1] + 0.45 * np.maximum(points[:, 0] - 0.02 * size, 0.0)
        foot = eased(down, -0.026 * size, 0.020 * size)
        toes = _toes(points, frames[f"{side}_foot"], sign, size)
        for name, value in (
            ("upper_arm", arm * (1 - fore)), ("forearm", arm * fore * (1 - hand)), ("hand", arm * fore * hand),
            ("thigh", leg * (1 - shank)), ("shank", leg * shank * (1 - foot)),
            ("foot", leg * shank * foot * (1 - toes)), ("toes", leg * shank * foot * toes),
        ):  # fmt: skip
            out[:, links.index(f"{side}_{name}")] = value
    torso = np.maximum(torso, 0.0)
    trunk, head = _spine(points, frames, size)
    out[:, links.index("head")] = torso * head
    out[:, links.index("trunk")] = torso * (1 - head) * trunk
    out[:, links.index("pelvis")] = torso * (1 - head) * (1 - trunk)
    return np.asarray(out / out.sum(axis=1, keepdims=True))


def below(points: Array, frame: Array) -> Array:
    """How far points lie below a joint along its link."""
    return np.asarray((points - frame[:3, 3]) @ -frame[:3, 1])


def arm_side(points: Array, frames: dict[str, Array], side: str, sign: float, size: float) -> Array:
    """How far points lie outside a plane through the armpit that leans outward less than the arm does, m."""
    shoulder = frames[f"{side}_upper_arm"][:3, 3]
    lean = _LEAN * np.radians(drawn()["arm_away"])
    at = np.array([shoulder[1] - 0.10 * size, abs(shoulder[2]) - 0.024 * size])
    return np.asarray((sign * points[:, 2] - at[1]) * np.cos(lean) + (points[:, 1] - at[0]) * np.sin(lean))


def _arm(points: Array, frames: dict[str, Array], side: str, sign: float, size: float) -> Array:
    """Share of an arm; little of the top of the shoulder, which keeps its slope, and none of the head."""
    out, shoulder = arm_side(points, frames, side, sign, size), frames[f"{side}_upper_arm"][:3, 3]
    below = 1.0 - eased(points[:, 1] - shoulder[1], *(size * np.array(_OVER_ARM)))
    return np.asarray(eased(out, -0.034 * size, 0.036 * size) * below)


def _toes(points: Array, foot: Array, sign: float, size: float) -> Array:
    """Share of the toes in a foot: ahead of the slanted line of their joints."""
    of, away = drawn(), (points - foot[:3, 3]) @ foot[:3, :3]
    line = of["toe_joint_ahead"] * _FOOT * size - sign * np.tan(np.radians(of["toe_joint_slant"])) * away[:, 2]
    return eased(away[:, 0] - line, -_BALL * size, _BALL * size)


def _leg(points: Array, frames: dict[str, Array], sign: float, size: float) -> Array:
    """Share of a leg: below a plane from the crotch up and out through the hip, on its side of the middle."""
    hip = frames["right_thigh"][:3, 3]
    up = np.array([0.108 * size, abs(hip[2])])
    up = up / np.linalg.norm(up)
    out = (sign * points[:, 2] - abs(hip[2])) * up[0] - (points[:, 1] - hip[1]) * up[1]
    share = eased(out, -0.062 * size, 0.056 * size)
    wide = size * (0.010 + 0.050 * eased(points[:, 1] - hip[1], -0.190 * size, -0.030 * size))
    return np.asarray(share * eased(sign * points[:, 2] / wide, -1.0, 1.0))


def _spine(points: Array, frames: dict[str, Array], size: float) -> tuple[Array, Array]:
    """Share of the trunk against the pelvis, and of the head against the trunk."""
    low = frames["trunk"][1, 3]
    trunk = eased((points[:, 1] - low) / (0.17 * size), -0.15, 1.05)
    chin = frames["head"][1, 3]
    tilted = points[:, 1] - chin + 0.35 * (points[:, 0] + 0.02 * size)
    return trunk, eased(tilted, -0.060 * size, 0.012 * size)
