"""Bringing in a person's own pelvis and femur: checked, aligned, measured, written as a bone folder.

Question answered: do these two meshes and these few points make a hip that viz3d can use, and how large is it?

Units and mirroring are stated by the person and checked against what bones can be, never guessed. Frames:

* pelvis: origin midway between the hip centres, z along them to the right; turned about z until the anterior spines
  stand over the pubic tubercles as in our drawn pelvis.
* thigh: origin at the head's centre, y up from the knee's middle, z outward along the backs of the condyles.

A left femur is stored mirrored, as a right one.
"""

from __future__ import annotations

import math
import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.atomic import scratch
from viz3d.body.landmarks import landmark_rows, pelvis_landmark
from viz3d.body.limits import limits
from viz3d.body.names import LEFT, RIGHT
from viz3d.body.own import FEMUR, FILE, FORMAT, PELVIS
from viz3d.body.person import geometry_rows, make_body
from viz3d.echo import plain
from viz3d.errors import InputError, MeshError
from viz3d.shapes.measure import FemurMeasures, SocketMeasures, measure_femur, measure_socket
from viz3d.shapes.meshfile import BroughtMesh, read_mesh
from viz3d.shapes.order import FEMUR_POINTS, PELVIS_POINTS, UNITS, mesh_file, read_order
from viz3d.shapes.surface import Surface, distance_to, vertex_normals

_FLIP = np.array([1.0, 1.0, -1.0])


@dataclass
class Intake:
    """What came of a pair of meshes: aligned surfaces, measures, and remarks for the report."""

    pelvis: Surface
    femur: Surface
    sockets: dict[str, SocketMeasures]
    femur_measures: FemurMeasures
    side: str
    pelvic_width: float
    trochanter_height: float
    thigh_length: float
    points: dict[str, dict[str, list[float]]]
    remarks: list[str] = field(default_factory=list)


def bring(order: Path, out: Path) -> Intake:
    """Read the order file, check and align the meshes, write the bone folder ``out``.

    Raises
    ------
    InputError : the order file lacks something, or ``out`` exists already.
    MeshError : a mesh or a point cannot be used; says why.
    """
    if os.path.lexists(out):
        raise InputError(f"{out}: exists already; choose another --out or move it away")
    intake, parent = take_in(order), out.parent
    try:
        parent.mkdir(parents=True, exist_ok=True)
        with scratch(parent) as place:
            new = place / "new"
            new.mkdir()
            _write(intake, new, order.name)
            new.replace(out)
    except OSError as error:
        raise InputError(f"{out}: cannot be written: {error.strerror}") from error
    return intake


def take_in(order: Path) -> Intake:
    """Check, align and measure what an order file names; nothing is written."""
    table = read_order(order)
    scale, side, flip = UNITS[table["units"]], table["side"], bool(table["mirrored"])
    remarks: list[str] = []
    meshes, points = {}, {}
    for bone, wanted in (("pelvis", PELVIS_POINTS), ("femur", FEMUR_POINTS)):
        mesh = read_mesh(mesh_file(order, table[bone]["file"], bone), pieces=bone == "pelvis")
        remarks += [f"{bone}: {r}" for r in mesh.repairs]
        meshes[bone], points[bone] = _in_metres(mesh, {n: table[bone][n] for n in wanted}, scale, flip)
    if flip:
        remarks.append("both files were mirrored, as stated")
    _check_sizes(points, table["units"])
    pelvis, sockets, named, width = _pelvis(meshes["pelvis"], points["pelvis"], side, remarks)
    femur, measures, height, tip = _femur(meshes["femur"], points["femur"], side)
    _check_fit(measures, sockets[side], height)
    return Intake(
        pelvis, femur, sockets, measures, side, width, height,
        float(np.linalg.norm(points["femur"]["knee"] - points["femur"]["head"])),
        {"pelvis": named, "femur": {"trochanter_tip": tip}}, remarks,
    )  # fmt: skip


def _in_metres(
    mesh: BroughtMesh, points: dict[str, list[float]], scale: float, flip: bool
) -> tuple[BroughtMesh, dict[str, Array]]:
    turn = np.array([-1.0 if flip else 1.0, 1.0, 1.0]) * scale
    triangles = mesh.triangles[:, ::-1].copy() if flip else mesh.triangles
    moved = BroughtMesh(mesh.points * turn, triangles, mesh.repairs)
    return moved, {n: np.array(v, dtype=float) * turn for n, v in points.items()}


