"""The body's outline as one closed surface that follows the pose.

Question answered: where is the skin, roughly, so that posture can be read?

One smooth solid from the tubes of ``tables/bones/shell.toml``, built in a neutral stance (arms a little
away), each vertex bound to the links near it (linear blend skinning), so that it bends without tearing.
Girth follows the square root of mass over stature squared. Left out: faces, hair, clothing, soft tissue
that moves. Frames and units as the bones'.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from dataclasses import dataclass
from importlib import resources
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.body.landmarks import drawn, pelvis_landmark
from viz3d.body.names import LEFT, RIGHT, SEXES
from viz3d.body.person import Body
from viz3d.body.segments import lengths
from viz3d.shapes import cache, fields
from viz3d.shapes.build import BONES, Shape
from viz3d.shapes.fields import Blended, Solid
from viz3d.shapes.surface import Surface, Triangles, extract, neighbour_mean, simplified, smooth, vertex_normals
from viz3d.tables import read_toml

SIDES = (LEFT, RIGHT)
MIDDLE = ("pelvis", "trunk", "head")
_GRID = 7.0
_BLEND = 22.0
_BIND_ROUNDS = 16
"""Rounds of smoothing of the weights along the surface, so that no edge is torn between two links."""
_BIND = 14.0
"""Distance over which a vertex passes from one link to the next, mm."""


@dataclass(frozen=True)
class Shell:
    """Skinned surface: rest points (V, 3) m in the neutral stance, link names, weights (V, L)."""

    points: Array
    normals: Array
    triangles: Triangles
    links: tuple[str, ...]
    weights: Array
    rest: Array
    """(L, 4, 4): each link's frame in the neutral stance."""

    def posed(self, frames: dict[str, Array], index: int) -> tuple[Array, Array]:
        """Points and unit normals, (V, 3) each, for one situation of posed link frames."""
        moves = np.stack([frames[n][index] @ np.linalg.inv(r) for n, r in zip(self.links, self.rest, strict=True)])
        blended = np.tensordot(self.weights, moves[:, :3, :], axes=1)
        turn = blended[:, :, :3]
        points = np.einsum("vij,vj->vi", turn, self.points) + blended[:, :, 3]
        normals = np.einsum("vij,vj->vi", turn, self.normals)
        return points, normals / np.linalg.norm(normals, axis=1, keepdims=True)


def build_shell(body: Body) -> Shell:
    """The shell of one person (first of the batch), from cache or built."""
    table = resources.files(BONES).joinpath("shell.toml").read_bytes()
    about: dict[str, Any] = {
        "group": "shell",
        "mesher": cache.MESHER,
        "table": hashlib.sha256(table).hexdigest(),
        "sex": int(body.sex[0]),
        "stature": float(body.stature[0]),
        "mass": float(body.mass[0]),
        "hip_spacing": float(body.hip_spacing[0]),
        "arm_away": drawn()["arm_away"],
    }
    key = hashlib.sha256(json.dumps(about, sort_keys=True).encode()).hexdigest()[:24]
    parts, frames = _solids(body)
    links = tuple(frames)
    rest = np.stack([frames[n] for n in links])

    def build() -> list[Shape]:
        made = [
            Shape("shell", "body", "middle", "shell", _surface([Blended(s, _BLEND) for n in links for s in parts[n]]))
        ]
        cache.store(key, made, {k: v for k, v in about.items() if k != "table"})
        return made

    surface = cache.found_or_built(key, build)[0].surface
    size = (len(surface.points), len(links))
    weights = cache.found_or_computed(
        f"{key}-bind", size, lambda: _bound(surface, parts, links), {"group": "shell weights"}
    )
    return _to_length(Shell(surface.points, surface.normals, surface.triangles, links, weights, rest), body)


def _to_length(shell: Shell, body: Body) -> Shell:
    """The shell with shins as long as these legs': what lies below a knee comes up, the foot by all that is missing."""
    points, rest = shell.points.copy(), shell.rest.copy()
    for side in SIDES:
        missing = float(body.hip(side).shortening[0])
        if missing == 0.0:
            continue
        knee, foot = (shell.links.index(f"{side}_{name}") for name in ("shank", "foot"))
        top, low = rest[knee, 1, 3], rest[foot, 1, 3]
        mine = shell.weights[:, [shell.links.index(f"{side}_thigh"), knee, foot]].sum(axis=1)
        points[:, 1] += missing * mine * np.clip((top - points[:, 1]) / (top - low), 0.0, 1.0)
        rest[foot, 1, 3] += missing
    return dataclasses.replace(shell, points=points, rest=rest)


def _bound(surface: Surface, parts: dict[str, list[Solid]], links: tuple[str, ...]) -> Array:
    """Weights (V, L) of every link at every vertex, smoothed along the surface."""
    weights = _weights(surface.points * 1e3, parts, links)
    average = neighbour_mean(surface.triangles, len(weights))
    for _ in range(_BIND_ROUNDS):
        weights = 0.5 * (weights + average @ weights)
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))


