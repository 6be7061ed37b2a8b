"""A made-up language, 35 % longer and accented, goes through every medium: nothing meets, leaves its box or is cut."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from tests.images.conftest import in_turn
from viz3d.body.person import Body
from viz3d.output.chart import Chart
from viz3d.output.plate import framing_points, labelled_points
from viz3d.output.still import draw_still
from viz3d.questions.sweep import sweep
from viz3d.scene.reader import load_scene
from viz3d.scene.schema import Scene
from viz3d.shapes.skeleton import placed_shapes
from viz3d.solution.script import Script
from viz3d.stage.compared import compare_page
from viz3d.stage.compose import compose
from viz3d.stage.drawing import Box, Mark, Words
from viz3d.stage.layout import Sheet
from viz3d.stage.panels import Situation
from viz3d.stage.plate import Plate, plate_kind
from viz3d.stage.plate_panels import lay_out as lay_out_plate
from viz3d.stage.plate_panels import name_width
from viz3d.stage.sheets import lay_out
from viz3d.stage.tell import measured_words, person_words
from viz3d.stage.theme import theme_of
from viz3d.stage.type import text_width
from viz3d.words.message import joined, message
from viz3d.words.pseudo import stretched
from viz3d.words.voice import Voice

REGISTERS = ("trade", "plain")
SIZES = ("1920x1080", "1080x1080", "1080x1920")
VIEWS = ("front", "back", "three-quarter", "side", "joint")
FAST = ("front", "three-quarter")
"""Views of the fast tier; the long one takes all."""
TWO_WORDS = re.compile(r"[A-Za-z]{3,} [A-Za-z]{3,}")


def pseudo(name: str, *changes: str) -> Scene:
    """A library scene in the made-up language, its own words made short and one view throughout."""
    scene = load_scene(name, ["picture.language=qps", "title=Ţ", *changes])
    steps = [s.model_copy(update={"view": None, "name": "Š", "caption": "Ç"}) for s in scene.steps]
    return scene.model_copy(update={"steps": steps})


def boxes(marks: Iterable[Mark], left: float = 0.0) -> list[tuple[str, Box]]:
    """Every text with the box of its letters, pixels."""
    out = []
    for m in marks:
        if isinstance(m, Words) and m.text:
            wide = text_width(m.text, m.size, m.weight)
            x = left + m.x - {"start": 0.0, "middle": wide / 2, "end": wide}[m.anchor]
            out.append((m.text, Box(x, m.y - 0.72 * m.size, x + wide, m.y + 0.12 * m.size)))
    return out


def check(found: list[tuple[str, Box]], size: tuple[int, int]) -> None:
    """On the page, apart from each other, whole, and of the made-up language."""
    assert len(found) >= 4
    for text, box in found:
        assert box.left >= -1, text
        assert box.right <= size[0] + 1, text
        assert box.top >= -1, text
        assert box.bottom <= size[1], text
        assert "…" not in text
        assert not TWO_WORDS.search(text), f"{text!r} is not in the catalogue"
    for (one, a), (other, b) in itertools.combinations(found, 2):
        assert not a.overlaps(b), (one, other)


def check_sheet(sheet: Sheet, i: int) -> None:
    """One frame of a sheet: its words, its labels and its cards."""
    drawing = sheet.drawing(i)
    found = boxes(drawing.over)
    check(found, sheet.size)
    for a, b in itertools.combinations(drawing.label_boxes.values(), 2):
        assert not a.overlaps(b)
    for card in sheet.cards.boxes.values() if sheet.cards.shown else ():
        inside = [(t, b) for t, b in found if b.left > card.left - 2 and card.top - 2 < b.bottom < card.bottom + 2]
        assert all(b.right <= card.right + 14 * sheet.u for t, b in inside), inside


@pytest.mark.parametrize("register", REGISTERS)
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", ["cane-opposite-hand", "leg-length", "elbow-crutches"])
@pytest.mark.parametrize("views", [FAST, pytest.param(VIEWS, marks=pytest.mark.long)], ids=["two", "all"])
def test_stills(name: str, size: str, register: str, views: tuple[str, ...]) -> None:
    for view in views:
        scene = pseudo(name, f"picture.size={size}", f"picture.view={view}", f"picture.words={register}")
        look, row = Script(scene).shot_at(len(scene.steps) - 1)
        check_sheet(lay_out(look.scene, look.solved, look.scene.picture.pixels), row)


@pytest.mark.parametrize(("text", "register"), in_turn([(t, r) for t in ("large", "usual") for r in REGISTERS], 4))
def test_large_words_and_whole_captions(text: str, register: str) -> None:
    """The library's own captions, made longer like all else: the band grows, nothing meets."""
    for name in ("elbow-crutches", "level-stance", "muscle-set"):
        changes = [f"picture.text={text}", f"picture.words={register}"]
        captions = [stretched(s.caption) for s in load_scene(name).steps]
        scene = pseudo(name, *changes)
        steps = [s.model_copy(update={"caption": c}) for s, c in zip(scene.steps, captions, strict=True)]
        scene = scene.model_copy(update={"steps": steps})
        for k in range(len(steps)):
            shot, row = Script(scene).shot_at(k)
            check_sheet(lay_out(shot.scene, shot.solved, (1920, 1080)), row)


