"""The landmark table: named points of the bones, for this person.

Question answered: where, in this person's pelvis and thigh, are the joint centres and attachments, and how
does any point of a drawn bone move when the person's measurements differ from the drawn bone's?

The bones are drawn once, right side, in millimetres (``tables/bones``); parameters warp those points, never
the mesh. Named points (``tables/landmarks.toml``) hang on the same parts, so that the statics and the
picture use one geometry. Frames, SI, ISB axes (x forward, y up, z right):

* pelvis: origin midway between the hip centres. Height and depth go by sex; width follows the hip spacing at
  the hips and the width between the anterior spines at the wings; its form runs from a typical man's to a woman's.
* thigh: origin at the hip centre, y up along the line from knee to hip centre. Cross-sections scale with
  the head radius; the shaft with the thigh's length; head and neck follow offset, neck-shaft angle and
  version; the greater trochanter follows its height above the head centre.

Left out: asymmetry within a bone; bowing that varies between people.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import SEXES
from viz3d.body.person import Body, Hip, geometry_rows
from viz3d.body.segments import lengths
from viz3d.body.sheets import region_centre, sheet_point
from viz3d.errors import TableError
from viz3d.tables import load_values, read_toml

TROCHANTER_PARTS = (
    "gt_lateral", "gt_posterior", "gt_block", "gt_front", "gt_side", "gt_rear", "gt_vastus_ridge", "gt_below_ridge",
    "trochanteric_fossa",
)  # fmt: skip


def drawn() -> dict[str, float]:
    """The sizes that the bones are drawn with, by name; units in ``tables/drawn.toml``."""
    return load_values("viz3d.body.tables", "drawn.toml")


def bone_parts(bone: str) -> dict[str, dict[str, Any]]:
    """The parts of one bone table by name, in the order they are folded."""
    return {p["name"]: p for p in read_toml("viz3d.body.tables.bones", f"{bone}.toml")["part"]}


@dataclass(frozen=True)
class PelvisFrame:
    """How the drawn pelvis becomes this person's; every array (N,), metres per drawn millimetre.

    ``size`` scales front to back, upward and thickness; ``hips`` and ``wings`` scale across, at the hip centres and
    below, and at the anterior spines and above; ``form`` is 1 for the typical woman's pelvis, 0 for the typical man's.
    """

    size: Array
    hips: Array
    wings: Array
    form: Array

    def place(self, points: Array) -> Array:
        """Points (P, 3) of the drawn pelvis, mm, in this person's pelvis frame, (N, P, 3) metres."""
        formed = points[None] + (1.0 - self.form)[:, None, None] * _towards_male(points)[None]
        low, high = drawn()["hips_top"], drawn()["wings_bottom"]
        share = _smooth((points[:, 1] - low) / (high - low))
        across = self.hips[:, None] * (1.0 - share) + self.wings[:, None] * share
        size = np.broadcast_to(self.size[:, None], across.shape)
        return np.asarray(formed * np.stack([size, size, across], axis=-1))


def _smooth(share: Array) -> Array:
    share = np.clip(share, 0.0, 1.0)
    return np.asarray(share * share * (3.0 - 2.0 * share))


def _towards_male(points: Array) -> Array:
    """How the drawn pelvis, a woman's, moves to become a typical man's, (P, 3) mm: tuberosities and lower rami inward,
    which narrows the subpubic angle; the rear of ilium and sacrum forward and down, which narrows the notch."""
    move, of = np.zeros_like(points), drawn()
    low = _smooth((of["male.low_top"] - points[:, 1]) / of["male.low_over"])
    low = low * _smooth(np.abs(points[:, 2]) / of["male.low_aside"])
    move[:, 2] = of["male.low_move"] * low * np.sign(points[:, 2])
    rear = _smooth((of["male.rear_front"] - points[:, 0]) / of["male.rear_over"])
    move[:, 0], move[:, 1] = of["male.rear_forward"] * rear, of["male.rear_up"] * rear
    return move


def pelvis_frame(body: Body) -> PelvisFrame:
    """This person's pelvis against the drawn one; N is the largest batch among its sizes."""
    rows, of = geometry_rows(), drawn()
    tall = np.array([float(rows[f"pelvis_height.{sex}"].value) for sex in SEXES])[body.sex]
    parts = np.broadcast_arrays(tall, body.hip_spacing, body.pelvic_width, body.pelvis_form)
    height, spacing, width, form = (np.asarray(v, dtype=float) for v in parts)
    return PelvisFrame(height / of["pelvis_height"], spacing / of["hip_spacing"], width / of["pelvic_width"], form)


