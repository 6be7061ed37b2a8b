"""Situations side by side: what nobody could hold is said, and never passed off as a result."""

from __future__ import annotations

import itertools
import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.conftest import Ran
from viz3d.scene.reader import load_scene
from viz3d.scene.segments import names_what_is
from viz3d.solution.script import Script
from viz3d.stage.compared import compare_page, result_height, scale_height
from viz3d.stage.compose import compose
from viz3d.stage.crop import bones_on
from viz3d.stage.drawing import Box, Words
from viz3d.stage.panels import RESULT, Situation
from viz3d.stage.tags import _covered
from viz3d.stage.theme import theme_of
from viz3d.stage.type import text_width

WEAK = ["strength.left_abductors=30 %"]


def test_a_pose_that_cannot_be_held_is_named_under_its_panel() -> None:
    scenes = [load_scene("level-stance"), load_scene("level-stance", WEAK)]
    situations = []
    for scene in scenes:
        shot, row = Script(scene).shot_at(0)
        situations.append(Situation(compose(shot.scene, shot.solved), row))
    page = compare_page(situations, (1920, 1080), "front", theme_of(scenes[0]))
    told = [m for m in page.over if isinstance(m, Words) and m.role == "notice"]
    assert told
    assert "annot be held" in " ".join(m.text for m in told)
    half = 960
    assert all(m.x > half for m in told)  # under the weak one only


@pytest.mark.parametrize("words", [(), ("picture.words=plain", "picture.language=qps")])
@pytest.mark.parametrize("text", ["usual", "large"])
def test_results_of_four_do_not_overprint(text: str, words: tuple[str, ...]) -> None:
    chosen = [("level-stance", 0), ("cane-switch-hands", 1), ("cane-switch-hands", 4), ("pelvic-drop", 1)]
    scenes = [load_scene(name, [f"picture.text={text}", *words]) for name, _ in chosen]
    situations = []
    for scene, (_, step) in zip(scenes, chosen, strict=True):
        shot, row = Script(scene).shot_at(step)
        situations.append(Situation(compose(shot.scene, shot.solved), row))
    theme = theme_of(scenes[0])
    page = compare_page(situations, (1920, 1080), "front", theme)
    low = page.parts[0].sheet.band.top
    lines = [m for m in page.over if isinstance(m, Words) and low <= m.y < low + RESULT]
    boxes = []
    for m in lines:
        wide = text_width(m.text, m.size, m.weight, theme.face)
        left = m.x - {"start": 0.0, "middle": 0.5, "end": 1.0}[m.anchor] * wide
        boxes.append(Box(left, m.y - 0.72 * m.size, left + wide, m.y + 0.05 * m.size))
    assert len(boxes) >= 4 * 2 + 3
    for (one, a), (other, b) in itertools.combinations(zip(lines, boxes, strict=True), 2):
        assert not a.overlaps(b, 4.0), (one.text, other.text)
    assert min(m.size for m in lines if m.role == "difference") >= 0.022 * 1080


def test_the_words_go_into_the_file(run: Callable[..., Ran]) -> None:
    done = run("compare", "level-stance", "pelvic-drop:2", "--out", "c.svg")
    assert done.code == 0
    written = Path("c.svg").read_text(encoding="utf-8")
    assert written.count("Less load on the hip in A: Pelvis level") >= 2
    assert "…" not in written


def test_a_pose_that_nobody_could_hold_is_not_compared(run: Callable[..., Ran]) -> None:
    done = run("compare", "level-stance", "pelvic-drop:2", "--set", WEAK[0], "--out", "c.svg")
    assert done.code == 1
    assert "cannot be held (too weak), so it is not compared" in done.err
    assert not Path("c.svg").exists()


def test_stance_hips_stand_at_one_place_of_their_panels() -> None:
    scenes = [(load_scene("level-stance"), 0), (load_scene("lean-over-hip"), 1), (load_scene("cane-opposite-hand"), 1)]
    some = []
    for scene, k in scenes:
        shot, row = Script(scene).shot_at(k)
        some.append(Situation(compose(shot.scene, shot.solved), row))
    page = compare_page(some, (1920, 1080), "front", theme_of(scenes[0][0]))
    at = [p.sheet.camera.project(p.sheet.plan.hip[p.index]) for p in page.parts]
    assert max(abs(a - at[0]).max() for a in at) < 0.5
    assert page.title == "Least load on the hip in C: Pressed with 15 % of body weight"


