"""The body's outline: closed pieces of skin that follow the pose.

Question answered: where is the skin, so that posture can be read and a person be seen?

Body, head, feet and hands are grown one by one, each on a grid of its own, from the solids of
:mod:`viz3d.shapes.body_form`; where two meet, one dives under the other where both are the same surface. Hands come
from the hand's bones and their flesh, open or gripping; flesh lies over shoulder blades and collar bones. Every vertex
is bound to the links by :mod:`viz3d.shapes.binding` (linear blend skinning). Left out: soft tissue that moves. Frames
and units as the bones'.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from importlib import resources
from typing import Any

import numpy as np
from scipy import sparse
from scipy.spatial import cKDTree

from viz3d.arrays import Array, Flags, Frames
from viz3d.body.landmarks import drawn
from viz3d.body.names import LEFT, RIGHT
from viz3d.body.person import Body
from viz3d.shapes import cache
from viz3d.shapes.binding import eased, shares
from viz3d.shapes.body_form import Form, neutral_frames
from viz3d.shapes.build import BONES, Shape, bone_solids
from viz3d.shapes.fields import Blended, Solid, fold_in_cells
from viz3d.shapes.finish import finish, simplified
from viz3d.shapes.surface import Surface, Triangles, extract
from viz3d.shapes.warp import make_warp
from viz3d.tables import read_toml

SIDES = (LEFT, RIGHT)
FORM, CLOTH = 7, 7
"""Raised whenever the rules that grow skin, or clothes over it, change what they build."""
OPEN, GRIP = "hand", "hand_grip"
"""Groups of bones that a hand's skin is grown around."""
HANDS = ((RIGHT, GRIP), (RIGHT, OPEN), (LEFT, GRIP), (LEFT, OPEN))
"""Hands that a skin may have two of on one side."""
APART = np.radians(8.0)
"""How far each leg is turned outward in the stance that skin is grown in."""
_STEPS = {"body": (6.0, 20000), "head": (2.6, 14000), "foot": (3.0, 3600), OPEN: (1.7, 5200), GRIP: (1.7, 5200)}
"""Grid (mm) and number of triangles of each piece."""
_TUCK = 2.0
"""How far a piece dives under its neighbour at its end, mm."""
_CELL = 12.0
"""Side of the cubes in which a skin's parts are asked first, mm."""


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
    hands: Array | None = None
    """(V,) of a skin that has a hand both open and gripping: 0 elsewhere, else :data:`HANDS`' place."""

    @cached_property
    def _sparse(self) -> sparse.csr_matrix:
        return sparse.csr_matrix(self.weights)

    def of_hands(self, some: Collection[tuple[str, str]]) -> Flags:
        """(T,) True for the triangles of some hands, (side, group), of a skin that has both of a side."""
        if self.hands is None:
            return np.zeros(len(self.triangles), dtype=bool)
        numbers = [1 + HANDS.index(hand) for hand in some]
        return np.asarray(np.isin(self.hands, numbers)[self.triangles].any(axis=1))

    def part(self, wanted: Flags) -> tuple[Shell, Frames]:
        """The shell of some of its triangles (T,) alone, and which vertices it keeps."""
        kept, triangles = np.unique(self.triangles[wanted], return_inverse=True)
        made = dataclasses.replace(
            self, points=self.points[kept], normals=self.normals[kept], weights=self.weights[kept], hands=None,
            triangles=triangles.reshape(-1, 3).astype(self.triangles.dtype),
        )  # fmt: skip
        return made, kept.astype(np.intp)

    def posed(self, frames: dict[str, Array], index: int, empty: Collection[str] = ()) -> tuple[Array, Array]:
        """Points and unit normals, (V, 3) each, for one situation of posed link frames.

        ``empty``: sides whose hands are open, of those that both open and grip; the other one is drawn into a point.
        """
        moves = np.stack([frames[n][index] @ np.linalg.inv(r) for n, r in zip(self.links, self.rest, strict=True)])
        blended = np.asarray(self._sparse @ moves[:, :3, :].reshape(len(moves), 12)).reshape(-1, 3, 4)
        turn = blended[:, :, :3]
        points = np.einsum("vij,vj->vi", turn, self.points) + blended[:, :, 3]
        normals = np.einsum("vij,vj->vi", turn, self.normals)
        for number, (side, group) in enumerate(HANDS, 1) if self.hands is not None else ():
            if (side in empty) != (group == OPEN):
                gone = np.flatnonzero(self.hands == number)
                points[gone] = points[gone[:1]]
        return points, normals / np.linalg.norm(normals, axis=1, keepdims=True)


