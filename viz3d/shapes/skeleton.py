"""The whole figure: every bone, the cane and the body shell of one person, from cache or built.

Question answered: which surfaces, on which links, does a picture of this person need?

Called by :mod:`viz3d.stage.compose` users and the output room; reports progress through a callback.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib import resources
from typing import Any

import numpy as np

from viz3d.body.person import LEFT, RIGHT, Body, Hip
from viz3d.shapes import cache
from viz3d.shapes.body_shell import Shell, build_shell
from viz3d.shapes.build import BONES, Shape, build_group
from viz3d.tables import read_toml

GROUPS = (
    "pelvis", "thigh", "trunk", "skull", "upper_arm", "forearm", "hand", "hand_grip", "shank", "foot", "cane", "crutch",
    "frame",
)  # fmt: skip
AID_GROUPS = {"cane": "cane", "elbow crutch": "crutch", "frame": "frame"}
"""What a hand presses on -> its group of shapes."""
SHAPING = ("head_radius", "neck_shaft_angle", "version", "offset", "trochanter_height", "centre_edge_angle")
"""Hip measurements that change the bones."""
Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class Figure:
    """Everything solid that a picture may show.

    ``shapes``: id -> shape, in its link's frame. Ids are "left femur", "sacrum", "right hand_grip hand".
    """

    shapes: dict[str, Shape]
    shell: Shell


def belongs(key: str, shape: Shape, aids: Mapping[str, str]) -> bool:
    """True for shapes that a figure with these aids shows; ``aids``: side -> what that hand presses on."""
    group = key.split("/", maxsplit=1)[0].rsplit(maxsplit=1)[-1]
    if group in AID_GROUPS.values():
        return AID_GROUPS.get(aids.get(shape.side, "")) == group
    if group in ("hand", "hand_grip"):
        return (shape.side in aids) == (group == "hand_grip")
    return True


def build_figure(body: Body, progress: Progress | None = None, aids: Mapping[str, str] | None = None) -> Figure:
    """All surfaces of one person (first of the batch), from the cache where possible.

    Parameters
    ----------
    progress : called with (what, done, of) before each group.
    aids : side -> what that hand presses on; groups nobody holds are left out. None for every group.
    """
    shapes: dict[str, Shape] = {}
    held = {AID_GROUPS[a] for a in aids.values()} if aids is not None else set(GROUPS)
    idle = set(AID_GROUPS.values()) | {"hand_grip"}
    groups = [g for g in GROUPS if g not in idle or g in held or (g == "hand_grip" and held)]
    total = len(groups) + 1
    for done, name in enumerate(groups):
        if progress:
            progress(name, done, total)
        for shape in group_shapes(name, body):
            shapes[_identity(name, shape)] = shape
    if progress:
        progress("body", total - 1, total)
    shell = build_shell(body)
    if progress:
        progress("body", total, total)
    return Figure(shapes, shell)


def _identity(group: str, shape: Shape) -> str:
    side = "" if shape.side == "middle" else f"{shape.side} "
    return f"{side}{group}/{shape.name}"


def group_shapes(name: str, body: Body) -> list[Shape]:
    """One group's shapes, both sides, with left and right hips' own measurements."""
    right = _one_side(name, body, body.hip(RIGHT))
    if _same(body.hip(LEFT), body.hip(RIGHT)) or name not in ("pelvis", "thigh"):
        left = right
    else:
        left = _one_side(name, body, body.hip(LEFT))
    paired = bool(read_toml(BONES, f"{name}.toml")["group"].get("paired"))
    out = [s for s in right if s.side in ("right", "middle")]
    if paired:
        out += [Shape(s.name, s.link, LEFT, s.material, s.surface.mirrored()) for s in left]
    else:
        out += [s for s in left if s.side == LEFT]
    return out


def _one_side(name: str, body: Body, hip: Hip) -> list[Shape]:
    about = _about(name, body, hip)
    key = hashlib.sha256(json.dumps(about, sort_keys=True).encode()).hexdigest()[:24]
    found = cache.load(key)
    if found is not None:
        return found
    shapes = build_group(name, body, hip)
    cache.store(key, shapes, {k: v for k, v in about.items() if k != "table"})
    return shapes


def _about(name: str, body: Body, hip: Hip) -> dict[str, Any]:
    """Everything that shapes a group: its table, the person's sizes, the mesher's version."""
    text = resources.files(BONES).joinpath(f"{name}.toml").read_bytes()
    about: dict[str, Any] = {
        "group": name,
        "mesher": cache.MESHER,
        "table": hashlib.sha256(text).hexdigest(),
        "sex": int(body.sex[0]),
        "stature": float(body.stature[0]),
    }
    if name in ("pelvis", "thigh", "trunk"):
        about["hip_spacing"] = float(body.hip_spacing[0])
        about["hip"] = {n: float(getattr(hip, n).flat[0]) for n in SHAPING}
    return about


def _same(a: Hip, b: Hip) -> bool:
    return all(np.array_equal(getattr(a, name), getattr(b, name)) for name in SHAPING)
