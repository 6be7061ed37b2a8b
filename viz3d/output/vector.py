"""SVG stills: outlines of the bones and every mark and word of the drawing as live vector shapes.

Question answered: how does the picture look when no drawing library is at hand, or in print?

Needs no OpenGL. Leaves out: shading. Text is live; the letters of the font that it needs are in the file.
"""

from __future__ import annotations

from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from viz3d.arrays import Array
from viz3d.output.embedded import NUMBERS, font_style
from viz3d.output.outline import Patch, ghost_paths, sheet_patches
from viz3d.output.views import MAIN
from viz3d.shapes.skeleton import Figure
from viz3d.stage.canvas import Canvas
from viz3d.stage.drawing import Mark, Shape2D, Stroke, Words
from viz3d.stage.page import Page, Part


def write_svg(page: Page, figures: list[Figure], path: Path, source: str) -> None:
    """Write a page as SVG.

    Parameters
    ----------
    figures : the meshes of each part. source : what made it, for the metadata.
    """
    (width, height), c = page.size, page.theme.colours
    family = escape(f"{page.theme.face.name}, Arial, sans-serif", {'"': ""})
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}"'
        f' lang="{page.theme.voice.language}" xml:lang="{page.theme.voice.language}"'
        ' role="img" aria-labelledby="title alt">',
        f'<title id="title">{escape(page.title)}</title>',
        f'<desc id="alt">{escape(page.alt)}</desc>',
        '<metadata><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"'
        ' xmlns:dc="http://purl.org/dc/elements/1.1/"><rdf:Description'
        f" dc:source={quoteattr(source)} dc:language={quoteattr(page.theme.voice.language)}"
        f" dc:description={quoteattr(page.alt)}/></rdf:RDF></metadata>",
        '<defs><linearGradient id="paper" x1="0" y1="0" x2="0" y2="1">'
        f'<stop offset="0" stop-color="{c["paper_top"]}"/><stop offset="1" stop-color="{c["paper_bottom"]}"/>'
        '</linearGradient><linearGradient id="fade" x1="0" y1="0" x2="0" y2="1">'
        f'<stop offset="0.44" stop-color="{c["paper_top"]}"/>'
        f'<stop offset="1" stop-color="{c["paper_top"]}" stop-opacity="0"/></linearGradient></defs>',
        f"<style>{escape(font_style(_words(page), page.theme.face))}</style>",
        f'<rect width="{width}" height="{height}" fill="url(#paper)"/>',
    ]
    for k, (part, figure) in enumerate(zip(page.parts, figures, strict=True)):
        parts += [f'<g transform="translate({part.x:g} 0)">', *_part(part, figure, f"p{k}", family), "</g>"]
    parts += [_mark(m, c["paper_top"], family) for m in page.over]
    parts.append("</svg>\n")
    path.write_text("\n".join(parts), encoding="utf-8")


def _words(page: Page) -> list[Words]:
    """Everything that a page writes."""
    drawn = [part.sheet.drawing(part.index) for part in page.parts]
    marks = [*page.over, *(m for d in drawn for m in (*d.under, *d.over))]
    return [m for m in marks if isinstance(m, Words)]


def _part(part: Part, figure: Figure, name: str, family: str) -> list[str]:
    sheet, drawing, c = part.sheet, part.sheet.drawing(part.index), part.sheet.colours
    out = [_mark(m, c["card"], family) for m in drawing.under]
    for view, patches in sheet_patches(sheet, figure, part.index):
        b, clip = view.box, f"{name}-{view.name.replace(' ', '-')}"
        out.append(
            f'<clipPath id="{clip}"><rect x="{b.left:.1f}" y="{b.top:.1f}" width="{b.right - b.left:.1f}"'
            f' height="{b.bottom - b.top:.1f}"/></clipPath><g clip-path="url(#{clip})">'
            '<g transform="scale(0.1)" fill-rule="evenodd" stroke-linejoin="round">'
        )
        out += [*(_patch(p) for p in patches), "</g></g>"]
        if view.name == MAIN:
            size = f'width="{b.right - b.left:.0f}" height="{sheet.fades[1]:.0f}"'
            out.append(f'<rect x="{b.left:.0f}" {size} fill="url(#fade)"/>')
    return out + [_mark(m, c["paper_top"], family) for m in [*ghost_marks(sheet, figure), *drawing.over]]


def ghost_marks(sheet: Canvas, figure: Figure) -> list[Mark]:
    """The first pose's outline, where the scene asks for it."""
    if not sheet.plan.ghost or sheet.view == "joint":
        return []
    u, top = sheet.u, 130 * sheet.u
    paths = [p[p[:, 1] > top] for p in ghost_paths(sheet, figure, 0)]
    return [Stroke(p, sheet.colours["soft"], 1.7 * u, (8 * u, 5 * u), opacity=0.75) for p in paths if len(p) > 3]


def _patch(patch: Patch) -> str:
    seen = f' opacity="{patch.opacity:g}"' if patch.opacity < 1 else ""
    edge = f' stroke="{patch.edge}" stroke-width="{10 * patch.width:.3g}"' if patch.edge else ""
    return f'<path d="{_path(patch.paths)}" fill="{patch.fill}"{edge}{seen}/>'


def _path(paths: list[Array]) -> str:
    """Closed outlines in tenths of a pixel, each point told from the one before."""
    out = []
    for points in paths:
        tenths = np.round(10 * points).astype(int)
        steps = np.diff(tenths, axis=0)
        steps = steps[steps.any(axis=1)]
        out.append(f"M{tenths[0, 0]} {tenths[0, 1]}l" + " ".join(f"{x} {y}" for x, y in steps.tolist()) + "z")
    return "".join(out).replace(" -", "-")


def _mark(mark: Mark, halo: str, family: str) -> str:
    if isinstance(mark, Words):
        return _text(mark, halo, family)
    points = " ".join(f"{x:.2f},{y:.2f}" for x, y in mark.points)
    role = f' class="{escape(mark.role)}"' if mark.role else ""
    if isinstance(mark, Shape2D):
        rim = ""
        if mark.halo:
            wide = f'stroke-width="{2 * mark.halo:.2f}" stroke-linejoin="round"'
            rim = f'<polygon points="{points}" fill="none" stroke="{halo}" {wide}/>'
        return f'{rim}<polygon{role} points="{points}" fill="{mark.fill}" fill-opacity="{mark.opacity:g}"/>'
    return _line(mark, points, role, halo)


def _line(mark: Stroke, points: str, role: str, halo: str) -> str:
    dash = f' stroke-dasharray="{mark.dash[0]:.1f} {mark.dash[1]:.1f}"' if mark.dash else ""
    rim = ""
    if mark.halo:
        wide = mark.width + 2 * mark.halo
        rim = f'<polyline points="{points}" fill="none" stroke="{halo}" stroke-width="{wide:.2f}"{dash}/>'
    pen = f'fill="none" stroke="{mark.colour}" stroke-width="{mark.width:.2f}" stroke-opacity="{mark.opacity:g}"'
    return f'{rim}<polyline{role} points="{points}" {pen}{dash}/>'


def _text(mark: Words, halo: str, family: str) -> str:
    rim = f' paint-order="stroke" stroke="{halo}" stroke-width="{2 * mark.halo:.1f}"' if mark.halo else ""
    return (
        f'<text x="{mark.x:.2f}" y="{mark.y:.2f}" font-family="{family}"'
        f' font-size="{mark.size:.2f}" font-weight="{NUMBERS[mark.weight]}" text-anchor="{mark.anchor}"'
        f' fill="{mark.colour}"{rim}>{escape(mark.text)}</text>'
    )
