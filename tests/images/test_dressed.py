"""The patient look: a clothed person, bones through the window on the hip only, the same in pixels and outlines."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from viz3d.output.dressed import clearness
from viz3d.output.figures import figure_of
from viz3d.output.meshes import MeshLayer
from viz3d.output.outline import sheet_patches
from viz3d.output.views import MAIN, sheet_views
from viz3d.scene.reader import load_scene
from viz3d.shapes.clothing import MATERIALS
from viz3d.shapes.skeleton import Figure
from viz3d.solution.inputs import body_of
from viz3d.solution.script import Script
from viz3d.stage.canvas import Canvas
from viz3d.stage.palette import palette
from viz3d.stage.sheets import lay_out
from viz3d.words.voice import Voice

SIZE = (1280, 720)


@pytest.fixture(scope="module")
def worn() -> tuple[Canvas, Figure]:
    scene = load_scene("cane-opposite-hand", ["picture.dress=patient", "picture.frame=whole", "picture.words=plain"])
    shot, _ = Script(scene).shot_at(0)
    sheet = lay_out(shot.scene, shot.solved, SIZE)
    return sheet, figure_of(sheet.plan, body_of(scene), None, "film")


def test_bones_show_through_the_window_and_nowhere_else(worn: tuple[Canvas, Figure]) -> None:
    sheet, figure = worn
    boneless = {k: s for k, s in figure.shapes.items() if s.link in ("cane", "bag")}
    view = sheet_views(sheet)[0]
    box, bare = view.box, sheet.showing(set(sheet.layers) - {"muscle"})
    with MeshLayer(bare, figure) as layer, MeshLayer(bare, dataclasses.replace(figure, shapes=boneless)) as without:
        both = [
            x.frame(0)[int(box.top) : int(box.bottom), int(box.left) : int(box.right)].astype(int)
            for x in (layer, without)
        ]
    moved = np.abs(both[0] - both[1]).max(axis=-1) > 2
    x, y = np.arange(box.left, box.right)[None, :], np.arange(box.top, box.bottom)[:, None]
    clear = clearness(view.camera, sheet.plan.hip[0], x, y)
    assert not moved[clear == 0.0].any()
    assert moved[clear > 0.9].mean() > 0.3


def test_outlines_show_the_same_person(worn: tuple[Canvas, Figure]) -> None:
    """Clothes, skin, hair and cane as patches; of the bones the pelvis and the stance thigh, within the window."""
    sheet, figure = worn
    view, patches = next((v, p) for v, p in sheet_patches(sheet, figure, 0) if v.name == MAIN)
    seen = {p.solid for p in patches if p.solid}
    assert {"skin", "hair", "shirt", "shorts"} <= seen
    assert any("cane" in name for name in seen)
    assert not any(part in name for name in seen for part in ("skull", "ribs", "tibia", "spine", "radius"))
    bones = [path for p in patches if "pelvis" in p.solid or "femur" in p.solid for path in p.paths]
    assert bones
    for path in bones:
        assert clearness(view.camera, sheet.plan.hip[0], path[:, 0], path[:, 1]).min() > 0.3


@pytest.mark.parametrize("backdrop", ["light", "dark", "print"])
def test_every_stuff_has_a_colour_of_its_own(backdrop: str) -> None:
    colours = palette(backdrop)
    assert len({colours[name] for name in (*MATERIALS, "pane", "bag_fill")}) == len(MATERIALS) + 2


def test_patients_are_told_no_newton_metres(worn: tuple[Canvas, Figure]) -> None:
    sheet, _ = worn
    told = sheet.plan.shown(0, Voice("en", "plain"))
    lines = [line for item in told.values() for line in item["lines"]]
    assert "holds the pelvis" in lines
    assert not any("N·m" in line or "Nm" in line for line in lines)
