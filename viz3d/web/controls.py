"""What a person can set on the live page, with the keys of their words, units and ranges.

Question answered: which inputs does the page offer, between which values, and what are they now?

Ranges lie within what a scene file may say; every change is checked by the scene reader again.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from viz3d.body.person import Body
from viz3d.scene.inputs import newtons
from viz3d.scene.schema import Scene

RANGES: tuple[tuple[str, str, str, str, float, float, float], ...] = (
    # group, key, name among the words, unit, lowest, highest, step
    ("Pose", "posture.lean", "lean", "deg", -15, 25, 0.5),
    ("Pose", "posture.obliquity", "obliquity", "deg", -10, 15, 0.5),
    ("Pose", "posture.share", "share", "%", 50, 100, 1),
    ("Strength", "strength.{stance}_abductors", "abductors", "%", 0, 100, 5),
    ("Body", "person.mass", "mass", "kg", 35, 160, 1),
    ("Body", "person.stature", "stature", "cm", 140, 205, 1),
    ("Hip", "person.{stance}_hip.neck_shaft_angle", "neck_shaft_angle", "deg", 105, 150, 1),
    ("Hip", "person.{stance}_hip.offset", "offset", "mm", 28, 58, 1),
    ("Hip", "person.{stance}_hip.head_radius", "head_radius", "mm", 19, 29, 0.5),
    ("Hip", "person.{stance}_hip.centre_edge_angle", "centre_edge_angle", "deg", 10, 45, 1),
)
HELD = ("nothing", "cane", "bag")
FORCE, BAG = ("%BW", 0, 25, 0.5), ("kg", 0, 20, 0.5)
MODELS = ("equivalent", "frontal set", "three-axis set")
SHAPING = ("Body", "Hip")
"""Groups whose inputs rebuild bones."""
_UNITS = {"deg": float(np.degrees(1.0)), "%": 100.0, "kg": 1.0, "cm": 100.0, "mm": 1000.0}


def controls_of(scene: Scene, body: Body) -> list[dict[str, Any]]:
    """Sliders with what they are set to in a scene, whose person is ``body``."""
    stance = scene.posture.stance
    out = []
    for group, name, words, unit, low, high, step in RANGES:
        key = name.format(stance=stance)
        if key == "posture.share" and scene.posture.lifted > 0.0:
            continue
        if key == "posture.obliquity" and (scene.posture.lifted < 1.0 or scene.posture.hip_adduction is not None):
            continue
        value = _UNITS[unit] * _value(scene, body, key)
        out.append({
            "group": group, "key": key, "words": f"page.set.{words}", "unit": unit,
            "low": min(low, float(np.floor(value))), "high": max(high, float(np.ceil(value))),
            "step": step, "value": round(value, 3), "shaping": group in SHAPING,
        })  # fmt: skip
    return out


def hands_of(scene: Scene, body: Body) -> dict[str, dict[str, Any]]:
    """What each hand holds, and how much it presses (% of body weight) or carries (kg)."""
    weight = float(body.weight[0])
    out = {}
    for side in ("left", "right"):
        hand = getattr(scene.hands, side)
        pressed = round(100 * newtons(hand.force, weight) / weight, 2)
        out[side] = {"holds": hand.holds, "force": pressed, "mass": hand.mass or 0.0}
    return out


def _value(scene: Scene, body: Body, key: str) -> float:
    """The value in force, SI; measures that were not given as the body has them."""
    part: Any = scene
    for name in key.split("."):
        part = getattr(part, name)
    if part is not None:
        return float(part)
    side, measure = key.split(".")[1].removesuffix("_hip"), key.split(".")[2]
    return float(np.atleast_1d(getattr(body.hip(side), measure))[0])
