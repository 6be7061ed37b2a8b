"""SVG stills: outlines of the bones and every mark and word of the drawing as live vector shapes.

Question answered: how does the picture look when no drawing library is at hand, or in print?

Bones become flat outlines: each shape's triangles are filled on a fine mask and traced, painted back to
front; the socket's cartilage in bands of 0.25 MPa. Needs no OpenGL. Leaves out: shading. Text is live, in
the shipped font's name with general fallbacks. Called by still.
"""

from __future__ import annotations

import dataclasses
from pathlib import Path
from xml.sax.saxutils import escape

import contourpy
import numpy as np
from PIL import Image, ImageDraw

from viz3d.output.cartilage import cartilage_pressure
from viz3d.output.flesh import body_colour, body_points
from viz3d.shapes.build import Shape
from viz3d.shapes.muscle_body import muscle_triangles
from viz3d.shapes.skeleton import Figure, belongs
from viz3d.shapes.surface import Triangles
from viz3d.stage.camera import Camera
from viz3d.stage.drawing import Array, Box, Mark, Shape2D, Stroke, Words
from viz3d.stage.layout import Sheet
from viz3d.stage.palette import PRESSURE_RANGE, pressure_map
from viz3d.stage.plan import Plan
from viz3d.stage.type import FONT_NAME

_WEIGHT = {"Regular": 400, "Medium": 500, "SemiBold": 600, "Bold": 700}
_FINE = 1.5
"""Mask pixels per picture pixel."""


def write_svg(sheet: Sheet, figure: Figure, index: int, path: Path) -> None:
    """Write frame ``index`` of a sheet as SVG."""
    width, height = sheet.size
    drawing = sheet.drawing(index)
    c = sheet.colours
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}">',
        f"<title>{escape(sheet.plan.title)}</title>",
        '<defs><linearGradient id="paper" x1="0" y1="0" x2="0" y2="1">'
        f'<stop offset="0" stop-color="{c["paper_top"]}"/><stop offset="1" stop-color="{c["paper_bottom"]}"/>'
        '</linearGradient><linearGradient id="fade" x1="0" y1="0" x2="0" y2="1">'
        f'<stop offset="0.44" stop-color="{c["paper_top"]}"/>'
        f'<stop offset="1" stop-color="{c["paper_top"]}" stop-opacity="0"/></linearGradient></defs>',
        f'<rect width="{width}" height="{height}" fill="url(#paper)"/>',
    ]
    parts += [_mark(m, c["card"]) for m in drawing.under]
    reach = 500 * sheet.u
    main = Box(sheet.camera.at[0] - reach, 0, sheet.camera.at[0] + reach, sheet.band.top)
    parts += _figure(sheet, figure, index, sheet.camera, main, "main")
    parts.append(f'<rect x="{main.left:.0f}" width="{2 * reach:.0f}" height="{268 * sheet.u:.0f}" fill="url(#fade)"/>')
    if sheet.cards.shown:
        parts += _socket(sheet, figure, index)
        parts += _figure(sheet, figure, index, sheet.insets.figure, sheet.insets.figure_box, "figure")
    parts += [_mark(m, c["paper_top"]) for m in drawing.over]
    parts.append("</svg>\n")
    path.write_text("\n".join(parts), encoding="utf-8")


def _figure(sheet: Sheet, figure: Figure, i: int, camera: Camera, box: Box, name: str) -> list[str]:
    c, plan = sheet.colours, sheet.plan
    clip = (
        f'<clipPath id="{name}"><rect x="{box.left:.1f}" y="{box.top:.1f}" width="{box.right - box.left:.1f}"'
        f' height="{box.bottom - box.top:.1f}"/></clipPath>'
    )
    out = [clip, f'<g clip-path="url(#{name})">']
    skin, _ = figure.shell.posed(plan.frames, i)
    outline = _outline(camera.project(skin), figure.shell.triangles, box)
    out.append(f'<path d="{outline}" fill="{c["shell_fill"]}" fill-rule="evenodd" stroke="{c["shell_rim"]}"/>')
    drawn = []
    for key, shape in figure.shapes.items():
        if not shown_in_svg(key, shape, plan):
            continue
        link = shape.link if shape.link in plan.frames else f"{shape.side}_{shape.link}"
        frame = plan.frames[link][i]
        world = shape.surface.points @ frame[:3, :3].T + frame[:3, 3]
        page = camera.project(world)
        if (page[:, 1].max() < box.top) or (page[:, 1].min() > box.bottom):
            continue
        depth = float((world @ camera.toward).mean()) - (1.0 if shape.material == "cartilage" else 0.0)
        drawn.append((depth, _outline(page, shape.surface.triangles, box), shape))
    for _, outline, shape in sorted(drawn, key=lambda item: item[0]):
        edge = c["soft"]
        out.append(
            f'<path d="{outline}" fill="{c[shape.material]}" fill-rule="evenodd" stroke="{edge}" stroke-width="1.1"/>'
        )
    if name == "main":
        out += _muscles(sheet, i, camera, box)
    return [*out, "</g>"]