@pytest.mark.parametrize(("size",), in_turn([(s,) for s in SIZES], 2))
def test_films_hold_still(size: str) -> None:
    for name in ("cane-press-release", "weight-shift"):
        scene = pseudo(name, f"picture.size={size}", 'picture.insets=["curve", "free body", "figure"]')
        look = Script(scene).film()[0][0]
        sheet = lay_out(look.scene, look.solved, look.scene.picture.pixels)
        first = sheet.drawing(0).label_boxes
        for i in range(0, len(sheet.plan), 47):
            check_sheet(sheet, i)
            assert all(first.get(k, box) == box for k, box in sheet.drawing(i).label_boxes.items())


@pytest.mark.parametrize("register", REGISTERS)
@pytest.mark.parametrize("count", [2, 3, 4])
def test_panels(count: int, register: str) -> None:
    chosen = [("level-stance", 0), ("cane-same-hand", 1), ("cane-opposite-hand", 1), ("bag-sides", 1)][:count]
    looks = [Script(pseudo(n, f"picture.words={register}")).shot_at(k) for n, k in chosen]
    situations = [Situation(compose(look.scene, look.solved), row) for look, row in looks]
    page = compare_page(situations, (1920, 1080), "front", theme_of(looks[0][0].scene))
    found = boxes(page.over)
    for part in page.parts:
        drawing = part.sheet.drawing(part.index)
        inside = boxes(drawing.over)
        check(inside, part.sheet.size)
        found += boxes(drawing.over, part.x)
    check(found, page.size)
    assert not TWO_WORDS.search(page.alt)


@pytest.mark.parametrize("register", REGISTERS)
@pytest.mark.parametrize("size", [(1920, 1080), (1080, 1080)])
@pytest.mark.parametrize("name", ["pelvis", "femur", "foot"])
def test_plates(name: str, size: tuple[int, int], register: str, house: Body) -> None:
    kind, voice = plate_kind(name), Voice("qps", register)
    placed = placed_shapes(house, kind.has)
    labels = labelled_points(house, kind, placed, list(kind.views))
    wide = name_width(labels, voice)
    panels = lay_out_plate(
        list(kind.views), framing_points(kind, placed), size, {v for p in labels for v in p.views}, wide
    )
    scene = pseudo("level-stance", "person.left_hip.neck_shaft_angle=140 deg", "person.right_hip.offset=50 mm")
    who = joined("join.dot", [person_words(scene), measured_words(scene)])
    plate = Plate(
        kind.title, who, message("plate_foot.rule"), size, "light", panels, labels, voice=voice, wide=wide, kind=kind
    )
    check(boxes(plate.marks()), size)
    assert len(plate.label_boxes) >= 2


@pytest.mark.parametrize("register", REGISTERS)
@pytest.mark.parametrize(
    ("x", "y", "shown"), [("cane", "", "joint"), ("lever", "", "relief"), ("cane", "lean", "lever")]
)
def test_charts(x: str, y: str, shown: str, register: str, tmp_path: Path) -> None:
    scene = pseudo("cane-same-hand", f"picture.words={register}")
    chart = Chart(sweep(scene, 0, x, y, shown, points=21), scene.picture.voice)
    chart.written("Ţ", person_words(scene), tmp_path / "a.png", ".png")
    canvas = FigureCanvasAgg(chart.figure)
    canvas.draw()
    wide, high = canvas.get_width_height()
    texts = [t for t in chart.figure.findobj(Text) if t.get_visible() and t.get_text().strip()]
    own = [t for t in texts if re.search(r"[^\W\d_]{3}", t.get_text())]
    assert len(own) >= 4
    for t in texts:
        box = t.get_window_extent()
        assert box.x0 >= 0 and box.y0 >= 0 and box.x1 <= wide + 1 and box.y1 <= high + 1, t.get_text()
        assert not TWO_WORDS.search(t.get_text())
    flat = [t.get_window_extent() for t in own if t.get_rotation() == 0]
    for a, b in itertools.combinations(flat, 2):
        assert not (a.x0 < b.x1 and b.x0 < a.x1 and a.y0 < b.y1 and b.y0 < a.y1)
    numbers = [t.get_text().lstrip("−") for t in chart.axes.get_yticklabels()]
    assert all(re.fullmatch(r"\d+(,\d+)?", n) for n in numbers)


@pytest.mark.parametrize("register", ["plain", pytest.param("trade", marks=pytest.mark.long)])
def test_pdf_and_svg_keep_all_words_on_the_page(register: str, tmp_path: Path) -> None:
    layers = 'picture.layers=["weight", "lever", "muscle", "joint", "cane", "pressure", "numbers"]'
    scene = pseudo("cane-opposite-hand", f"picture.words={register}", layers)
    for suffix in (".pdf", ".svg"):
        draw_still(scene, tmp_path / f"a{suffix}", "x")
    document = pypdfium2.PdfDocument(tmp_path / "a.pdf")
    page, text = document[0], document[0].get_textpage()
    wide, high = page.get_size()
    corners = np.array([text.get_charbox(k) for k in range(text.count_chars())])
    assert len(corners) > 300
    assert b"/Lang (qps)" in (tmp_path / "a.pdf").read_bytes()
    assert corners[:, [0, 2]].min() >= -0.5
    assert corners[:, [0, 2]].max() <= wide + 0.5
    assert corners[:, [1, 3]].min() >= -0.5
    assert corners[:, [1, 3]].max() <= high + 0.5
    assert not TWO_WORDS.search(text.get_text_range().replace("\r\n", "|"))
    svg = (tmp_path / "a.svg").read_text(encoding="utf-8")
    assert 'lang="qps"' in svg
    said = "".join(re.findall(r"<text[^>]*>([^<]*)</text>", svg))
    assert not TWO_WORDS.search(said)
