"""Nothing shortens an arrow, hides a side of the polygon, or runs through words: measured on painted marks."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from tests.images.conftest import SCENES, WIDE, coverage, scenes, sheet_of, touches
from viz3d.output.paint import Painter
from viz3d.stage.distances import apart, off
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words
from viz3d.stage.label_marks import SHORT
from viz3d.stage.layout import Sheet
from viz3d.stage.leaders import met, path, sampled
from viz3d.stage.tall import TallSheet


def seen_length(size: tuple[int, int], marks: list[Mark], shape: Shape2D, tail: np.ndarray, tip: np.ndarray) -> float:
    """How much of an arrow's length its own paint shows once every other mark is painted too, pixels."""
    width, height = size
    painter = Painter(size, np.full((height, width, 3), 255, dtype=np.uint8))
    for mark in marks:
        own = mark is shape
        if isinstance(mark, Shape2D):
            painter.marks([Shape2D(mark.points, "#000000" if own else "#FFFFFF", mark.halo)], "#FFFFFF")
        elif isinstance(mark, Stroke):
            painter.marks([Stroke(mark.points, "#FFFFFF", mark.width, None, mark.halo)], "#FFFFFF")
    ink = 1.0 - painter.pixels()[..., 0] / 255.0
    y, x = np.nonzero(ink > 0.02)
    way = (tip - tail) / np.hypot(*(tip - tail))
    along = np.stack([x + 0.5, y + 0.5], axis=-1) @ way
    return float(along.max() - along.min() + 1.0)


@scenes
def test_nothing_shortens_an_arrow(name: str) -> None:
    """Badge, ring, dots, lever arms and other arrows' heads leave every arrow its length, within 1 % or 2 px."""
    sheet = sheet_of(name)
    i, measured = len(sheet.plan) - 1, 0
    marks = [m for m in sheet.drawing(i).over if not isinstance(m, Words)]
    roles = [a.role for a in sheet.figure.arrows()]
    shapes = [m for m in marks if isinstance(m, Shape2D) and m.role in roles]
    shown = [a for a in sheet.figure.arrows() if np.hypot(*np.subtract(*sheet.arrow_ends(a.key, i))) >= 2 * sheet.u]
    for shape, arrow in zip(shapes, shown, strict=True):
        tail, tip = sheet.arrow_ends(arrow.key, i)
        long = float(np.hypot(*(tip - tail)))
        if long > 30:
            seen = seen_length(sheet.size, marks, shape, tail, tip)
            assert seen == pytest.approx(long, abs=max(0.01 * long, 2.0)), arrow.key
            measured += 1
    assert measured >= 2


@scenes
def test_no_side_of_the_polygon_hides_another(name: str) -> None:
    """In every step's still: each side shows 97 % of its paint, and the polygon is as high as its card's words allow."""
    sheet = sheet_of(name, *WIDE)
    for i in range(len(sheet.plan)):
        one = sheet.showing(sheet.layers, i)
        marks = [m for m in one.insets.marks(i) if isinstance(m, Shape2D) and m.role.startswith("polygon")]
        assert len(marks) >= 2
        covers = [coverage(sheet.size, m) for m in marks]
        for k, cover in enumerate(covers):
            over = np.max([np.zeros_like(cover), *covers[k + 1 :]], axis=0)
            assert (cover * (1 - over)).sum() > 0.97 * cover.sum(), (i, marks[k].role)
        box, ends = sheet.cards.boxes["forces"], np.array(list(one.insets.polygon(i).values()))
        words = one.insets._polygon(box)._above  # heading and lines of moments, of one row or two
        assert words < 135 * sheet.u
        filled = np.ptp(ends[..., 1]) / (box.bottom - box.top - words - 64 * sheet.u)
        assert max(filled, np.ptp(ends[..., 0]) / (0.4 * (box.right - box.left))) > 1.0