def _check_sizes(points: dict[str, dict[str, Array]], units: str) -> None:
    """Refuse sizes nobody has, naming the unit that would make sense; nothing is converted."""
    pelvis, femur = points["pelvis"], points["femur"]
    for what, a, b, (low, high) in (
        (
            "between the anterior spines",
            pelvis["right_anterior_spine"],
            pelvis["left_anterior_spine"],
            limits()["brought.spine_width"],
        ),
        ("from the femoral head to the knee", femur["head"], femur["knee"], limits()["brought.femur_length"]),
    ):
        length = float(np.linalg.norm(a - b))
        if low <= length <= high:
            continue
        plain = length / UNITS[units]
        better = [u for u, s in UNITS.items() if low <= plain * s <= high]
        hint = f'; units = "{better[0]}" would give {plain * UNITS[better[0]] * 1e3:.0f} mm' if better else ""
        raise MeshError(
            f'{what}: found {length * 1e3:.4g} mm with units = "{units}"; allowed: {low * 1e3:.0f} to'
            f" {high * 1e3:.0f} mm{hint}"
        )


# ---- aligning and measuring ---------------------------------------------------------------------------


def _surface(points: Array, triangles: Any) -> Surface:
    return Surface(points, triangles, vertex_normals(points, triangles), np.ones(len(points)))


def _pelvis(
    mesh: BroughtMesh, at: dict[str, Array], side: str, remarks: list[str]
) -> tuple[Surface, dict[str, SocketMeasures], dict[str, list[float]], float]:
    """The pelvis in its own frame, its sockets, its points and its width."""
    middle, turn = _by_spines(at)
    rough = _surface((mesh.points - middle) @ turn.T, mesh.triangles)
    if float(np.median(rough.points[:, 0])) > 0.0:
        raise MeshError(
            "pelvis: the bone lies in front of its anterior spines: left and right are exchanged, or the file is"
            " mirrored; exchange the points or set mirrored = true"
        )
    local = {name: turn @ (point - middle) for name, point in at.items()}
    centres = _hip_centres(rough, local["hip_centre"], side)
    origin, frame = _by_hips(centres, local)
    final = _surface((rough.points - origin) @ frame.T, mesh.triangles)
    socket = np.array([0.0, 0.0, float(np.linalg.norm(centres[RIGHT] - centres[LEFT])) / 2])
    sockets = {RIGHT: measure_socket(final, socket), LEFT: measure_socket(final.mirrored(), socket)}
    named = {}
    for name in ("anterior_spine", "pubic_tubercle"):
        both = {s: frame @ (local[f"{s}_{name}"] - origin) for s in (RIGHT, LEFT)}
        for s, p in both.items():
            _check_on(final, p, f"pelvis.{s}_{name}")
        named[name] = [round(float(v), 5) for v in (both[RIGHT] if side == RIGHT else both[LEFT] * _FLIP)]
    width = float(np.linalg.norm(at["right_anterior_spine"] - at["left_anterior_spine"]))
    uneven = abs(2.0 * named["anterior_spine"][2] - width)
    if uneven > limits()["brought.uneven_wings"]:
        remarks.append(f"pelvis: the two wings stand unevenly about the hip centres by {uneven * 1e3:.0f} mm")
    return final, sockets, named, width


def _by_spines(at: dict[str, Array]) -> tuple[Array, Array]:
    """Origin midway between the anterior spines, and axes (rows) forward, up and right by spines and tubercles."""
    right, left = at["right_anterior_spine"], at["left_anterior_spine"]
    middle = (right + left) / 2
    across = (right - left) / np.linalg.norm(right - left)
    up = middle - (at["right_pubic_tubercle"] + at["left_pubic_tubercle"]) / 2
    up -= (up @ across) * across
    up /= np.linalg.norm(up)
    return middle, np.stack([np.cross(up, across), up, across])


def _hip_centres(surface: Surface, guess: Array, side: str) -> dict[str, Array]:
    """Both sockets' centres, from a guess of one; right is z > 0."""
    sign = 1.0 if side == RIGHT else -1.0
    if guess[2] * sign < 0.0:
        raise MeshError(f'pelvis.hip_centre: lies on the other side of the body than side = "{side}"')
    there = guess * np.array([1.0, 1.0, sign])
    return {
        RIGHT: measure_socket(surface, there).centre,
        LEFT: measure_socket(surface.mirrored(), there).centre * _FLIP,
    }


