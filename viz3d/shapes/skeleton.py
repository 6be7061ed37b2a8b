"""The whole figure: every bone, the cane and the body shell of one person, from cache or built.

Question answered: which surfaces, on which links, does a picture of this person need?

Reports progress through a callback.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from importlib import resources
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import LEFT, RIGHT
from viz3d.body.person import Body, Hip
from viz3d.body.segments import lengths
from viz3d.progress import Progress
from viz3d.shapes import cache
from viz3d.shapes.body_form import neutral_frames
from viz3d.shapes.body_shell import Shell, build_shell
from viz3d.shapes.build import BONES, Shape, build_group, rest_frame
from viz3d.shapes.clothing import Clothed, build_clothed
from viz3d.shapes.finish import lighter
from viz3d.shapes.implant import with_implants
from viz3d.shapes.muscle_mesh import MuscleMesh, build_muscles
from viz3d.shapes.own import own_shapes
from viz3d.shapes.socket_floor import with_bare_floors
from viz3d.shapes.warp import make_warp
from viz3d.tables import read_toml

GROUPS = (
    "pelvis", "thigh", "trunk", "skull", "upper_arm", "forearm", "hand", "hand_grip", "shank", "foot", "cane", "crutch",
    "frame", "bag", "backpack",
)  # fmt: skip
AID_GROUPS = {"cane": "cane", "elbow crutch": "crutch", "frame": "frame", "bag": "bag", "backpack": "backpack"}
"""What a hand holds, or the back carries, -> its group of shapes."""
OF_BODY = {"pelvis": ("hip_spacing", "pelvic_width", "pelvis_form")}
"""Group -> measures of the person that change its bones, beside sex and stature, which change all."""
OF_HIP = {
    "pelvis": ("head_radius", "centre_edge_angle", "socket_inclination", "socket_version"),
    "thigh": ("head_radius", "neck_shaft_angle", "version", "offset", "trochanter_height"),
}
"""Group -> measures of the hip that change its bones; whatever is not named leaves them as they are."""
DETAILS = {"full": 1.0, "film": 0.21}
"""Level of detail -> share of the triangles."""
_FINER = {"spine": 1.6, "skull": 0.5, "mandible": 0.6, "neck_spine": 0.6, "forefoot": 0.6, "toes": 0.6}
"""Bones that need more triangles than that in a film, or fewer: what stands near the hip is looked at."""
_QUICK = {"pelvis": 2.2, "thigh": 1.6}
"""By how much the grid is coarser where bones are wanted at once."""
SLOWEST = ("trunk", "pelvis", "skull", "thigh", "frame")
"""Groups worth starting first when they are built side by side."""


@dataclass(frozen=True)
class Figure:
    """Everything solid that a picture may show.

    ``shapes``: id -> shape, in its link's frame. Ids are "left thigh/femur", "pelvis/sacrum". ``muscles``: name -> body
    of one hip.
    """

    shapes: dict[str, Shape]
    shell: Shell
    clothed: Clothed | None = None
    """The person in clothes, where a picture shows one."""
    muscles: dict[str, MuscleMesh] = field(default_factory=dict)
    skins: dict[tuple[str, str], Shell] = field(default_factory=dict)
    """The shell in pieces, (group, side) -> piece, where a page chooses among them."""
    hatching: dict[str, Array] = field(default_factory=dict)
    """Side -> lines (S, 2, 3) on the bare floor of that hip bone's socket, in the pelvis."""


def belongs(key: str, shape: Shape, aids: Mapping[str, str]) -> bool:
    """True for shapes that a figure with these aids shows; ``aids``: as in a plan, side -> what is held there."""
    group = key.split("/", maxsplit=1)[0].rsplit(maxsplit=1)[-1]
    if group in AID_GROUPS.values():
        return AID_GROUPS.get(aids.get(shape.side, "")) == group
    if group in ("hand", "hand_grip"):
        return (shape.side in aids) == (group == "hand_grip")
    return True


