"""A replacement hip in its bones: cup, liner, head and stem, the femur sawn off and opened in front of the stem.

Question answered: what does a replaced hip look like, with these measures and this choice of stem, neck and cup?

Sizes follow the hip: the cup fills the bony socket about the hip's centre, wherever a choice has moved it; the head is
the largest usual one that leaves the liner its thickness; the neck runs from the stem to the head's centre, so that
offset and neck length show. For teaching: shapes after what is usual (``tables/implant.toml``). Left out: reaming, fit,
screws, and brought bones, which stay as they are. Right side built, left mirrored; metres in the link's frame.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from viz3d.arrays import Array
from viz3d.body.landmarks import FemurFrame, femur_frame
from viz3d.body.muscle_bodies import hip_centre
from viz3d.body.names import RIGHT
from viz3d.body.person import Body, Hip
from viz3d.body.socket import socket_axis
from viz3d.shapes import cache, fields
from viz3d.shapes.build import Shape
from viz3d.shapes.fields import Blended, Solid
from viz3d.shapes.finish import finish
from viz3d.shapes.surface import Surface, Triangles, extract
from viz3d.tables import read_toml

PARTS = {"cup": "metal", "liner": "plastic", "head": "ceramic", "stem": "metal"}
"""Parts of a replacement hip -> what they are made of."""
_STEP = {"cup": 0.8, "liner": 0.7, "head": 0.8, "stem": 0.9}
_TRIANGLES = {"cup": 3000, "liner": 2600, "head": 2600, "stem": 3200}
_INSIDE = 0.86
"""How bright sawn bone is against its outside."""


@lru_cache(maxsize=1)
def _of() -> dict[str, Any]:
    return read_toml("viz3d.body.tables", "implant.toml")


def with_implants(group: str, shapes: list[Shape], body: Body) -> list[Shape]:
    """A group's shapes with the replaced hips' parts in place of cartilage and sawn bone."""
    sides = [s for s in ("left", "right") if group in ("pelvis", "thigh") and replaced(body, s)]
    for side in sides:
        hip = body.hip(side)
        own = [s for s in shapes if s.side == side]
        rest = [s for s in shapes if s.side != side]
        turned = [_facing(s, side) for s in own]
        made = _in_pelvis(turned, body, hip) if group == "pelvis" else _in_femur(turned, body, hip)
        shapes = [*rest, *(_facing(replace(s, side=side), side) for s in made)]
    return shapes


def replaced(body: Body, side: str) -> bool:
    """True where a person's hip is a replacement on paper (first of the batch)."""
    return body.own is None and bool(np.atleast_1d(body.hip(side).replaced)[0])


def _facing(shape: Shape, side: str) -> Shape:
    """A left shape as a right one, and back."""
    return shape if side == RIGHT else replace(shape, surface=shape.surface.mirrored())


def head_radius(hip: Hip) -> float:
    """Radius of the drawn head, mm."""
    of = _of()
    room = 1e3 * float(hip.head_radius.flat[0]) + of["cup_gap"] - of["shell"] - of["liner"]
    return float(max((d / 2 for d in of["heads"] if d / 2 <= room), default=min(of["heads"]) / 2))


def _in_pelvis(shapes: list[Shape], body: Body, hip: Hip) -> list[Shape]:
    of, centre = _of(), 1e3 * hip_centre(body, hip)
    axis = socket_axis(hip.socket_inclination.flat[0], hip.socket_version.flat[0])
    outer, head = 1e3 * float(hip.head_radius.flat[0]) + of["cup_gap"], head_radius(hip)
    inner, mouth = outer - of["shell"], centre - of["shallow"] * axis
    parts = {
        "cup": [_ball(centre, outer), _ball(centre, inner, True), _beyond(mouth, axis)],
        "liner": [_ball(centre, inner), _ball(centre, head + 0.3, True), _beyond(mouth + of["lip"] * axis, axis)],
    }
    return [*(s for s in shapes if s.name != "lunate"), *(_part(name, "pelvis", p) for name, p in parts.items())]


def _in_femur(shapes: list[Shape], body: Body, hip: Hip) -> list[Shape]:
    of, frame = _of(), femur_frame(body, hip)
    scale = 1e3 * float(frame.scale[0])

    def tube(rows: Array, blend: float) -> Blended:
        points = _placed(frame, rows[:, :3])
        up = frame.axes[0] @ np.array([1.0, 0.0, 0.0])
        return Blended(fields.tube(np.column_stack([points, rows[:, 3:] * scale]), up), blend)

    stem, neck = np.array(of["stem"], dtype=float), np.array(of["neck"], dtype=float)
    way = 1e3 * frame.head[0] / scale
    parts = {
        "stem": [tube(stem, 4.0), tube(np.column_stack([neck[:, :1] * way, neck[:, 1], neck[:, 1]]), of["neck_blend"])],
        "head": [_ball(np.zeros(3), head_radius(hip))],
    }
    bones = [_sawn(s, frame) if s.name == "femur" else s for s in shapes if s.name != "head_cartilage"]
    return [*bones, *(_part(name, "thigh", p) for name, p in parts.items())]


