"""The scene file's schema: what a person may write, in the trade's words.

Question answered: who stands how, holding what, changing when, seen how?

Format 1, TOML. Quantities carry units. Nothing in a scene is code, a path or markup. ``viz3d schema``
prints this model as JSON Schema for editors, with each input's kind (posing or shaping) as ``x-kind``.
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
from viz3d.echo import shown
from viz3d.errors import InputError
from viz3d.given import inside, is_file
from viz3d.scene.asked import Question
from viz3d.scene.inputs import BALANCE, Keys, Line
from viz3d.scene.person import Person
from viz3d.scene.picture import Film, PageTable, Picture, Step, as_entered
from viz3d.scene.posture import Hands, LoadTable, PostureTable
from viz3d.scene.quantities import POSING, SHAPING, Quantity, Slider
from viz3d.scene.walk import WalkTable
from viz3d.statics.model import SHARING_POWER
from viz3d.units import Force

FORMAT = 1


Fraction = Annotated[float, Quantity("fraction", "0 %", "100 %", POSING, "fraction left")]
Abductors = Annotated[
    float,
    Quantity(
        "fraction", "0 %", "100 %", POSING, "fraction left", eased=True, slider=Slider("Strength", "%", 0, 100, 5)
    ),
]


class Strength(Keys):
    """What the hip abductors can do."""

    left_abductors: Abductors = 1.0
    right_abductors: Abductors = 1.0
    torque_per_mass: (
        Annotated[float, Quantity("torque", "0 N m/kg", "5 N m/kg", POSING, "abduction moment per body mass")] | None
    ) = None
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
                    {"name": shown(name), "hint": hint, "all": ", ".join(known_muscles())},
                )
        return value


class Model(Keys):
    """What stands for the muscles, and for the socket."""

    muscles: Literal["equivalent", "frontal set", "three-axis set"] = Field(
        "equivalent", description="one equivalent muscle, or a set that shares the moment about one or three axes"
    )
    power: Annotated[float, Field(ge=2, le=100)] | Literal["min-max"] = Field(
        SHARING_POWER, description="exponent of the shared stresses; 'min-max' for the least largest stress"
    )
    specific_tension: (
        Annotated[
            float,
            Quantity("stress", "1 N/cm2", "200 N/cm2", SHAPING, "force per cross-section of a fully active muscle"),
        ]
        | None
    ) = Field(None, description="left out: the one that gives the measured abduction torque")
    gravity_line: (
        Annotated[
            float,
            Quantity("length", "-80 mm", "80 mm", POSING, "line of gravity of what is above the hip, ahead of the hip"),
        ]
        | None
    ) = None
    pressure_ahead: (
        Annotated[
            float, Quantity("length", "-40 mm", "140 mm", POSING, "centre of pressure, ahead of the stance ankle")
        ]
        | None
    ) = None
    co_contraction: Annotated[
        float,
        Quantity("fraction", "0 %", "100 %", POSING, "share of their strength with which antagonists pull as well"),
    ] = 0.0
    passive_tissue: Annotated[
        float,
        Quantity(
            "fraction", "0 %", "100 %", POSING, "share that counts of the estimated passive tissue against adduction"
        ),
    ] = 0.0
    pressure: Literal["lune", "horseshoe"] = Field(
        "lune", description="loaded surface of the socket: closed form on a lune, or facets of a horseshoe"
    )

    @property
    def counts_more(self) -> bool:
        """True where more pulls than the muscles that balance."""
        return bool(self.co_contraction or self.passive_tissue)


class Memory:
    """What was worked out from one scene; no part of what the scene says."""

    segments: list[Any] | None = None


class Scene(Keys):
    """A whole scene file."""

    _folder: Path = PrivateAttr(default_factory=Path)
    """Where the scene file lies: files it names are read from there only."""

    format: Literal[1]
    title: Line
    aim: Annotated[str, Field(max_length=400)] = ""
    person: Person
    strength: Strength = Strength()
    model: Model = Model()
    posture: PostureTable
    hands: Hands = Hands()
    load: LoadTable = LoadTable()
    walk: WalkTable | None = Field(None, description="level walking instead of standing")
    steps: list[Step] = Field(
        default_factory=lambda: [Step(name="As it stands")], min_length=1, max_length=100, validate_default=True
    )
    questions: Annotated[list[Question], Field(max_length=20)] = Field(
        default_factory=list, description="what students predict on the scene's page before they see it"
    )
    picture: Picture = Picture()
    film: Film = Film()
    page: PageTable = PageTable()

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

    @property
    def counted(self) -> str:
        """How many steps there are, for errors."""
        return "1 step" if len(self.steps) == 1 else f"{len(self.steps)} steps"

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
            path = inside(base, name)
            if path is not None and os.path.isdir(path):  # noqa: PTH112  a name that no disk can hold is no folder
                return path
        raise InputError(
            f"person.bones: found {shown(name)}; allowed: a bone folder inside the scene file's folder (or inside the"
            " folder that VIZ3D_BONES names)"
        )

    def own_file(self, where: str, name: str) -> Path:
        """A file that the scene names: inside the scene file's folder only.

        Raises
        ------
        InputError : there is none, or it leads elsewhere; ``where`` is the key that named it.
        """
        path = inside(self._folder, name)
        if path is not None and is_file(path):
            return path
        raise InputError(f"{where}: found {shown(name)}; allowed: a file inside the scene file's folder")

    @model_validator(mode="before")
    @classmethod
    def _units_as_entered(cls, data: Any) -> Any:
        return as_entered(data) if isinstance(data, dict) else data

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