@scenes
@pytest.mark.parametrize("view", ["front", "back", "three-quarter", "side"], scope="module")
def test_leaders_run_clear(name: str, view: str) -> None:
    """No leader runs through words, nor on in the direction of a lever arm, nor across an arrow, a lever or an arc."""
    sheet: Sheet = sheet_of(name, f"picture.view={view}", "picture.size=1920x1080")
    i = len(sheet.plan) - 1
    drawing = sheet.drawing(i)
    leaders = [m for m in drawing.over if isinstance(m, Stroke) and m.role == "leader"]
    dots = [m for m in drawing.over if isinstance(m, Shape2D) and m.role == "dot"]
    long = [np.hypot(*(tip - tail)) for tail, tip in sheet.figure.ends(i).values()]
    short = sum(2.0 * sheet.u <= size < SHORT * sheet.u for size in long)
    assert 2 <= len(leaders) - short <= len(dots) <= len(leaders)
    boxes = list(drawing.label_boxes.values())
    for line, (a, b) in ((m, pair) for m in leaders for pair in itertools.pairwise(m.points)):
        assert line.colour == sheet.colours["soft"]
        for box in boxes:
            inner = Box(box.left, box.top + 2, box.right, box.bottom - 2)
            assert not touches(np.stack([a, b]), inner)
    spans = sheet._spans(np.array([i]))
    for item in sheet._placed_items():
        if not sheet.figure.is_idle(item.key, i):
            line = sampled(path(sheet.leaders[item.key], *sheet._span(item, i)))
            assert met(line[None], [s for k, s in spans.items() if k != item.key], 4.0 * sheet.u) == 0.0, item.key
    ends = {m.points[-1].tobytes(): m for m in leaders}
    for item in sheet.figure.dimensions():
        start, end = sheet.dimension_ends(item, i)
        span = (end - start) / max(np.hypot(*(end - start)), 1e-9)
        for line in ends.values():
            away = np.abs((line.points[-1] - start) @ np.array([-span[1], span[0]]))
            on = away < 1.0 and 0 <= (line.points[-1] - start) @ span <= np.hypot(*(end - start))
            if on:
                last = line.points[-1] - line.points[-2]
                assert abs(last @ span) < 0.9 * np.hypot(*last)


@pytest.mark.parametrize("name", [n if n == "bag-sides" else pytest.param(n, marks=pytest.mark.long) for n in SCENES])
@pytest.mark.parametrize("size", ["1080x1350", pytest.param("1080x1920", marks=pytest.mark.long)])
def test_upright_leaders_meet_no_other_arrow(name: str, size: str) -> None:
    """In an upright picture of a whole person: every line from a name stays 4 u off all arrows but its own, in every
    step; the floor ends clear of the result beside it.
    """
    sheet = sheet_of(
        name, f"picture.size={size}", "picture.dress=patient", "picture.words=plain", "picture.frame=whole"
    )
    assert isinstance(sheet, TallSheet)
    for i in range(len(sheet.plan)):
        marks, figure = sheet.drawing(i).over, sheet.panel.figure
        arrows = [np.array(figure.arrow_ends(a, i)) for a in figure.arrows() if not figure.is_idle(a.key, i)]
        for line in (m.points for m in marks if isinstance(m, Stroke) and m.role == "leader"):
            away = np.array([float(apart(line[0], line[1], *ends)) for ends in arrows])
            own = np.array([float(off(line[1], *ends)) for ends in arrows]) < 1.5
            assert away[~own].min(initial=np.inf) > 4.0 * sheet.u, (i, away)
        floor = next(m.points for m in marks if isinstance(m, Stroke) and m.role == "floor")
        if sheet.area.bottom > sheet.result.top:
            gaps = floor[0, 0] - sheet.result.right, sheet.result.left - floor[1, 0]
            assert max(gaps) > 11.0 * sheet.u


def test_a_lever_is_drawn_only_where_its_force_is() -> None:
    """The second step presses one crutch: the other one's lever arm is not drawn; in the third both are."""
    sheet = sheet_of("elbow-crutches")
    keys = {"cane_lever_stance", "cane_lever_swing"}
    for i, wanted in ((0, set()), (1, {"cane_lever_swing"}), (2, keys)):
        assert keys & {m.role for m in sheet.figure.forces(i) if isinstance(m, Stroke)} == wanted
