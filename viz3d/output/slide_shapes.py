"""Shapes of a slide that are no picture: sketched free bodies and tables, all of it editable.

Question answered: how do a sketch and a table become shapes of a slide?

An arrow is a line with a head at its end, as long as its force; the pelvis is one freeform with its holes. The group
has the sketch's alternative text.
"""

from __future__ import annotations

from typing import Any

from lxml import etree
from pptx.dml.color import RGBColor
from pptx.enum.shapes import MSO_CONNECTOR, MSO_SHAPE
from pptx.enum.text import MSO_ANCHOR, PP_ALIGN
from pptx.oxml.ns import qn
from pptx.slide import Slide as Page
from pptx.util import Emu, Pt

from viz3d.stage.palette import palette, rgb
from viz3d.stage.type import text_width
from viz3d.teach.sketch import Sketch
from viz3d.teach.sketch_names import MARGIN, extent, placed_names
from viz3d.words.message import message
from viz3d.words.voice import Voice

FONT = "Arial"
_NAMES = 20
"""Size of names, points."""
_MM = 36000
"""English metric units of a millimetre."""
_POINT = 25.4 / 72
_SHARES = {5: (0.34, 0.15, 0.14, 0.22, 0.15), 4: (0.4, 0.18, 0.24, 0.18)}
"""Number of a table's columns -> their widths."""
Frame = tuple[int, int, int, int]
"""Left, top, width, height, English metric units."""


def colour_of(name: str) -> RGBColor:
    """A colour of the light palette; "paper": that of pictures behind a figure."""
    light = palette("light")
    if name != "paper":
        return RGBColor.from_string(light[name].lstrip("#"))
    ends = zip(rgb(light["paper_top"]), rgb(light["paper_bottom"]), strict=True)
    return RGBColor(*(round(255 * (0.65 * a + 0.35 * b)) for a, b in ends))


def write(frame: Any, lines: list[str], size: float, bold: bool, tone: str, voice: Voice, spaced: float = 0.0) -> None:
    """Lines as paragraphs of a text frame, nothing else in it."""
    for n, line in enumerate(lines):
        paragraph = frame.paragraphs[0] if n == 0 else frame.add_paragraph()
        run = paragraph.add_run()
        run.text = line
        run.font.size, run.font.bold, run.font.name = Pt(size), bold, FONT
        run.font.color.rgb = colour_of(tone)
        run._r.get_or_add_rPr().set("lang", voice.language)
        paragraph.line_spacing, paragraph.alignment = 0.95, PP_ALIGN.LEFT
        paragraph.space_after = Pt(spaced)


def text_box(page: Any, frame: Frame, lines: list[str], size: float, voice: Voice, *, bold: bool = False,
             tone: str = "ink", spaced: float = 0.0, wrapped: bool = True) -> Any:  # fmt: skip
    """A text box without margins."""
    box = page.shapes.add_textbox(*(Emu(int(v)) for v in frame))
    bare(box.text_frame)
    box.text_frame.word_wrap = wrapped
    write(box.text_frame, lines, size, bold, tone, voice, spaced)
    return box


def bare(frame: Any) -> None:
    """Take a text frame's margins away."""
    frame.margin_left = frame.margin_right = frame.margin_top = frame.margin_bottom = 0


def add_sketch(page: Page, sketch: Sketch, frame: Frame, voice: Voice) -> None:
    """A free body in a frame of the slide, as large as fits, names of 20 points."""
    left, top, width, height = frame
    letters = 5.0
    for _ in range(6):  # names are as large on every slide, so the drawing's scale depends on them and they on it
        names = placed_names(sketch, voice, letters)
        low, bottom, right, high = extent(sketch, names, letters)
        scale = min(width / (right - low), height / (high - bottom))
        letters = _NAMES * _POINT * _MM / scale

    def at(x: float, y: float) -> tuple[Emu, Emu]:
        return Emu(int(left + (x - low) * scale)), Emu(int(top + (high - y) * scale))

    first = len(page.shapes)
    _pelvis(page, sketch, at)
    for x, y in sketch.hips:
        size = 3.2 * scale
        cx, cy = at(x, y)
        corner = Emu(int(cx - size)), Emu(int(cy - size))
        dot = page.shapes.add_shape(MSO_SHAPE.OVAL, *corner, Emu(int(2 * size)), Emu(int(2 * size)))
        _painted(dot, "card", "soft")
    for arrow in sketch.arrows:
        if abs(arrow.tip[0] - arrow.tail[0]) + abs(arrow.tip[1] - arrow.tail[1]) > 0.1:
            _line(page, at(*arrow.tail), at(*arrow.tip), arrow.role, 4.5, head=True).name = voice.say(arrow.name)
    for name in names:
        _word(page, at(name.box[0], name.box[3]), name.text, voice, name.role)
    _bar(page, sketch, (low + MARGIN, bottom + MARGIN + letters), at, voice, letters)
    (hip, y), (other, _) = sorted(sketch.hips)
    for x, side in ((hip - 9.0, "right"), (other + 9.0, "left")):
        told = voice.say(message(f"frame.{side}_letter"))
        _word(page, at(x - letters / 3, y - 14.0 + letters), told, voice, "soft")
    group = page.shapes.add_group_shape(list(page.shapes)[first:])
    group.name = "Sketch"
    group._element.nvGrpSpPr.cNvPr.set("descr", voice.say(sketch.alt))


