"""Situations side by side: what nobody could hold is said, and never passed off as a result."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tests.conftest import Ran
from viz3d.scene.reader import load_scene
from viz3d.solution.script import Script
from viz3d.stage.compared import compare_page
from viz3d.stage.compose import compose
from viz3d.stage.drawing import Words
from viz3d.stage.panels import Situation
from viz3d.stage.theme import theme_of

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


def test_the_words_go_into_the_file(run: Callable[..., Ran]) -> None:
    done = run("compare", "level-stance", "pelvic-drop:2", "--set", WEAK[0], "--out", "c.svg")
    assert done.code == 0
    assert Path("c.svg").read_text(encoding="utf-8").count("annot be held") >= 2