def build_figure(
    body: Body, progress: Progress | None = None, aids: Mapping[str, str] | None = None, detail: str = "full",
    dress: str = "anatomy", flesh: str = "",
) -> Figure:  # fmt: skip
    """All surfaces of one person (first of the batch), from the cache where possible.

    Parameters
    ----------
    progress : called with (what, done, of) after each group.
    aids : side -> what that hand holds; groups nobody holds are left out. None for every group.
    detail : level of detail, a name in :data:`DETAILS`. dress : "patient" for a person in clothes as well.
    flesh : side whose hip muscles are wanted, "" for none.
    """
    shapes: dict[str, Shape] = {}
    held = {AID_GROUPS[a] for a in aids.values()} if aids is not None else set(GROUPS)
    idle = set(AID_GROUPS.values()) | {"hand_grip"}
    groups = [g for g in GROUPS if g not in idle or g in held or (g == "hand_grip" and held - {"backpack"})]
    total = len(groups) + 1 + bool(flesh)
    for done, (name, found) in enumerate(_all_groups(groups, body, detail)):
        for shape in found:
            shapes[identity(name, shape)] = shape
        if progress:
            progress(name, done + 1, total)
    shell = build_shell(body, aids)
    if progress:
        progress("body", len(groups) + 1, total)
    muscles = build_muscles(body, flesh, _bones_of_hip(body)) if flesh else {}
    if flesh and progress:
        progress("muscles", total, total)
    clothed = build_clothed(body, aids or {}) if dress == "patient" else None
    shapes, hatching = with_bare_floors(shapes)
    return Figure(shapes, shell, clothed, muscles, hatching=hatching)


def _bones_of_hip(body: Body) -> list[Shape]:
    """What hip muscles lie on, in full detail whatever is drawn: both must fit each other in every picture."""
    return [*_bones("pelvis", body, "full"), *_bones("thigh", body, "full")]


@dataclass(frozen=True)
class PlacedShape:
    """A shape of the neutral stance: its key, and the frame (4, 4) of the link that carries it."""

    key: str
    shape: Shape
    frame: Array

    def points(self) -> Array:
        """Vertices in the world, (V, 3) m."""
        return np.asarray(self.shape.surface.points @ self.frame[:3, :3].T + self.frame[:3, 3])


def placed_shapes(
    body: Body, wanted: Callable[[str, str], bool], progress: Progress | None = None
) -> list[PlacedShape]:
    """The wanted shapes of one person (first of the batch) in a neutral stance, arms a little away.

    Parameters
    ----------
    wanted : called with a shape's key and side. Aids stand at the origin.
    """
    frames = neutral_frames(body)
    out = []
    sides = (LEFT, RIGHT, "middle")
    names = {g: read_toml(BONES, f"{g}.toml")["bone"] for g in GROUPS}
    groups = [g for g in GROUPS if any(wanted(f"{g}/{b}", s) for b in names[g] for s in sides)]
    for done, (group, shapes) in enumerate(_all_groups(groups, body, "full")):
        if progress:
            progress(group, done + 1, len(groups))
        for shape in shapes:
            key = identity(group, shape)
            if wanted(key, shape.side):
                out.append(PlacedShape(key, shape, _neutral_frame(group, shape, body, frames)))
    return out


def _neutral_frame(group: str, shape: Shape, body: Body, frames: Mapping[str, Array]) -> Array:
    """Where a shape stands: on its link, or as its aid is put together, at the origin."""
    table = read_toml(BONES, f"{group}.toml")
    if "rest" in table["bone"][shape.name]:
        return rest_frame(table, shape.name, make_warp(table, body, body.hip(RIGHT)).scale)
    return frames.get(shape.link_among(frames), np.eye(4))


def identity(group: str, shape: Shape) -> str:
    """The key of a shape in a figure."""
    side = "" if shape.side == "middle" else f"{shape.side} "
    return f"{side}{group}/{shape.name}"


def _all_groups(groups: list[str], body: Body, detail: str) -> Iterator[tuple[str, list[Shape]]]:
    """Each group's shapes, built side by side on all cores, the slowest first."""
    order = sorted(groups, key=lambda g: SLOWEST.index(g) if g in SLOWEST else len(SLOWEST))
    pool = ThreadPoolExecutor(os.cpu_count() or 1)
    jobs = [pool.submit(group_shapes, name, body, detail) for name in order]
    try:
        for name, job in zip(order, jobs, strict=True):
            yield name, job.result()
    finally:
        pool.shutdown(wait=False, cancel_futures=True)  # who stops does not wait for what is being built


def group_shapes(name: str, body: Body, detail: str = "full") -> list[Shape]:
    """One group's shapes, both sides, with left and right hips' own measurements; brought bones, and parts of
    replacement hips, where there are any."""
    return with_implants(name, _bones(name, body, detail), body)


