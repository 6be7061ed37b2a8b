"""The scene file's schema: what a person may write, in the trade's words.

Question answered: who stands how, holding what, changing when, seen how?

Format 1, TOML. Quantities carry units. Nothing in a scene is code, a path or markup. ``viz3d schema``
prints this model as JSON Schema for editors, with each input's kind (posing or shaping) as ``x-kind``.
Read by :mod:`viz3d.scene.reader`; used by :mod:`viz3d.scene.timeline` and :mod:`viz3d.solution`.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from viz3d.scene.quantities import POSING, SHAPING, ForceText, Quantity
from viz3d.units import Force

FORMAT = 1
Line = Annotated[str, Field(min_length=1, max_length=160)]
BALANCE = "balance"

Mass = Annotated[float, Quantity("mass", "20 kg", "300 kg", SHAPING, "body mass without loads")]
Stature = Annotated[float, Quantity("length", "1.2 m", "2.3 m", SHAPING, "standing height")]
Spacing = Annotated[float, Quantity("length", "100 mm", "240 mm", SHAPING, "distance between the hip centres")]
PelvicWidth = Annotated[
    float, Quantity("length", "150 mm", "350 mm", SHAPING, "width between the anterior superior iliac spines")
]
HeadRadius = Annotated[float, Quantity("length", "15 mm", "35 mm", SHAPING, "radius of the bony femoral head")]
NeckShaft = Annotated[
    float,
    Quantity(
        "angle",
        "95 deg",
        "165 deg",
        SHAPING,
        "angle between neck and shaft; offset and trochanter height follow it unless measured too",
    ),
]
Version = Annotated[float, Quantity("angle", "-25 deg", "50 deg", SHAPING, "forward turn of the neck")]
Offset = Annotated[
    float, Quantity("length", "20 mm", "70 mm", SHAPING, "head centre to shaft axis, in the neck's plane")
]
Tip = Annotated[float, Quantity("length", "-20 mm", "40 mm", SHAPING, "trochanter tip above the head centre")]
CentreEdge = Annotated[float, Quantity("angle", "0 deg", "70 deg", SHAPING, "centre-edge angle on the pelvis")]
Lever = Annotated[
    float,
    Quantity(
        "length", "10 mm", "100 mm", SHAPING, "measured lever arm of the abductors, leg straight under the pelvis"
    ),
]
Fraction = Annotated[float, Quantity("fraction", "0 %", "100 %", POSING, "fraction left")]
Torque = Annotated[float, Quantity("torque", "0 N m/kg", "5 N m/kg", POSING, "abduction moment per body mass")]
Lean = Annotated[
    float, Quantity("angle", "-30 deg", "30 deg", POSING, "trunk lean in space, positive towards the stance side")
]
Drop = Annotated[
    float, Quantity("angle", "-15 deg", "20 deg", POSING, "pelvic obliquity, positive when the swing side is lower")
]
Share = Annotated[float, Quantity("fraction", "50 %", "100 %", POSING, "ground force under the stance foot")]
Lift = Annotated[float, Quantity("fraction", "0 %", "100 %", POSING, "0 % both feet down, 100 % swing leg hangs free")]
Gap = Annotated[float, Quantity("length", "0 mm", "300 mm", POSING, "gap between lifted foot and floor")]
Tilt = Annotated[float, Quantity("angle", "-15 deg", "25 deg", POSING, "stance leg's inclination in space")]
BagMass = Annotated[float, Quantity("mass", "0 kg", "100 kg", POSING, "mass hanging in the hand")]
BesideToe = Annotated[float, Quantity("length", "-100 mm", "500 mm", POSING, "cane tip outside the little toe")]
CaneTilt = Annotated[
    float, Quantity("angle", "-20 deg", "20 deg", POSING, "cane's tilt, handle towards the body positive")
]
CaneForce = Annotated[Force | str, ForceText(POSING, "upward force of the cane on the hand", (BALANCE,))]
StepForce = Annotated[Force | str, ForceText(POSING, "upward force of the cane on the hand")]
Seconds = Annotated[float, Quantity("time", "0 s", "600 s", POSING, "duration")]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class HipMeasures(_Part):
    """What was measured of one hip; leave out what was not."""

    measured_on: Literal["radiograph", "CT", "MRI", "other"] = "other"
    calibration: str | None = Field(
        None, max_length=120, description="how the radiograph's scale is known, for instance '25 mm ball'"
    )
    head_radius: HeadRadius | None = None
    neck_shaft_angle: NeckShaft | None = None
    version: Version | None = None
    offset: Offset | None = None
    trochanter_height: Tip | None = None
    centre_edge_angle: CentreEdge | None = None
    abductor_lever: Lever | None = None

    @model_validator(mode="after")
    def _radiograph_needs_scale(self) -> HipMeasures:
        lengths = ("head_radius", "offset", "trochanter_height", "abductor_lever")
        if self.measured_on == "radiograph" and self.calibration is None and any(getattr(self, n) for n in lengths):
            raise PydanticCustomError(
                "calibration",
                "lengths measured on a radiograph need 'calibration', for instance calibration = \"25 mm ball\"",
            )
        return self


class Person(_Part):
    """Who stands there."""

    sex: Literal["female", "male"]
    mass: Mass
    stature: Stature
    painful_hip: Literal["left", "right", "none"] = "none"
    hip_spacing: Spacing | None = None
    pelvic_width: PelvicWidth | None = None
    spacing_rule: Literal["harrington", "seidel", "bell"] = Field(
        "harrington", description="how the hip spacing follows from pelvic_width"
    )
    segments: Literal["de-leva", "dempster"] = Field("de-leva", description="table of segment masses")
    left_hip: HipMeasures = HipMeasures()
    right_hip: HipMeasures = HipMeasures()

    @model_validator(mode="after")
    def _one_width(self) -> Person:
        if self.hip_spacing is not None and self.pelvic_width is not None:
            raise PydanticCustomError("posture", "give person.hip_spacing or person.pelvic_width, not both")
        return self


class Strength(_Part):
    """What the hip abductors can do."""

    left_abductors: Fraction = 1.0
    right_abductors: Fraction = 1.0
    torque_per_mass: Torque | None = None


class Posture(_Part):
    """How the person stands at the start."""

    stance: Literal["left", "right"] = Field(..., description="the leg stood on; in two-legged stance, the one studied")
    lean: Lean = 0.0
    obliquity: Drop = 0.0
    share: Share = 1.0
    lifted: Lift = 1.0
    clearance: Gap = 0.03
    inclination: Tilt | None = None


class Hand(_Part):
    """What one hand holds."""

    holds: Literal["cane", "bag", "nothing"]
    force: CaneForce | None = None
    tip_beside_toe: BesideToe | None = None
    tilt: CaneTilt = 0.0
    mass: BagMass | None = None

    @model_validator(mode="after")
    def _fits(self) -> Hand:
        needs = {"cane": ("force",), "bag": ("mass",), "nothing": ()}[self.holds]
        extra = {"cane": ("mass",), "bag": ("force", "tip_beside_toe"), "nothing": ("force", "mass")}[self.holds]
        for name in needs:
            if getattr(self, name) is None:
                raise PydanticCustomError(
                    "hand", "a hand with a {held} needs '{name}'", {"held": self.holds, "name": name}
                )
        for name in extra:
            if getattr(self, name) is not None:
                raise PydanticCustomError(
                    "hand",
                    "'{name}' does not belong to a hand that holds {held}",
                    {"held": self.holds, "name": name},
                )
        return self


class Hands(_Part):
    """Both hands."""

    left: Hand = Hand(holds="nothing")
    right: Hand = Hand(holds="nothing")


class Step(_Part):
    """One step of the timeline: change into it, then hold."""

    name: Line
    change: Seconds = 0.0
    hold: Seconds = 2.0
    caption: Annotated[str, Field(max_length=200)] = ""
    set: dict[str, str] = Field(default_factory=dict, description="posing inputs and their values after the change")


class Picture(_Part):
    """How it is seen."""

    view: Literal["front", "back", "three-quarter", "side"] = "front"
    backdrop: Literal["light", "dark"] = "light"
    size: Annotated[str, Field(pattern=r"^\d{3,5}x\d{3,5}$")] = "1920x1080"
    step: Annotated[int, Field(ge=1)] | None = Field(None, description="step drawn by 'still'; the last by default")
    frames_per_second: Annotated[int, Field(ge=5, le=60)] = 30

    @property
    def pixels(self) -> tuple[int, int]:
        """Width and height."""
        width, height = self.size.split("x")
        return int(width), int(height)


class Scene(_Part):
    """A whole scene file."""

    format: Literal[1]
    title: Line
    aim: Annotated[str, Field(max_length=400)] = ""
    person: Person
    strength: Strength = Strength()
    posture: Posture
    hands: Hands = Hands()
    steps: Annotated[list[Step], Field(min_length=1, max_length=100)] = [Step(name="As it stands")]
    picture: Picture = Picture()

    @model_validator(mode="after")
    def _stance_makes_sense(self) -> Scene:
        p = self.posture
        if p.lifted > 0 and p.share < 1:
            raise PydanticCustomError(
                "posture",
                'posture.lifted must be "0 %" while the other foot carries a share (posture.share below 100 %)',
            )
        pressed = [h for h in ("left", "right") if isinstance(getattr(self.hands, h).force, Force)]
        if p.inclination is not None and pressed:
            raise PydanticCustomError(
                "balance",
                'with posture.inclination given, a cane\'s force must be "balance": one follows from the other',
            )
        balance = [h for h in ("left", "right") if getattr(self.hands, h).force == BALANCE]
        if balance and (p.inclination is None or len(balance) == 2):
            raise PydanticCustomError("balance", 'force = "balance" needs posture.inclination and only one such hand')
        return self


POSING_KEYS: dict[str, Any] = {
    "posture.lean": Lean,
    "posture.obliquity": Drop,
    "posture.share": Share,
    "posture.lifted": Lift,
    "posture.clearance": Gap,
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
