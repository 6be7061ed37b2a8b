"""The body's form as solids: the parts of ``tables/bones/shell.toml``, placed and widened for one person.

Question answered: which solids make up this person's skin, and where do they lie in the stance it is grown in?

Parts are drawn for 1.70 m and 22 kg/m² in the frame of a link. A person's girths (:mod:`viz3d.body.girths`) widen them
level by level: the belly forward more than the back, a thigh about its own axis and outward. The stance has arms and
legs a little apart, so that no skin grows together which belongs apart. Millimetres, world axes; faces are nobody's.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.body.girths import widening
from viz3d.body.landmarks import drawn, pelvis_landmark
from viz3d.body.names import SEXES
from viz3d.body.person import Body
from viz3d.body.segments import lengths
from viz3d.shapes import fields
from viz3d.shapes.fields import Blended, Solid
from viz3d.tables import read_toml

BONES = "viz3d.body.tables.bones"
MIDDLE = ("pelvis", "trunk", "head")
_BACK = -40.0
"""Depth of the torso that stays in place when it widens, mm forward of the hips: close to the spine."""
_DEEPER, _BROADER = 1.45, 0.62
"""How depth and breadth of the torso share a widening: circumference grows as their mean does."""
_OUTWARD = 0.5
"""Share of a thigh's widening that goes outward: what lies between the thighs has no room."""


@dataclass(frozen=True)
class Stations:
    """Widening along a limb or the torso: heights (mm, rising) and factors (depth, breadth) there."""

    height: Array
    depth: Array
    breadth: Array

    def at(self, y: Array) -> tuple[Array, Array]:
        """Depth and breadth factors at heights."""
        return np.interp(y, self.height, self.depth), np.interp(y, self.height, self.breadth)


def neutral_frames(body: Body, short: bool = True, apart: float = 0.0) -> dict[str, Array]:
    """Link frames of a level two-legged stance with the arms a little away, (4, 4) each.

    ``short``: with the foot of a shorter leg off the floor; else both legs as long as stature says. ``apart``: how far
    each leg is turned outward, rad; the feet stay level.
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
        y, z = float(size.hip[0]), sign * half
        foot = short * float(body.hip(side).shortening[0])
        for name, long in (("thigh", size.thigh), ("shank", size.shank), ("foot", None)):
            put(f"{side}_{name}", 0, y + (foot if long is None else 0.0), z, 0.0 if long is None else sign * apart)
            if long is not None:
                y, z = y - float(long[0]) * np.cos(apart), z + sign * float(long[0]) * np.sin(apart)
        at[f"{side}_toes"] = at[f"{side}_foot"]
        y, z = float(size.shoulder[0]), sign * float(size.half_shoulder[0])
        for name, length in (("upper_arm", size.upper_arm), ("forearm", size.forearm), ("hand", size.hand)):
            put(f"{side}_{name}", 0, y, z, sign * away)
            y -= float(length[0]) * np.cos(away)
            z += sign * float(length[0]) * np.sin(away)
    return at


class Form:
    """The solids of one person (first of the batch) in the stance ``frames``, mm."""

    def __init__(self, body: Body, frames: dict[str, Array]) -> None:
        self.table = read_toml(BONES, "shell.toml")
        self.frames, self.body = frames, body
        self.scale = float(body.stature[0]) * 1e3 / self.table["drawn"]["stature"]
        self.sex = SEXES[int(body.sex[0])]
        self._stations = _stations(widening(body))

    def widened(self, kind: str) -> float:
        """Largest widening of a kind of part."""
        return float(self._stations[kind].breadth.max())

    def parts(self, wanted: Callable[[dict[str, Any]], bool], key: str = "") -> list[Blended]:
        """Solids of the wanted rows of a list in the table; the skin's by default."""
        rows = self.table[key] if key else [*self.table[self.sex], *self.table["both"]]
        out: list[Blended] = []
        for row in (r for r in rows if wanted(r)):
            for side, sign in _copies(row):
                solid = self.solid(row, side, sign)
                out.append(Blended(solid, row["k"] * self.scale, row.get("carve", False)))
        return out

    def solid(self, row: dict[str, Any], side: str, sign: float) -> Solid:
        """One row as a solid, on the link of a side."""
        link = row["at"] if row["at"] in MIDDLE else f"{side}_{row['at']}"
        frame, flip = self.frames[link], np.array([1.0, 1.0, sign])

        def placed(points: Array) -> Array:
            return np.asarray((points * flip * self.scale) @ frame[:3, :3].T + frame[:3, 3] * 1e3)

        if "half" in row:
            return fields.half_space(placed(np.array([row["half"]], dtype=float))[0], row["way"])
        if "ball" in row:
            table = self._wider(np.array([[*row["ball"], row["radii"][0], row["radii"][2]]], dtype=float), row)
            radii = np.array([table[0, 3], row["radii"][1], table[0, 4]]) * self.scale
            return fields.ellipsoid(placed(table[:, :3])[0], radii, frame[:3, :3])
        table = self._wider(np.array(row["rows"], dtype=float), row)
        flat = abs(table[-1, 0] - table[0, 0]) > abs(table[-1, 1] - table[0, 1])
        up = np.array(row.get("up", (0.0, 1.0, 0.0) if flat else (1.0, 0.0, 0.0)), dtype=float) * flip
        return fields.tube(np.column_stack([placed(table[:, :3]), table[:, 3:] * self.scale]), frame[:3, :3] @ up)

    def _wider(self, table: Array, row: dict[str, Any]) -> Array:
        """Rows (x, y, z, depth, breadth) widened as their girths ask."""
        if row["grow"] not in self._stations:
            return table
        deep, broad = self._stations[row["grow"]].at(table[:, 1])
        out = table.copy()
        back = _BACK if row["at"] == "pelvis" else 0.0
        out[:, 0] = back + (table[:, 0] - back) * deep
        out[:, 2] = table[:, 2] * broad
        if row["grow"] == "thigh":
            out[:, 2] += _OUTWARD * 80.0 * (broad - 1.0) * np.clip(1.0 + table[:, 1] / 400.0, 0.0, 1.0)
        out[:, 3] *= deep
        out[:, 4] *= broad
        return out