def _pelvis(page: Page, sketch: Sketch, at: Any) -> None:
    lines = [[at(float(x), float(y)) for x, y in line] for line in sketch.outlines]
    builder = page.shapes.build_freeform(*lines[0][0])
    for n, points in enumerate(lines):
        if n:
            builder.move_to(*points[0])
        builder.add_line_segments(points[1:], close=True)
    _painted(builder.convert_to_shape(), "bone", "soft")


def _painted(shape: Any, fill: str, line: str) -> None:
    shape.fill.solid()
    shape.fill.fore_color.rgb = colour_of(fill)
    shape.line.color.rgb = colour_of(line)
    shape.line.width = Pt(1.25)
    shape.shadow.inherit = False


def _line(page: Page, a: tuple[Emu, Emu], b: tuple[Emu, Emu], tone: str, width: float, head: bool = False) -> Any:
    line = page.shapes.add_connector(MSO_CONNECTOR.STRAIGHT, *a, *b)
    line.line.color.rgb = colour_of(tone)
    line.line.width = Pt(width)
    line._element.remove(line._element.find(qn("p:style")))  # the theme's shadow
    if head:
        etree.SubElement(line.line._get_or_add_ln(), qn("a:tailEnd"), {"type": "triangle", "w": "med", "len": "med"})
    return line


def _word(page: Page, corner: tuple[Emu, Emu], text: str, voice: Voice, tone: str) -> None:
    """A name of the sketch, its box as wide as its letters."""
    wide, tall = int(1.08 * text_width(text, _NAMES, "SemiBold") * Pt(1)), int(1.15 * _NAMES * Pt(1))
    text_box(page, (*corner, wide, tall), [text], _NAMES, voice, bold=True, tone=tone, wrapped=False)


def _bar(page: Page, sketch: Sketch, start: tuple[float, float], at: Any, voice: Voice, letters: float) -> None:
    x, y = start
    end = x + sketch.bar
    for x1, y1, x2, y2 in ((x, y, end, y), (x, y - 1.5, x, y + 1.5), (end, y - 1.5, end, y + 1.5)):
        _line(page, at(x1, y1), at(x2, y2), "ink", 2.25)
    _word(page, at(x, y + 2.0 + letters), voice.say(sketch.bar_name), voice, "ink")


def add_rows(page: Page, rows: list[list[str]], place: tuple[int, int, int], voice: Voice) -> None:
    """A table over the slide's width: heads first; the first column words, the others numbers."""
    left, top, width = place
    tall = Pt(44)
    table = page.shapes.add_table(len(rows), len(rows[0]), Emu(left), Emu(top), Emu(width), Emu(tall * len(rows))).table
    for column, share in zip(table.columns, _SHARES[len(rows[0])], strict=True):
        column.width = Emu(int(width * share))
    for n, row in enumerate(rows):
        for k, text in enumerate(row):
            cell = table.cell(n, k)
            cell.fill.solid()
            cell.fill.fore_color.rgb = colour_of("ink" if n == 0 else "card" if n % 2 else "paper_bottom")
            cell.vertical_anchor = MSO_ANCHOR.MIDDLE
            tone = "card" if n == 0 else "joint" if k == len(row) - 2 else "ink"
            write(cell.text_frame, [text], 20, n == 0 or k == len(row) - 2, tone, voice)
            cell.text_frame.paragraphs[0].alignment = PP_ALIGN.LEFT if k == 0 else PP_ALIGN.RIGHT
