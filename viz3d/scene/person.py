"""Who stands there, as a scene file says it: size, sex, and what was measured of each hip.

Question answered: which measures may a scene give of a person, and which belong together?

Each input is one row, as in :mod:`viz3d.scene.posture`.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from viz3d.body.replacement import Choice
from viz3d.scene.inputs import FileName, Keys
from viz3d.scene.quantities import SHAPING, Asked, Quantity, Slider

BodyPart = Literal[
    "belly", "chest", "hips", "head", "thighs",
    "left_upper_arm", "left_forearm", "left_hand", "right_upper_arm", "right_forearm", "right_hand",
    "left_thigh", "left_shank", "left_foot", "right_thigh", "right_shank", "right_foot",
]  # fmt: skip


Version = Annotated[float, Quantity("angle", "-25 deg", "50 deg", SHAPING, "forward turn of the neck")]


class HipMeasures(Keys):
    """What was measured of one hip; leave out what was not."""

    measured_on: Literal["radiograph", "CT", "MRI", "other"] = "other"
    calibration: str | None = Field(
        None, max_length=120, description="how the radiograph's scale is known, for instance '25 mm ball'"
    )
    head_radius: (
        Annotated[
            float,
            Quantity(
                "length",
                "15 mm",
                "35 mm",
                SHAPING,
                "radius of the bony femoral head",
                slider=Slider("Hip", "mm", 19, 29, 0.5),
            ),
        ]
        | None
    ) = None
    neck_shaft_angle: (
        Annotated[
            float,
            Quantity(
                "angle",
                "95 deg",
                "165 deg",
                SHAPING,
                "angle between neck and shaft; offset and trochanter height follow it unless measured too",
                slider=Slider("Hip", "deg", 105, 150, 1),
            ),
        ]
        | None
    ) = None
    version: Version | None = None
    offset: (
        Annotated[
            float,
            Quantity(
                "length",
                "20 mm",
                "70 mm",
                SHAPING,
                "head centre to shaft axis, in the neck's plane",
                slider=Slider("Hip", "mm", 28, 58, 1),
            ),
        ]
        | None
    ) = None
    trochanter_height: (
        Annotated[float, Quantity("length", "-20 mm", "40 mm", SHAPING, "trochanter tip above the head centre")] | None
    ) = None
    centre_edge_angle: (
        Annotated[
            float,
            Quantity(
                "angle",
                "0 deg",
                "70 deg",
                SHAPING,
                "centre-edge angle on the pelvis",
                slider=Slider("Hip", "deg", 10, 45, 1),
            ),
        ]
        | None
    ) = None
    abductor_lever: (
        Annotated[
            float,
            Quantity(
                "length",
                "10 mm",
                "100 mm",
                SHAPING,
                "measured lever arm of the abductors, leg straight under the pelvis",
                asked=Asked("lever", 0.010, 0.100),
                slider=Slider("Hip", "mm", 30, 80, 0.5),
            ),
        ]
        | None
    ) = None
    socket_out: (
        Annotated[
            float, Quantity("length", "-25 mm", "25 mm", SHAPING, "hip centre away from its usual place in the pelvis")
        ]
        | None
    ) = None
    socket_up: (
        Annotated[
            float, Quantity("length", "-25 mm", "25 mm", SHAPING, "hip centre away from its usual place in the pelvis")
        ]
        | None
    ) = None
    socket_inclination: (
        Annotated[
            float,
            Quantity("angle", "20 deg", "65 deg", SHAPING, "socket's rim plane against the horizontal, from the front"),
        ]
        | None
    ) = None
    socket_version: (
        Annotated[
            float, Quantity("angle", "-10 deg", "45 deg", SHAPING, "how far the socket opens forward, seen from above")
        ]
        | None
    ) = None

    replacement: Choice = Field(
        "own hip", description="replacement hip on paper, changed from these measures; for teaching only"
    )

    @model_validator(mode="after")
    def _radiograph_needs_scale(self) -> HipMeasures:
        lengths = ("head_radius", "offset", "trochanter_height", "abductor_lever")
        if self.measured_on == "radiograph" and self.calibration is None and any(getattr(self, n) for n in lengths):
            raise PydanticCustomError(
                "calibration",
                "lengths measured on a radiograph need 'calibration', for instance calibration = \"25 mm ball\"",
            )
        return self


MassChange = Annotated[float, Quantity("mass", "-30 kg", "80 kg", SHAPING, "mass put on this part, or taken off it")]


class Person(Keys):
    """Who stands there."""

    sex: Literal["female", "male"]
    mass: Annotated[
        float,
        Quantity(
            "mass",
            "20 kg",
            "300 kg",
            SHAPING,
            "body mass without loads",
            slider=Slider("Body", "kg", 35, 160, 1),
            asked=Asked("mass", 30.0, 200.0),
        ),
    ]
    stature: Annotated[
        float,
        Quantity("length", "1.2 m", "2.3 m", SHAPING, "standing height", slider=Slider("Body", "cm", 140, 205, 1)),
    ]
    painful_hip: Literal["left", "right", "none"] = "none"
    hip_spacing: (
        Annotated[float, Quantity("length", "100 mm", "240 mm", SHAPING, "distance between the hip centres")] | None
    ) = None
    pelvic_width: (
        Annotated[
            float, Quantity("length", "150 mm", "350 mm", SHAPING, "width between the anterior superior iliac spines")
        ]
        | None
    ) = None
    pelvis_form: (
        Annotated[
            float, Quantity("fraction", "0 %", "100 %", SHAPING, "pelvis: 0 % a typical man's, 100 % a typical woman's")
        ]
        | None
    ) = None
    bones: FileName | None = Field(None, description="bone folder made by 'viz3d bring', in the scene file's folder")
    spacing_rule: Literal["proportion", "harrington", "seidel", "bell"] = Field(
        "proportion", description="how the hip spacing follows from pelvic_width"
    )
    segments: Literal["de-leva", "dempster"] = Field("de-leva", description="table of segment masses")
    left_hip: HipMeasures = HipMeasures()
    right_hip: HipMeasures = HipMeasures()
    left_leg_shorter: Annotated[
        float, Quantity("length", "0 mm", "60 mm", SHAPING, "how much shorter this leg's shin is")
    ] = 0.0
    right_leg_shorter: Annotated[
        float, Quantity("length", "0 mm", "60 mm", SHAPING, "how much shorter this leg's shin is")
    ] = 0.0
    mass_changes: dict[
        BodyPart,
        Annotated[
            float, Quantity("mass", "-30 kg", "80 kg", SHAPING, "mass put on this part of the body, or taken off it")
        ],
    ] = Field(
        default_factory=dict, description="mass put on parts of the body or taken off (a lost limb, a prosthesis)"
    )