def _copies(row: dict[str, Any]) -> list[tuple[str, float]]:
    """Sides and signs that a row is placed with."""
    if row["at"] in MIDDLE and not row.get("sym"):
        return [("right", 1.0)]
    return [("right", 1.0), ("left", -1.0)]


def _stations(wide: dict[str, float]) -> dict[str, Stations]:
    """Where each kind of part widens by how much."""

    def torso(*levels: tuple[float, str, float]) -> Stations:
        more = np.array([(wide[name] - 1.0) * share for _, name, share in levels])
        return Stations(np.array([y for y, _, _ in levels]), 1.0 + _DEEPER * more, 1.0 + _BROADER * more)

    def limb(*levels: tuple[float, str, float]) -> Stations:
        round_ = np.array([1.0 + (wide[name] - 1.0) * share for _, name, share in levels])
        return Stations(np.array([y for y, _, _ in levels]), round_, round_)

    slim = wide["chest"] < 1.0  # a rib cage keeps the size of its bones
    chest = [(240, "chest", 0.0), (340, "chest", 0.0)] if slim else [(340, "chest", 1.0)]
    return {
        "torso": torso((10, "hip", 1.0), (175, "waist", 1.0), *chest, (500, "neck", 0.6)),
        "shoulder": limb((480, "neck", 0.8), (560, "neck", 1.0)),
        "neck": limb((480, "neck", 1.0), (625, "neck", 1.0)),
        "head": limb((0, "neck", 0.45), (70, "neck", 0.3), (100, "neck", 0.0)),
        "thigh": limb((-420, "calf", 0.9), (-210, "thigh", 1.0), (0, "thigh", 0.95)),
        "shank": limb((-395, "ankle", 1.0), (-130, "calf", 1.0), (30, "calf", 0.9)),
        "upper_arm": limb((-320, "forearm", 1.0), (-160, "upper_arm", 1.0), (0, "upper_arm", 0.5)),
        "forearm": limb((-235, "wrist", 1.0), (-60, "forearm", 1.0), (0, "forearm", 1.0)),
    }  # fmt: skip
