"""``viz3d bones``: plates whose labels stay apart and point at bone, and mesh files that other programs can read."""

from __future__ import annotations

import dataclasses
import itertools
import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import trimesh
from PIL import Image

from tests.conftest import Ran
from viz3d.arrays import Array
from viz3d.body.landmarks import named_points
from viz3d.body.person import Body, make_body
from viz3d.errors import InputError, RenderError
from viz3d.output.export import export_bones
from viz3d.output.plate import draw_plate, drawn_angles, framing_points, labelled_points
from viz3d.shapes.skeleton import group_shapes, placed_shapes
from viz3d.shapes.surface import distance_to
from viz3d.stage.drawing import Words
from viz3d.stage.plate import Plate, plate_kind, plate_names
from viz3d.stage.plate_panels import PLATE_TOWARD, lay_out, name_width
from viz3d.words.message import Message, message
from viz3d.words.voice import USUAL

PEOPLE = {"woman": make_body("female", 64.0, 1.66), "man": make_body("male", 78.0, 1.76)}


@pytest.mark.parametrize("who", PEOPLE)
def test_named_points_lie_on_their_bone(who: str) -> None:
    body = PEOPLE[who]
    shapes = {s.name: s.surface for g in ("pelvis", "thigh") for s in group_shapes(g, body) if s.side != "left"}
    for point in named_points(body, body.right):
        gap = distance_to(point.at, shapes[point.mesh])
        assert gap < 0.003, f"{point.name}: {gap * 1000:.1f} mm off the {point.mesh}"


@pytest.mark.parametrize("name", plate_names())
def test_labels_stay_apart_and_inside(name: str, house: Body) -> None:
    kind, size = plate_kind(name), (1920, 1080)
    placed = placed_shapes(house, kind.has)
    labels = labelled_points(house, kind, placed, list(kind.views))
    points = framing_points(kind, placed)
    wide = name_width(labels, USUAL)
    panels = lay_out(list(kind.views), points, size, {v for p in labels for v in p.views}, wide)
    plate = Plate(kind.title, "", "", size, "light", panels, labels, wide=wide, kind=kind)
    plate.marks()
    check_leaders_are_clear(plate)
    assert len(plate.label_boxes) == sum(len(p.views) for p in labels)
    for (one, a), (other, b) in itertools.combinations(plate.label_boxes.items(), 2):
        assert not a.overlaps(b), f"{one} and {other}"
    for word, box in plate.label_boxes.items():
        assert box.left >= 0 and box.right <= size[0] and box.top >= 0 and box.bottom <= size[1], word
    for panel in panels:
        page = panel.camera.project(points)
        assert page.min() >= 0 and (page.max(axis=0) <= size).all()
    assert bool(labels) is (kind.labels != "none")


@pytest.mark.parametrize(
    ("name", "views"),
    [
        ("femur", ["front", "side", "back", "inside"]),
        ("femur", ["front", "back", "side", "joint"]),
        ("femur", ["back"]),
        ("skeleton", ["side"]),
        ("skeleton", ["front"]),
        ("pelvis", ["front", "back", "side", "joint"]),
    ],
)
def test_leaders_are_clear_in_chosen_views(name: str, views: list[str], house: Body) -> None:
    kind, size = plate_kind(name), (1920, 1080)
    placed = placed_shapes(house, kind.has)
    labels = labelled_points(house, kind, placed, views)
    wide = name_width(labels, USUAL)
    panels = lay_out(views, framing_points(kind, placed), size, {v for p in labels for v in p.views}, wide)
    plate = Plate(kind.title, "", "", size, "light", panels, labels, wide=wide, kind=kind)
    plate.marks()
    check_leaders_are_clear(plate)


def check_leaders_are_clear(plate: Plate) -> None:
    """No leader comes nearer to another name's dot than the dot is wide, runs through a name or across another."""
    assert bool(plate.leaders) is bool(plate.labels)
    for (one, a, b), (two, c, d) in itertools.combinations(plate.leaders, 2):
        assert one != two or not crosses(a, b, c, d), one
    for view, start, end in plate.leaders:
        line = np.linspace(start, end, 400)
        for word, box in plate.label_boxes.items():
            inside = (line > [box.left, box.top]) & (line < [box.right, box.bottom])
            assert not word.startswith(f"{view}: ") or not inside.all(axis=1).any(), word
        for other, _, dot in plate.leaders:
            if other == view and np.linalg.norm(dot - end) > 1e-6:
                assert np.linalg.norm(line - dot, axis=1).min() > 0.17 * 0.0222 * plate.size[1], view


