"""Bones brought in: a known person's bones, moved and turned, come back with that person's measures; bad ones do not."""

from __future__ import annotations

import random
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from tests.cli.killed import Place, check_kill
from viz3d.body.landmarks import femur_landmark, pelvis_landmark
from viz3d.body.own import read_own
from viz3d.body.person import Body, make_body
from viz3d.body.segments import lengths
from viz3d.errors import InputError, MeshError
from viz3d.shapes.build import build_bone
from viz3d.shapes.intake import bring
from viz3d.shapes.meshfile import MOST_TRIANGLES
from viz3d.shapes.order import EXAMPLE
from viz3d.shapes.surface import Surface

ASKED = {
    "offset": 0.046, "neck_shaft_angle": np.radians(131), "version": np.radians(20), "head_radius": 0.0230,
    "centre_edge_angle": np.radians(27), "socket_inclination": np.radians(43), "socket_version": np.radians(15),
    "trochanter_height": 0.004,
}  # fmt: skip
FLIP = np.array([1.0, 1.0, -1.0])


@pytest.fixture(scope="module")
def person() -> Body:
    return make_body("female", 64.0, 1.66, hip_spacing=0.168, pelvic_width=0.240, left=ASKED, right=ASKED)


@pytest.fixture(scope="module")
def bones(person: Body) -> dict[str, trimesh.Trimesh]:
    """The person's pelvis, three closed pieces, with a bony socket as scanners see it; and the right femur."""

    def mesh(surface: Surface) -> trimesh.Trimesh:
        return trimesh.Trimesh(surface.points, surface.triangles, process=False)

    hip = build_bone("pelvis", "hip", person, person.right, 1.6)
    parts = [mesh(hip), mesh(hip.mirrored()), mesh(build_bone("pelvis", "sacrum", person, person.right, 2.5))]
    return {
        "pelvis": trimesh.util.concatenate(parts),
        "femur": mesh(build_bone("thigh", "femur", person, person.right, 1.6)),
    }


def given_points(body: Body) -> dict[str, dict[str, np.ndarray]]:
    spine, tubercle = (pelvis_landmark(n, body)[0] for n in ("anterior_spine", "pubic_tubercle"))
    thigh = lengths(body).thigh[0]
    return {
        "pelvis": {
            "right_anterior_spine": spine, "left_anterior_spine": spine * FLIP, "right_pubic_tubercle": tubercle,
            "left_pubic_tubercle": tubercle * FLIP,
            "hip_centre": np.array([0.003, 0.004, body.hip_spacing[0] / 2 - 0.005]),
        },
        "femur": {
            "head": np.array([0.004, -0.003, 0.005]), "knee": np.array([0.0, -thigh, 0.0]),
            "trochanter_tip": femur_landmark("trochanter_tip", body, body.right)[0],
        },
    }  # fmt: skip


Order = Callable[..., Path]


@pytest.fixture
def order(tmp_path: Path, person: Body, bones: dict[str, trimesh.Trimesh]) -> Order:
    def write(
        units: str = "mm", stated: str | None = None, side: str = "right", mirrored: bool = False, kind: str = "stl",
        change: Callable[[dict[str, trimesh.Trimesh], dict[str, Any]], None] | None = None,
    ) -> Path:  # fmt: skip
        scale = {"mm": 1e3, "cm": 1e2, "m": 1.0}[units]
        rng = np.random.default_rng(5)
        points, meshes = given_points(person), {n: m.copy() for n, m in bones.items()}
        if side == "left":
            for mesh in meshes.values():
                mesh.vertices *= FLIP
                mesh.invert()
            points = {b: {n: p * FLIP for n, p in some.items()} for b, some in points.items()}
            for name in ("anterior_spine", "pubic_tubercle"):
                one, other = (points["pelvis"][f"{s}_{name}"] for s in ("right", "left"))
                points["pelvis"][f"right_{name}"], points["pelvis"][f"left_{name}"] = other, one
        if mirrored:
            for mesh in meshes.values():
                mesh.vertices *= FLIP
                mesh.invert()
            points = {b: {n: p * FLIP for n, p in some.items()} for b, some in points.items()}
        for bone, mesh in meshes.items():
            turn = np.linalg.qr(rng.normal(size=(3, 3)))[0]
            turn *= np.sign(np.linalg.det(turn))
            shift = rng.normal(size=3) * 0.2
            mesh.vertices = (mesh.vertices @ turn.T + shift) * scale
            points[bone] = {n: (turn @ p + shift) * scale for n, p in points[bone].items()}
        if change:
            change(meshes, points)
        lines = [
            "format = 1",
            f'units = "{stated or units}"',
            f'side = "{side}"',
            f"mirrored = {str(mirrored).lower()}",
        ]
        for bone, mesh in meshes.items():
            mesh.export(tmp_path / f"{bone}.{kind}")
            lines += [f"[{bone}]", f'file = "{bone}.{kind}"']
            lines += [f"{n} = {[float(v) for v in p]}" for n, p in points[bone].items()]
        path = tmp_path / "order.toml"
        path.write_text("\n".join(lines))
        return path

    return write


