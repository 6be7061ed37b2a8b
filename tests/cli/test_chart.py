"""Charts: the numbers behind the curve are the solver's; every format; what must be refused."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from PIL import Image

from viz3d.output.chart import Chart
from viz3d.questions.sweep import sweep
from viz3d.scene.reader import load_scene
from viz3d.solution.script import solve_scene
from viz3d.stage.tell import person_words


def test_curve_is_the_solver() -> None:
    found = sweep(load_scene("cane-opposite-hand"), 0, "cane", "", "joint", points=81)
    at = int(np.argmin(np.abs(found.x - 15.0)))
    assert found.x[at] == pytest.approx(15.0)
    assert found.values[at] == pytest.approx(solve_scene(load_scene("cane-opposite-hand")).joint_bw[1], rel=1e-9)


def test_map_has_the_curve_on_its_edge() -> None:
    scene = load_scene("cane-same-hand")
    found = sweep(scene, 0, "cane", "lean", "joint", points=21)
    edge = sweep(scene, 0, "cane", "", "joint", points=21)
    assert found.values.shape == (21, 21)
    assert found.values[0] == pytest.approx(edge.values, rel=1e-12)


@pytest.mark.parametrize("suffix", [".png", ".svg", ".csv"])
@pytest.mark.parametrize("second", ["", "lean"])
def test_every_format(run: Any, tmp_path: Path, suffix: str, second: str) -> None:
    more = ["--and", second] if second else []
    path = tmp_path / f"a{suffix}"
    done = run("chart", "cane-same-hand", "--over", "cane", *more, "--out", str(path))
    assert done.code == 0, done.err
    if suffix == ".png":
        assert np.asarray(Image.open(path)).std() > 5
    elif suffix == ".svg":
        assert ElementTree.parse(path).getroot().tag.endswith("svg")
    else:
        rows = list(csv.reader(path.read_text(encoding="utf-8").splitlines()))
        assert len(rows[0]) == (3 if second else 2)
        assert len(rows) > 100
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize(
    ("arguments", "wanted"),
    [(["--over", "hope"], "lean, drop, cane"), (["--show", "love"], "joint, muscle"), (["--and", "cane"], "must differ"),
     (["--out", "a.pdf"], ".png, .svg, .csv")],
)  # fmt: skip
def test_refusals(run: Any, tmp_path: Path, arguments: list[str], wanted: str) -> None:
    done = run("chart", "level-stance", *arguments)
    assert done.code == 1
    assert wanted in done.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("words", [(), ("picture.words=plain", "picture.language=qps")])
def test_the_axis_name_stands_clear_of_the_notes(words: tuple[str, ...]) -> None:
    """A map with blank parts has two notes under it, each on up to two lines."""
    scene = load_scene("level-stance", words)
    chart = Chart(sweep(scene, 0, "lean", "cane", "joint", points=41), scene.picture.voice)
    chart.draw("A title", person_words(scene))
    canvas = FigureCanvasAgg(chart.figure)
    canvas.draw()
    notes = [t.get_window_extent() for t in chart.figure.texts if t.get_position()[1] < 0.5]
    assert len(notes) >= 2
    name = chart.axes.xaxis.label.get_window_extent()
    ticks = [t.get_window_extent() for t in chart.axes.get_xticklabels()]
    assert name.y0 > max(n.y1 for n in notes) + 4
    assert min(t.y0 for t in ticks) > name.y1
