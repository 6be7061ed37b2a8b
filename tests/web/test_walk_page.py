"""A walk's offline page: one control, the phase; numbers are the walk's at any moment of its cycle."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.web.conftest import Opened
from viz3d.scene.reader import load_scene
from viz3d.web.axes import PHASE
from viz3d.web.walk_table import walk_table


def test_a_walk_s_table_is_its_cycle() -> None:
    table = walk_table(load_scene("walk"), 0, "walk")
    grid = table.grids[0]
    assert [axis.word for axis in grid.axes] == [PHASE]
    assert table.error < 0.005
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
