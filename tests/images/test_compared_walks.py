"""Walks side by side: which moment of the cycle each panel shows, and no difference between different ones."""

from __future__ import annotations

import pytest

from viz3d.scene.reader import load_scene
from viz3d.solution.script import Script
from viz3d.stage.compared import compare_page
from viz3d.stage.compose import compose
from viz3d.stage.drawing import Stroke, Words
from viz3d.stage.page import Page
from viz3d.stage.panels import Situation
from viz3d.stage.theme import theme_of


def page(*chosen: tuple[str, str]) -> Page:
    """The page of scenes, each with the phase at which it begins; "" for one that stands."""
    situations = []
    for name, phase in chosen:
        scene = load_scene(name, [f"walk.phase={phase}"] if phase else [])
        shot, row = Script(scene).shot_at(0)
        situations.append(Situation(compose(shot.scene, shot.solved), row))
    return compare_page(situations, (1920, 1080), "front", theme_of(load_scene(chosen[0][0])))


def words(of: Page) -> str:
    return " ".join(m.text for m in of.over if isinstance(m, Words))


def test_other_moments_of_a_walk_are_named_and_not_set_against_one_another() -> None:
    found = page(("walk", "0 %"), ("walk-limp", "30 %"))
    assert "so no comparison: A 0 %, B 30 % of the cycle" in found.title
    told = words(found)
    assert "left heel strikes (0 % of the cycle)" in told
    assert "left mid-stance (30 % of the cycle)" in told
    assert not [m for m in found.over if isinstance(m, Words) and m.role == "difference"]
    assert "B against A" not in found.alt
    assert "Highest pressure none: no surface carries it" in told
    for part in found.parts:
        leaders = [m for m in part.sheet.drawing(part.index).over if isinstance(m, Stroke) and m.role == "leader"]
        assert all(m.points[:, 1].max() <= part.sheet.foot for m in leaders)


@pytest.mark.parametrize(
    ("other", "title"),
    [("walk-limp", "At the same point of the walk: 30 % of the cycle"), ("level-stance", "Side by side")],
)
def test_one_moment_is_compared_and_the_footer_is_true_of_both(other: str, title: str) -> None:
    walks = other == "walk-limp"
    found = page(("walk", "30 %"), (other, "30 %" if walks else ""))
    assert found.title == title
    assert [m for m in found.over if isinstance(m, Words) and m.role == "difference"]
    assert "B against A" in found.alt
    told = words(found)
    assert ("Walking: A; standing still: B." in told) != walks
    assert ("standing is static, walking is one measured person's motion" in told) != walks
    assert "Standing still. " not in told