def _by_hips(centres: dict[str, Array], local: dict[str, Array]) -> tuple[Array, Array]:
    """Origin midway between the hips, and axes (rows): z along them, leaning as our drawn pelvis does."""
    axis = centres[RIGHT] - centres[LEFT]
    axis = axis / np.linalg.norm(axis)
    upward = -(local["right_pubic_tubercle"] + local["left_pubic_tubercle"]) / 2
    upward = upward - (upward @ axis) * axis
    upward /= np.linalg.norm(upward)
    lean = _reference_lean()
    up = np.cos(lean) * upward - np.sin(lean) * np.cross(upward, axis)
    return (centres[RIGHT] + centres[LEFT]) / 2, np.stack([np.cross(up, axis), up, axis])


def _reference_lean() -> float:
    """How far the spines stand in front of the tubercles in our drawn pelvis, rad."""
    body = make_body("female", 64.0, 1.66)
    away = pelvis_landmark("anterior_spine", body)[0] - pelvis_landmark("pubic_tubercle", body)[0]
    return float(np.arctan2(away[0], away[1]))


def _femur(mesh: BroughtMesh, at: dict[str, Array], side: str) -> tuple[Surface, FemurMeasures, float, list[float]]:
    """The femur in its own frame, as a right one; its measures, the trochanter's height and tip."""
    surface, points = _surface(mesh.points, mesh.triangles), dict(at)
    if side == LEFT:
        surface, points = surface.mirrored(), {n: p * _FLIP for n, p in at.items()}
    first = measure_femur(surface, points["head"], points["knee"])
    up = (first.head - points["knee"]) / np.linalg.norm(first.head - points["knee"])
    side_axis = first.condyle_axis - (first.condyle_axis @ up) * up
    side_axis /= np.linalg.norm(side_axis)
    frame = np.stack([np.cross(up, side_axis), up, side_axis])
    final = _surface((surface.points - first.head) @ frame.T, surface.triangles)
    knee = (points["knee"] - first.head) @ frame.T
    found = measure_femur(final, np.zeros(3), knee)
    _check_handed(final, knee, side)
    tip = (points["trochanter_tip"] - first.head) @ frame.T
    _check_on(final, tip, "femur.trochanter_tip")
    return final, found, float(tip @ found.shaft_axis), [round(float(v), 5) for v in tip]


def _check_handed(surface: Surface, knee: Array, side: str) -> None:
    """Refuse a femur whose condyles jut out in front: it is mirrored, or of the other side.

    The condyles reach further behind the shaft's lower part than before it; in a mirrored bone, front and back change
    places, since front is what lies forward of an outward axis and an upward one.
    """
    points, length = surface.points, float(np.linalg.norm(knee))
    shaft = points[np.abs(points[:, 1] + 0.78 * length) < 0.03 * length]
    low = points[np.abs(points[:, 1] - knee[1]) < 0.05 * length]
    middle = (shaft[:, 0].min() + shaft[:, 0].max()) / 2
    if low[:, 0].max() - middle > middle - low[:, 0].min():
        raise MeshError(
            f"femur: its condyles jut out in front for a {side} femur: the file is mirrored or of the other side; set"
            " side or mirrored"
        )


def _check_on(surface: Surface, point: Array, name: str) -> None:
    """Refuse a point that does not lie on its bone."""
    gap, most = distance_to(point, surface), limits()["brought.off_bone"]
    if gap > most:
        raise MeshError(
            f"{name}: lies {gap * 1e3:.0f} mm off the surface; allowed: up to {most * 1e3:.0f} mm. Are the"
            " points in the same coordinates as the file?"
        )


def _check_fit(femur: FemurMeasures, socket: SocketMeasures, height: float) -> None:
    """Refuse what no hip can be: a head larger than its socket, measures outside what people have."""
    if femur.head_radius > socket.radius + limits()["brought.head_in_socket"]:
        raise MeshError(
            f"the head (radius {femur.head_radius * 1e3:.1f} mm) does not fit its socket ({socket.radius * 1e3:.1f}"
            " mm): the bones are of two people, or of two sizes"
        )
    found = {
        "neck_shaft_angle": math.degrees(femur.neck_shaft_angle), "version": math.degrees(femur.version),
        "centre_edge_angle": math.degrees(socket.centre_edge_angle), "trochanter_height": height,
        "socket_inclination.male": math.degrees(socket.inclination), "socket_version": math.degrees(socket.version),
        "offset.male": femur.offset,
    }  # fmt: skip
    for name, value in found.items():
        row = geometry_rows()[name]
        low, high = row.range
        if not low <= value <= high:
            scale, unit = (1e3, "mm") if row.unit == "m" else (1.0, "deg")
            raise MeshError(
                f"{name.split('.', maxsplit=1)[0].replace('_', ' ')}: measured {value * scale:.1f} {unit}; allowed:"
                f" {low * scale:g} to {high * scale:g} {unit}; check the points"
            )


