"""A walk's pages, offline and live: its phase is moved; numbers are the walk's at any moment of its cycle."""

from __future__ import annotations

import base64
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser

from tests.web.conftest import Opened, patient
from tests.web.server import serving
from viz3d.errors import InputError, SceneError
from viz3d.scene.reader import check_scene, load_data, load_scene
from viz3d.solution.script import Script
from viz3d.web.answers import Opened as OpenedScene
from viz3d.web.answers import at_first, flattened, saved_text, situation_of, with_changes
from viz3d.web.axes import PHASE
from viz3d.web.editing import edited
from viz3d.web.live import Live
from viz3d.web.made import made_of
from viz3d.web.walk_table import walk_table


def test_a_walk_s_table_is_its_cycle() -> None:
    table = walk_table(load_scene("walk"), 0, "walk")
    grid = table.grids[0]
    assert [axis.word for axis in grid.axes] == [PHASE]
    assert table.error < 0.005
    assert grid.start[PHASE] == pytest.approx(0.14, abs=0.02)  # at the peak: at the heel strike there is little to see
    link = grid.columns["link right_foot"][1]
    assert link[0] == pytest.approx(link[-1], abs=1e-6)
    assert np.ptp(link[:, 0]) > 0.4


@pytest.mark.long
def test_the_phase_moves_the_walk(
    written: Callable[..., Path], open_page: Callable[..., Opened], tmp_path: Path
) -> None:
    opened = open_page(written("walk").as_uri())
    assert opened.errors == []
    assert opened.page.evaluate("() => viz.page.figure.orbit.framed") == "whole"
    assert not [url for url in opened.asked if not url.startswith(("file:", "data:", "blob:"))]
    shown = {}
    for percent in (0, 14, 30, 80):
        opened.slide("#phase", percent)
        opened.settled()
        assert not opened.page.locator("#held").is_visible()  # nobody falls who walks
        shown[percent] = float(opened.text("#joint").split()[0])
    assert shown[14] == pytest.approx(2.35, abs=0.02)
    assert 1.8 < shown[30] < shown[14]
    assert shown[80] < 0.3


CANE = {"hands.right.holds": "cane", "hands.right.force": "10 %BW"}


def opened_scene(name: str) -> OpenedScene:
    scene, data = load_data(name, [])
    return OpenedScene(data, scene, flattened(at_first(scene)))


@pytest.fixture(scope="module")
def walking() -> OpenedScene:
    return opened_scene("walk-cane")


def joint_at(situation: dict[str, Any], phase: float) -> float:
    """Joint force at one of a cycle's own phases, body weights, out of what the page is sent."""
    cycle, at = situation["cycle"], 0
    nodes, rows = cycle["axes"][0]["nodes"], np.frombuffer(base64.b64decode(cycle["rows"]), "<f4")
    for name, width, along in cycle["layout"]:
        stride = along[0][1] if along else 1
        count = len(nodes[::stride]) if along else 1
        if name == "arrow joint":
            row = nodes[::stride].index(pytest.approx(phase))
            return float(np.linalg.norm(rows[at + row * width : at + (row + 1) * width][3:])) / situation["told"]["bw"]
        at += width * count
    raise AssertionError("no joint force")


def test_the_live_page_is_sent_the_whole_cycle(walking: OpenedScene) -> None:
    plain = situation_of(walking, walking.flat)
    caned = situation_of(walking, with_changes(walking.flat, CANE))
    for found, scene in (
        (plain, load_scene("walk")),
        (caned, load_scene("walk-cane", [f"{k}={v}" for k, v in CANE.items()])),
    ):
        still = scene.model_copy(update={"walk": scene.walk.model_copy(update={"phase": 0.5, "shown_at": 0.0})})  # type: ignore[union-attr]
        still = still.model_copy(update={"steps": [still.steps[0]]})
        assert joint_at(found, 0.5) == pytest.approx(Script(still).solved_at(still, np.zeros(1)).joint_bw[0], abs=5e-3)
    assert joint_at(caned, 0.3) < joint_at(plain, 0.3)
    assert (plain["cycle"]["phase"], plain["cycle"]["seconds"]) == (0.3, pytest.approx(4.0))
    assert plain["told"]["walks"] is True
    assert "feet" not in plain["choices"]
    assert not [c["key"] for c in plain["controls"] if c["key"].startswith("posture.")]
    assert [step["change"] for step in plain["steps"]] == [0.0, 0.0, 0.0]


def test_a_walk_is_edited_saved_and_drawn_at_the_moment_seen(walking: OpenedScene) -> None:
    saved = tomllib.loads(saved_text(walking, {"person.mass": "80 kg"}))
    assert check_scene(saved, Path("scene")).walk == walking.scene.walk
    added = check_scene(edited(walking.data, CANE, {"do": "add", "at": 0, "value": "Mine"}), Path("scene"))
    assert [s.name for s in added.steps[:2]] == ["Without a cane", "Mine"]
    assert added.walk == walking.scene.walk
    limping = with_changes(walking.flat, {"walk.change": "drop"})
    assert situation_of(walking, limping)["choices"]["walk.change"] == "drop"
    with pytest.raises(InputError, match="cannot be set"):
        with_changes(walking.flat, {"walk.motion": "own.csv"})
    seen, plain = {"kind": "still", "seen": {"step": 0, "phase": 0.5}}, opened_scene("walk")
    drawn = check_scene(made_of(plain, seen, lambda _: plain).data, Path("scene"))
    shot, row = Script(drawn).shot_at(0)
    assert shot.solved.gait is not None
    assert shot.solved.gait.phase[row] == pytest.approx(0.5, abs=0.002)
    with pytest.raises(SceneError, match="stands alone"):
        Live.put(None, {"walk": {"motion": "own.csv"}}, walking.scene)  # type: ignore[arg-type]


@pytest.mark.long
def test_the_live_page_walks(browser: Browser, tmp_path: Path) -> None:
    """Its phase is moved, the cycle runs and stops, steps are played."""
    with serving("walk-cane", tmp_path) as (address, _):
        opened = Opened(patient(browser.new_page()))
        opened.page.on("pageerror", lambda e: opened.errors.append(str(e)))
        opened.page.goto(f"{address}#everything")
        opened.settled()
        assert opened.page.evaluate("() => viz.page.figure.orbit.framed") == "whole"
        shown = {}
        for percent in (14, 30, 80):
            opened.slide("#phase", percent)
            shown[percent] = float(opened.text("#joint").split()[0])
        assert shown[14] == pytest.approx(2.35, abs=0.02)
        assert shown[80] < 0.3
        opened.page.click("#run")
        opened.page.wait_for_function("() => Number(document.getElementById('phase').value) !== 80")
        opened.page.click("#run")
        opened.slide("#phase", 14)
        opened.page.click("#steps button:last-child")
        opened.page.wait_for_function("() => parseFloat(document.getElementById('joint').textContent) < 1.9")
        opened.page.select_option("#library", "walk")  # each scene opens at its own moment, and as near as it is seen
        opened.page.wait_for_function("() => document.getElementById('phase').value === '14'")
        opened.page.select_option("#library", "level-stance")
        opened.page.wait_for_function("() => viz.page.figure.orbit.framed === 'hip'")
        assert opened.errors == []
        opened.page.close()
