"""The socket's colours say what the legend says, in every theme and in every medium that draws the cartilage."""

from __future__ import annotations

import dataclasses
import warnings
from pathlib import Path

import numpy as np
import pytest

from tests.images.conftest import in_turn, sheet_of
from tests.images.test_gltf import Read
from viz3d.arrays import Array
from viz3d.output.cartilage import cartilage_pressure, isobars
from viz3d.output.gltf import write_gltf
from viz3d.output.meshes import MeshLayer
from viz3d.output.orbit import make_orbit
from viz3d.output.views import camera_at
from viz3d.scene.reader import load_scene
from viz3d.shapes.build import Shape
from viz3d.shapes.level_lines import level_lines
from viz3d.shapes.skeleton import build_figure
from viz3d.shapes.surface import Surface
from viz3d.solution.inputs import body_of
from viz3d.stage.layout import Sheet
from viz3d.stage.palette import ISOBAR, PRESSURE_RANGE, isobar_colours, legend_map, palette, pressure_colours
from viz3d.stage.theme import colour_science

THEMES = ("light", "dark", "print")
APART = 5.0
"""Largest CIEDE2000 distance between a drawn colour and the legend's."""


def apart(one: Array, other: Array) -> float:
    """CIEDE2000 distance of two colours, fractions."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        science = colour_science()
        return float(science.delta_E(*(science.XYZ_to_Lab(science.sRGB_to_XYZ(c)) for c in (one, other))))


def loaded_points(sheet: Sheet, shape: Shape, i: int) -> tuple[Array, Array]:
    """Of the cartilage's points that are loaded and looked at: world places (V, 3) and pressures (V,), highest first."""
    pascals = cartilage_pressure(shape, sheet.plan, i)
    frame = sheet.plan.frames["pelvis"][i]
    world = shape.surface.points @ frame[:3, :3].T + frame[:3, 3]
    seen = (shape.surface.normals @ frame[:3, :3].T) @ sheet.camera.toward > 0.5
    order = np.argsort(-pascals)
    order = order[(pascals[order] > 0.2e6) & seen[order]]
    return world[order], pascals[order]


def clear_of_lines(pascals: Array) -> Array:
    """True where a pressure is far enough from every isobar for its own colour to be seen."""
    away = np.abs(pascals / ISOBAR - np.round(pascals / ISOBAR)) * ISOBAR
    return np.asarray(away > 0.08e6)


@pytest.mark.parametrize(
    ("backdrop", "name"), in_turn([(b, n) for n in ("level-stance", "cane-opposite-hand") for b in THEMES], 2)
)
def test_the_socket_has_the_legends_colours(name: str, backdrop: str) -> None:
    """Pixels of the picture into the socket against the legend: at the peak, and all over the loaded roof."""
    sheet = sheet_of(name, "picture.view=joint", f"picture.backdrop={backdrop}")
    figure = build_figure(body_of(load_scene(name)), None, sheet.plan.aids)
    with MeshLayer(sheet, figure) as layer:
        pixels = layer.frame(0) / 255.0
    shape = next(s for s in figure.shapes.values() if s.name == "lunate" and s.side == sheet.stance_side)
    world, pascals = loaded_points(sheet, shape, 0)
    at = np.round(camera_at(sheet, layer.views[0], 0).project(world) - 0.5).astype(int)
    head = np.linalg.norm(world - world[0], axis=1) < 0.006
    found = np.array([apart(pixels[y, x], c) for (x, y), c in zip(at, sheet.theme.pressure(pascals), strict=True)])
    clear = clear_of_lines(pascals)
    assert clear[head].any() and found[head & clear].min() < APART / 2
    assert np.median(found[head & clear]) < APART
    assert (found[clear] < APART).mean() > 0.9


