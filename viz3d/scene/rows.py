"""The catalogue of inputs: one row each, read off the scene's own tables.

Question answered: which inputs are there, between which values, which of them may a step ease, which array of the
posture does each fill, where do pages and questions offer it?

A row stands once, beside its key in the schema; everything that lists inputs (a step's keys, the timeline, the
posture's columns, sliders, questions, the JSON Schema) reads it here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, get_args, get_type_hints

from pydantic import BaseModel

from viz3d.scene.quantities import POSING, SHAPING, Asked, ForceText, Quantity, Slider
from viz3d.scene.schema import Scene
from viz3d.units import Force

SIDES = ("left", "right")


@dataclass(frozen=True)
class InputRow:
    """One input: its dotted key, its side ("left", "right" or ""), its default (None: found from the rest)."""

    key: str
    side: str
    default: Any
    of: Quantity | ForceText

    @property
    def name(self) -> str:
        """The key's last part without its side: what its words are called."""
        return self.key.rsplit(".", maxsplit=1)[-1].removeprefix(f"{self.side}_")

    @property
    def eased(self) -> bool:
        """True where a step may change it and it passes smoothly."""
        return self.of.eased

    @property
    def column(self) -> str:
        """The posture's array that it fills; "" for none."""
        return self.of.column

    @property
    def slider(self) -> Slider | None:
        """How the live page lets a person move it."""
        return self.of.slider

    @property
    def asked(self) -> Asked | None:
        """How questions name it."""
        return self.of.asked

    def read(self, text: object) -> float | Force:
        """What a step typed, SI.

        Raises
        ------
        pydantic_core.PydanticCustomError : not such a quantity, or out of its range.
        """
        row = self.of.of_a_step() if isinstance(self.of, ForceText) else self.of
        found = row.read(text)
        assert not isinstance(found, str)  # a step's force names no other word
        return found


@cache
def rows() -> dict[str, InputRow]:
    """Every input by its dotted key, in the order of the scene's tables."""
    return {row.key: row for row in _walked(Scene, "", "")}


@cache
def eased_rows() -> dict[str, InputRow]:
    """Inputs that a step may ease."""
    return {key: row for key, row in rows().items() if row.eased}


@cache
def column_rows() -> dict[str, tuple[InputRow, ...]]:
    """The posture's columns and the rows that fill them: one, or the left and the right side's."""
    out: dict[str, tuple[InputRow, ...]] = {}
    for row in rows().values():
        if row.column:
            out[row.column] = (*out.get(row.column, ()), row)
    return out


@cache
def hip_measures() -> tuple[str, ...]:
    """What may be measured of one hip, by name."""
    start = "person.left_hip."
    return tuple(k.removeprefix(start) for k, row in rows().items() if k.startswith(start) and row.of.kind == SHAPING)


def is_posing(key: str) -> bool:
    """True for an input that moves the body without rebuilding its bones."""
    return key in rows() and rows()[key].of.kind == POSING


def value_of(scene: Scene, key: str) -> Any:
    """What a scene says at a dotted key."""
    node: Any = scene
    for name in key.split("."):
        node = getattr(node, name)
    return node


def _walked(table: type[BaseModel], prefix: str, side: str) -> Iterator[InputRow]:
    for name, hint in get_type_hints(table, include_extras=True).items():
        if name not in table.model_fields:
            continue
        mine = next((s for s in SIDES if name == s or name.startswith(f"{s}_")), side)
        if isinstance(hint, type) and issubclass(hint, BaseModel):
            yield from _walked(hint, f"{prefix}{name}.", mine)
            continue
        found = _row_in(hint)
        if found is not None:
            yield InputRow(f"{prefix}{name}", mine, table.model_fields[name].default, found)


def _row_in(hint: Any) -> Quantity | ForceText | None:
    """The row in an annotation, also where the value may be left out; none in lists and tables of values."""
    for part in (hint, *get_args(hint)):
        for extra in getattr(part, "__metadata__", ()):
            if isinstance(extra, Quantity | ForceText):
                return extra
    return None