def build_shell(body: Body, aids: Mapping[str, str] | None = None) -> Shell:
    """The shell of one person (first of the batch), from cache or built; ``aids``: side -> what that hand grips."""
    frames = neutral_frames(body, short=False, apart=APART)
    pieces = [skin_piece(body, "body"), skin_piece(body, "head")]
    pieces += [_on_side(skin_piece(body, "foot"), side) for side in SIDES]
    return with_hands(joined(pieces), body, frames, aids or {})[0]


def with_hands(skin: Surface, body: Body, frames: dict[str, Array], aids: Mapping[str, str]) -> tuple[Shell, Array]:
    """A skin without hands, bound, with its hands, and its shade: a bag's hand is there open as well."""
    wanted = {side: (GRIP, OPEN) if aids.get(side) == "bag" else (GRIP if side in aids else OPEN,) for side in SIDES}
    pieces = [(side, g, _on_side(skin_piece(body, g), side)) for side, groups in wanted.items() for g in groups]
    whole = joined([skin, *(piece for _, _, piece in pieces)])
    shell = bound(whole, body, frames)
    if not any(len(groups) > 1 for groups in wanted.values()):
        return shell, whole.shade
    numbers = [np.full(len(p.points), 1 + HANDS.index((s, g)) if len(wanted[s]) > 1 else 0) for s, g, p in pieces]
    hands = np.concatenate([np.zeros(len(skin.points), dtype=int), *numbers])
    return dataclasses.replace(shell, hands=hands), whole.shade


def shell_pieces(body: Body) -> dict[tuple[str, str], Shell]:
    """The shell of one person in pieces, (group, side) -> piece: each hand both open and gripping, and all the rest."""
    frames = neutral_frames(body, short=False, apart=APART)
    feet = [_on_side(skin_piece(body, "foot"), side) for side in SIDES]
    whole = joined([skin_piece(body, "body"), skin_piece(body, "head"), *feet])
    out = {("skin", "middle"): bound(whole, body, frames)}
    for group in (OPEN, GRIP):
        for side in SIDES:
            out[group, side] = bound(_on_side(skin_piece(body, group), side), body, frames)
    return out


def bound(surface: Surface, body: Body, frames: dict[str, Array]) -> Shell:
    """A surface in the neutral stance with every vertex bound to the links."""
    weights = shares(surface.points, frames, float(body.stature[0]))
    rest = np.stack(list(frames.values()))
    shell = Shell(surface.points, surface.normals, surface.triangles, tuple(frames), weights, rest)
    return _to_length(shell, body)


def without_arms(shell: Shell) -> Triangles:
    """The triangles that follow no arm."""
    arms = [k for k, link in enumerate(shell.links) if link.endswith(("_upper_arm", "_forearm", "_hand"))]
    follows = shell.weights[:, arms].sum(axis=1) > 0.5
    return np.asarray(shell.triangles[~follows[shell.triangles].any(axis=1)])


