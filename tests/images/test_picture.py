"""Pictures measured in their pixels, and laid out so that nothing overlaps."""

from __future__ import annotations

import dataclasses
import json
import struct
import subprocess
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from tests.images.conftest import WIDE, scenes, scenes_by_file, sheet_of
from viz3d.output.encode import find_encoder
from viz3d.output.film import draw_film
from viz3d.output.paint import Painter
from viz3d.output.still import draw_still
from viz3d.scene.reader import check_scene, library_scenes, load_scene
from viz3d.scene.timeline import duration
from viz3d.solution.records import situation
from viz3d.solution.script import Script, solve_scene
from viz3d.stage.drawing import Shape2D, Words
from viz3d.stage.layout import Sheet
from viz3d.stage.palette import ROLES, contrast, palette
from viz3d.stage.sheets import lay_out
from viz3d.stage.type import text_width
from viz3d.words.message import message
from viz3d.words.voice import USUAL


def flat_pixels(sheet: Sheet, i: int, role: str) -> np.ndarray:
    """Coverage of one role's arrow alone, drawn in black on white, 0 to 1."""
    marks = [m for m in sheet.drawing(i).over if isinstance(m, Shape2D) and m.role == role]
    width, height = sheet.size
    painter = Painter(sheet.size, np.full((height, width, 3), 255, dtype=np.uint8))
    painter.marks([Shape2D(m.points, "#000000") for m in marks[:1]], "#FFFFFF")
    return 1.0 - painter.pixels()[..., 0] / 255.0


@scenes
@pytest.mark.parametrize("key", ["weight", "muscle", "joint"])
def test_arrow_length_in_pixels(name: str, key: str) -> None:
    """Tip to tail, measured on the painted pixels, within 1 % or 2 px of the force's part in the page x scale."""
    sheet = sheet_of(name)
    i = len(sheet.plan) - 1
    arrow = next(a for a in sheet.plan.arrows if a.key == key)
    seen = np.array([arrow.force[i] @ sheet.camera.right, arrow.force[i] @ sheet.camera.up])
    expected = float(np.hypot(*seen)) * sheet.per_weight
    tail, tip = sheet.arrow_ends(key, i)
    if expected < 2.0:  # the plan leaves it to its label
        assert len([m for m in sheet.drawing(i).over if isinstance(m, Shape2D) and m.role == arrow.role]) == 0
        return
    along = (tip - tail) / np.linalg.norm(tip - tail)
    ink = flat_pixels(sheet, i, arrow.role)
    y, x = np.nonzero(ink > 0.02)
    at = np.stack([x + 0.5, y + 0.5], axis=-1) @ along
    measured = at.max() - at.min() + 1.0
    assert measured == pytest.approx(expected, abs=max(0.01 * expected, 2.0))
    assert np.linalg.norm(tip - tail) == pytest.approx(expected, rel=1e-9)


@scenes
def test_polygon_closes(name: str) -> None:
    sheet = sheet_of(name)
    for i in range(len(sheet.plan)):
        total = sum(a.force[i] for a in sheet.plan.arrows)
        assert np.linalg.norm(total) * sheet.per_weight < 1e-6


@scenes
def test_levers_are_perpendicular(name: str) -> None:
    sheet = sheet_of(name)
    for i in range(len(sheet.plan)):
        tail, tip = sheet.arrow_ends("muscle", i)
        lever = next(d for d in sheet.plan.dimensions if d.key == "muscle_lever")
        start, end = sheet.dimension_ends(lever, i)
        if np.hypot(*(tip - tail)) < 2:
            continue
        cosine = (tip - tail) @ (end - start) / np.hypot(*(tip - tail)) / np.hypot(*(end - start))
        assert abs(90 - np.degrees(np.arccos(cosine))) < 0.5
        weight = next(d for d in sheet.plan.dimensions if d.key == "weight_lever")
        a, b = sheet.dimension_ends(weight, i)
        assert a[1] == b[1]
        shown = float(USUAL.say(weight.values[i][0]).split()[0]) / 100
        assert abs(b[0] - a[0]) / sheet.camera.scale == pytest.approx(shown, abs=0.0006)


@scenes
def test_label_words_stay_in_their_boxes(name: str) -> None:
    sheet = sheet_of(name, *WIDE, film=True)
    for i in range(0, len(sheet.plan), 11):
        drawing = sheet.drawing(i)
        written = [m for m in drawing.over if isinstance(m, Words) and m.role in drawing.label_boxes]
        idle = {a.key for a in sheet.plan.arrows if a.is_idle(i)}
        silent = {k for k in drawing.label_boxes if k.replace("_lever", "") in idle}  # kept free for later frames
        assert {m.role for m in written} | silent == set(drawing.label_boxes)
        for words in written:
            box = drawing.label_boxes[words.role]
            assert box.right < sheet.cards.left
            assert text_width(words.text, words.size, words.weight) <= box.right - box.left + 1
            assert box.top <= words.y <= box.bottom + 1


@scenes
def test_text_is_large_enough(name: str) -> None:
    """At least 2.2 % of the frame's shorter side."""
    sheet = sheet_of(name)
    sizes = [m.size for m in sheet.drawing(0).over if isinstance(m, Words)]
    assert min(sizes) >= 0.022 * min(sheet.size)


