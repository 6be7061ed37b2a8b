"""How the person stands and what the hands hold, as a scene file says it.

Question answered: which posing inputs may a scene give, and which of them belong together?

Each input is one row: its dimension, range, kind, meaning, whether a step may ease it, the posture's column that it
fills, its slider and how questions name it; key and default stand in the table below it. What people read of it stands
in the words.
"""

from __future__ import annotations

from math import radians
from typing import Annotated, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from viz3d.kinematics.posture import posture_rows
from viz3d.scene.inputs import BALANCE, Keys
from viz3d.scene.quantities import POSING, Asked, ForceText, Quantity, Slider
from viz3d.units import Force

HeelLift = Annotated[
    float, Quantity("length", "0 mm", "60 mm", POSING, "lift under this foot", eased=True, column="heel_lift")
]


class PostureTable(Keys):
    """How the person stands at the start."""

    stance: Literal["left", "right"] = Field(..., description="the leg stood on; in two-legged stance, the one studied")
    lean: Annotated[
        float,
        Quantity(
            "angle",
            "-30 deg",
            "30 deg",
            POSING,
            "trunk lean in space, positive towards the stance side",
            eased=True,
            column="lean",
            slider=Slider("Pose", "deg", -15, 25, 0.5),
            asked=Asked("lean", 0.0, radians(30)),
        ),
    ] = 0.0
    obliquity: Annotated[
        float,
        Quantity(
            "angle",
            "-15 deg",
            "20 deg",
            POSING,
            "pelvic obliquity, positive when the swing side is lower",
            eased=True,
            column="obliquity",
            slider=Slider("Pose", "deg", -10, 15, 0.5),
            asked=Asked("drop", radians(-15), radians(20)),
        ),
    ] = 0.0
    share: Annotated[
        float,
        Quantity(
            "fraction",
            "50 %",
            "100 %",
            POSING,
            "ground force under the stance foot",
            eased=True,
            column="share",
            slider=Slider("Pose", "%", 50, 100, 1),
        ),
    ] = 1.0
    lifted: Annotated[
        float,
        Quantity(
            "fraction",
            "0 %",
            "100 %",
            POSING,
            "0 % both feet down, 100 % swing leg hangs free",
            eased=True,
            column="lifted",
        ),
    ] = 1.0
    clearance: Annotated[
        float,
        Quantity(
            "length", "0 mm", "300 mm", POSING, "gap between lifted foot and floor", eased=True, column="clearance"
        ),
    ] = float(posture_rows()["swing_clearance"].value)
    inclination: (
        Annotated[
            float,
            Quantity("angle", "-15 deg", "25 deg", POSING, "stance leg's inclination in space", column="inclination"),
        ]
        | None
    ) = None
    trunk_shift: Annotated[
        float,
        Quantity(
            "length",
            "-150 mm",
            "150 mm",
            POSING,
            "trunk aside of the pelvis, towards the stance side",
            eased=True,
            column="trunk_shift",
        ),
    ] = 0.0
    stance_width: (
        Annotated[
            float,
            Quantity(
                "length",
                "0 mm",
                "600 mm",
                POSING,
                "between the feet's midlines while both are down",
                column="stance_width",
            ),
        ]
        | None
    ) = None
    left_heel_lift: HeelLift = 0.0
    right_heel_lift: HeelLift = 0.0
    hip_adduction: (
        Annotated[
            float,
            Quantity(
                "angle",
                "-25 deg",
                "25 deg",
                POSING,
                "fixed adduction of the stance hip; the pelvis follows",
                column="hip_adduction",
            ),
        ]
        | None
    ) = None
    swing_abduction: Annotated[
        float,
        Quantity(
            "angle",
            "-10 deg",
            "45 deg",
            POSING,
            "lifted leg held outward, in space",
            eased=True,
            column="swing_abduction",
        ),
    ] = 0.0

    @model_validator(mode="after")
    def _one_pelvis(self) -> PostureTable:
        if self.hip_adduction is not None and (self.obliquity != 0.0 or self.lifted < 1.0):
            raise PydanticCustomError(
                "posture",
                "with hip_adduction given the pelvis follows it: leave out obliquity, and stand on one leg",
            )
        return self


class LoadTable(Keys):
    """What the back carries."""

    backpack: Annotated[
        float, Quantity("mass", "0 kg", "60 kg", POSING, "mass on the back", eased=True, column="backpack")
    ] = 0.0


_ONE_THING = ": one hand holds one thing"
AIDS = ("cane", "elbow crutch", "frame")
"""What a hand can press on."""


class Hand(Keys):
    """What one hand holds."""

    holds: Literal["cane", "elbow crutch", "frame", "bag", "nothing"]
    force: (
        Annotated[
            Force | str,
            ForceText(
                POSING,
                "upward force of the cane on the hand",
                (BALANCE,),
                eased=True,
                column="cane_force",
                slider=Slider("Hands", "%BW", 0, 25, 0.5),
                asked=Asked("cane", 0.0, 0.6, relative=True),
            ),
        ]
        | None
    ) = None
    tip_beside_toe: (
        Annotated[
            float, Quantity("length", "-100 mm", "500 mm", POSING, "cane tip outside the little toe", column="cane_tip")
        ]
        | None
    ) = None
    tilt: Annotated[
        float,
        Quantity(
            "angle", "-20 deg", "20 deg", POSING, "cane's tilt, handle towards the body positive", column="cane_tilt"
        ),
    ] = 0.0
    mass: (
        Annotated[
            float,
            Quantity(
                "mass",
                "0 kg",
                "100 kg",
                POSING,
                "mass hanging in the hand",
                eased=True,
                column="bag_mass",
                slider=Slider("Hands", "kg", 0, 20, 0.5),
                asked=Asked("bag", 0.0, 0.4, relative=True),
            ),
        ]
        | None
    ) = None

    @model_validator(mode="after")
    def _fits(self) -> Hand:
        needs = ("force",) if self.holds in AIDS else ("mass",) if self.holds == "bag" else ()
        extra = {"frame": ("mass", "tip_beside_toe"), "bag": ("force", "tip_beside_toe"), "nothing": ("force", "mass")}
        for name in extra.get(self.holds, ("mass",)):
            if getattr(self, name) is not None:
                raise PydanticCustomError(
                    "hand",
                    "'{name}' does not belong to a hand that holds {held}{more}",
                    {"held": self.holds, "name": name, "more": "" if name == "tip_beside_toe" else _ONE_THING},
                )
        for name in needs:
            if getattr(self, name) is None:
                raise PydanticCustomError(
                    "hand", "a hand with a {held} needs '{name}'", {"held": self.holds, "name": name}
                )
        return self


class Hands(Keys):
    """Both hands."""

    left: Hand = Hand(holds="nothing")
    right: Hand = Hand(holds="nothing")

    @model_validator(mode="after")
    def _whole_frame(self) -> Hands:
        if (self.left.holds == "frame") != (self.right.holds == "frame"):
            raise PydanticCustomError("hand", 'a walking frame takes both hands: holds = "frame" in left and right')
        return self
