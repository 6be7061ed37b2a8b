"""Quantities in a scene file: text with a unit in, SI out, with a range and a kind.

Question answered: what may stand at this key, and does changing it re-pose the body or re-shape the bones?

Every input is *posing* (lean, drop, hand, load, strength) or *shaping* (size, mass, hip geometry). Both
move the numbers at once; shaping also rebuilds bones. The kind is written into the JSON Schema.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema
from pydantic_core.core_schema import ValidationInfo

from viz3d.echo import shown
from viz3d.errors import InputError
from viz3d.units import UNITS, Force, parse_force, parse_quantity

POSING, SHAPING = "posing", "shaping"
READ = "values already read"
"""Validation context under which a scene's own values, read before, pass again."""


def _refuse(line: str) -> PydanticCustomError:
    return PydanticCustomError("quantity", "{line}", {"line": line})


def _core(read: Callable[[object], Any], known: tuple[type, ...]) -> CoreSchema:
    def once(value: object, info: ValidationInfo) -> Any:
        return value if info.context == READ and isinstance(value, known) else read(value)

    return core_schema.with_info_plain_validator_function(once)


@dataclass(frozen=True)
class Slider:
    """How the live page lets a person move an input: its group, unit, ends and step."""

    group: str
    unit: str
    low: float
    high: float
    step: float


@dataclass(frozen=True)
class Asked:
    """How questions name an input, and between which SI values they look; ``relative``: in body weights or masses."""

    word: str
    low: float
    high: float
    relative: bool = False


@dataclass(frozen=True)
class Quantity:
    """The row of a float read from text like "64 kg", within [low, high], into SI.

    Parameters
    ----------
    kind : posing (moves the body) or shaping (also rebuilds bones). eased : a step may change it, smoothly.
    column : the posture's array that it fills, "" for none. slider, asked : where pages and questions offer it.
    """

    dimension: str
    low: str
    high: str
    kind: str
    meaning: str
    eased: bool = False
    column: str = ""
    slider: Slider | None = None
    asked: Asked | None = None

    def read(self, value: object) -> float:
        """The SI value of what a person typed."""
        bottom, top = (parse_quantity(v, self.dimension) for v in (self.low, self.high))
        try:
            found = parse_quantity(value, self.dimension)
        except InputError as error:
            raise _refuse(str(error)) from error
        if not bottom - 1e-12 <= found <= top + 1e-12:
            raise _refuse(f"found {shown(value)}; allowed: {self.low} to {self.high}")
        return found

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return _core(self.read, (float,))

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        units = ", ".join(UNITS[self.dimension])
        return {
            "type": "string",
            "description": f"{self.meaning} ({self.low} to {self.high}; units: {units})",
            "examples": [self.low],
            "x-kind": self.kind,
        }


@dataclass(frozen=True)
class ForceText:
    """The row of a :class:`Force`, or one of a few words, from text like "12 %BW" or "80 N"; as :class:`Quantity`."""

    kind: str
    meaning: str
    words: tuple[str, ...] = ()
    eased: bool = False
    column: str = ""
    slider: Slider | None = None
    asked: Asked | None = None
    dimension: str = "force"

    def of_a_step(self) -> ForceText:
        """The same for a step, which names a force and no other word."""
        return replace(self, words=())

    def read(self, value: object) -> Force | str:
        """The force, or the word."""
        if isinstance(value, str) and value.strip() in self.words:
            return value.strip()
        try:
            found = parse_force(value)
        except InputError as error:
            raise _refuse(str(error)) from error
        if found.value < 0:
            raise _refuse(f"found {shown(value)}; allowed: 0 or more")
        return found

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return _core(self.read, (Force,))

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        units = ", ".join(UNITS["force"])
        words = "".join(f"; or {w!r}" for w in self.words)
        return {
            "type": "string",
            "description": f"{self.meaning} (units: {units}{words})",
            "examples": ["12 %BW"],
            "x-kind": self.kind,
        }
