"""Bones from tables: each row of ``body/tables/bones`` becomes a solid, each bone a surface.

Question answered: what do this person's bones look like, in the frame of the link that carries them?

A table file is one *group*: the bones of one link, shaded together. Parameters warp the table's points
(through :mod:`viz3d.body.landmarks`), never the mesh. Right sides are drawn; left sides are mirrored, with
the left hip's own measurements. Inside, millimetres in the link's frame; surfaces leave in metres.
"""

from __future__ import annotations

from collections.abc import Callable, Container
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.body.landmarks import FemurFrame
from viz3d.body.person import Body, Hip, geometry_rows
from viz3d.body.sheets import sheet_point
from viz3d.errors import TableError
from viz3d.shapes import fields, socket_parts
from viz3d.shapes.cap import head_cap
from viz3d.shapes.fields import Blended, Solid
from viz3d.shapes.finish import finish
from viz3d.shapes.lunate import horseshoe_patch, horseshoe_surface
from viz3d.shapes.relief import ridge
from viz3d.shapes.shadow import contact_shadow
from viz3d.shapes.socket_parts import cup_axis, rim
from viz3d.shapes.stain import dark_areas, dark_on, muscle_areas, sided, stained
from viz3d.shapes.surface import Surface, extract
from viz3d.shapes.warp import Warp, make_warp, row_centre, row_radius
from viz3d.tables import read_toml

BONES = "viz3d.body.tables.bones"


@dataclass(frozen=True)
class Shape:
    """One bone of a link. ``side`` is "left", "right" or "middle"; the surface is in the link's frame."""

    name: str
    link: str
    side: str
    material: str
    surface: Surface

    def link_among(self, links: Container[str]) -> str:
        """The link that carries it among ``links``: its own, or that of its side where there are two."""
        return self.link if self.link in links else f"{self.side}_{self.link}"


def build_group(name: str, body: Body, hip: Hip, coarser: float = 1.0) -> list[Shape]:
    """All right-hand and middle bones of one table, contact shadow baked, for one person.

    Parameters
    ----------
    name : table file without suffix, for instance "pelvis".
    body, hip : the person (first of the batch) and the hip whose side is drawn.
    coarser : by how much the mesher's grid is coarser than the table says.
    """
    group = read_toml(BONES, f"{name}.toml")
    warp = make_warp(group, body, hip)
    link = group["group"]["link"]
    shapes: list[Shape] = []
    for bone, about in group["bone"].items():
        surface = _bone_surface(group, bone, warp, coarser * about.get("step", 0.0))
        material = about.get("material", "bone")
        side = "right" if about.get("pair") or group["group"].get("paired") else "middle"
        own = about.get("link", link)
        shapes.append(Shape(bone, own, side, material, surface))
        if about.get("pair"):
            shapes.append(Shape(bone, own, "left", material, surface.mirrored()))
    coats = [k for k, s in enumerate(shapes) if group["bone"][s.name].get("made") == "cap"]
    rests = [rest_frame(group, s.name, warp.scale) for s in shapes]
    shaded = contact_shadow([_moved(s.surface, r) for s, r in zip(shapes, rests, strict=True)], coats=coats)
    return [
        replace(s, surface=_toned(replace(s.surface, shade=surface.shade), group, s, warp))
        for s, surface in zip(shapes, shaded, strict=True)
    ]


def _toned(surface: Surface, group: dict[str, Any], shape: Shape, warp: Warp) -> Surface:
    """A bone with its tones; what is not bone as it is."""
    if shape.material != "bone":
        return surface
    areas, dark = muscle_areas(group, shape.name, warp), dark_areas(group, shape.name, warp)
    return stained(surface, sided(areas, shape.side), dark_on(dark, shape.side))


def rest_frame(group: dict[str, Any], bone: str, scale: float) -> Array:
    """Where the link that carries one shape of a group stands in the group's own frame, (4, 4), m.

    The group's link itself unless the bone's ``rest`` names a place (mm) and a forward lean (degrees).
    """
    rest = group["bone"][bone].get("rest")
    frame = np.eye(4)
    if rest is not None:
        lean = np.radians(-rest["lean_deg"])
        frame[:2, :2] = [[np.cos(lean), -np.sin(lean)], [np.sin(lean), np.cos(lean)]]
        frame[:3, 3] = np.array(rest["at"]) * scale * 1e-3
    return frame


def _moved(surface: Surface, frame: Array) -> Surface:
    turn = frame[:3, :3].T
    return replace(surface, points=surface.points @ turn + frame[:3, 3], normals=surface.normals @ turn)


def build_bone(name: str, bone: str, body: Body, hip: Hip, step: float | None = None) -> Surface:
    """One right-hand or middle bone of a table, without contact shadow.

    Parameters
    ----------
    step : grid of the mesher, mm; None for the table's.
    """
    group = read_toml(BONES, f"{name}.toml")
    return _bone_surface(group, bone, make_warp(group, body, hip), step or group["bone"][bone].get("step", 0.0))


