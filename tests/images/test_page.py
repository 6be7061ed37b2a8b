"""How the page is shared out: figure, words, whole person; large words on every page from A5 upright up."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from tests.images.conftest import SCENES, SIX, WIDE, in_turn, scenes, sheet_of
from tests.images.test_truth import check_arrows, words_apart
from viz3d.output.still import draw_builds
from viz3d.scene.reader import load_scene
from viz3d.shapes.skeleton import group_shapes
from viz3d.solution.script import Script
from viz3d.stage.builds import ORDER, builds_of
from viz3d.stage.crop import HIP, USUAL, reach_of
from viz3d.stage.drawing import Stroke, Words
from viz3d.stage.layout import Sheet
from viz3d.stage.sheets import lay_out
from viz3d.stage.tall import TallSheet

A5 = "1000x1414"
WHOLE = (
    ("cane-opposite-hand", "walking-frame"), ("front", "back", "side", "three-quarter"),
    ("1920x1080", "1080x1920", "1600x1200"),
)  # fmt: skip
"""Scenes, views and sizes in which a whole person is looked at."""


@scenes
@pytest.mark.parametrize(("size", "most"), [("1920x1080", 0.14), ("1080x1920", 0.20)])
def test_words_below_the_figure_leave_it_the_page(name: str, size: str, most: float) -> None:
    """Caption and small print take at most this share of the height, and no word is below 2.2 % of the shorter side."""
    sheet = sheet_of(name, f"picture.size={size}")
    high = sheet.words if isinstance(sheet, TallSheet) else sheet.height - sheet.band.top
    assert high / sheet.height <= most + 1e-9
    words = [m for m in sheet.drawing(len(sheet.plan) - 1).over if isinstance(m, Words)]
    assert min(w.size for w in words) >= 0.022 * min(sheet.size)


@pytest.mark.parametrize("size", ["1920x1080", "1080x1920"])
def test_a_walking_frame_lies_whole_in_a_side_view(size: str) -> None:
    scene = load_scene("walking-frame", [f"picture.size={size}", "picture.view=side"])
    shot, i = Script(scene).shot_at(1)
    sheet = lay_out(shot.scene, shot.solved, scene.picture.pixels)
    parts = [s for s in group_shapes("frame", shot.body) if s.name == "frame_tube"]
    for part in parts:
        frame = sheet.plan.frames[f"{part.side}_cane"][i]
        across = sheet.camera.project(part.surface.points @ frame[:3, :3].T + frame[:3, 3])[:, 0]
        middle = sheet.camera.at[0]
        assert max(middle - across.min(), across.max() - middle) < 390 * sheet.u
        assert 12 * sheet.u < across.min() < across.max() < scene.picture.pixels[0] - 12 * sheet.u
    assert len(parts) == 2


def test_the_card_shows_what_is_carried_on_the_back() -> None:
    """Half from the side: the pack lies beside the trunk, not behind it."""
    sheet = sheet_of("level-stance", *WIDE, "load.backpack=8 kg")
    camera, trunk = sheet.insets.views["figure"][1], sheet.plan.frames["trunk"][-1]
    spine, pack = camera.project(np.array([[0.0, 0.2, 0.0], [-0.2, 0.3, 0.0]]) @ trunk[:3, :3].T + trunk[:3, 3])
    assert abs(pack[0] - spine[0]) > 0.15 * camera.scale


@pytest.mark.parametrize("names", [("level-stance", *SIX), pytest.param(SCENES, marks=pytest.mark.long)])
def test_the_figure_is_nearer_where_the_hands_leave_room(names: Sequence[str]) -> None:
    """1.3 to 1.4 times the least scale; both hands inside the labels' columns in every frame."""
    shares = {}
    for name in names:
        sheet = sheet_of(name, *WIDE)
        if sheet.view == "joint" or sheet.measures.frame != HIP:
            continue
        shares[name] = sheet.camera.scale / (USUAL * sheet.u)
        for side in ("left", "right"):
            hands = sheet.camera.project(sheet.plan.frames[f"{side}_hand"][:, :3, 3])
            assert np.abs(hands[:, 0] - sheet.camera.at[0]).max() <= 389 * sheet.u
    assert shares["level-stance"] > 1.35
    assert min(shares.values()) >= 1.0
    assert sorted(shares.values())[len(shares) // 2] > 1.3


@pytest.mark.parametrize(("name", "view", "size"), in_turn(list(itertools.product(*WHOLE)), 5))
def test_a_whole_person_stands_inside_the_page(name: str, view: str, size: str) -> None:
    """Crown, hands, aids and floor above the band and below the title; arrows as long as their forces."""
    sheet = sheet_of(name, f"picture.view={view}", f"picture.size={size}", "picture.frame=whole")
    at = sheet.camera.project(reach_of(sheet.plan))
    low = sheet.height - sheet.words if isinstance(sheet, TallSheet) else sheet.band.top
    assert at.min() > 0
    assert at[:, 0].max() < sheet.width
    assert at[:, 1].max() < low
    assert np.ptp(at[:, 1]) > 0.5 * sheet.height
    assert check_arrows(sheet.figure, sheet.size, len(sheet.plan) - 1) >= 2
    floor = [m for m in sheet.drawing(0).over if isinstance(m, Stroke) and m.role == "floor"]
    assert len(floor) == (view != "three-quarter")
    if isinstance(sheet, Sheet):
        assert "figure" not in sheet.cards.boxes


def test_upright_pictures_in_plain_words_show_the_whole_person() -> None:
    for changes, framed in (
        (["picture.size=1080x1920", "picture.words=plain"], "whole"), (["picture.size=1080x1920"], "hip"),
        (["picture.words=plain"], "hip"), (["picture.size=1080x1920", "picture.frame=whole"], "whole"),
        (["picture.size=1080x1920", "picture.words=plain", "picture.frame=hip"], "hip"),
    ):  # fmt: skip
        assert load_scene("cane-opposite-hand", changes).picture.framed == framed


@pytest.mark.parametrize(
    ("name", "changes"),
    in_turn([(n, c) for n in SIX for c in ((), ("picture.view=side",), ("picture.frame=whole",))], 2),
)
def test_large_words_fit_an_upright_a5_page(name: str, changes: tuple[str, ...]) -> None:
    words = words_apart(sheet_of(name, f"picture.size={A5}", "picture.text=large", *changes))
    assert min(w.size for w in words) >= 0.022 * 1000


def test_the_figure_card_holds_arms_and_cane() -> None:
    """However high the card is, the whole figure stands inside its view."""
    for name in ("cane-opposite-hand", "elbow-crutches", "walking-frame"):
        sheet = sheet_of(name, 'picture.insets=["figure"]')
        box, camera = sheet.inset_views()["figure"]
        at = camera.project(reach_of(sheet.plan))
        assert box.left <= at[:, 0].min()
        assert at[:, 0].max() <= box.right


def test_a_build_brings_causes_first_and_says_what_each_stage_adds(tmp_path: Path) -> None:
    """The cane comes before muscle and joint; each stage has its own words, the step's come at the end."""
    scene = load_scene("cane-opposite-hand", ["picture.size=640x360"])
    sets = builds_of(scene)
    assert [s[-1] for s in sets] == list(ORDER)
    files = [(tmp_path / f"{n}.svg", s) for n, s in enumerate(sets)]
    draw_builds(scene, files, "x")
    written = [path.read_text(encoding="utf-8") for path, _ in files]
    conclusion = scene.steps[-1].caption
    assert [conclusion in text for text in written] == [False] * 7 + [True]
    assert "before any force is drawn" in written[0]
    assert "answered upward" in written[3]
    assert all(">1.35" not in text for text in written[:7])