@pytest.mark.parametrize("backdrop", ["light", "dark", "print"])
def test_contrast(backdrop: str) -> None:
    """WCAG 2.2: 4.5:1 for text, on every surface that carries it."""
    colours = palette(backdrop)
    for role in (*ROLES, "ink", "soft"):
        for surface in ("paper_top", "paper_bottom", "card", "band"):
            assert contrast(colours[role], colours[surface]) >= 4.5, (role, surface)


@scenes
def test_numbers_on_the_picture_are_the_solvers(name: str) -> None:
    insets = 'picture.insets=["forces", "socket", "figure"]'
    solved = Script(load_scene(name, [insets])).shots()[0].solved
    sheet = sheet_of(name, *WIDE, insets)
    for i in range(len(solved.times)):
        record = situation(solved, i)
        words = [m.text for m in sheet.drawing(i).over if isinstance(m, Words)]
        assert f"{record['joint_force_bw']:.2f} BW" in words
        assert f"{record['own_weight_lever_m'] * 100:.1f} cm" in words
        peak = f"peak {record['peak_pressure_MPa']:.2f} MPa"
        assert any(text.startswith(peak) for text in words)  # a mark follows above the colour bar's range


def test_camera_and_renderer_agree(tmp_path: Path) -> None:
    """The femoral head drawn by the mesh renderer lies where the layout's camera puts the hip centre."""
    from viz3d.output.meshes import MeshLayer
    from viz3d.shapes.skeleton import Figure, build_figure
    from viz3d.solution.inputs import body_of

    scene = load_scene("level-stance", ["picture.size=960x540", "picture.muscles=none"])
    solved = solve_scene(scene)
    sheet = lay_out(scene, solved, (960, 540))
    figure = build_figure(body_of(scene))
    only = {k: s for k, s in figure.shapes.items() if k == "pelvis/symphysis"}
    with MeshLayer(sheet, Figure(only, figure.shell)) as layer:
        layer.frame(0)
        alpha = layer.bones.read()[..., 3]
    box = layer.views[0].box
    part = alpha[:, int(box.left) : int(box.right)]
    y, x = np.nonzero(part > 128)
    frame = solved.posed.frames["pelvis"][0]
    points = figure.shapes["pelvis/symphysis"].surface.points @ frame[:3, :3].T + frame[:3, 3]
    page = sheet.camera.project(points)
    assert x.min() + box.left == pytest.approx(page[:, 0].min(), abs=1.5)
    assert x.max() + 1 + box.left == pytest.approx(page[:, 0].max(), abs=1.5)
    assert y.min() == pytest.approx(page[:, 1].min(), abs=1.5)
    assert y.max() + 1 == pytest.approx(page[:, 1].max(), abs=1.5)


