"""The muscle set: lines in space with cross-sections, for this person.

Question answered: which muscles cross the hip, from where to where, round what, and how strong is each?

Origins are in the pelvis frame, insertions in the thigh frame (knee straight, so the shin belongs to it), right
side, metres (:mod:`viz3d.body.landmarks`). Surfaces that muscles wrap hang on the bones too. Cross-sections
(PCSA) are rows of ``tables/muscles.toml``; only their ratios matter unless a specific tension is given.
Left out: muscles that end on the trunk above the pelvis (psoas starts at the sacral ala, quadratus lumborum is
missing), short rotators other than piriformis, tendon stretch, the pull's change with length.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from viz3d.arrays import Array
from viz3d.body.landmarks import (
    femur_frame,
    femur_landmark,
    landmark_rows,
    pelvis_frame,
    pelvis_landmark,
    shank_landmark,
)
from viz3d.body.person import Body, Hip
from viz3d.tables import UNSURE, Row, load_rows, read_toml

MUSCLE_LINES = (
    "muscle_lines (derived): origins, insertions and the surfaces muscles wrap come from the drawn bones; their"
    " abduction arms are up to 1 cm shorter than the published ones of one male specimen (from memory)"
)
"""Said with every result of a muscle set: the inputs that matter most are derived ones."""
ABDUCTORS, ADDUCTORS = "abductor", "adductor"
"""Groups of lines by their main action."""
_CM2 = 1e-4


@dataclass(frozen=True)
class Line:
    """One row of the muscle table."""

    name: str
    of: str
    to: str
    group: str
    wrap: str

    @property
    def words(self) -> str:
        """The name as people write it.

        Examples
        --------
        >>> Line("gluteus_medius_anterior", "gluteus_medius", "femur", "abductor", "").words
        'gluteus medius, anterior'
        """
        part = self.name.removeprefix(self.of).strip("_").replace("_", " ")
        return self.of.replace("_", " ") + (f", {part}" if part else "")


@dataclass(frozen=True)
class WrapSurface:
    """A surface that muscles wrap, in its bone's frame: "pelvis" or "thigh"; arrays (N, ...), metres.

    Ellipsoids and spheres: ``axes`` (N, 3, 3) columns, ``radii`` (N, 3). Cylinders: the first column is the axis,
    the second the side that paths keep to; all three radii are the cylinder's.
    """

    kind: str
    frame: str
    centre: Array
    axes: Array
    radii: Array


def muscle_rows() -> dict[str, Row]:
    """Cross-sections and how muscles divide into lines."""
    return load_rows("viz3d.body.tables", "muscles.toml")


@lru_cache
def muscle_lines() -> tuple[Line, ...]:
    """The lines of the muscle set, in the order of every per-muscle axis."""
    rows = read_toml("viz3d.body.tables", "muscle_lines.toml")["line"]
    return tuple(Line(r["name"], r["of"], r["to"], r["group"], r.get("wrap", "")) for r in rows)


@lru_cache
def known_muscles() -> tuple[str, ...]:
    """Names a weakness may use: muscles, and single lines of those that have several."""
    lines = muscle_lines()
    return tuple(dict.fromkeys([*(line.of for line in lines), *(line.name for line in lines)]))


@lru_cache
def cross_sections() -> Array:
    """PCSA of every line, (K,) m²."""
    rows = muscle_rows()
    out = []
    for line in muscle_lines():
        split = rows.get(f"split.{line.name}")
        out.append(rows[f"pcsa.{line.of}"].value * (split.value if split else 1.0) * _CM2)
    return np.array(out)


def unsure_muscle_rows() -> list[Row]:
    """Rows that are from memory or assumed: said with every result that used the muscle set."""
    return [r for r in muscle_rows().values() if r.status in UNSURE]


def muscle_points(body: Body, hip: Hip) -> tuple[Array, Array]:
    """Origins in the pelvis frame and insertions in the thigh frame, each (N, K, 3) metres, right side."""
    origins = [pelvis_landmark(line.name, body) for line in muscle_lines()]
    ends = [
        femur_landmark(line.name, body, hip) if line.to == "femur" else shank_landmark(line.name, body)
        for line in muscle_lines()
    ]
    return np.stack(np.broadcast_arrays(*origins), axis=1), np.stack(np.broadcast_arrays(*ends), axis=1)


def wrap_surfaces(body: Body, hip: Hip) -> dict[str, WrapSurface]:
    """Every surface of the landmark table, for these people; right side."""
    return {name: _surface(name, body, hip) for name in landmark_rows()["wrap"]}


def _surface(name: str, body: Body, hip: Hip) -> WrapSurface:
    row = landmark_rows()["wrap"][name]
    if row["kind"] == "sphere":
        radius = hip.head_radius + row["beyond"] * 1e-3
        count = len(radius)
        return WrapSurface(
            "sphere", "thigh", np.zeros((count, 3)), np.broadcast_to(np.eye(3), (count, 3, 3)),
            np.repeat(radius[:, None], 3, axis=1),
        )  # fmt: skip
    if row["kind"] == "cylinder":
        pelvis = pelvis_frame(body)
        ends = pelvis.place(np.array([row["from"], row["to"]], dtype=float))
        axis = ends[:, 1] - ends[:, 0]
        axis /= np.linalg.norm(axis, axis=1, keepdims=True)
        side = np.array(row["side"], dtype=float)
        side = side - (axis @ side)[:, None] * axis
        side /= np.linalg.norm(side, axis=1, keepdims=True)
        axes = np.stack([axis, side, np.cross(axis, side)], axis=-1)
        return WrapSurface(
            "cylinder", "pelvis", ends.mean(axis=1), axes, np.repeat(pelvis.size[:, None] * row["radius"], 3, axis=1)
        )
    frame = femur_frame(body, hip)
    centre = frame.to_thigh(np.array([row["centre"]], dtype=float), row["part"])[:, 0]
    return WrapSurface(
        "ellipsoid", "thigh", centre, frame.axes, np.array([row["radii"]], dtype=float) * frame.scale[:, None]
    )