@pytest.mark.parametrize(
    ("units", "side", "mirrored", "kind"),
    [("mm", "right", False, "stl"), ("m", "left", False, "ply"), ("cm", "right", True, "obj")],
)
def test_measures_come_back(
    order: Order, tmp_path: Path, person: Body, units: str, side: str, mirrored: bool, kind: str
) -> None:
    bring(order(units, side=side, mirrored=mirrored, kind=kind), tmp_path / "anna")
    own = read_own(tmp_path / "anna")
    assert own.person["hip_spacing"] == pytest.approx(0.168, abs=1e-3)
    assert own.person["pelvic_width"] == pytest.approx(0.240, abs=1e-3)
    for name in ("head_radius", "offset", "trochanter_height"):
        assert own.hips[side][name] == pytest.approx(ASKED[name], abs=1.5e-3), name
    for name in ("neck_shaft_angle", "version"):
        assert np.degrees(own.hips[side][name] - ASKED[name]) == pytest.approx(0.0, abs=1.5), name
    for name in ("socket_inclination", "socket_version", "centre_edge_angle"):  # of a blended bony rim
        assert np.degrees(own.hips[side][name] - ASKED[name]) == pytest.approx(0.0, abs=3.0), name
    assert own.points["pelvis"]["anterior_spine"] == pytest.approx(
        pelvis_landmark("anterior_spine", person)[0], abs=3e-3
    )
    report = (tmp_path / "anna" / "report.md").read_text()
    assert f"The femur is of the {side} side" in report
    assert ("were mirrored, as stated" in report) == mirrored


def test_inside_out_and_small_holes_are_mended_aloud(order: Order, tmp_path: Path) -> None:
    def spoil(meshes: dict[str, trimesh.Trimesh], _: object) -> None:
        meshes["femur"].invert()
        keep = np.ones(len(meshes["femur"].faces), dtype=bool)
        keep[[100, 4000]] = False
        meshes["femur"].update_faces(keep)

    bring(order(change=spoil), tmp_path / "anna")
    report = (tmp_path / "anna" / "report.md").read_text()
    assert "closed small holes" in report
    assert "turned a surface inside out" in report


def test_one_piece_inside_out_is_turned(order: Order, tmp_path: Path) -> None:
    def spoil(meshes: dict[str, trimesh.Trimesh], _: object) -> None:
        parts = meshes["pelvis"].split(only_watertight=False, repair=False)
        parts[1].invert()
        meshes["pelvis"] = trimesh.util.concatenate(list(parts))

    intake = bring(order(change=spoil), tmp_path / "anna")
    assert any(r.startswith("pelvis: turned") for r in intake.remarks)
    pelvis = trimesh.Trimesh(intake.pelvis.points, intake.pelvis.triangles, process=False)
    assert all(part.volume > 0 for part in pelvis.split(only_watertight=False, repair=False))


