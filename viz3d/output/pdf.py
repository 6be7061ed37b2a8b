"""PDF stills: the same outlines, marks and words as the SVG, with the font embedded.

Question answered: how does the picture go into a printed handout or a slide, sharp at any size?

Text is live and can be searched.
"""

from __future__ import annotations

import itertools
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from fpdf import FPDF
from fpdf.drawing import BoundingBox, Point
from fpdf.enums import PathPaintRule, TextMode

from viz3d.arrays import Array
from viz3d.output.outline import Patch, sheet_patches
from viz3d.output.vector import ghost_marks
from viz3d.output.views import MAIN
from viz3d.shapes.skeleton import Figure
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words
from viz3d.stage.page import Page, Part
from viz3d.stage.palette import rgb
from viz3d.stage.type import WEIGHTS, needs_shaping, text_width

PAGE_WIDTH = 960.0
"""Width of the page, points: a wide slide's."""


def write_pdf(page: Page, figures: list[Figure], path: Path, source: str) -> None:
    """Write a page as a one-page PDF.

    Parameters
    ----------
    figures : the meshes of each part. source : what made it, for the metadata.
    """
    paper, c = _Paper(page), page.theme.colours
    paper.box(Box(0, 0, *page.size), c["paper_top"])
    for part, figure in zip(page.parts, figures, strict=True):
        paper.left = part.x
        _part(paper, part, figure)
    paper.left = 0.0
    paper.marks(page.over, c["paper_top"])
    paper.save(path, page.title, page.alt, source)


def _part(paper: _Paper, part: Part, figure: Figure) -> None:
    sheet, drawing, c = part.sheet, part.sheet.drawing(part.index), part.sheet.colours
    paper.marks(drawing.under, c["card"])
    for view, patches in sheet_patches(sheet, figure, part.index):
        b = view.box
        with paper.clipped(b):
            for patch in patches:
                paper.patch(patch)
        if view.name == MAIN:
            steps = np.linspace(*sheet.fades[:2], 24)
            paper.box(Box(b.left, 0, b.right, steps[0]), c["paper_top"])
            for k, (top, bottom) in enumerate(itertools.pairwise(steps)):
                paper.box(Box(b.left, top, b.right, bottom), c["paper_top"], 1.0 - k / 23)
    paper.marks([*ghost_marks(sheet, figure), *drawing.over], c["paper_top"])


class _Paper:
    """The sheet of paper, drawn on in the page's pixels; ``left`` is where the part being drawn begins."""

    def __init__(self, page: Page) -> None:
        self.face, self.left, self.language = page.theme.face, 0.0, page.theme.voice.language
        self.k = PAGE_WIDTH / page.size[0]
        self.pdf = FPDF(unit="pt", format=(PAGE_WIDTH, page.size[1] * self.k))
        self.pdf.set_auto_page_break(False)
        self.pdf.set_margin(0)
        self.pdf.set_creation_date(datetime(2000, 1, 1, tzinfo=UTC))
        self.pdf.add_page()
        self.pdf.allow_images_transparency = True
        for weight in WEIGHTS:
            self.pdf.add_font(weight, fname=self.face.file(weight))

    def save(self, path: Path, title: str, alt: str, source: str) -> None:
        self.pdf.set_title(title)
        self.pdf.set_subject(alt)
        self.pdf.set_creator(source)
        self.pdf.set_lang(self.language)
        path.write_bytes(bytes(self.pdf.output()))

    def clipped(self, box: Box):  # type: ignore[no-untyped-def]
        k = self.k
        return self.pdf.rect_clip(
            (box.left + self.left) * k, box.top * k, (box.right - box.left) * k, (box.bottom - box.top) * k
        )

    def box(self, box: Box, fill: str, opacity: float = 1.0) -> None:
        corners = [(box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom)]
        self._path([np.array(corners)], fill=fill, opacity=opacity)

    def patch(self, patch: Patch) -> None:
        if patch.paths:
            self._path(patch.paths, patch.fill, patch.edge, patch.width, patch.opacity)

    def marks(self, marks: list[Mark], halo: str) -> None:
        for mark in marks:
            if isinstance(mark, Words):
                self._words(mark, halo)
            elif isinstance(mark, Shape2D):
                if mark.halo:
                    self._path([mark.points], "", halo, 2 * mark.halo)
                self._path([mark.points], mark.fill, opacity=mark.opacity)
            else:
                self._stroke(mark, halo)

    def _stroke(self, mark: Stroke, halo: str) -> None:
        if mark.halo:
            self._path([mark.points], "", halo, mark.width + 2 * mark.halo, dash=mark.dash, closed=False)
        self._path([mark.points], "", mark.colour, mark.width, mark.opacity, mark.dash, closed=False)

    def _words(self, mark: Words, halo: str) -> None:
        face, k = self.face, self.k
        x = (
            self.left
            + mark.x
            - {"start": 0.0, "middle": 0.5, "end": 1.0}[mark.anchor]
            * text_width(mark.text, mark.size, mark.weight, face)
        )
        self.pdf.set_font(mark.weight, size=mark.size * k)
        self.pdf.set_text_shaping(needs_shaping(mark.text))
        if mark.halo:
            with self.pdf.local_context(text_mode=TextMode.STROKE, line_width=2 * mark.halo * k, draw_color=_rgb(halo)):
                self.pdf.text(x * k, mark.y * k, mark.text)
        self.pdf.set_text_color(*_rgb(mark.colour))
        self.pdf.text(x * k, mark.y * k, mark.text)

    def _path(
        self, paths: list[Array], fill: str, edge: str = "", width: float = 0.0, opacity: float = 1.0,
        dash: tuple[float, float] | None = None, closed: bool = True,
    ) -> None:  # fmt: skip
        rule = {
            (True, False): PathPaintRule.FILL_EVENODD, (False, True): PathPaintRule.STROKE,
            (True, True): PathPaintRule.STROKE_FILL_EVENODD,
        }[bool(fill), bool(edge)]  # fmt: skip
        with self.pdf.new_path(paint_rule=rule) as path:
            path.style.auto_close = closed
            if fill:
                path.style.fill_color = fill
                path.style.fill_opacity = opacity
            if edge:
                path.style.stroke_color = edge
                path.style.stroke_width = width * self.k
                path.style.stroke_opacity = opacity
                path.style.stroke_join_style = "round"
                if dash:
                    path.style.stroke_dash_pattern = [d * self.k for d in dash]
            for points in paths:
                placed = (points + np.array([self.left, 0.0])) * self.k
                path.move_to(*placed[0])
                path.add_path_element(_Lines(placed), False)
                if closed:
                    path.close()


class _Lines:
    """A path's straight lines through points (P, 2) after the first, as one element: quicker than one for each."""

    def __init__(self, points: Array) -> None:
        self.points = points

    @property
    def end_point(self) -> Point:
        return Point(*(float(v) for v in self.points[-1]))

    def bounding_box(self, _start: Point) -> tuple[BoundingBox, Point]:
        low, high = self.points.min(axis=0), self.points.max(axis=0)
        return BoundingBox(*map(float, (*low, *high))), self.end_point

    def render(
        self, _registry: object, _style: object, _last: object, initial: Point
    ) -> tuple[str, _Lines, Point]:  # fmt: skip
        return " ".join(f"{x:.2f} {y:.2f} l" for x, y in self.points[1:].tolist()), self, initial


def _rgb(colour: str) -> tuple[int, int, int]:
    red, green, blue = (round(255 * v) for v in rgb(colour))
    return red, green, blue
