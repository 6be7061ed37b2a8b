"""How the drawn bones become this person's: points scaled, turned and reshaped, never the mesh.

Question answered: where does a drawn point of this bone lie in this person?
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.body.landmarks import FemurFrame, femur_frame, pelvis_frame, pelvis_landmark
from viz3d.body.person import Body, Hip
from viz3d.body.segments import lengths
from viz3d.body.socket import rim_angle, roof_angle, socket_axis, turn_beside
from viz3d.errors import TableError


@dataclass(frozen=True)
class Warp:
    """How drawn points become this person's: points (mm) by part row, and a scale for radii."""

    points: Callable[[Array, dict[str, Any]], Array]
    scale: float
    head_radius: float
    femur: FemurFrame | None = None
    cup_axis: Array | None = None
    rim: Callable[[Array], Array] | None = None
    """Angle between the socket's floor and its rim for directions (..., 3) from the head's centre, rad."""


def link_length(body: Body, name: str) -> float:
    """This person's length behind a group's ``length`` key, metres."""
    size = lengths(body)
    named = {
        "trunk": size.shoulder - size.hip - pelvis_landmark("lumbosacral", body)[:, 1],
        "head": size.vertex - size.chin,
        "upper_arm": size.upper_arm,
        "forearm": size.forearm,
        "hand": size.hand,
        "shank": size.shank,
        "foot": size.foot,
        "stature": size.vertex,
    }
    return float(named[name].flat[0])


def make_warp(group: dict[str, Any], body: Body, hip: Hip) -> Warp:
    """The warp of one group for one person (first of the batch)."""
    head = group["group"]
    radius = float(hip.head_radius.flat[0]) * 1e3
    if head["warp"] == "pelvis":
        pelvis = pelvis_frame(body)
        axis = socket_axis(hip.socket_inclination.flat[0], hip.socket_version.flat[0])
        edge = float(hip.centre_edge_angle.flat[0])
        roof = float(roof_angle(axis, edge))
        size = float(pelvis.size[0]) * 1e3
        return Warp(
            lambda p, _: pelvis.place(p)[0] * 1e3, size, radius, cup_axis=axis,
            rim=lambda way: rim_angle(roof, turn_beside(way, axis, edge)),
        )  # fmt: skip
    if head["warp"] == "femur":
        frame = femur_frame(body, hip)

        def points(drawn: Array, row: dict[str, Any]) -> Array:
            return np.asarray(frame.to_thigh(drawn, row["name"], row.get("frame", "shaft"))[0] * 1e3)

        return Warp(points, float(frame.scale[0]) * 1e3, radius, frame)
    if head["warp"] == "length":
        scale = link_length(body, head["length"]) * 1e3 / head["drawn"]
        if "shoulder" in head:
            inward = head["shoulder"][2] - float(lengths(body).half_shoulder.flat[0]) * 1e3 / scale
            return Warp(lambda p, row: _girdled(p, row.get("bone", ""), inward, head) * scale, scale, radius)
        return Warp(lambda p, _: p * scale, scale, radius)
    raise TableError(f"unknown warp {head['warp']!r}; allowed: pelvis, femur, length")


def _girdled(points: Array, bone: str, inward: float, head: dict[str, Any]) -> Array:
    """Drawn points (P, 3) of the trunk, right side, with the shoulder joint ``inward`` mm closer to the midline.

    The shoulder blade moves as one piece and turns about its joint, so that its inner border stays on the ribs as they
    curve backward; the collar bone shortens towards its inner end. Everything else keeps its place.
    """
    out = points.copy()
    if bone == "scapula":
        joint, turn = np.array(head["shoulder"]), head["blade_turn"] * inward
        c, s = np.cos(turn), np.sin(turn)
        away = points - joint
        out[:, 0] = joint[0] + c * away[:, 0] + s * away[:, 2]
        out[:, 2] = joint[2] - inward - s * away[:, 0] + c * away[:, 2]
    elif bone == "clavicle":
        inner, outer = head["sternal_end"], head["shoulder"][2]
        out[:, 2] = inner + (points[:, 2] - inner) * (outer - inward - inner) / (outer - inner)
    return out


def row_centre(row: dict[str, Any], warp: Warp) -> Array:
    """A row's centre ``c`` in this person's link frame, (3,) mm."""
    return np.asarray(warp.points(np.array([row["c"]], dtype=float), row)[0])


def row_radius(row: dict[str, Any], warp: Warp, key: str = "r") -> float:
    """A row's radius, mm: scaled with the bone, or the head's own plus ``key``_add."""
    if f"{key}_add" in row:
        return warp.head_radius + float(row[f"{key}_add"])
    return float(row[key]) * warp.scale
