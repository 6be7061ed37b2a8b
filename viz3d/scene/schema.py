"""The scene file's schema: what a person may write, in the trade's words.

Question answered: who stands how, holding what, changing when, seen how?

Format 1, TOML. Quantities carry units. Nothing in a scene is code, a path or markup. ``viz3d schema``
prints this model as JSON Schema for editors, with each input's kind (posing or shaping) as ``x-kind``.
Read by :mod:`viz3d.scene.reader`; used by :mod:`viz3d.scene.timeline` and :mod:`viz3d.solution`.
"""

from __future__ import annotations

import difflib
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, PrivateAttr, field_validator, model_validator
from pydantic_core import PydanticCustomError

from viz3d.body.muscles import known_muscles
from viz3d.errors import InputError
from viz3d.scene.inputs import (
    BALANCE,
    Ahead,
    Backpack,
    BagMass,
    BesideToe,
    CaneForce,
    CaneTilt,
    Drop,
    FootAhead,
    Fraction,
    Gap,
    HeelLift,
    Lean,
    Lift,
    Line,
    Part,
    Share,
    Shift,
    Sideways,
    Stiff,
    Tension,
    Tilt,
    Torque,
    Width,
)
from viz3d.scene.person import Person
from viz3d.scene.picture import Film, Picture, Step
from viz3d.units import Force

FORMAT = 1


class Strength(Part):
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


class Model(Part):
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


class Posture(Part):
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


class Load(Part):
    """What the back carries."""

    backpack: Backpack = 0.0


AIDS = ("cane", "elbow crutch", "frame")
"""What a hand can press on."""


class Hand(Part):
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


class Hands(Part):
    """Both hands."""

    left: Hand = Hand(holds="nothing")
    right: Hand = Hand(holds="nothing")

    @model_validator(mode="after")
    def _whole_frame(self) -> Hands:
        if (self.left.holds == "frame") != (self.right.holds == "frame"):
            raise PydanticCustomError("hand", 'a walking frame takes both hands: holds = "frame" in left and right')
        return self


class Memory:
    """What was worked out from one scene; no part of what the scene says."""

    segments: list[Any] | None = None


class Scene(Part):
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
    steps: list[Step] = Field(
        default_factory=lambda: [Step(name="As it stands")], min_length=1, max_length=100, validate_default=True
    )
    picture: Picture = Picture()
    film: Film = Film()

    @property
    def memory(self) -> Memory:
        """What was worked out from this scene, so that it is worked out once; a copy starts with none."""
        found: Memory = self.__dict__.setdefault("_memory", Memory())
        return found

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Scene:
        """A copy with fields changed."""
        new = super().model_copy(update=update, deep=deep)
        new.__dict__.pop("_memory", None)
        return new

    def lies_in(self, folder: Path) -> None:
        """Remember where the scene file lies."""
        self._folder = folder

    @property
    def folder(self) -> Path:
        """Where the scene file lies."""
        return self._folder

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