@dataclass(frozen=True)
class FemurFrame:
    """How the drawn femur becomes this person's; every array (N,) or (N, 3).

    ``head`` and ``knee`` are the head centre and knee centre in the shaft frame (origin where neck and
    shaft axes cross, y up along the upper shaft, right side), metres.
    """

    scale: Array
    head: Array
    knee: Array
    axes: Array
    """(N, 3, 3): rows are the thigh's x, y, z axes in the shaft frame."""
    trochanter_lift: Array
    thigh_length: Array

    def to_thigh(self, points: Array, part: str, frame: str = "shaft") -> Array:
        """Points of the drawn femur in this person's thigh frame.

        Parameters
        ----------
        points : (P, 3) millimetres of the drawn femur, in its shaft or knee frame.
        part : the part's name, since the trochanter moves as a piece.
        frame : "shaft" or "knee".

        Returns
        -------
        (N, P, 3) metres, right side, origin at the hip centre.
        """
        scaled = points[None] * self.scale[:, None, None]
        if frame == "knee":
            down = np.zeros((len(self.thigh_length), 1, 3))
            down[:, 0, 1] = -self.thigh_length
            return np.asarray(scaled + down)
        shaft, end = scaled.copy(), drawn()["proximal_end"]
        lowest = end * self.scale
        stretch = (self.knee[:, 1] - lowest) / (drawn_knee_height() - end)
        below = points[None, :, 1] < end
        stretched = lowest[:, None] + (points[None, :, 1] - end) * stretch[:, None]
        shaft[..., 1] = np.where(below, stretched, scaled[..., 1])
        if part in TROCHANTER_PARTS:
            fade = np.clip((points[:, 1] - end) / (0.0 - end), 0.0, 1.0)
            shaft[..., 1] += self.trochanter_lift[:, None] * fade
        return self.from_shaft(shaft)

    def from_shaft(self, points: Array) -> Array:
        """Points (N, P, 3) from the shaft frame to the thigh frame, metres."""
        return np.asarray(np.einsum("nij,npj->npi", self.axes, points - self.head[:, None, :]))


def drawn_knee_height() -> float:
    """Knee centre's height in the drawn shaft frame, mm (negative: below the crossing)."""
    of = drawn()
    head = of["offset"] * np.tan(np.radians(of["neck_shaft_angle"]) - np.pi / 2)
    return float(head - np.sqrt(of["thigh"] ** 2 - of["offset"] ** 2))


def femur_frame(body: Body, hip: Hip) -> FemurFrame:
    """This person's femur against the drawn one; N is the larger of body's and hip's batch."""
    length = lengths(body).thigh
    parts = np.broadcast_arrays(
        hip.head_radius, hip.offset, hip.neck_shaft_angle, hip.version, hip.trochanter_height, length
    )
    radius, offset, angle, version, height, thigh = (np.asarray(p, dtype=float) for p in parts)
    scale = radius / drawn()["head_radius"]
    rise = offset * np.tan(angle - np.pi / 2)
    head = np.stack([offset * np.sin(version), rise, -offset * np.cos(version)], axis=-1)
    knee = np.zeros_like(head)
    knee[:, 1] = rise - np.sqrt(thigh**2 - offset**2)
    up = (head - knee) / thigh[:, None]
    side = np.array([0.0, 0.0, 1.0]) - up * up[:, 2:3]
    side /= np.linalg.norm(side, axis=-1, keepdims=True)
    axes = np.stack([np.cross(up, side), up, side], axis=1)
    lift = rise + height - drawn()["trochanter_tip"] * scale
    return FemurFrame(scale, head, knee, axes, lift, thigh)


def pelvis_landmark(name: str, body: Body) -> Array:
    """A named point of the right half of the pelvis, (N, 3) metres in the pelvis frame; measured where it was."""
    if body.own is not None and name in body.own.points.get("pelvis", {}):
        return np.array([body.own.points["pelvis"][name]])
    return pelvis_frame(body).place(_drawn_point("pelvis", name)[None])[:, 0]


def region_places(name: str, body: Body, columns: int, rows: int) -> Array:
    """Places (N, columns, rows, 3) spread over a region row of the pelvis, in the pelvis frame, metres.

    Columns run from front to back, rows from the region's upper edge down to its lower one.
    """
    row = landmark_rows()["pelvis"][name]
    net = bone_parts(row["bone"])[row["part"]]["net"]
    edge = np.clip(_outline(row), 0.0, 1.0)
    v = np.linspace(edge[:, 1].min(), edge[:, 1].max(), columns + 2)[1:-1]
    low, high = np.array([_span(edge, one) for one in v]).T
    down = np.linspace(0.0, 1.0, rows)
    u = high[:, None] + (low - high)[:, None] * (0.02 + 0.9 * down)
    value, normal = sheet_point(net, np.stack([u, np.broadcast_to(v[:, None], u.shape)], axis=-1).reshape(-1, 2))
    placed = pelvis_frame(body).place(value[:, :3] + row["side"] * value[:, 3:4] * normal)
    return np.asarray(placed.reshape(len(placed), columns, rows, 3))