def _placed(frame: FemurFrame, points: Array) -> Array:
    """Points (P, 3) of the drawn shaft frame in the thigh frame, mm."""
    return np.asarray(1e3 * frame.to_thigh(points, "stem")[0])


def _ball(centre: Array, radius: float, carve: bool = False) -> Blended:
    return Blended(fields.ball(centre, radius), 0.4, carve)


def _beyond(point: Array, axis: Array) -> Blended:
    """What lies beyond a plane square to a cup's axis, to be carved away."""
    return Blended(fields.half_space(point, axis), 0.4, True)


def _part(name: str, link: str, parts: list[Blended]) -> Shape:
    """One part as a surface, from the cache or built."""
    first = next(p.solid for p in parts if not p.carve)
    seen = np.random.default_rng(3).uniform(-60.0, 60.0, (160, 3)) + (first.low + first.high) / 2
    digest = hashlib.sha256(f"implant {name} {cache.MESHER} {_STEP[name]} {_TRIANGLES[name]}".encode())
    digest.update(np.round(np.concatenate([first.low, first.high]), 4).astype(np.float32).tobytes())
    for part in parts:
        digest.update(np.round(_values(part.solid, seen), 4).astype(np.float32).tobytes())

    def build() -> list[Shape]:
        surface = finish(*extract(parts, _STEP[name], "largest"), _TRIANGLES[name])
        made = [Shape(name, link, RIGHT, PARTS[name], surface)]
        cache.store(key, made, {"group": "implant"})
        return made

    key = digest.hexdigest()[:24]
    return cache.found_or_built(key, build)[0]


def _values(solid: Solid, points: Array) -> Array:
    return solid.distance(points)


def _sawn(femur: Shape, frame: FemurFrame) -> Shape:
    """A femur without its head, and open in front of the stem; sawn faces are flat."""
    from manifold3d import Manifold, Mesh

    of, surface = _of(), femur.surface
    neck = 1e3 * frame.head[0] / (1e3 * float(frame.scale[0]))
    along = neck / np.linalg.norm(neck)
    off = _block(along, of["sawn"] * float(np.linalg.norm(neck)))
    window = _window(of["window_half"], of["window_low"])
    solid = Manifold(Mesh(surface.points.astype(np.float32), surface.triangles.astype(np.uint32))).as_original()
    bone = solid.original_id()
    for corners in (off, window):
        solid -= Manifold.hull_points((1e-3 * _placed(frame, corners)).astype(np.float32))
    mesh = solid.to_mesh()
    points, triangles = np.array(mesh.vert_properties[:, :3], dtype=float), np.array(mesh.tri_verts, dtype=np.int32)
    counts = np.diff(np.array(mesh.run_index, dtype=int)) // 3
    new = np.repeat(np.array(mesh.run_original_id) != bone, counts)
    return replace(femur, surface=_with_flat_faces(points, triangles, new, surface))


def _block(along: Array, start: float) -> Array:
    """Corners (8, 3) of a block round the neck and head that begins ``start`` mm along the neck."""
    aside = np.cross(along, [1.0, 0.0, 0.0])
    aside /= np.linalg.norm(aside)
    across = np.cross(along, aside)
    return np.array([
        along * far + aside * a + across * b
        for far in (start, start + 75.0) for a in (-34.0, 34.0) for b in (-42.0, 42.0)
    ])  # fmt: skip


def _window(half: float, low: float) -> Array:
    """Corners of the opening before the stem: from its middle plane forward, beside the trochanter, rounded below."""
    turn = np.linspace(0.0, np.pi, 15)
    outline = [
        (40.0, 2.0),
        (40.0, -half),
        *((low + half - half * np.sin(t), -half * np.cos(t)) for t in turn),
        (-16.0, half),
    ]
    return np.array([(x, y, z) for x in (0.5, 45.0) for y, z in outline])


def _with_flat_faces(points: Array, triangles: Triangles, new: NDArray[np.bool_], before: Surface) -> Surface:
    """A carved surface: what is left keeps its normals and tones, new faces are flat and a little darker."""
    nearest = cKDTree(before.points).query(points)[1]
    a, b, c = (points[triangles[:, k]] for k in range(3))
    flat = np.cross(b - a, c - a)
    size = np.linalg.norm(flat, axis=1)
    flat /= np.maximum(size, 1e-12)[:, None]
    old = triangles[~new]
    used, at = np.unique(old, return_inverse=True)
    corners = triangles[new].reshape(-1)
    faces = np.concatenate([at.reshape(-1, 3), len(used) + np.arange(len(corners)).reshape(-1, 3)])
    shade = np.concatenate([before.shade[nearest[used]], np.full(len(corners), _INSIDE)])
    warm = np.zeros(len(points)) if before.warm is None else before.warm[nearest]
    return Surface(
        np.concatenate([points[used], points[corners]]),
        faces.astype(np.int32),
        np.concatenate([before.normals[nearest[used]], np.repeat(flat[new], 3, axis=0)]),
        shade,
        np.concatenate([warm[used], np.full(len(corners), 0.35)]),
    )