def _bone_surface(group: dict[str, Any], bone: str, warp: Warp, step: float) -> Surface:
    about = group["bone"][bone]
    if about.get("made") == "horseshoe":
        return _horseshoe(group, bone, warp)
    if about.get("made") == "cap":
        return _cap(group, bone, warp)
    return finish(*extract(bone_solids(group, bone, warp), step, about.get("keep", "largest")), about["triangles"])


def _horseshoe(group: dict[str, Any], bone: str, warp: Warp) -> Surface:
    """The one part of a bone made as a horseshoe of cartilage."""
    (row,) = (r for r in group["part"] if r["bone"] == bone)
    inner, outer = (warp.head_radius + row[k] for k in ("r_add", "r_add2"))
    width = np.radians(geometry_rows()["notch_half_width"].value)
    return horseshoe_surface(*horseshoe_patch(row_centre(row, warp), cup_axis(warp), inner, outer, rim(warp), width))


def _cap(group: dict[str, Any], bone: str, warp: Warp) -> Surface:
    """The one part of a bone made as the cartilage of a femoral head; the pit is the fovea's."""
    (row,) = (r for r in group["part"] if r["bone"] == bone)
    (pit,) = (r for r in group["part"] if r["name"] == "fovea")
    margin, hole = np.radians(row["margin_deg"]), np.radians(row["hole_deg"])
    return head_cap(warp.head_radius, _along_neck(warp), _pit(pit, warp), row["thick"], margin, hole)


def bone_solids(group: dict[str, Any], bone: str, warp: Warp) -> list[Blended]:
    """The ordered parts of one bone, templates placed, mirrored twins added."""
    rows = [r for r in group.get("part", []) if r["bone"] == bone]
    sheets = {r["name"]: r for r in rows if r["kind"] == "sheet"}
    parts: list[Blended] = []
    for place in (p for p in group.get("place", []) if p["bone"] == bone):
        parts += _placed(group["template"][place["template"]], place, warp, parts)
    for row in rows:
        twins = (row, _twin(row)) if row.get("sym") else (row,)
        parts += [_part(one, warp, sheets, parts) for one in twins]
    return parts


def _part(row: dict[str, Any], warp: Warp, sheets: dict[str, dict[str, Any]], before: list[Blended]) -> Blended:
    """One part, given those it joins."""
    if row["kind"] == "ridge":
        table = np.array(row["pts"], dtype=float)
        placed = np.column_stack([warp.points(table[:, :3], row), table[:, 3:] * warp.scale])
        return ridge(placed, before, row.get("sharp", False))
    return Blended(_solid(row, warp, sheets), row.get("k", 2.0) * warp.scale, row.get("op") == "subtract")


def _twin(row: dict[str, Any]) -> dict[str, Any]:
    """The row mirrored in the midline."""
    out = dict(row)
    for key in ("pts", "c", "n", "up", "ball"):
        if key in row:
            values = np.array(row[key], dtype=float)
            values[..., 2] *= -1.0
            out[key] = values.tolist()
    if "net" in row:
        net = np.array(row["net"], dtype=float)
        net[..., 2] *= -1.0
        out["net"] = net.tolist()
    if "lim" in row:
        low, high = np.array(row["lim"], dtype=float)
        out["lim"] = [[low[0], low[1], -high[2]], [high[0], high[1], -low[2]]]
    return out


def _placed(template: list[dict[str, Any]], place: dict[str, Any], warp: Warp, before: list[Blended]) -> list[Blended]:
    """Template parts turned about z by the tilt (forward positive), scaled and moved."""
    tilt, size = np.radians(-place.get("tilt_deg", 0.0)), place.get("scale", 1.0)
    turn = np.array([[np.cos(tilt), -np.sin(tilt), 0], [np.sin(tilt), np.cos(tilt), 0], [0, 0, 1.0]])
    centre = np.array(place["c"], dtype=float)
    parts: list[Blended] = []
    for row in template:
        for one in (row, _twin(row)) if row.get("sym") else (row,):
            moved = dict(one)
            stretch = place.get("stretch", {}).get(row["name"], 1.0)
            if "pts" in one:
                table = np.array(one["pts"], dtype=float)
                table[:, :3] = (table[:, :3] * size * stretch) @ turn.T + centre
                table[:, 3:] *= size
                moved["pts"] = table.tolist()
            if "c" in one:
                moved["c"] = (turn @ (np.array(one["c"]) * size) + centre).tolist()
            for key in ("a", "b", "h", "r"):
                if key in one:
                    moved[key] = (np.array(one[key]) * size).tolist()
            moved["up"] = (turn @ np.array(one.get("up", [0.0, 1.0, 0.0]))).tolist()
            moved["turn"] = turn.tolist()
            parts.append(_part(moved, warp, {}, before + parts))
    return parts