@pytest.mark.long
def test_a_mesh_of_millions_is_lightened_and_said(order: Order, tmp_path: Path) -> None:
    def refine(meshes: dict[str, trimesh.Trimesh], _: object) -> None:
        meshes["femur"] = meshes["femur"].subdivide().subdivide().subdivide()

    intake = bring(order(kind="ply", change=refine), tmp_path / "anna")
    assert len(intake.femur.triangles) <= 1.05 * MOST_TRIANGLES
    assert any("lightened from" in r for r in intake.remarks)


def swap(meshes: object, points: dict[str, dict[str, Any]]) -> None:
    p = points["pelvis"]
    for name in ("anterior_spine", "pubic_tubercle"):
        p[f"right_{name}"], p[f"left_{name}"] = p[f"left_{name}"], p[f"right_{name}"]


def cut(meshes: dict[str, trimesh.Trimesh], _: object) -> None:
    low = meshes["femur"].triangles_center[:, 0] < np.median(meshes["femur"].triangles_center[:, 0])
    meshes["femur"].update_faces(low)


def astray(meshes: object, points: dict[str, dict[str, Any]]) -> None:
    points["femur"]["trochanter_tip"] = points["femur"]["trochanter_tip"] + 20.0


def larger_head(meshes: dict[str, trimesh.Trimesh], points: dict[str, dict[str, Any]]) -> None:
    meshes["femur"].vertices *= 1.25
    points["femur"] = {n: p * 1.25 for n, p in points["femur"].items()}


def flip_femur(meshes: dict[str, trimesh.Trimesh], points: dict[str, dict[str, Any]]) -> None:
    meshes["femur"].vertices *= FLIP
    meshes["femur"].invert()
    points["femur"] = {n: p * FLIP for n, p in points["femur"].items()}


@pytest.mark.parametrize(
    ("made", "match"),
    [
        ({"units": "m", "stated": "mm"}, 'units = "m" would give 240 mm'),
        ({"units": "mm", "stated": "cm"}, 'units = "mm" would give 240 mm'),
        ({"change": swap}, "left and right are exchanged"),
        ({"change": flip_femur}, "femur: .* mirrored or of the other side"),
        ({"change": cut}, "open along"),
        ({"change": astray}, "femur.trochanter_tip: lies"),
        ({"change": larger_head}, "does not fit its socket"),
    ],
    ids=["metres", "millimetres", "exchanged", "flipped", "open", "astray", "head"],
)  # fmt: skip
def test_refusals_name_what_is_wrong_and_write_nothing(order: Order, tmp_path: Path, made: dict, match: str) -> None:
    with pytest.raises(MeshError, match=match):
        bring(order(**made), tmp_path / "anna")
    assert not (tmp_path / "anna").exists()
    assert not list(tmp_path.glob(".anna*"))


@pytest.mark.parametrize(
    ("old", "new", "match"),
    [
        ('units = "mm"', "", "units: missing; allowed: mm, cm, m"),
        ('units = "mm"', 'units = "inch"', "units: found 'inch'"),
        ("mirrored = false", "", "mirrored: missing; allowed: true, false"),
        ('side = "right"', 'side = "both"', "side: found 'both'; allowed: left, right"),
        ('file = "femur.stl"', 'file = "../femur.stl"', "allowed: a file inside the order file's folder"),
        ('file = "femur.stl"', 'file = "femur.dcm"', "allowed: .stl, .ply, .obj"),
        ("format = 1", "format = [", "is not TOML: line 2 cannot be read"),
    ],
)
def test_order_files_say_everything(order: Order, tmp_path: Path, old: str, new: str, match: str) -> None:
    path = order()
    path.write_text(path.read_text().replace(old, new))
    with pytest.raises((InputError, MeshError), match=match):
        bring(path, tmp_path / "anna")
    assert not (tmp_path / "anna").exists()


def test_the_example_is_an_order_file() -> None:
    import tomllib

    table = tomllib.loads(EXAMPLE)
    assert table["units"] == "mm"
    assert set(table["femur"]) == {"file", "head", "knee", "trochanter_tip"}