def crosses(a: Array, b: Array, c: Array, d: Array) -> bool:
    """True where segments a-b and c-d cross."""

    def turn(p: Array, q: Array, r: Array) -> float:
        return float((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))

    return turn(a, b, c) * turn(a, b, d) < 0 and turn(c, d, a) * turn(c, d, b) < 0


def test_names_of_a_turned_view_lie_on_the_near_bone(house: Body) -> None:
    """Through the near bone's gaps the far one shows, but bears no name; the fossa's dot lies on its floor."""
    kind = plate_kind("pelvis")
    placed = placed_shapes(house, kind.has)
    named = labelled_points(house, kind, placed, ["socket", "joint"])
    assert len(named) > 15
    assert all(p.at[2] > -1e-6 for p in named)
    (hip,) = (p for p in placed if p.shape.name == "hip" and p.shape.side == "right")
    middle = hip.frame[:3, 3] + hip.frame[:3, :3] @ [0.0, 0.0, house.hip_spacing[0] / 2]
    for point in (p for p in named if isinstance(p.word, Message) and p.word.key == "point.fossa"):
        beyond = 1e3 * (np.linalg.norm(point.at - middle) - house.right.head_radius[0])
        assert 3.6 + 3.0 < beyond < 3.6 + 6.5


def test_the_hip_joint_has_its_angles_where_they_are(house: Body) -> None:
    """Each number is the angle between its lines in space, and the body's own measure."""
    slight = dataclasses.replace(house, left=dataclasses.replace(house.left, centre_edge_angle=np.radians([18.0])))
    angles = drawn_angles(slight, plate_kind("hip-joint"), ["front", "back"])
    assert list(angles) == ["front"]
    neck, edge = angles["front"]
    assert neck.value == slight.right.neck_shaft_angle[0]
    assert edge.value == np.radians(18.0)
    for angle in (neck, edge):
        a, b = (v / np.linalg.norm(v) for v in angle.ends - angle.corner)
        assert np.arccos(a @ b) == pytest.approx(angle.value, abs=1e-9)
        arc = angle.arc()
        assert np.ptp(np.linalg.norm(arc - angle.corner, axis=1)) < 1e-12
        assert np.abs(np.cross(arc[-1] - angle.corner, b)).max() < 1e-9
    assert angles["front"][0].corner[2] > 0 > angles["front"][1].corner[2]  # right, left
    kind = plate_kind("hip-joint")
    named = labelled_points(house, kind, placed_shapes(house, kind.has), ["front"])
    words = {p.word.key for p in named if isinstance(p.word, Message)}
    assert {"point.neck", "point.symphysis", "point.trochanter_tip"} <= words
    assert words <= {f"point.{n}" for n in kind.points}


def test_every_view_of_a_plate_has_a_name(run: Callable[..., Ran], tmp_path: Path) -> None:
    for view in PLATE_TOWARD:
        assert USUAL.say(message(f"plate.view.{view}"))
    done = run(
        "bones", "level-stance", "--of", "sacrum", "--view", "joint", "--set", "picture.size=640x360", "--out", "a.png"
    )
    assert (done.code, done.err) == (0, "")
    assert np.asarray(Image.open("a.png")).std() > 5


def test_bones_begin_below_the_views_name(house: Body) -> None:
    kind = plate_kind("hip-joint")
    placed = placed_shapes(house, kind.has)
    plate = Plate(
        "", "", "", (1920, 1080), "light", lay_out(["front"], framing_points(kind, placed), (1920, 1080), set()), []
    )
    (name,) = (m for m in plate.marks() if isinstance(m, Words) and m.text == USUAL.say(message("plate.view.front")))
    assert plate.solid_box(plate.panels[0]).top > name.y + 0.3 * name.size


def test_names_without_room_are_left_out_and_said(house: Body) -> None:
    kind, size, views = plate_kind("pelvis"), (1920, 1080), ["top", "below", "socket", "front"]
    placed = placed_shapes(house, kind.has)
    labels = labelled_points(house, kind, placed, views)
    points = np.concatenate([p.points() for p in placed if kind.shows(p.key)])
    plate = Plate("", "", "", size, "light", lay_out(views, points, size, set(views)), labels)
    plate.marks()
    assert len(plate.left_out) + len(plate.label_boxes) == sum(len(p.views) for p in labels)
    assert plate.left_out
    for a, b in itertools.combinations(plate.label_boxes.values(), 2):
        assert not a.overlaps(b)