def _solid(row: dict[str, Any], warp: Warp, sheets: dict[str, dict[str, Any]]) -> Solid:
    makers: dict[str, Callable[[dict[str, Any], Warp], Solid]] = {
        "curve": _curve,
        "sheet": _sheet,
        "ball": _ball,
        "ellipsoid": _ellipsoid,
        "half": _half,
        "drum": _drum,
        "vbody": _drum,
        "cup": socket_parts.cup,
        "mouth": socket_parts.mouth,
        "cupcurve": socket_parts.cupcurve,
        "hollow": socket_parts.hollow,
        "neck": _neck,
        "head": _head,
        "fovea": _fovea,
    }
    if row["kind"] == "sheetcurve":
        return _sheetcurve(row, warp, sheets[row["sheet"]])
    try:
        return makers[row["kind"]](row, warp)
    except KeyError as error:
        raise TableError(f"{row.get('bone')}.{row.get('name')}: unknown or incomplete kind: {error}") from error


def _curve(row: dict[str, Any], warp: Warp) -> Solid:
    table = np.array(row["pts"], dtype=float)
    points = warp.points(table[:, :3], row)
    up = np.array(row.get("up", [0.0, 1.0, 0.0]), dtype=float)
    if warp.femur is not None and row.get("frame") != "knee":
        up = warp.femur.axes[0] @ up
    return fields.tube(np.column_stack([points, table[:, 3:] * warp.scale]), up, row.get("stiff", False))


def _sheet(row: dict[str, Any], warp: Warp) -> Solid:
    net = np.array(row["net"], dtype=float)
    points = warp.points(net[..., :3].reshape(-1, 3), row).reshape((*net.shape[:2], 3))
    return fields.sheet(np.concatenate([points, net[..., 3:] * warp.scale], axis=-1))


def _ball(row: dict[str, Any], warp: Warp) -> Solid:
    return fields.ball(row_centre(row, warp), row_radius(row, warp))


def _ellipsoid(row: dict[str, Any], warp: Warp) -> Solid:
    return fields.ellipsoid(row_centre(row, warp), np.array(row["r"]) * warp.scale, row.get("turn"))


def _half(row: dict[str, Any], warp: Warp) -> Solid:
    around = None
    if "ball" in row:
        x, y, z, r = row["ball"]
        around = fields.ball(warp.points(np.array([[x, y, z]], dtype=float), row)[0], r * warp.scale)
    low, high = (np.array(v) * warp.scale for v in row["lim"]) if "lim" in row else (None, None)
    normal = np.array(row["n"], dtype=float)
    if warp.femur is not None and row.get("frame") != "knee":
        normal = warp.femur.axes[0] @ normal
    return fields.half_space(row_centre(row, warp), normal, around, low, high)


def _drum(row: dict[str, Any], warp: Warp) -> Solid:
    s = warp.scale
    return fields.drum(
        row_centre(row, warp), row["a"] * s, row["b"] * s, row["h"] * s, row.get("waist", 0.0),
        row.get("turn"), row.get("wedge", 0.0),
    )  # fmt: skip


def _sheetcurve(row: dict[str, Any], warp: Warp, sheet: dict[str, Any]) -> Solid:
    value, normal = sheet_point(sheet["net"], row["uv"])
    lift = row.get("side", 1) * (value[:, 3:4] - row["depth"])
    points = warp.points(value[:, :3] + lift * normal, row)
    radius = np.full((len(points), 1), row["r"] * warp.scale)
    return fields.tube(np.column_stack([points, radius]))


def _femur(warp: Warp) -> FemurFrame:
    if warp.femur is None:
        raise TableError("neck, head and fovea belong to a femur")
    return warp.femur


def _neck(row: dict[str, Any], warp: Warp) -> Solid:
    frame, table = _femur(warp), np.array(row["pts"], dtype=float)
    along = table[:, :1] * frame.head[0][None] * 1e3
    points = frame.from_shaft(along[None] * 1e-3)[0] * 1e3
    return fields.tube(np.column_stack([points, table[:, 1:] * warp.scale]), frame.axes[0] @ np.array([0.0, 1.0, 0.0]))


def _head(row: dict[str, Any], warp: Warp) -> Solid:
    return fields.ball(np.zeros(3), warp.head_radius)


def _along_neck(warp: Warp) -> Array:
    frame = _femur(warp)
    return np.asarray(frame.axes[0] @ (frame.head[0] / np.linalg.norm(frame.head[0])))


def _pit(row: dict[str, Any], warp: Warp) -> Array:
    """Unit vector from the head's centre to its pit."""
    place = _along_neck(warp) + np.array(row["beside"], dtype=float)
    return np.asarray(place / np.linalg.norm(place))


def _fovea(row: dict[str, Any], warp: Warp) -> Solid:
    return fields.ball(_pit(row, warp) * (warp.head_radius + row["r_add"]), row["r"])