def test_a_damaged_bone_folder_is_refused(order: Order, tmp_path: Path) -> None:
    bring(order(), tmp_path / "anna")
    text = (tmp_path / "anna" / "bones.toml").read_text()
    for old, new, match in (
        ("format = 1", "format = 9", "reads 1"),
        ("hip_spacing = ", "hip_spacing = 'wide' # ", "allowed: a number"),
    ):
        (tmp_path / "anna" / "bones.toml").write_text(text.replace(old, new))
        with pytest.raises(InputError, match=match):
            read_own(tmp_path / "anna")
    (tmp_path / "anna" / "bones.toml").write_text(text)
    (tmp_path / "anna" / "femur.ply").unlink()
    with pytest.raises(InputError, match=r"femur.ply: missing"):
        read_own(tmp_path / "anna")


SCENE = """format = 1
title = "Own bones"
[person]
sex = "female"
mass = "64 kg"
stature = "1.66 m"
bones = "anna"
[model]
pressure = "horseshoe"
[posture]
stance = "left"
"""


def test_a_scene_uses_the_bones_everywhere(order: Order, tmp_path: Path, person: Body) -> None:
    """Solved with the measures, pressure on the mesh's own facets, drawn with the mesh."""
    from viz3d.errors import Viz3dError
    from viz3d.scene.reader import load_scene
    from viz3d.shapes.skeleton import group_shapes
    from viz3d.solution.inputs import body_of
    from viz3d.solution.script import solve_scene

    intake = bring(order(), tmp_path / "anna")
    (tmp_path / "scene.toml").write_text(SCENE)
    scene = load_scene(str(tmp_path / "scene.toml"))
    body = body_of(scene)
    assert body.hip_spacing[0] == pytest.approx(0.168, abs=1e-3)
    assert body.left.offset[0] == pytest.approx(intake.femur_measures.offset, abs=1e-4)
    shapes = {(s.name, s.side): s.surface for s in group_shapes("pelvis", body)}
    assert len(shapes["hip", "middle"].triangles) == len(intake.pelvis.triangles)
    assert ("sacrum", "middle") not in shapes
    solved = solve_scene(scene)
    drawn = solve_scene(load_scene(str(tmp_path / "scene.toml"), ["person.mass=128 kg"]))
    socket = solved.socket
    assert socket is not None and drawn.socket is not None
    assert socket.carried[0] and socket.residual[0] < 1e-6
    assert socket.peak[0] == pytest.approx(solved.peak_pressure[0])
    assert drawn.socket.peak[0] == pytest.approx(2 * socket.peak[0], rel=1e-6)  # twice the mass, twice the pressure
    assert 1e6 < socket.peak[0] < 5e6
    with pytest.raises(InputError, match=r"person.hip_spacing: the bone folder anna has measured it"):
        body_of(load_scene(str(tmp_path / "scene.toml"), ["person.hip_spacing=160 mm"]))
    with pytest.raises(InputError, match=r"person.left_hip.offset: the bone folder anna has measured it"):
        body_of(load_scene(str(tmp_path / "scene.toml"), ["person.left_hip.offset=50 mm"]))
    assert any("the femur is" in line and "mm" in line for line in solved.assumed)
    for elsewhere in ("../anna", "/etc", "nobody"):
        with pytest.raises(
            Viz3dError, match=r"person.bones: found .* allowed: a bone folder inside the scene file's folder"
        ):
            body_of(load_scene(str(tmp_path / "scene.toml"), [f"person.bones={elsewhere}"]))


@pytest.mark.long
@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="watches processes as Linux tells them")
def test_bringing_that_is_killed_leaves_nothing(order: Order, tmp_path: Path) -> None:
    place, command = Place(tmp_path / "place", None), ("bring", str(order()), "--out", "out/mine")
    whole, dice = place.ran(command), random.Random(4)
    assert len(whole) == 4
    ended = [check_kill(place, command, whole, place.ticks, dice) for _ in range(12)]
    assert set(ended) - {"done"}
