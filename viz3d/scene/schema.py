"""The scene file's schema: what a person may write, in the trade's words.

Question answered: who stands how, holding what, changing when, seen how?

Format 1, TOML. Quantities carry units. Nothing in a scene is code, a path or markup. ``viz3d schema``
prints this model as JSON Schema for editors, with each input's kind (posing or shaping) as ``x-kind``.
Read by :mod:`viz3d.scene.reader`; used by :mod:`viz3d.scene.timeline` and :mod:`viz3d.solution`.
"""

from __future__ import annotations

import difflib
import os
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, PrivateAttr, field_validator, model_validator
from pydantic_core import PydanticCustomError

from viz3d.body.muscles import known_muscles
from viz3d.errors import InputError
from viz3d.scene.quantities import POSING, SHAPING, ForceText, Quantity
from viz3d.units import Force

FORMAT = 1
Line = Annotated[str, Field(min_length=1, max_length=160)]
FileName = Annotated[str, Field(min_length=1, max_length=200)]
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


SocketTilt = Annotated[
    float, Quantity("angle", "20 deg", "65 deg", SHAPING, "socket's rim plane against the horizontal, from the front")
]
SocketVersion = Annotated[
    float, Quantity("angle", "-10 deg", "45 deg", SHAPING, "how far the socket opens forward, seen from above")
]
Form = Annotated[
    float, Quantity("fraction", "0 %", "100 %", SHAPING, "pelvis: 0 % a typical man's, 100 % a typical woman's")
]
SocketShift = Annotated[
    float, Quantity("length", "-25 mm", "25 mm", SHAPING, "hip centre away from its usual place in the pelvis")
]
Shorter = Annotated[float, Quantity("length", "0 mm", "60 mm", SHAPING, "how much shorter this leg's shin is")]
Change = Annotated[
    float, Quantity("mass", "-30 kg", "80 kg", SHAPING, "mass put on this part of the body, or taken off it")
]
Shift = Annotated[
    float, Quantity("length", "-150 mm", "150 mm", POSING, "trunk aside of the pelvis, towards the stance side")
]
Width = Annotated[
    float, Quantity("length", "0 mm", "600 mm", POSING, "between the feet's midlines while both are down")
]
HeelLift = Annotated[float, Quantity("length", "0 mm", "60 mm", POSING, "lift under this foot")]
Stiff = Annotated[
    float, Quantity("angle", "-25 deg", "25 deg", POSING, "fixed adduction of the stance hip; the pelvis follows")
]
Sideways = Annotated[float, Quantity("angle", "-10 deg", "45 deg", POSING, "lifted leg held outward, in space")]
Backpack = Annotated[float, Quantity("mass", "0 kg", "60 kg", POSING, "mass on the back")]
Tension = Annotated[
    float, Quantity("stress", "1 N/cm2", "200 N/cm2", SHAPING, "force per cross-section of a fully active muscle")
]
Ahead = Annotated[
    float, Quantity("length", "-80 mm", "80 mm", POSING, "line of gravity of what is above the hip, ahead of the hip")
]
FootAhead = Annotated[
    float, Quantity("length", "-40 mm", "140 mm", POSING, "centre of pressure, ahead of the stance ankle")
]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


BodyPart = Literal[
    "belly", "chest", "hips", "head", "thighs",
    "left_upper_arm", "left_forearm", "left_hand", "right_upper_arm", "right_forearm", "right_hand",
    "left_thigh", "left_shank", "left_foot", "right_thigh", "right_shank", "right_foot",
]  # fmt: skip


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
    socket_out: SocketShift | None = None
    socket_up: SocketShift | None = None
    socket_inclination: SocketTilt | None = None
    socket_version: SocketVersion | None = None

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
    pelvis_form: Form | None = None
    bones: FileName | None = Field(None, description="bone folder made by 'viz3d bring', in the scene file's folder")
    spacing_rule: Literal["harrington", "seidel", "bell"] = Field(
        "harrington", description="how the hip spacing follows from pelvic_width"
    )
    segments: Literal["de-leva", "dempster"] = Field("de-leva", description="table of segment masses")
    left_hip: HipMeasures = HipMeasures()
    right_hip: HipMeasures = HipMeasures()
    left_leg_shorter: Shorter = 0.0
    right_leg_shorter: Shorter = 0.0
    mass_changes: dict[BodyPart, Change] = Field(
        default_factory=dict, description="mass put on parts of the body or taken off (a lost limb, a prosthesis)"
    )