def _muscles(sheet: Sheet, i: int, camera: Camera, box: Box) -> list[str]:
    """Outlines of the muscle bodies, see-through, the hindmost first."""
    bodies = [(body_points(m, i), m) for m in sheet.plan.muscles]
    out = []
    for points, muscle in sorted(bodies, key=lambda item: float((item[0] @ camera.toward).mean())):
        outline = _outline(camera.project(points), muscle_triangles(muscle.start.shape[1]), box)
        tone = "#" + "".join(f"{round(255 * v):02X}" for v in body_colour(muscle, i, sheet.colours))
        edge = sheet.colours["muscle"]
        out.append(
            f'<path d="{outline}" fill="{tone}" fill-opacity="0.6" fill-rule="evenodd" stroke="{edge}"'
            ' stroke-width="0.8" stroke-opacity="0.6"/>'
        )
    return out


def _socket(sheet: Sheet, figure: Figure, i: int) -> list[str]:
    """The stance socket seen from outside and below, its cartilage in bands of pressure."""
    c, plan, box = sheet.colours, sheet.plan, sheet.insets.socket_box
    camera = dataclasses.replace(sheet.insets.socket, centre=plan.hip[i])
    side, frame = ("right" if plan.sign > 0 else "left"), plan.frames["pelvis"][i]
    out = [
        f'<clipPath id="socket"><rect x="{box.left:.1f}" y="{box.top:.1f}" width="{box.right - box.left:.1f}"'
        f' height="{box.bottom - box.top:.1f}"/></clipPath><g clip-path="url(#socket)">'
    ]
    for name in ("pelvis/sacrum", "pelvis/hip", f"{side} pelvis/hip", f"{side} pelvis/lunate"):
        if name not in figure.shapes:
            continue
        surface = figure.shapes[name].surface
        page = camera.project(surface.points @ frame[:3, :3].T + frame[:3, 3])
        tone = c["cartilage"] if name.endswith("lunate") else c["bone"]
        outline = _outline(page, surface.triangles, box)
        out.append(f'<path d="{outline}" fill="{tone}" fill-rule="evenodd" stroke="{c["soft"]}"/>')
        if name.endswith("lunate"):
            out += _bands(page, surface.triangles, cartilage_pressure(figure.shapes[name], plan, i), box)
    return [*out, "</g>"]


def _bands(page: Array, triangles: Triangles, pressure: Array, box: Box) -> list[str]:
    """Triangles of the loaded cartilage by band of pressure, each band one outline."""
    step = 0.25e6
    mean = pressure[triangles].mean(axis=1)
    out = []
    for k in range(int(PRESSURE_RANGE[1] / step)):
        loaded = mean > max(k * step, 1.0)
        if loaded.sum() < 3:
            break
        tone = pressure_map()[min(255, int((k + 0.5) * step / PRESSURE_RANGE[1] * 255))]
        colour = "#" + "".join(f"{round(v * 255):02X}" for v in tone)
        out.append(f'<path d="{_outline(page, triangles[loaded], box)}" fill="{colour}" fill-rule="evenodd"/>')
    return out


def shown_in_svg(key: str, shape: Shape, plan: Plan) -> bool:
    """True for shapes that belong in the front figure: gripping hand and cane only where there is one."""
    return belongs(key, shape, plan.aids)


def _outline(page: Array, triangles: Triangles, box: Box) -> str:
    """SVG path of the area that projected triangles cover."""
    used = page[np.unique(triangles)]
    low = np.floor(np.maximum(used.min(axis=0), [box.left - 20, box.top - 20])) - 2
    high = np.ceil(np.minimum(used.max(axis=0), [box.right + 20, box.bottom + 20])) + 2
    size = np.maximum(((high - low) * _FINE).astype(int), 4)
    image = Image.new("L", (int(size[0]), int(size[1])))
    draw = ImageDraw.Draw(image)
    for corner in ((page - low) * _FINE)[triangles]:
        draw.polygon([tuple(p) for p in corner], fill=255)
    mask = np.asarray(image, dtype=float).copy()
    mask[[0, -1], :] = mask[:, [0, -1]] = 0.0
    tracer = contourpy.contour_generator(z=mask)
    paths = []
    for line in tracer.lines(127.0):
        points = np.asarray(line)[:: 2 if len(line) > 24 else 1] / _FINE + low
        if len(points) > 3:
            paths.append("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) + "Z")
    return "".join(paths)


def _mark(mark: Mark, halo: str) -> str:
    if isinstance(mark, Words):
        return _text(mark, halo)
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


def _text(mark: Words, halo: str) -> str:
    rim = f' paint-order="stroke" stroke="{halo}" stroke-width="{2 * mark.halo:.1f}"' if mark.halo else ""
    return (
        f'<text x="{mark.x:.2f}" y="{mark.y:.2f}" font-family="{FONT_NAME}, Arial, sans-serif"'
        f' font-size="{mark.size:.2f}" font-weight="{_WEIGHT[mark.weight]}" text-anchor="{mark.anchor}"'
        f' fill="{mark.colour}"{rim}>{escape(mark.text)}</text>'
    )