def test_plate_shows_bone_where_the_camera_says(tmp_path: Path, house: Body) -> None:
    kind = plate_kind("femur")
    path = tmp_path / "a.png"
    draw_plate(house, kind, ["front"], path, "x", (960, 720), "light", labelled=False)
    image = np.asarray(Image.open(path)).astype(int)
    placed = placed_shapes(house, kind.has)
    points = np.concatenate([p.points() for p in placed])
    (panel,) = lay_out(["front"], points, (960, 720), set())
    page = panel.camera.project(points)
    bone = np.abs(image - image[5, 5]).sum(axis=2) > 60
    inside = bone[int(page[:, 1].min()) + 2 : int(page[:, 1].max()) - 2, :]
    columns = np.nonzero(inside.any(axis=0))[0]
    assert columns.min() == pytest.approx(page[:, 0].min(), abs=2.5)
    assert columns.max() == pytest.approx(page[:, 0].max(), abs=2.5)


@pytest.mark.parametrize(
    ("suffix", "units", "scale"), [("stl", None, 1e3), ("ply", "m", 1.0), ("obj", "mm", 1e3), ("glb", None, 1.0)]
)
def test_mesh_files_say_their_units_and_read_back(
    tmp_path: Path, house: Body, suffix: str, units: str | None, scale: float
) -> None:
    kind = plate_kind("pelvis")
    placed = placed_shapes(house, lambda key, side: kind.shows(key) and side == "right")
    path = export_bones(house, placed, tmp_path / f"p.{suffix}", units)
    loaded = trimesh.load(path)
    mesh = loaded.to_geometry() if isinstance(loaded, trimesh.Scene) else loaded
    low = np.min([p.points().min(axis=0) for p in placed], axis=0)
    assert mesh.bounds[0] == pytest.approx(low * scale, abs=2e-5 * scale)
    assert all(part.is_watertight for part in trimesh.Trimesh(mesh.vertices, mesh.faces).split(only_watertight=False))
    about = json.loads((tmp_path / f"p.{suffix}.json").read_text())
    assert about["units"] == ("mm" if scale > 1 else "m")
    assert "x forward, y up" in about["axes"]
    spine = np.array(about["points"]["right anterior_spine"]) / scale
    hip = next(p for p in placed if p.key == "right pelvis/hip")
    assert np.linalg.norm(hip.points() - spine, axis=1).min() < 5e-3  # in the world, where the bone stands
    if suffix != "glb":
        assert b"viz3d bones; " in path.read_bytes()[:600]


def test_refusals(tmp_path: Path, house: Body) -> None:
    with pytest.raises(InputError, match="allowed: pelvis"):
        plate_kind("wing")
    placed = placed_shapes(house, lambda key, side: key == "right thigh/femur")
    with pytest.raises(RenderError, match="GLB files are in metres"):
        export_bones(house, placed, tmp_path / "a.glb", "mm")
    with pytest.raises(RenderError, match="allowed: mm, m"):
        export_bones(house, placed, tmp_path / "a.stl", "inch")
    with pytest.raises(RenderError, match="no bone on that side"):
        export_bones(house, [], tmp_path / "a.stl")
    assert not list(tmp_path.iterdir())


def test_options_of_the_other_kind_are_refused(tmp_path: Path) -> None:
    """A plate has no sides or units, a mesh file no views: nothing given is silently dropped."""
    from typer.testing import CliRunner

    from viz3d.cli.app import app

    for given, said in (
        (["--side", "left", "--out", "a.png"], "--side belongs to mesh files"),
        (["--units", "mm", "--out", "a.png"], "--units belongs to mesh files"),
        (["--view", "front", "--out", "a.stl"], "--view belongs to plates"),
        (["--set", "picture.size=300x200", "--out", "a.png"], "picture.size: found 300x200; allowed: 360x360"),
    ):
        words = [str(tmp_path / e) if e.startswith("a.") else e for e in given]
        result = CliRunner().invoke(app, ["bones", "level-stance", *words])
        assert result.exit_code != 0
        assert said in str(result.exception), said
    assert not list(tmp_path.iterdir())