class Strength(_Part):
    """What the hip abductors can do."""

    left_abductors: Fraction = 1.0
    right_abductors: Fraction = 1.0
    torque_per_mass: Torque | None = None
    muscles: dict[str, Fraction] = Field(
        default_factory=dict, description="what is left of single muscles, by name; muscle sets only"
    )

    @field_validator("muscles")
    @classmethod
    def _known(cls, value: dict[str, float]) -> dict[str, float]:
        for name in value:
            if name not in known_muscles():
                near = difflib.get_close_matches(name, known_muscles(), n=1)
                hint = f"; did you mean {near[0]}?" if near else ""
                raise PydanticCustomError(
                    "quantity",
                    "{name} is not a muscle of the set{hint}; allowed: {all}",
                    {"name": repr(name), "hint": hint, "all": ", ".join(known_muscles())},
                )
        return value


class Model(_Part):
    """What stands for the muscles, and for the socket."""

    muscles: Literal["equivalent", "frontal set", "three-axis set"] = Field(
        "equivalent", description="one equivalent muscle, or a set that shares the moment about one or three axes"
    )
    power: Annotated[float, Field(ge=2, le=100)] | Literal["min-max"] = Field(
        3.0, description="exponent of the shared stresses; 'min-max' for the least largest stress"
    )
    specific_tension: Tension | None = Field(
        None, description="left out: the one that gives the measured abduction torque"
    )
    gravity_line: Ahead | None = None
    pressure_ahead: FootAhead | None = None
    pressure: Literal["lune", "horseshoe"] = Field(
        "lune", description="loaded surface of the socket: closed form on a lune, or facets of a horseshoe"
    )


class Posture(_Part):
    """How the person stands at the start."""

    stance: Literal["left", "right"] = Field(..., description="the leg stood on; in two-legged stance, the one studied")
    lean: Lean = 0.0
    obliquity: Drop = 0.0
    share: Share = 1.0
    lifted: Lift = 1.0
    clearance: Gap = 0.03
    inclination: Tilt | None = None
    trunk_shift: Shift = 0.0
    stance_width: Width | None = None
    left_heel_lift: HeelLift = 0.0
    right_heel_lift: HeelLift = 0.0
    hip_adduction: Stiff | None = None
    swing_abduction: Sideways = 0.0

    @model_validator(mode="after")
    def _one_pelvis(self) -> Posture:
        if self.hip_adduction is not None and (self.obliquity != 0.0 or self.lifted < 1.0):
            raise PydanticCustomError(
                "posture",
                "with hip_adduction given the pelvis follows it: leave out obliquity, and stand on one leg",
            )
        return self


class Load(_Part):
    """What the back carries."""

    backpack: Backpack = 0.0


LAYERS = ("bones", "weight", "lever", "muscle", "joint", "cane", "pressure", "numbers")
"""What a lecturer builds a picture up from, in the usual order."""
Layer = Literal["bones", "weight", "lever", "muscle", "joint", "cane", "pressure", "numbers"]
Inset = Literal["forces", "free body", "socket", "figure"]

AIDS = ("cane", "elbow crutch", "frame")
"""What a hand can press on."""


class Hand(_Part):
    """What one hand holds."""

    holds: Literal["cane", "elbow crutch", "frame", "bag", "nothing"]
    force: CaneForce | None = None
    tip_beside_toe: BesideToe | None = None
    tilt: CaneTilt = 0.0
    mass: BagMass | None = None

    @model_validator(mode="after")
    def _fits(self) -> Hand:
        needs = ("force",) if self.holds in AIDS else ("mass",) if self.holds == "bag" else ()
        extra = {"frame": ("mass", "tip_beside_toe"), "bag": ("force", "tip_beside_toe"), "nothing": ("force", "mass")}
        for name in extra.get(self.holds, ("mass",)):
            if getattr(self, name) is not None:
                raise PydanticCustomError(
                    "hand",
                    "'{name}' does not belong to a hand that holds {held}",
                    {"held": self.holds, "name": name},
                )
        for name in needs:
            if getattr(self, name) is None:
                raise PydanticCustomError(
                    "hand", "a hand with a {held} needs '{name}'", {"held": self.holds, "name": name}
                )
        return self