def test_still_and_manifest(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    scene = load_scene("cane-opposite-hand", ["picture.size=960x540"])
    draw_still(scene, path, "x")
    image = np.asarray(Image.open(path))
    assert image.shape == (540, 960, 3)
    assert image.std() > 10
    about = json.loads((tmp_path / "a.png.json").read_text(encoding="utf-8"))
    assert set(about) >= {"viz3d", "scene_sha256", "assumed", "leaves_out", "model"}
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.png", "a.png.json"]


@scenes_by_file
def test_svg_is_sound_and_says_the_same(tmp_path: Path, name: str) -> None:
    path = tmp_path / "a.svg"
    scene = load_scene(name, [*WIDE, "picture.size=960x540"])
    draw_still(scene, path, "x")
    root = ElementTree.parse(path).getroot()
    texts = ["".join(t.itertext()) for t in root.iter("{http://www.w3.org/2000/svg}text")]
    assert f"{Script(scene).shots()[-1].solved.joint_bw[-1]:.2f} BW" in texts
    assert len(list(root.iter("{http://www.w3.org/2000/svg}path"))) > 20


def test_markup_in_a_title_is_escaped(tmp_path: Path) -> None:
    import tomllib

    path = library_scenes()["level-stance"]
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    data["title"] = "<script>alert(1)</script> & more"
    scene = check_scene(data, path)
    draw_still(
        scene.model_copy(update={"picture": scene.picture.model_copy(update={"size": "960x540"})}),
        tmp_path / "a.svg",
        "x",
    )
    text = (tmp_path / "a.svg").read_text(encoding="utf-8")
    assert "<script" not in text
    ElementTree.fromstring(text)


def boxes_of(data: bytes) -> list[str]:
    """Top-level box names of an ISO base media file, in order."""
    at, names = 0, []
    while at + 8 <= len(data):
        size, name = struct.unpack(">I4s", data[at : at + 8])
        names.append(name.decode("latin1"))
        at += size if size > 1 else struct.unpack(">Q", data[at + 8 : at + 16])[0]
    return names


def test_film_plays(tmp_path: Path) -> None:
    """H.264, yuv420p, constant rate, right duration, moov before mdat, no half file; read back independently."""
    path = tmp_path / "a.mp4"
    scene = load_scene("pelvic-drop", ["picture.size=640x480", "picture.frames_per_second=6"])
    draw_film(scene, path, "x")
    names = boxes_of(path.read_bytes())
    assert names.index("moov") < names.index("mdat")
    told = subprocess.run(
        [find_encoder(), "-hide_banner", "-i", str(path)], capture_output=True, text=True, check=False
    ).stderr
    assert "h264" in told
    assert "yuv420p" in told
    assert "640x480" in told
    assert "6 fps" in told
    assert f"Duration: 00:00:{duration(scene):05.2f}" in told
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.mp4", "a.mp4.json"]


def test_same_input_same_bytes(tmp_path: Path) -> None:
    scene = load_scene("lean-over-hip", ["picture.size=480x360", "picture.frames_per_second=5"])
    for name in ("a.mp4", "b.mp4"):
        draw_film(scene, tmp_path / name, "x")
    assert (tmp_path / "a.mp4").read_bytes() == (tmp_path / "b.mp4").read_bytes()


def test_only_a_muscle_that_pulls_is_said_to_stand_aside() -> None:
    for name, changes, said in (("level-stance", (), True), ("leg-length", ("picture.words=plain",), False)):
        sheet = sheet_of(name, "picture.view=side", *changes)
        i = len(sheet.plan) - 1
        words = " ".join(m.text for m in sheet.drawing(i).over if isinstance(m, Words))
        assert (sheet.say(message("frame.aside")) in words) == said, words


def test_hands_bones_lie_in_their_skin_in_every_step() -> None:
    """Whatever comes and goes in the hands: at least 99 % of the vertices of the hands' bones inside the hands' skin."""
    import trimesh

    from viz3d.output.solids import view_solids
    from viz3d.output.views import sheet_views
    from viz3d.shapes.skeleton import build_figure
    from viz3d.solution.inputs import body_of

    sheet = sheet_of("bag-sides", "picture.size=960x540", "picture.frame=whole")
    figure = build_figure(body_of(load_scene("bag-sides")), None, sheet.plan.aids, flesh=sheet.plan.flesh)
    shell, main = figure.shell, sheet_views(sheet)[0]
    pieces = trimesh.graph.connected_components(np.sort(shell.triangles[:, [0, 1, 1, 2]].reshape(-1, 2)), min_len=100)
    for i in range(len(sheet.plan)):
        points, _ = shell.posed(sheet.plan.frames, i, sheet.plan.empty_hands(i))
        skin = trimesh.Trimesh(points, shell.triangles, process=False)
        solids = {s.name: s.points for s in view_solids(sheet, figure, main, i)}
        for side in ("left", "right"):
            own = shell.weights[:, shell.links.index(f"{side}_hand")]
            hands = [piece for piece in pieces if own[piece].mean() > 0.5]
            assert len(hands) == 2
            (hand,) = (piece for piece in hands if np.ptp(points[piece], axis=0).max() > 0.05)  # the other is a point
            within = skin.submesh([np.isin(shell.triangles, hand).all(axis=1)], append=True, repair=False)
            (bones,) = (points for name, points in solids.items() if name.startswith(f"{side} hand"))
            assert (f"{side} hand_grip/hand" in solids) == (side in sheet.plan.held_at(i))
            assert within.contains(bones).mean() > 0.99, f"step {i + 1}: {side}"


def test_bags_and_the_backpack_are_there_only_while_they_are_carried() -> None:
    """Pixels and outlines alike, and no words about a bag that nobody holds."""
    from viz3d.output.meshes import MeshLayer
    from viz3d.output.solids import view_solids
    from viz3d.output.views import sheet_views
    from viz3d.shapes.skeleton import build_figure
    from viz3d.solution.inputs import body_of

    sheet = sheet_of("bag-sides", "picture.size=960x540", "picture.frame=whole")
    figure = build_figure(body_of(load_scene("bag-sides")), None, sheet.plan.aids, flesh=sheet.plan.flesh)
    kept = {k: s for k, s in figure.shapes.items() if "bag" not in k and "pack" not in k}
    bare = dataclasses.replace(figure, shapes=kept)
    key = {"left": "bag_stance", "right": "bag_swing", "middle": "backpack"}
    body = {"left": "left bag/bag_body", "right": "right bag/bag_body", "middle": "backpack/pack_body"}
    main = sheet_views(sheet)[0]
    with MeshLayer(sheet, figure) as layer, MeshLayer(sheet, bare) as without:
        for i, held in enumerate(({}, {"left": "bag"}, {"right": "bag"}, {"middle": "backpack"})):
            assert sheet.plan.held_at(i) == held
            seen = {s.name for s in view_solids(sheet, figure, main, i)}
            assert seen & set(body.values()) == {body[side] for side in held}
            for side in ("left", "right"):
                assert (f"{side} hand_grip/hand" in seen) == (side in held)
                assert (f"{side} hand/hand" in seen) == (side not in held)
            assert np.array_equal(layer.frame(i), without.frame(i)) is not bool(held)
            written = {m.role for m in sheet.drawing(i).over if isinstance(m, Words)} & set(key.values())
            assert written == {key[side] for side in held}
