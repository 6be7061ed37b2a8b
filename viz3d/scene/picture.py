"""How a scene is seen and told: its steps, its picture, its film.

Question answered: which view, which layers, which words, which sounds?
"""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import Field, field_validator
from pydantic_core import PydanticCustomError

from viz3d.echo import shown
from viz3d.scene.choices import chosen
from viz3d.scene.claims import QUANTITIES, ClaimLine
from viz3d.scene.inputs import FileName, Keys, Line, Seconds
from viz3d.units import units_in
from viz3d.words.catalogue import languages
from viz3d.words.voice import Units, Voice

LAYERS = ("bones", "weight", "lever", "muscle", "joint", "cane", "pressure", "numbers")
"""What a lecturer builds a picture up from, in the usual order."""
Layer = Literal["bones", "weight", "lever", "muscle", "joint", "cane", "pressure", "numbers"]
Frame = Literal["pelvis", "hip", "whole"]
View = Literal["front", "back", "three-quarter", "side", "joint"]
Inset = Literal["forces", "free body", "socket", "figure", "curve", "strength", "footprints"]

_UPRIGHT = 1.3
"""Pictures from this height over width on have room for a person from head to floor."""
_IMPERIAL = {"lb", "lbs", "st", "ft", "in"}
"""Units that say how a person counts."""


class Step(Keys):
    """One step of the timeline: change into it, then hold."""

    name: Line
    change: Seconds = 0.0
    hold: Seconds = 2.0
    caption: Annotated[str, Field(max_length=200)] = ""
    claims: Annotated[list[ClaimLine], Field(max_length=10)] = Field(
        default_factory=list,
        description="what the caption says of the numbers, checked by 'viz3d check': \"joint falls from step 1\","
        ' "joint rises from step 2 by 5 to 15 %", "lever is 9 to 11 cm"; of ' + ", ".join(QUANTITIES),
    )
    narration: Annotated[str, Field(max_length=2000)] = Field("", description="what is said; the caption by default")
    set: dict[str, str] = Field(
        default_factory=dict,
        description="inputs and their values after the change: posing inputs are eased; body, hands' things, stance and"
        " model are cut to, or dissolved to while the change lasts",
    )
    view: View | None = Field(None, description="seen from here from now on; the camera moves while the change lasts")
    frame: Frame | None = Field(
        None, description="so much of the person from now on; the camera moves while the change lasts"
    )
    layers: list[Layer] | None = Field(None, description="only these layers from now on")
    cue: Seconds | None = Field(None, description="time in film.voice at which this step begins")


class Film(Keys):
    """How a film is told."""

    captions: Literal["burnt", "track", "both", "none"] = Field(
        "both", description="written into the picture, kept as a subtitle track, both, or neither"
    )
    voice: FileName | None = Field(
        None, description="sound file in the scene file's folder, laid under; the steps' cues say where it has got to"
    )


Control = Literal["lean", "drop", "push", "hand", "bag", "strength", "mass", "lever", "neck"]


class PageTable(Keys):
    """What the reader of a scene's page may move."""

    controls: Annotated[list[Control], Field(max_length=9)] | None = Field(
        None,
        description="in this order; lean, push and hand by default. Push and hand: on and with which aid; lever: the"
        " abductors' measured lever arm. Each control multiplies what the page has to hold",
    )

    @field_validator("controls")
    @classmethod
    def _once(cls, value: list[str] | None) -> list[str] | None:
        twice = sorted({word for word in value or [] if (value or []).count(word) > 1})
        if twice:
            raise PydanticCustomError("quantity", "{word} is listed twice; list it once", {"word": shown(twice[0])})
        return value


class Picture(Keys):
    """How it is seen."""

    view: View = Field("front", description="joint: the socket from close by, the femoral head drawn out of it")
    frame: Frame | None = Field(
        None,
        description="pelvis: the pelvis and both hips, as near as hands that press allow; hip: from loins to knees;"
        " whole: from head to floor, which upright pictures in plain words show by default",
    )
    backdrop: Literal["light", "dark", "print"] = Field("light", description="print: greys and patterns for paper")
    text: Literal["usual", "large"] = Field("usual", description="size of the words")
    font: FileName | None = Field(None, description="own font file (.otf, .ttf) in the scene file's folder")
    words: Literal["trade", "plain"] = Field("trade", description="plain: words for patients")
    language: str = Field(
        "en",
        max_length=3,
        description="of all words; the scene's own come from a folder of that name beside it",
    )
    force: Literal["BW and N", "N", "kgf", "lbf", "BW"] = Field("BW and N", description="how forces are said")
    mass: Literal["kg", "lb"] = Field("kg", description="as the person's mass was typed, unless given here")
    length: Literal["cm", "in"] = Field("cm", description="as the person's stature was typed, unless given here")
    palette: FileName | None = Field(None, description="own colours (.toml) in the scene file's folder")
    size: Annotated[str, Field(pattern=r"^\d{3,5}x\d{3,5}$")] = "1920x1080"
    muscles: Literal["shown", "none"] = Field("shown", description="draw the muscles that the model uses")
    step: Annotated[int, Field(ge=1)] | None = Field(None, description="step drawn by 'still'; the last by default")
    dress: Literal["anatomy", "patient"] = Field(
        "anatomy", description="patient: a clothed person, bones only through a soft window at the hip"
    )
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
    def voice(self) -> Voice:
        """Who speaks: the language, the register and the units of this picture."""
        return Voice(self.language, self.words, Units(self.force, self.mass, self.length))

    @field_validator("size", mode="before")
    @classmethod
    def _size_however_typed(cls, value: Any) -> Any:
        return re.sub(r"\s*[xX×*]\s*", "x", value.strip()) if isinstance(value, str) else value

    @field_validator("language", mode="before")
    @classmethod
    def _known(cls, value: Any) -> Any:
        value = chosen(value, tuple(languages()))
        if isinstance(value, str) and value not in languages():
            raise PydanticCustomError(
                "quantity", "found {found}; allowed: {all}", {"found": shown(value), "all": ", ".join(languages())}
            )
        return value

    @property
    def framed(self) -> str:
        """How much of the person is shown: as the scene says, or as suits the picture's shape and words."""
        if self.frame is not None:
            return self.frame
        width, height = self.pixels
        return "whole" if self.words == "plain" and height >= _UPRIGHT * width else "hip"

    @property
    def shown(self) -> tuple[str, ...]:
        """The layers shown: as the scene says, or all; a whole person in plain words has no lever arms."""
        if self.layers is not None:
            return tuple(self.layers)
        plain = self.words == "plain" and self.framed == "whole"
        return tuple(x for x in LAYERS if not (plain and x == "lever"))

    @property
    def pixels(self) -> tuple[int, int]:
        """Width and height."""
        width, height = self.size.split("x")
        return int(width), int(height)


def as_entered(data: dict[str, Any]) -> dict[str, Any]:
    """A scene's tables with ``picture.mass`` and ``picture.length`` as the person's mass and stature were typed.

    Examples
    --------
    >>> as_entered({"person": {"mass": "10 stone 1", "stature": "1.66 m"}})["picture"]
    {'mass': 'lb'}
    """
    person, picture = data.get("person"), data.get("picture", {})
    if not isinstance(person, dict) or not isinstance(picture, dict):
        return data
    typed = {"mass": ("mass", "lb"), "length": ("stature", "in")}
    found = {key: unit for key, (name, unit) in typed.items() if units_in(person.get(name), key) & _IMPERIAL}
    return {**data, "picture": {**found, **picture}} if found else data