class Hands(_Part):
    """Both hands."""

    left: Hand = Hand(holds="nothing")
    right: Hand = Hand(holds="nothing")

    @model_validator(mode="after")
    def _whole_frame(self) -> Hands:
        if (self.left.holds == "frame") != (self.right.holds == "frame"):
            raise PydanticCustomError("hand", 'a walking frame takes both hands: holds = "frame" in left and right')
        return self


class Step(_Part):
    """One step of the timeline: change into it, then hold."""

    name: Line
    change: Seconds = 0.0
    hold: Seconds = 2.0
    caption: Annotated[str, Field(max_length=200)] = ""
    set: dict[str, str] = Field(default_factory=dict, description="posing inputs and their values after the change")


class Picture(_Part):
    """How it is seen."""

    view: Literal["front", "back", "three-quarter", "side", "joint"] = Field(
        "front", description="joint: the socket from close by, the femoral head drawn out of it"
    )
    backdrop: Literal["light", "dark", "print"] = Field("light", description="print: greys and patterns for paper")
    text: Literal["usual", "large"] = Field("usual", description="size of the words")
    font: FileName | None = Field(None, description="own font file (.otf, .ttf) in the scene file's folder")
    palette: FileName | None = Field(None, description="own colours (.toml) in the scene file's folder")
    size: Annotated[str, Field(pattern=r"^\d{3,5}x\d{3,5}$")] = "1920x1080"
    muscles: Literal["shown", "none"] = Field("shown", description="draw the muscles that the model uses")
    step: Annotated[int, Field(ge=1)] | None = Field(None, description="step drawn by 'still'; the last by default")
    ghost: Literal["none", "start"] = Field("none", description="outline of the first step's pose behind the figure")
    insets: Annotated[list[Inset], Field(max_length=3)] = Field(
        ["forces", "socket", "figure"], description="up to three, beside the figure, from the top"
    )
    layers: list[Layer] | None = Field(None, description="only these layers; all by default")
    builds: Annotated[list[list[Layer]], Field(max_length=20)] | None = Field(
        None, description="layers of each picture that 'still --builds' writes"
    )
    frames_per_second: Annotated[int, Field(ge=5, le=60)] = 30

    @property
    def pixels(self) -> tuple[int, int]:
        """Width and height."""
        width, height = self.size.split("x")
        return int(width), int(height)


class Scene(_Part):
    """A whole scene file."""

    _folder: Path = PrivateAttr(default_factory=Path.cwd)
    """Where the scene file lies: files it names are read from there only."""
    format: Literal[1]
    title: Line
    aim: Annotated[str, Field(max_length=400)] = ""
    person: Person
    strength: Strength = Strength()
    model: Model = Model()
    posture: Posture
    hands: Hands = Hands()
    load: Load = Load()
    steps: Annotated[list[Step], Field(min_length=1, max_length=100)] = [Step(name="As it stands")]
    picture: Picture = Picture()

    def lies_in(self, folder: Path) -> None:
        """Remember where the scene file lies."""
        self._folder = folder

    def bone_folder(self) -> Path:
        """The bone folder that ``person.bones`` names: inside the scene file's folder, or inside ``VIZ3D_BONES``.

        Raises
        ------
        InputError : it leads elsewhere.
        """
        name = self.person.bones or ""
        allowed = [self._folder, *([Path(os.environ["VIZ3D_BONES"])] if os.environ.get("VIZ3D_BONES") else [])]
        for base in allowed:
            path = (base / name).resolve()
            if path.is_relative_to(base.resolve()) and path.is_dir():
                return path
        raise InputError(
            f"person.bones: found {name!r}; allowed: a bone folder inside the scene file's folder (or inside the folder"
            " that VIZ3D_BONES names)"
        )

    def own_file(self, where: str, name: str) -> Path:
        """A file that the scene names: inside the scene file's folder only.

        Raises
        ------
        InputError : there is none, or it leads elsewhere; ``where`` is the key that named it.
        """
        path = (self._folder / name).resolve()
        if path.is_relative_to(self._folder.resolve()) and path.is_file():
            return path
        raise InputError(f"{where}: found {name!r}; allowed: a file inside the scene file's folder")

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
        if self.strength.muscles and self.model.muscles == "equivalent":
            raise PydanticCustomError(
                "balance", 'strength.muscles needs model.muscles = "frontal set" or "three-axis set"'
            )
        return self


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
