"""What a person can set on the live page, with the keys of their words, units and ranges.

Question answered: which inputs does the page offer, between which values, and what are they now?

Ranges lie within what a scene file may say; every change is checked by the scene reader again.
"""

from __future__ import annotations

from typing import Any, get_args

import numpy as np

from viz3d.body.person import Body, Hip
from viz3d.kinematics.muscle_paths import mean_abduction_arm
from viz3d.scene.inputs import newtons
from viz3d.scene.quantities import SHAPING, Slider
from viz3d.scene.rows import rows
from viz3d.scene.schema import Scene
from viz3d.scene.walk import WalkTable
from viz3d.statics.equivalent import ABDUCTOR, posed_line
from viz3d.statics.model import EQUIVALENT
from viz3d.units import UNITS

HELD = ("nothing", "cane", "bag")
WAYS = get_args(WalkTable.model_fields["change"].annotation)
"""How one may walk."""
MODELS = ("equivalent", "frontal set", "three-axis set")
OTHER = "Other"
"""Group of the measures of the hip that is not stood on."""
GROUPS = ("Pose", "Strength", "Body", "Hip", OTHER)
"""Groups of sliders, in the order of the page."""
HANDS = "Hands"
"""Group of what a hand presses or carries, which has sliders of its own."""
SIZES = {"deg": float(np.radians(1.0)), "%": 0.01, **UNITS["mass"], **UNITS["length"]}
"""Size of a slider's unit against SI."""
_POUNDS_AND_INCHES = {"kg": ("lb", 1.0), "cm": ("in", 0.5), "mm": ("in", 0.02)}
"""Unit and step of a slider where the scene counts so."""


def hand_slider(what: str, scene: Scene) -> Slider:
    """The slider of a hand's "force" or "mass" in the scene's units."""
    found = rows()[f"hands.left.{what}"].slider
    assert found is not None  # both have one: tests read the rows
    return _in_units(found, scene)


def _in_units(slider: Slider, scene: Scene) -> Slider:
    """The slider in the units that the scene counts in; ends are drawn in to whole steps."""
    picture = scene.picture
    chosen = picture.mass if slider.unit == "kg" else picture.length
    if slider.unit not in _POUNDS_AND_INCHES or chosen != _POUNDS_AND_INCHES[slider.unit][0]:
        return slider
    unit, step = _POUNDS_AND_INCHES[slider.unit]
    size = SIZES[slider.unit] / SIZES[unit]
    low, high = np.ceil(slider.low * size / step - 1e-9) * step, np.floor(slider.high * size / step + 1e-9) * step
    return Slider(slider.group, unit, round(float(low), 3), round(float(high), 3), step)


def controls_of(scene: Scene, body: Body) -> list[dict[str, Any]]:
    """Sliders of the inputs' rows with what they are set to in a scene, whose person is ``body``."""
    out = []
    for row in rows().values():
        if row.slider is None or row.slider.group == HANDS or row.key in _settled(scene):
            continue
        other = row.side not in ("", scene.posture.stance)
        if other and row.slider.group != "Hip":
            continue
        slider = _in_units(row.slider, scene)
        value = _value(scene, body, row.key) / SIZES[slider.unit]
        whole = max(slider.step, 0.02) if slider.unit == "in" else 1.0
        out.append({
            "group": OTHER if other else slider.group, "key": row.key, "words": f"page.set.{row.name}",
            "unit": slider.unit,
            "low": min(slider.low, float(np.floor(value / whole) * whole)),
            "high": max(slider.high, float(np.ceil(value / whole) * whole)),
            "step": slider.step, "value": round(value, 3), "shaping": row.of.kind == SHAPING,
        })  # fmt: skip
    return sorted(out, key=lambda c: GROUPS.index(c["group"]))


def _settled(scene: Scene) -> set[str]:
    """Inputs that follow from others in this scene."""
    if scene.walk is not None:  # the walk says how one stands
        return {key for key in rows() if key.startswith("posture.")}
    p = scene.posture
    share = {"posture.share"} if p.lifted > 0.0 else set()
    tilt = {"posture.obliquity"} if p.lifted < 1.0 or p.hip_adduction is not None else set()
    return share | tilt


def hands_of(scene: Scene, body: Body) -> dict[str, dict[str, Any]]:
    """What each hand holds, and the slider of what it presses (% of body weight) or carries (in the scene's unit)."""
    weight = float(body.weight[0])
    out = {}
    for side in ("left", "right"):
        hand = getattr(scene.hands, side)
        slider = hand_slider("mass" if hand.holds == "bag" else "force", scene)
        if hand.holds == "bag":
            value = round((hand.mass or 0.0) / SIZES[slider.unit], 3)
        else:
            value = round(100 * newtons(hand.force, weight) / weight, 2)
        out[side] = {
            "holds": hand.holds, "unit": slider.unit, "low": slider.low, "high": slider.high, "step": slider.step,
            "value": value,
        }  # fmt: skip
    return out


def _value(scene: Scene, body: Body, key: str) -> float:
    """The value in force, SI; measures that were not given as the body has them."""
    part: Any = scene
    for name in key.split("."):
        part = getattr(part, name)
    if part is not None:
        return float(part)
    side, measure = key.split(".")[1].removesuffix("_hip"), key.split(".")[2]
    if measure == "abductor_lever":
        return _lever(scene, body, body.hip(side))
    return float(np.atleast_1d(getattr(body.hip(side), measure))[0])


def _lever(scene: Scene, body: Body, hip: Hip) -> float:
    """The abductors' lever arm where none was measured, leg straight under the pelvis, m."""
    if scene.model.muscles == EQUIVALENT:
        return float(posed_line(body, hip, ABDUCTOR, np.zeros(1), np.zeros(1)).moment_arm[0])
    return float(mean_abduction_arm(body, hip)[0])
