"""Quantities in a scene file: text with a unit in, SI out, with a range and a kind.

Question answered: what may stand at this key, and does changing it re-pose the body or re-shape the bones?

Every input is *posing* (lean, drop, hand, load, strength) or *shaping* (size, mass, hip geometry). Both
move the numbers at once; shaping also rebuilds bones. The kind is written into the JSON Schema.
Called by :mod:`viz3d.scene.schema` only.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

from viz3d.errors import InputError
from viz3d.units import UNITS, Force, parse_force, parse_quantity

POSING, SHAPING = "posing", "shaping"


def quantity(dimension: str, low: str, high: str, kind: str, meaning: str) -> Any:
    """An annotated float read from text like "64 kg", within [low, high], in SI."""
    bottom, top = parse_quantity(low, dimension), parse_quantity(high, dimension)

    def read(value: object) -> float:
        try:
            found = parse_quantity(value, dimension)
        except InputError as error:
            raise PydanticCustomError("quantity", "{line}", {"line": str(error)}) from error
        if not bottom - 1e-12 <= found <= top + 1e-12:
            raise PydanticCustomError("quantity", "{line}", {"line": f"found {value!r}; allowed: {low} to {high}"})
        return found

    schema = {
        "type": "string",
        "description": f"{meaning} ({low} to {high}; units: {', '.join(UNITS[dimension])})",
        "examples": [low],
        "x-kind": kind,
    }
    return Annotated[float, BeforeValidator(read), WithJsonSchema(schema), Field(description=meaning)]


def force_quantity(kind: str, meaning: str, extra_words: tuple[str, ...] = ()) -> Any:
    """An annotated :class:`Force` (or one of a few words) read from text like "12 %BW" or "80 N"."""

    def read(value: object) -> Force | str:
        if isinstance(value, str) and value.strip() in extra_words:
            return value.strip()
        try:
            found = parse_force(value)
        except InputError as error:
            raise PydanticCustomError("quantity", "{line}", {"line": str(error)}) from error
        if found.value < 0:
            raise PydanticCustomError("quantity", "{line}", {"line": f"found {value!r}; allowed: 0 or more"})
        return found

    schema = {
        "type": "string",
        "description": f"{meaning} (units: {', '.join(UNITS['force'])}{''.join(f'; or {w!r}' for w in extra_words)})",
        "examples": ["12 %BW"],
        "x-kind": kind,
    }
    return Annotated[Force | str, BeforeValidator(read), WithJsonSchema(schema)]