def _span(edge: Array, v: float) -> tuple[float, float]:
    """Lowest and highest u of a closed outline (P, 2) at this v."""
    after = np.roll(edge, -1, axis=0)
    cut = (edge[:, 1] > v) != (after[:, 1] > v)
    share = (v - edge[cut, 1]) / (after[cut, 1] - edge[cut, 1])
    u = edge[cut, 0] + share * (after[cut, 0] - edge[cut, 0])
    return float(u.min()), float(u.max())


def femur_landmark(name: str, body: Body, hip: Hip) -> Array:
    """A named point of the right femur, (N, 3) metres in the thigh frame; measured where it was."""
    if body.own is not None and name in body.own.points.get("femur", {}):
        return np.array([body.own.points["femur"][name]])
    row = landmark_rows()["femur"][name]
    frame = femur_frame(body, hip)
    part = row.get("part", "")
    near = bone_parts(row["bone"]).get(part, {}).get("frame", "shaft")
    return frame.to_thigh(_drawn_point("femur", name)[None], part, near)[:, 0]


def shank_landmark(name: str, body: Body) -> Array:
    """A named point of the right shin, calf bone or kneecap, knee straight, (N, 3) metres in the thigh frame."""
    size = lengths(body)
    point = _drawn_point("shank", name)[None] * (size.shank / drawn()["shank"])[:, None]
    point[:, 1] -= size.thigh
    return np.asarray(point)


@lru_cache
def landmark_rows() -> dict[str, dict[str, dict[str, Any]]]:
    """The landmark tables: frame, then name, then row."""
    rows: dict[str, dict[str, dict[str, Any]]] = {}
    for file in ("landmarks.toml", "bony_points.toml"):
        for frame, named in read_toml("viz3d.body.tables", file).items():
            rows.setdefault(frame, {}).update(named)
    return rows


@dataclass(frozen=True)
class NamedPoint:
    """A bony point with a word for plates: ``at`` (3,) m in its link's frame, right side; ``mesh`` carries it."""

    name: str
    link: str
    mesh: str
    at: Array

    @property
    def middle(self) -> bool:
        """True where the point lies in the midline."""
        return bool(abs(self.at[2]) < 1e-6)


def named_points(body: Body, hip: Hip) -> list[NamedPoint]:
    """Every bony point that has a word, for one person (first of the batch) and one hip."""
    out = []
    for frame, rows in landmark_rows().items():
        for name, row in rows.items():
            if "named" not in row:
                continue
            at = pelvis_landmark(name, body) if frame == "pelvis" else femur_landmark(name, body, hip)
            link = "pelvis" if frame == "pelvis" else "thigh"
            out.append(NamedPoint(name, link, row["mesh"], at[0]))
    return out


@lru_cache
def _drawn_point(frame: str, name: str) -> Array:
    """A named point in the drawn bone, (3,) millimetres."""
    try:
        row = landmark_rows()[frame][name]
    except KeyError as error:
        raise TableError(f"landmarks.toml: no {frame}.{name}") from error
    if row["on"] == "point":
        return np.array(row["xyz"], dtype=float)
    part = bone_parts(row["bone"])[row["part"]]
    outward = np.array(row.get("outward", [1.0, 0.0, 0.0]), dtype=float)
    outward /= np.linalg.norm(outward)
    if row["on"] == "ball":
        return np.asarray(np.array(part["c"], dtype=float) + part["r"] * outward)
    if row["on"] == "curve":
        points = np.array([part["pts"][r][:4] for r in row["rows"]], dtype=float)
        return np.asarray((points[:, :3] + (points[:, 3:4] + row.get("lift", 0.0)) * outward).mean(axis=0))
    net = part["net"]
    place = np.array(row["uv"], dtype=float) if row["on"] == "sheet" else _region(row, net)
    value, normal = sheet_point(net, place[None])
    return np.asarray(value[0, :3] + row["side"] * value[0, 3] * normal[0])


def _region(row: dict[str, Any], net: Any) -> Array:
    """Centroid (u, v) of the area inside the row's outline, or of one sector of it."""
    return region_centre(net, _outline(row), row.get("sector"))


def _outline(row: dict[str, Any]) -> Array:
    """The row's outline as (P, 2) places (u, v)."""
    parts = bone_parts(row["bone"])
    edge = []
    for piece in row["outline"]:
        if isinstance(piece, str):
            line = parts[piece.removeprefix("-")]["uv"]
            edge += line[::-1] if piece.startswith("-") else line
        else:
            edge += piece
    return np.array(edge, dtype=float)


def toe_hinge(foot: Array, ankle: Array) -> tuple[Array, float]:
    """Where the toes bend: the middle of their joints' line in the foot's frame, (N, 3) m, and its slant, rad.

    The line runs across the foot, its outer end that much farther back.
    """
    of = drawn()
    where = np.zeros((len(foot), 3))
    where[:, 0], where[:, 1] = of["toe_joint_ahead"] * foot, -of["toe_joint_below"] * ankle
    return where, float(np.radians(of["toe_joint_slant"]))
