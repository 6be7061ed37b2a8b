"""Poses of a scene file as typed: dotted key -> value, from its start through every step.

Question answered: what holds at a step, and what must a step change to get from one pose to another?

Values stay as a person typed them ("15 %BW"). A hand that takes something new holds nothing else, as in
:mod:`viz3d.scene.segments`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel
from pydantic_core import PydanticCustomError

from viz3d.scene.rows import rows
from viz3d.scene.schema import Scene

Pose = dict[str, Any]

POSED = ("person", "strength", "model", "posture", "hands", "load", "walk")
"""Tables that say who stands how, holding what."""
_ZERO = {"angle": "0 deg", "mass": "0 kg", "length": "0 mm", "force": "0 %BW"}
_WRITTEN = {
    "angle": (math.degrees(1.0), "deg"), "mass": (1.0, "kg"), "length": (1000.0, "mm"), "fraction": (100.0, "%"),
}  # fmt: skip
"""Unit that a usual value is written in, and its size against SI."""
_LOOSE = re.compile(r"(?<=\d)(\.\d*?)0+(?=\s|$)")


def start_of(data: Mapping[str, Any]) -> Pose:
    """What a scene file's tables say of its start.

    Examples
    --------
    >>> start_of({"posture": {"stance": "left"}, "hands": {"left": {"holds": "cane"}}, "title": "A"})
    {'posture.stance': 'left', 'hands.left.holds': 'cane'}
    """
    return {k: v for table in POSED for k, v in _walked(data.get(table, {}), table)}


def begin_of(data: Mapping[str, Any]) -> Pose:
    """What the live page begins with, and what is changed on it counts from: the start with what the first step sets.

    Examples
    --------
    >>> begin_of({"posture": {"stance": "left"}, "steps": [{"set": {"posture.lean": "5 deg"}}, {"name": "Two"}]})
    {'posture.stance': 'left', 'posture.lean': '5 deg'}
    """
    return next(iter(poses_of(data)), start_of(data))


def tables_of(data: Mapping[str, Any], start: Pose) -> dict[str, Any]:
    """A scene file's tables with another start."""
    out = {k: v for k, v in data.items() if k not in POSED}
    if "walk" in data:  # one walks even where nothing is said of how
        out["walk"] = {}
    for key, value in start.items():
        *folders, last = key.split(".")
        node = out
        for folder in folders:
            node = node.setdefault(folder, {})
        node[last] = value
    return out


def moved(pose: Pose, changes: Mapping[str, Any]) -> Pose:
    """A pose with keys changed."""
    out = dict(pose)
    for key in sorted(changes, key=lambda k: not k.endswith(".holds")):
        if key.endswith(".holds"):
            hand = key.removesuffix("holds")
            out = {k: v for k, v in out.items() if not k.startswith(hand)}
        out[key] = tidy(changes[key])
    return out


def poses_of(data: Mapping[str, Any]) -> list[Pose]:
    """What holds at the end of every step."""
    pose, out = start_of(data), []
    for step in data.get("steps", []):
        pose = moved(pose, step.get("set", {}))
        out.append(pose)
    return out


def difference(before: Pose, after: Pose) -> dict[str, str]:
    """What a step sets to get from one pose to another; keys that no longer stand there go back to their usual value.
    A hand of which nothing is said holds nothing.

    Examples
    --------
    >>> difference({"posture.lean": "5 deg"}, {"hands.left.holds": "bag", "hands.left.mass": "5 kg"})
    {'hands.left.holds': 'bag', 'hands.left.mass': '5 kg', 'posture.lean': '0 deg'}
    """
    empty = {k: "nothing" for k in before if k.endswith(".holds") and k not in after}
    after = {**after, **empty}
    taken = {k.removesuffix("holds") for k in after if k.endswith(".holds") and before.get(k) != after[k]}
    new = {k: v for k, v in after.items() if k.startswith(tuple(taken)) or not same(k, before.get(k), v)}
    gone = {k: _usual(k) for k in before if k not in after and not k.startswith(tuple(taken))}
    return {k: str(v) for k, v in (new | gone).items() if v is not None}


def same(key: str, one: Any, other: Any) -> bool:
    """Whether two typed values of a key mean the same."""
    if one == other or key not in rows():
        return bool(one == other)
    one, other = (_usual(key) if v is None else v for v in (one, other))
    if one is None or other is None:
        return False
    try:
        a, b = (rows()[key].read(v) for v in (one, other))
    except PydanticCustomError:
        return False
    if isinstance(a, float) and isinstance(b, float):
        return math.isclose(a, b, rel_tol=1e-6, abs_tol=1e-9)
    return a == b


def tidy(value: Any) -> Any:
    """A typed value without zeros that say nothing.

    Examples
    --------
    >>> tidy("15.0000 deg"), tidy("2.50 %BW"), tidy("100 %")
    ('15 deg', '2.5 %BW', '100 %')
    """
    return _LOOSE.sub(lambda m: m[1].rstrip("."), value) if isinstance(value, str) else value


def _walked(table: Mapping[str, Any], prefix: str) -> list[tuple[str, Any]]:
    out: list[tuple[str, Any]] = []
    for name, value in table.items():
        key = f"{prefix}.{name}"
        out += _walked(value, key) if isinstance(value, dict) else [(key, value)]
    return out


def _usual(key: str) -> str | None:
    """What holds where a key is left out, as typed; None where that follows from the rest."""
    if key in rows():
        row = rows()[key]
        if key.startswith("hands."):
            return _ZERO[row.of.dimension]
        if not isinstance(row.default, float):
            return None
        factor, unit = _WRITTEN.get(row.of.dimension, (0.0, ""))
        return f"{factor * row.default:g} {unit}" if unit else None
    node: type[BaseModel] = Scene
    for name in key.split("."):
        field = node.model_fields.get(name)
        if field is None:
            return None
        if isinstance(field.annotation, type) and issubclass(field.annotation, BaseModel):
            node = field.annotation
        else:
            return field.default if isinstance(field.default, str) else None
    return None
