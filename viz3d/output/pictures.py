"""A page of pictures as PNG, SVG or PDF.

Question answered: how does what the stage laid out become a file?
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from PIL import Image
from PIL.PngImagePlugin import PngInfo

from viz3d.output.files import written_whole
from viz3d.shapes.skeleton import Figure
from viz3d.stage.canvas import Canvas
from viz3d.stage.page import Page

if TYPE_CHECKING:
    from viz3d.output.meshes import MeshLayer
    from viz3d.output.paint import Pixels


def write_page(page: Page, figures: list[Figure], path: Path, source: str) -> None:
    """Write a page as its suffix says: .png, .svg or .pdf; ``figures`` belong to its parts."""
    with written_whole(path) as temporary:
        if path.suffix.lower() == ".svg":
            from viz3d.output.vector import write_svg

            write_svg(page, figures, temporary, source)
        elif path.suffix.lower() == ".pdf":
            from viz3d.output.pdf import write_pdf

            write_pdf(page, figures, temporary, source)
        else:
            _write_png(page, figures, temporary, source)


def _write_png(page: Page, figures: list[Figure], path: Path, source: str) -> None:
    from viz3d.output.meshes import MeshLayer
    from viz3d.output.paint import Painter, paper

    pixels = paper(page.size, page.theme.colours)
    for part, figure in zip(page.parts, figures, strict=True):
        x = int(part.x)
        with MeshLayer(part.sheet, figure, pixels[:, x : x + part.sheet.width]) as layer:
            pixels[:, x : x + part.sheet.width] = paint_frame(layer, part.sheet, part.index)
    painter = Painter(page.size, pixels, page.theme.face)
    painter.marks(page.over, page.theme.colours["paper_top"])
    save_png(painter.pixels(), page, path, source)


def save_png(pixels: Pixels, page: Page, path: Path | BinaryIO, source: str) -> None:
    """Write a page's pixels as PNG, with what the page is called and shows."""
    told = PngInfo()
    language = page.theme.voice.language
    told.add_itxt("Title", page.title, language, "Title")
    told.add_itxt("Description", page.alt, language, "Description")
    told.add_itxt("Source", source)
    Image.fromarray(pixels).save(path, format="PNG", pnginfo=told)


def paint_frame(layer: MeshLayer, sheet: Canvas, index: int) -> Pixels:
    """Mesh layer and overlay of one frame, (height, width, 3)."""
    from viz3d.output.paint import Painter
    from viz3d.output.vector import ghost_marks

    painter = Painter(sheet.size, layer.frame(index), sheet.theme.face)
    painter.marks([*ghost_marks(sheet, layer.figure), *sheet.drawing(index).over], sheet.colours["paper_top"])
    return painter.pixels()
