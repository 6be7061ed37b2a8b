"""What a person can set on the live page, with the keys of their words, units and ranges.

Question answered: which inputs does the page offer, between which values, and what are they now?

Ranges lie within what a scene file may say; every change is checked by the scene reader again.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from viz3d.body.person import Body
from viz3d.scene.inputs import newtons
from viz3d.scene.quantities import SHAPING, Slider
from viz3d.scene.rows import rows
from viz3d.scene.schema import Scene

HELD = ("nothing", "cane", "bag")
MODELS = ("equivalent", "frontal set", "three-axis set")
GROUPS = ("Pose", "Strength", "Body", "Hip")
"""Groups of sliders, in the order of the page."""
HANDS = "Hands"
"""Group of what a hand presses or carries, which has sliders of its own."""
_UNITS = {"deg": float(np.degrees(1.0)), "%": 100.0, "kg": 1.0, "cm": 100.0, "mm": 1000.0}


def hand_slider(what: str) -> Slider:
    """The slider of a hand's "force" or "mass"."""
    found = rows()[f"hands.left.{what}"].slider
    assert found is not None  # both have one: tests read the rows
    return found


def controls_of(scene: Scene, body: Body) -> list[dict[str, Any]]:
    """Sliders of the inputs' rows with what they are set to in a scene, whose person is ``body``."""
    out = []
    for row in rows().values():
        slider = row.slider
        if slider is None or slider.group == HANDS or row.side not in ("", scene.posture.stance):
            continue
        if row.key in _settled(scene):
            continue
        value = _UNITS[slider.unit] * _value(scene, body, row.key)
        out.append({
            "group": slider.group, "key": row.key, "words": f"page.set.{row.name}", "unit": slider.unit,
            "low": min(slider.low, float(np.floor(value))), "high": max(slider.high, float(np.ceil(value))),
            "step": slider.step, "value": round(value, 3), "shaping": row.of.kind == SHAPING,
        })  # fmt: skip
    return sorted(out, key=lambda c: GROUPS.index(c["group"]))


def _settled(scene: Scene) -> set[str]:
    """Inputs that follow from others in this scene."""
    p = scene.posture
    share = {"posture.share"} if p.lifted > 0.0 else set()
    tilt = {"posture.obliquity"} if p.lifted < 1.0 or p.hip_adduction is not None else set()
    return share | tilt


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