# ---- writing ------------------------------------------------------------------------------------------


def _write(intake: Intake, folder: Path, source: str) -> None:
    import trimesh

    for name, surface in ((PELVIS, intake.pelvis), (FEMUR, intake.femur)):
        mesh = trimesh.Trimesh(surface.points, surface.triangles, process=False)
        (folder / name).write_bytes(mesh.export(file_type="ply"))
    (folder / FILE).write_text(_as_toml(intake, source), encoding="utf-8")
    (folder / "report.md").write_text(report(intake), encoding="utf-8")


def _hip_rows(intake: Intake, side: str) -> dict[str, float]:
    femur, socket = intake.femur_measures, intake.sockets[side]
    return {
        "head_radius": femur.head_radius, "offset": femur.offset,
        "neck_shaft_angle": math.degrees(femur.neck_shaft_angle), "version": math.degrees(femur.version),
        "trochanter_height": intake.trochanter_height, "centre_edge_angle": math.degrees(socket.centre_edge_angle),
        "socket_inclination": math.degrees(socket.inclination), "socket_version": math.degrees(socket.version),
        "socket_radius": socket.radius,
    }  # fmt: skip


def _as_toml(intake: Intake, source: str) -> str:
    spacing = intake.sockets[RIGHT].centre[2] + intake.sockets[LEFT].centre[2]
    lines = [
        f"# Measured by 'viz3d bring' from {plain(source)}. Lengths in metres, angles in degrees; points on the right",
        "# side: pelvis from midway between the hip centres, femur from its head; x forward, y up, z to the right.",
        f"format = {FORMAT}", f'femur_side = "{intake.side}"', "", "[person]",
        f"hip_spacing = {spacing:.5f}", f"pelvic_width = {intake.pelvic_width:.5f}",
        f"thigh_length = {intake.thigh_length:.5f}",
    ]  # fmt: skip
    for side in (RIGHT, LEFT):
        lines += ["", f"[{side}_hip]", *(f"{k} = {v:.5f}" for k, v in _hip_rows(intake, side).items())]
    for frame, some in intake.points.items():
        known = [n for n in some if n in landmark_rows()[frame]]
        lines += ["", f"[points.{frame}]", *(f"{n} = {[float(v) for v in some[n]]}" for n in known)]
    return "\n".join(lines) + "\n"


def report(intake: Intake) -> str:
    """What was found and done, for people: Markdown."""
    lines = ["# Bones brought in", "", "| measure | right | left |", "| --- | --- | --- |"]
    rows = {side: _hip_rows(intake, side) for side in (RIGHT, LEFT)}
    for name in rows[RIGHT]:
        angle = name.endswith("angle") or "version" in name or "inclination" in name
        shown = [f"{rows[s][name]:.1f}°" if angle else f"{rows[s][name] * 1e3:.1f} mm" for s in (RIGHT, LEFT)]
        lines.append(f"| {name.replace('_', ' ')} | {shown[0]} | {shown[1]} |")
    other = LEFT if intake.side == RIGHT else RIGHT
    lines += [
        "", f"Between the hip centres {1e3 * 2 * intake.sockets[RIGHT].centre[2]:.1f} mm; between the anterior spines"
        f" {intake.pelvic_width * 1e3:.1f} mm; from hip to knee {intake.thigh_length * 1e3:.0f} mm.",
        f"The femur is of the {intake.side} side; the {other} one is its mirror image.",
        "Both surfaces are closed and face outward.", "", "## Repairs and remarks", "",
        *([f"* {r}" for r in intake.remarks] or ["* none"]), "",
        "Muscle attachments that were not given follow our drawn bones, shaped to these measures. For teaching: not for"
        " diagnosis, nor for planning an operation.",
    ]  # fmt: skip
    return "\n".join(lines) + "\n"