def test_no_pressure_is_stated_for_a_hip_without_cartilage(run: Callable[..., Ran]) -> None:
    """The own hip's is, in the same scene; elsewhere it is said why there is none."""
    own, *others = json.loads(run("solve", "replacement-hip", "--json").out)["situations"]
    assert own["peak_pressure_MPa"] > 1.0
    assert len(others) == 4
    for one in others:
        assert one["peak_pressure_MPa"] is None
        assert "no cartilage" in one["reasons"]["peak_pressure_MPa"]
    assert run("compare", "replacement-hip:1", "replacement-hip:3", "--out", "c.svg").code == 0
    words = Path("c.svg").read_text(encoding="utf-8")
    assert "Highest pressure not stated" in words
    assert "Highest pressure 1.68 MPa" in words


@pytest.mark.parametrize(("size", "most"), [((1920, 1080), 0.14), ((1080, 1920), 0.20)])
def test_the_band_is_low_and_names_leave_bones_free(size: tuple[int, int], most: float) -> None:
    """Words below the panels take at most this share of the height; names stand beside bones, or in rows below them."""
    scenes = [(load_scene("level-stance"), 0), (load_scene("cane-opposite-hand"), 1)]
    some = []
    for scene, k in scenes:
        shot, row = Script(scene).shot_at(k)
        some.append(Situation(compose(shot.scene, shot.solved), row))
    page = compare_page(some, size, "front", theme_of(scenes[0][0]))
    sheet = page.parts[0].sheet
    top = sheet.foot + result_height(size, 2) + scale_height(size, 2)
    assert 0.05 < 1.0 - top / size[1] <= most
    if size[0] > size[1]:
        for part in page.parts:
            bones = bones_on(part.sheet.plan, part.sheet.camera, part.index)
            covered = [_covered(tag.box, bones) for tag in part.sheet.tags.values()]
            assert len(covered) >= 4
            assert max(covered) < 0.5
            assert sum(covered) < 0.15 * len(covered)
        return
    rows = [part.sheet.drawing(part.index).label_boxes for part in page.parts]
    assert list(rows[0]) == ["weight", "muscle", "weight_lever", "muscle_lever"]
    assert {key: box.top for key, box in rows[0].items()}.items() <= {
        key: box.top for key, box in rows[1].items()
    }.items()
    for box in [box for some in rows for box in some.values()]:
        assert sheet.band.top < box.top < box.bottom <= sheet.foot


@pytest.mark.parametrize("size", [(1080, 1920), (1080, 1080), (1080, 1350)])
def test_four_on_a_narrow_page_have_all_their_words(size: tuple[int, int]) -> None:
    """Every arrow and lever but the joint's has a row with its size; rows neither overlap nor leave their panels."""
    chosen = [("level-stance", 0), ("cane-switch-hands", 1), ("pelvic-drop", 1), ("lean-over-hip", 1)]
    some = []
    for name, step in chosen:
        shot, row = Script(load_scene(name, ["picture.muscles=none"])).shot_at(step)
        some.append(Situation(compose(shot.scene, shot.solved), row))
    page = compare_page(some, size, "front", theme_of(load_scene("level-stance")))
    for part in page.parts:
        sheet, drawing = part.sheet, part.sheet.drawing(part.index)
        drawn = {x.key for x in [*sheet.figure.arrows(), *sheet.figure.dimensions()]} - {"joint"}
        assert set(drawing.label_boxes) == {k for k in drawn if not sheet.figure.is_idle(k, part.index)}
        words = [m for m in drawing.over if isinstance(m, Words) and m.role in drawing.label_boxes]
        assert min(m.size for m in words) >= 0.0215 * min(size)
        told = [m.text for m in words]
        for key in drawing.label_boxes:
            assert sheet.plan.shown(part.index)[key]["lines"][0] in told
        for a, b in itertools.combinations(drawing.label_boxes.values(), 2):
            assert not a.overlaps(b)
        assert all(0 < b.left < b.right <= sheet.width and b.bottom <= sheet.foot for b in drawing.label_boxes.values())
        long = np.hypot(*np.subtract(*sheet.figure.ends(part.index)["joint"]))
        assert long == pytest.approx(sheet.plan.joint_force[part.index] * sheet.per_weight)


def test_a_panel_is_not_named_for_a_view_it_is_not_seen_from() -> None:
    """Steps that only look from elsewhere are called as the person stands; those that change something keep theirs."""
    scene = load_scene("gluteal-group", ["picture.view=front"])
    shots = [(Script(scene).shot_at(k), names_what_is(scene, k)) for k in (1, 3)]
    page = compare_page(
        [Situation(compose(x.scene, x.solved), row, own) for (x, row), own in shots],
        (1920, 1080), "front", theme_of(scene),
    )  # fmt: skip
    told = [m.text for m in page.over if isinstance(m, Words)]
    assert "Standing on the left leg" in told
    assert "The trunk over the hip" in told
    assert not [text for text in told if "From " in text]