def lighter_shell(shell: Shell, shade: Array, share: float) -> tuple[Shell, Array]:
    """The same shell, and its shade, with about ``share`` of its triangles."""
    points, triangles = simplified(shell.points * 1e3, shell.triangles, 1.0 - share)
    nearest = cKDTree(shell.points).query(points * 1e-3)[1]
    made = dataclasses.replace(
        shell,
        points=points * 1e-3,
        normals=shell.normals[nearest],
        triangles=triangles,
        weights=shell.weights[nearest],
        hands=None if shell.hands is None else shell.hands[nearest],
    )
    return made, shade[nearest]


def skin_piece(body: Body, name: str) -> Surface:
    """One piece of skin in the neutral stance, right side, from cache or built."""
    about = piece_about(body, name)
    key = hashlib.sha256(json.dumps(about, sort_keys=True).encode()).hexdigest()[:24]

    def build() -> list[Shape]:
        step, count = _STEPS[name]
        made = [Shape("shell", "body", "middle", "shell", finish(*extract(skin_solids(body, name), step), count))]
        cache.store(key, made, {k: v for k, v in about.items() if k != "table"})
        return made

    return cache.found_or_built(key, build)[0].surface


def skin_solids(body: Body, name: str) -> list[Blended]:
    """The solids of one piece of skin, right side, in the neutral stance, mm."""
    frames = neutral_frames(body, short=False, apart=APART)
    form = Form(body, frames)
    if name == "body":
        ends = [(np.array([0.0, frames["head"][1, 3] * 1e3 + 26.0 * form.scale, 0.0]), np.array([0.0, -1.0, 0.0]))]
        return _whole([*form.parts(lambda r: "on" not in r), *girdle(body, form)], ends, form.scale)
    if name == "head":
        low = np.array([0.0, frames["head"][1, 3] * 1e3 - 44.0 * form.scale, 0.0])
        near = form.parts(lambda r: r.get("on") == "head" or (r["at"] == "pelvis" and "on" not in r))
        return _whole(near, [(low, np.array([0.25, 1.0, 0.0]))], form.scale)
    if name == "foot":
        parts = form.parts(lambda r: r.get("on") == "foot" or r["name"] in ("shank", "tendon_of_heel"))
        top = frames["right_foot"][:3, 3] * 1e3 + np.array([0.0, 90.0 * form.scale, 0.0])
        return _whole(_right(parts), [(top, np.array([0.0, -1.0, 0.0]))], form.scale)
    return _hand(body, form, name)


def _hand(body: Body, form: Form, group: str) -> list[Blended]:
    """A hand's bones under their flesh, its pads, and the wrist end of the forearm."""
    frame = form.frames["right_hand"]
    table = read_toml(BONES, f"{group}.toml")
    warp = make_warp(table, body, body.hip(RIGHT))
    thick = form.table["flesh"]
    parts = [b for b in form.parts(lambda r: r["name"] == "forearm") if _is_right(b.solid)]
    bones = [row for row in table["part"] if row["bone"] == "hand"]
    for row, blended in zip(bones, bone_solids(table, "hand", warp), strict=True):
        deep = next((v for k, v in thick.items() if k in row["name"]), thick["finger"]) * form.scale
        parts.append(Blended(_carried(thicker(blended.solid, deep), frame), thick["blend"] * form.scale))
    parts += _right(form.parts(lambda r: True, group))
    start = form.frames["right_forearm"]
    top = start[:3, 3] * 1e3 - start[:3, 1] * 190.0 * form.scale
    return _whole(parts, [(top, -start[:3, 1])], form.scale)


def girdle(body: Body, form: Form) -> list[Blended]:
    """Shoulder blades and collar bones under their flesh: no bone of them comes through the skin."""
    table, frame, out = read_toml(BONES, "trunk.toml"), form.frames["trunk"], list[Blended]()
    warp = make_warp(table, body, body.hip(RIGHT))
    for bone in ("scapula", "clavicle"):
        deep, blend = (form.table["flesh"][key] * form.scale for key in (bone, "girdle_blend"))
        for part in bone_solids(table, bone, warp):
            if part.lift is None and not part.carve:
                over = _carried(thicker(part.solid, deep), frame)
                out += [Blended(over, blend), Blended(_mirrored(over), blend)]
    return out