@pytest.mark.parametrize("backdrop", THEMES)
def test_a_gltf_file_has_the_legends_colours_without_light(backdrop: str, tmp_path: Path) -> None:
    scene = load_scene("lean-over-hip", [f"picture.backdrop={backdrop}"])
    path = write_gltf(scene, tmp_path / "a.glb", "x")
    read = Read(path)
    mesh = next(m for m in read.file.meshes if m.name == "left lunate")
    material = read.file.materials[mesh.primitives[0].material]
    assert "KHR_materials_unlit" in material.extensions and "KHR_materials_unlit" in read.file.extensionsUsed
    linear = read.numbers(mesh.primitives[0].attributes.COLOR_0)[:, :3] / 255.0
    drawn = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    sheet = sheet_of("lean-over-hip", f"picture.backdrop={backdrop}", film=True)
    figure = build_figure(body_of(scene), None, sheet.plan.aids, "film")
    shape = next(s for s in figure.shapes.values() if s.name == "lunate" and s.side == "left")
    pascals = cartilage_pressure(shape, sheet.plan, len(sheet.plan) - 1)
    legend = sheet.theme.pressure(pascals)
    k = int(pascals.argmax())
    assert apart(drawn[k], legend[k]) < 1.5
    assert np.abs(drawn - legend)[pascals > 0].max() < 0.06  # eight bits of linear light
    assert mesh.primitives[1].mode == 1  # lines


def test_the_window_has_the_legends_colours() -> None:
    orbit = make_orbit(load_scene("level-stance"), "level-stance.toml")
    try:
        orbit.show(0)
        plan = orbit.plan
        parts = orbit.solid[0].parts
        _, shape, actor, mesh = next(p for p in parts if p[1].name == "lunate" and p[1].side == plan.side)
        pascals = cartilage_pressure(shape, plan, orbit.row)
        assert not actor.GetProperty().GetLighting()
        drawn = np.asarray(mesh.point_data["colour"])[pascals > 0] / 255.0
        assert np.abs(drawn - orbit.theme.pressure(pascals[pascals > 0])).max() < 0.003
    finally:
        orbit.close()


@pytest.mark.parametrize("backdrop", THEMES)
def test_isobars_stand_out_from_their_ground(backdrop: str) -> None:
    colours, grey = palette(backdrop), backdrop == "print"
    levels = np.arange(ISOBAR, PRESSURE_RANGE[1] + 1.0, ISOBAR)
    for line, ground in zip(
        isobar_colours(levels, colours, grey), pressure_colours(levels, colours, grey), strict=True
    ):
        assert apart(line, ground) > 25.0


@pytest.mark.parametrize("backdrop", THEMES)
def test_the_legend_begins_as_bare_cartilage(backdrop: str) -> None:
    colours = palette(backdrop)
    steps = legend_map(colours, grey=backdrop == "print")
    assert apart(steps[0], pressure_colours(np.array([0.0]), colours)[0]) < 0.5


def test_isobars_run_where_the_pressure_is_theirs() -> None:
    """Along every piece the pressure between the cartilage's points is its level's; more load has more lines."""
    counts = []
    for changes in ((), ("load.backpack=25 kg",)):
        sheet = sheet_of("level-stance", *changes)
        figure = build_figure(body_of(load_scene("level-stance")), None, sheet.plan.aids)
        shape = next(s for s in figure.shapes.values() if s.name == "lunate" and s.side == sheet.stance_side)
        pascals = cartilage_pressure(shape, sheet.plan, 0)
        ends, colours = isobars(shape, pascals, sheet.theme)
        counts.append(len(ends))
        assert len(ends) == len(colours) > 40
        hip = np.linalg.inv(sheet.plan.frames["pelvis"][0]) @ [*sheet.plan.hip[0], 1.0]
        inner = shape.surface.triangles[(pascals[shape.surface.triangles] > 0).all(axis=1)]
        line, _ = level_lines(shape.surface.points, inner, pascals, [1.0e6])
        middle = line.mean(axis=1)
        there = Surface(middle, inner[:0], (hip[:3] - middle) / 0.025, np.ones(len(middle)))
        found = cartilage_pressure(dataclasses.replace(shape, surface=there), sheet.plan, 0)
        assert found == pytest.approx(np.full(len(middle), 1.0e6), rel=0.02)
    assert counts[1] > counts[0]
