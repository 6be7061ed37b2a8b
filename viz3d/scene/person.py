"""Who stands there, as a scene file says it: size, sex, and what was measured of each hip.

Question answered: which measures may a scene give of a person, and which belong together?
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from viz3d.scene.inputs import (
    CentreEdge,
    Change,
    FileName,
    Form,
    HeadRadius,
    Lever,
    Mass,
    NeckShaft,
    Offset,
    Part,
    PelvicWidth,
    Shorter,
    SocketShift,
    SocketTilt,
    SocketVersion,
    Spacing,
    Stature,
    Tip,
    Version,
)

BodyPart = Literal[
    "belly", "chest", "hips", "head", "thighs",
    "left_upper_arm", "left_forearm", "left_hand", "right_upper_arm", "right_forearm", "right_hand",
    "left_thigh", "left_shank", "left_foot", "right_thigh", "right_shank", "right_foot",
]  # fmt: skip


class HipMeasures(Part):
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


class Person(Part):
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