def _surface(parts: list[Blended]) -> Surface:
    points, triangles, _ = extract(parts, _GRID)
    points = smooth(points, triangles, 10)
    light, faces = simplified(points, triangles, 0.45)
    light = smooth(light, faces, 4)
    return Surface(light * 1e-3, faces, vertex_normals(light, faces), np.ones(len(light)))


def neutral_frames(body: Body, short: bool = True) -> dict[str, Array]:
    """Link frames of a level two-legged stance with the arms a little away, (4, 4) each.

    ``short``: with the foot of a shorter leg off the floor; else both legs as long as stature says.
    """
    size, pivot = lengths(body), pelvis_landmark("lumbosacral", body)[0]
    half, away = float(body.hip_spacing[0]) / 2, np.radians(drawn()["arm_away"])
    at: dict[str, Array] = {}

    def put(name: str, x: float, y: Any, z: float, turn: float = 0.0) -> None:
        frame = np.eye(4)
        c, s = np.cos(turn), np.sin(turn)
        frame[1:3, 1:3] = [[c, s], [-s, c]]
        frame[:3, 3] = x, float(np.asarray(y).flat[0]), z
        at[name] = frame

    put("pelvis", 0, size.hip, 0)
    put("trunk", pivot[0], size.hip + pivot[1], 0)
    put("head", 0, size.chin, 0)
    for side, sign in (("right", 1.0), ("left", -1.0)):
        put(f"{side}_thigh", 0, size.hip, sign * half)
        put(f"{side}_shank", 0, size.knee, sign * half)
        put(f"{side}_foot", 0, size.ankle + short * body.hip(side).shortening[0], sign * half)
        y, z = float(size.shoulder[0]), sign * float(size.half_shoulder[0])
        for name, length in (("upper_arm", size.upper_arm), ("forearm", size.forearm), ("hand", size.hand)):
            put(f"{side}_{name}", 0, y, z, sign * away)
            y -= float(length[0]) * np.cos(away)
            z += sign * float(length[0]) * np.sin(away)
    return at


def _solids(body: Body) -> tuple[dict[str, list[Solid]], dict[str, Array]]:
    table = read_toml(BONES, "shell.toml")
    drawn = table["drawn"]
    scale = float(body.stature[0]) * 1e3 / drawn["stature"]
    girth = np.sqrt(float(body.mass[0] / body.stature[0] ** 2) / drawn["mass_per_stature_squared"])
    frames = neutral_frames(body, short=False)
    by_link = table[SEXES[int(body.sex[0])]]
    solids: dict[str, list[Solid]] = {}
    for link, frame in frames.items():
        bare = link.removeprefix("right_").removeprefix("left_")
        mirror = -1.0 if link.startswith("left_") else 1.0
        made = []
        for piece in by_link[bare]:
            both = bare in MIDDLE and ("rows" in piece and abs(piece["rows"][0][2]) > 0)
            for sign in (1.0, -1.0) if both else (mirror,):
                made.append(_tube_in(piece, frame, scale, girth if bare != "head" else 1.0, sign))
        solids[link] = made
    return solids, frames


def _tube_in(piece: dict[str, Any], frame: Array, scale: float, girth: float, sign: float) -> Solid:
    flip = np.array([1.0, 1.0, sign])
    if "ball" in piece:
        centre = frame[:3, :3] @ (np.array(piece["ball"]) * flip * scale) + frame[:3, 3] * 1e3
        return fields.ellipsoid(centre, np.array(piece["radii"]) * scale)
    rows = np.array(piece["rows"], dtype=float)
    points = (rows[:, :3] * flip * scale) @ frame[:3, :3].T + frame[:3, 3] * 1e3
    flat = abs(rows[-1, 0] - rows[0, 0]) > abs(rows[-1, 1] - rows[0, 1])
    up = (0.0, 1.0, 0.0) if flat else (1.0, 0.0, 0.0)
    return fields.tube(np.column_stack([points, rows[:, 3:] * scale * girth]), up)


def _weights(points: Array, parts: dict[str, list[Solid]], links: tuple[str, ...]) -> Array:
    distance = np.stack([np.min([s.distance(points) for s in parts[n]], axis=0) for n in links], axis=-1)
    distance -= distance.min(axis=1, keepdims=True)
    weights = np.exp(-((distance / _BIND) ** 2))
    allowed = np.ones_like(weights)
    names = np.array(links)
    nearest = names[distance.argmin(axis=1)]
    for i, name in enumerate(links):
        side = name.split("_")[0]
        across = "left_" if side == "right" else "right_"
        if side in ("left", "right"):
            allowed[:, i] = ~np.char.startswith(nearest, across)
            if name.endswith(("forearm", "hand")):
                allowed[:, i] *= ~np.isin(nearest, ("pelvis", "trunk")) & ~np.char.endswith(nearest, "thigh")
    for i, name in enumerate(links):
        limb = np.char.endswith(nearest, ("forearm",)) | np.char.endswith(nearest, ("hand",))
        if name in MIDDLE or name.endswith(("thigh", "shank", "foot")):
            allowed[:, i] *= ~limb
    weights *= allowed
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))
