"""The inputs a scene may give: each with its unit, range, meaning and kind.

Question answered: which values may this key take, and does changing it rebuild bones (shaping) or only move (posing)?

Read by :mod:`viz3d.scene.schema` and :mod:`viz3d.scene.timeline`.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from viz3d.scene.quantities import POSING, SHAPING, ForceText, SizeText
from viz3d.units import Force

Line = Annotated[str, Field(min_length=1, max_length=160)]
FileName = Annotated[str, Field(min_length=1, max_length=200)]
BALANCE = "balance"

Mass = Annotated[float, SizeText("mass", "20 kg", "300 kg", SHAPING, "body mass without loads")]
Stature = Annotated[float, SizeText("length", "1.2 m", "2.3 m", SHAPING, "standing height")]
Spacing = Annotated[float, SizeText("length", "100 mm", "240 mm", SHAPING, "distance between the hip centres")]
PelvicWidth = Annotated[
    float, SizeText("length", "150 mm", "350 mm", SHAPING, "width between the anterior superior iliac spines")
]
HeadRadius = Annotated[float, SizeText("length", "15 mm", "35 mm", SHAPING, "radius of the bony femoral head")]
NeckShaft = Annotated[
    float,
    SizeText(
        "angle",
        "95 deg",
        "165 deg",
        SHAPING,
        "angle between neck and shaft; offset and trochanter height follow it unless measured too",
    ),
]
Version = Annotated[float, SizeText("angle", "-25 deg", "50 deg", SHAPING, "forward turn of the neck")]
Offset = Annotated[
    float, SizeText("length", "20 mm", "70 mm", SHAPING, "head centre to shaft axis, in the neck's plane")
]
Tip = Annotated[float, SizeText("length", "-20 mm", "40 mm", SHAPING, "trochanter tip above the head centre")]
CentreEdge = Annotated[float, SizeText("angle", "0 deg", "70 deg", SHAPING, "centre-edge angle on the pelvis")]
Lever = Annotated[
    float,
    SizeText(
        "length", "10 mm", "100 mm", SHAPING, "measured lever arm of the abductors, leg straight under the pelvis"
    ),
]
Fraction = Annotated[float, SizeText("fraction", "0 %", "100 %", POSING, "fraction left")]
Torque = Annotated[float, SizeText("torque", "0 N m/kg", "5 N m/kg", POSING, "abduction moment per body mass")]
Lean = Annotated[
    float, SizeText("angle", "-30 deg", "30 deg", POSING, "trunk lean in space, positive towards the stance side")
]
Drop = Annotated[
    float, SizeText("angle", "-15 deg", "20 deg", POSING, "pelvic obliquity, positive when the swing side is lower")
]
Share = Annotated[float, SizeText("fraction", "50 %", "100 %", POSING, "ground force under the stance foot")]
Lift = Annotated[float, SizeText("fraction", "0 %", "100 %", POSING, "0 % both feet down, 100 % swing leg hangs free")]
Gap = Annotated[float, SizeText("length", "0 mm", "300 mm", POSING, "gap between lifted foot and floor")]
Tilt = Annotated[float, SizeText("angle", "-15 deg", "25 deg", POSING, "stance leg's inclination in space")]
BagMass = Annotated[float, SizeText("mass", "0 kg", "100 kg", POSING, "mass hanging in the hand")]
BesideToe = Annotated[float, SizeText("length", "-100 mm", "500 mm", POSING, "cane tip outside the little toe")]
CaneTilt = Annotated[
    float, SizeText("angle", "-20 deg", "20 deg", POSING, "cane's tilt, handle towards the body positive")
]
CaneForce = Annotated[Force | str, ForceText(POSING, "upward force of the cane on the hand", (BALANCE,))]
StepForce = Annotated[Force | str, ForceText(POSING, "upward force of the cane on the hand")]
Seconds = Annotated[float, SizeText("time", "0 s", "600 s", POSING, "duration")]


SocketTilt = Annotated[
    float,
    SizeText("angle", "20 deg", "65 deg", SHAPING, "socket's rim plane against the horizontal, from the front"),
]
SocketVersion = Annotated[
    float, SizeText("angle", "-10 deg", "45 deg", SHAPING, "how far the socket opens forward, seen from above")
]
Form = Annotated[
    float, SizeText("fraction", "0 %", "100 %", SHAPING, "pelvis: 0 % a typical man's, 100 % a typical woman's")
]
SocketShift = Annotated[
    float, SizeText("length", "-25 mm", "25 mm", SHAPING, "hip centre away from its usual place in the pelvis")
]
Shorter = Annotated[float, SizeText("length", "0 mm", "60 mm", SHAPING, "how much shorter this leg's shin is")]
Change = Annotated[
    float, SizeText("mass", "-30 kg", "80 kg", SHAPING, "mass put on this part of the body, or taken off it")
]
Shift = Annotated[
    float, SizeText("length", "-150 mm", "150 mm", POSING, "trunk aside of the pelvis, towards the stance side")
]
Width = Annotated[
    float, SizeText("length", "0 mm", "600 mm", POSING, "between the feet's midlines while both are down")
]
HeelLift = Annotated[float, SizeText("length", "0 mm", "60 mm", POSING, "lift under this foot")]
Stiff = Annotated[
    float, SizeText("angle", "-25 deg", "25 deg", POSING, "fixed adduction of the stance hip; the pelvis follows")
]
Sideways = Annotated[float, SizeText("angle", "-10 deg", "45 deg", POSING, "lifted leg held outward, in space")]
Backpack = Annotated[float, SizeText("mass", "0 kg", "60 kg", POSING, "mass on the back")]
Tension = Annotated[
    float, SizeText("stress", "1 N/cm2", "200 N/cm2", SHAPING, "force per cross-section of a fully active muscle")
]
Ahead = Annotated[
    float,
    SizeText("length", "-80 mm", "80 mm", POSING, "line of gravity of what is above the hip, ahead of the hip"),
]
FootAhead = Annotated[
    float, SizeText("length", "-40 mm", "140 mm", POSING, "centre of pressure, ahead of the stance ankle")
]


class Part(BaseModel):
    """A table of a scene file: nothing but its keys, and never changed."""

    model_config = ConfigDict(extra="forbid", frozen=True)


POSING_KEYS: dict[str, Any] = {
    "posture.lean": Lean,
    "posture.obliquity": Drop,
    "posture.share": Share,
    "posture.lifted": Lift,
    "posture.clearance": Gap,
    "posture.trunk_shift": Shift,
    "posture.swing_abduction": Sideways,
    "posture.left_heel_lift": HeelLift,
    "posture.right_heel_lift": HeelLift,
    "load.backpack": Backpack,
    "hands.left.force": StepForce,
    "hands.right.force": StepForce,
    "hands.left.mass": BagMass,
    "hands.right.mass": BagMass,
    "strength.left_abductors": Fraction,
    "strength.right_abductors": Fraction,
}
"""Posing inputs that a step may change, with their types."""


def newtons(force: Force | str | None, body_weight: float) -> float:
    """A cane force in newtons; NaN for "balance"; 0 for none."""
    if isinstance(force, Force):
        return force.newtons(body_weight)
    return float("nan") if force == BALANCE else 0.0