def _mirrored(solid: Solid) -> Solid:
    """A solid of the right side on the left."""
    flip = np.array([1.0, 1.0, -1.0])
    low, high = np.sort([solid.low * flip, solid.high * flip], axis=0)
    return Solid(lambda p: solid.distance(p * flip), low, high)


def thicker(solid: Solid, by: float) -> Solid:
    """A solid grown by so many mm all around."""
    return Solid(lambda p: solid.distance(p) - by, solid.low - by, solid.high + by)


def _carried(solid: Solid, frame: Array) -> Solid:
    """A solid of a link's frame in the world, mm."""
    turn, origin = frame[:3, :3], frame[:3, 3] * 1e3
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)])
    placed = (solid.low + corners * (solid.high - solid.low)) @ turn.T + origin
    return Solid(lambda p: solid.distance((p - origin) @ turn), placed.min(axis=0), placed.max(axis=0))


def _is_right(solid: Solid) -> bool:
    return float(solid.low[2] + solid.high[2]) > 0.0


def _right(parts: list[Blended]) -> list[Blended]:
    return [p for p in parts if _is_right(p.solid) or p.carve]


def _whole(parts: list[Blended], ends: list[tuple[Array, Array]], scale: float) -> list[Blended]:
    """The parts as one solid that ends at planes (point, direction kept), diving under its neighbours there."""
    solids = [p.solid for p in parts if not p.carve]
    low, high = np.min([s.low for s in solids], axis=0), np.max([s.high for s in solids], axis=0)
    planes = [(at, way / np.linalg.norm(way)) for at, way in ends]
    for at, way in planes:
        axis = int(np.abs(way).argmax())
        if way[axis] > 0:
            low[axis] = max(low[axis], at[axis] - 60.0)
        else:
            high[axis] = min(high[axis], at[axis] + 60.0)

    def distance(points: Array) -> Array:
        value = fold_in_cells(parts, points, _CELL)
        for at, way in planes:
            inside = (points - at) @ way
            value = np.maximum(value + _TUCK * (1.0 - eased(inside, 0.0, 60.0 * scale)), -inside)
        return np.asarray(value)

    return [Blended(Solid(distance, low, high), 0.0)]


def joined(surfaces: Iterable[Surface]) -> Surface:
    """Several surfaces as one; each stays closed."""
    every = list(surfaces)
    starts = np.cumsum([0, *(len(s.points) for s in every[:-1])])
    return Surface(
        np.concatenate([s.points for s in every]),
        np.concatenate([s.triangles + start for s, start in zip(every, starts, strict=True)]).astype(np.int32),
        np.concatenate([s.normals for s in every]),
        np.concatenate([s.shade for s in every]),
    )


def _on_side(surface: Surface, side: str) -> Surface:
    return surface if side == RIGHT else surface.mirrored()


def piece_about(body: Body, name: str) -> dict[str, Any]:
    """Everything that shapes a piece of skin, and nothing else."""
    text = resources.files(BONES).joinpath("shell.toml").read_bytes()
    text += resources.files("viz3d.body.tables").joinpath("girths.toml").read_bytes()
    if name in ("body", "clothed"):
        text += resources.files(BONES).joinpath("trunk.toml").read_bytes()
    if name in (OPEN, GRIP):
        text += resources.files(BONES).joinpath(f"{name}.toml").read_bytes()
    worn = {"cloth": CLOTH} if name == "clothed" else {}
    return worn | {
        "group": f"shell {name}",
        "mesher": cache.MESHER,
        "form": FORM,
        "table": hashlib.sha256(text).hexdigest(),
        "sex": int(body.sex[0]),
        "stature": float(body.stature[0]),
        "mass": float(body.mass[0]),
        "hip_spacing": float(body.hip_spacing[0]),
        "arm_away": drawn()["arm_away"],
    }


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