def _bones(name: str, body: Body, detail: str) -> list[Shape]:
    """The same as if every hip were the person's own."""
    if body.own is not None and name in ("pelvis", "thigh"):
        return _brought(name, body, detail)
    return _both_sides(name, body, lambda hip: _one_side(name, body, hip, detail))


def quick_shapes(name: str, body: Body) -> list[Shape]:
    """A group's shapes as a film draws them, grown on a coarser grid and not kept: true measures, in a few seconds."""

    def side(hip: Hip) -> list[Shape]:
        return [_at_detail(s, DETAILS["film"]) for s in build_group(name, body, hip, _QUICK.get(name, 1.0))]

    return _both_sides(name, body, side)


def _both_sides(name: str, body: Body, one_side: Callable[[Hip], list[Shape]]) -> list[Shape]:
    right = one_side(body.hip(RIGHT))
    left = right if _same(name, body.hip(LEFT), body.hip(RIGHT)) else one_side(body.hip(LEFT))
    paired = bool(read_toml(BONES, f"{name}.toml")["group"].get("paired"))
    out = [s for s in right if s.side in ("right", "middle")]
    if paired:
        out += [Shape(s.name, s.link, LEFT, s.material, s.surface.mirrored()) for s in left]
    else:
        out += [s for s in left if s.side == LEFT]
    return [_to_length(s, body) for s in out]


def _to_length(shape: Shape, body: Body) -> Shape:
    """A shin as long as this leg's: shorter along its own axis where the leg is."""
    part = 1.0 - float(body.hip(shape.side).shortening[0] / lengths(body).shank[0]) if shape.link == "shank" else 1.0
    return shape if part == 1.0 else replace(shape, surface=shape.surface.stretched(part))


def _brought(name: str, body: Body, detail: str) -> list[Shape]:
    about: dict[str, Any] = {"group": name, "mesher": cache.MESHER, "own": body.own.digest if body.own else ""}
    key = hashlib.sha256(f"{json.dumps(about, sort_keys=True)} {detail}".encode()).hexdigest()[:24]

    def build() -> list[Shape]:
        made = [_at_detail(s, DETAILS[detail]) for s in own_shapes(name, body)]
        cache.store(key, made, about | {"detail": detail})
        return made

    return cache.found_or_built(key, build)


def _one_side(name: str, body: Body, hip: Hip, detail: str) -> list[Shape]:
    about = _about(name, body, hip)
    keys = {d: hashlib.sha256(f"{json.dumps(about, sort_keys=True)} {d}".encode()).hexdigest()[:24] for d in DETAILS}

    def build() -> list[Shape]:
        full = build_group(name, body, hip)
        levels = {d: [_at_detail(s, share) for s in full] for d, share in DETAILS.items()}
        for level, shapes in levels.items():
            cache.store(keys[level], shapes, {k: v for k, v in about.items() if k != "table"} | {"detail": level})
        return levels[detail]

    return cache.found_or_built(keys[detail], build, lock=keys["full"])


def _at_detail(shape: Shape, share: float) -> Shape:
    """The socket's cartilage keeps its triangles: they carry the pressure colours."""
    if shape.name == "lunate" or share == 1.0:
        return shape
    return replace(shape, surface=lighter(shape.surface, share * _FINER.get(shape.name, 1.0)))


def _about(name: str, body: Body, hip: Hip) -> dict[str, Any]:
    """Everything that shapes a group, and nothing else: its table, its measures, the mesher's version."""
    text = resources.files(BONES).joinpath(f"{name}.toml").read_bytes()
    shaped = name in ("pelvis", "thigh", "trunk")
    for table in ("geometry.toml", "lengths.toml", *(("drawn.toml", "socket.toml") if shaped else ())):
        text += resources.files("viz3d.body.tables").joinpath(table).read_bytes()
    about: dict[str, Any] = {
        "group": name,
        "mesher": cache.MESHER,
        "table": hashlib.sha256(text).hexdigest(),
        "sex": int(body.sex[0]),
        "stature": float(body.stature[0]),
    }
    about |= {n: float(getattr(body, n)[0]) for n in OF_BODY.get(name, ())}
    about["hip"] = {n: float(getattr(hip, n).flat[0]) for n in OF_HIP.get(name, ())}
    return about


def _same(group: str, a: Hip, b: Hip) -> bool:
    return all(np.array_equal(getattr(a, name), getattr(b, name)) for name in OF_HIP.get(group, ()))
