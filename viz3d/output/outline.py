"""Outlines of a sheet's solid things, as flat patches for print and the web: no drawing library is needed.

Question answered: which areas do the bones, the body, the muscles and the loaded cartilage cover on the page?

Each shape's triangles are filled on a fine mask and traced; patches come back to front, the cartilage in bands of
0.25 MPa. Leaves out shading. Called by the SVG and PDF writers; the body's outline also makes the ghost.
"""

from __future__ import annotations

from dataclasses import dataclass

import contourpy
import numpy as np
from PIL import Image, ImageDraw

from viz3d.arrays import Array
from viz3d.output.cartilage import cartilage_pressure
from viz3d.output.flesh import body_colour, body_points
from viz3d.output.views import MAIN, camera_at, frame_at, sheet_views, shows, shows_muscles, shows_pressure
from viz3d.output.window import View
from viz3d.shapes.build import Shape
from viz3d.shapes.muscle_body import muscle_triangles
from viz3d.shapes.skeleton import Figure
from viz3d.shapes.surface import Triangles
from viz3d.stage.canvas import Canvas
from viz3d.stage.drawing import Box
from viz3d.stage.palette import PRESSURE_RANGE, pressure_map

_FINE = 1.5
"""Mask pixels per picture pixel."""
_BAND = 0.25e6


@dataclass(frozen=True)
class Patch:
    """Closed outlines (P, 2), filled by the even-odd rule; ``edge`` is "" for none."""

    paths: list[Array]
    fill: str
    edge: str = ""
    width: float = 0.0
    opacity: float = 1.0


def sheet_patches(sheet: Canvas, figure: Figure, i: int) -> list[tuple[View, list[Patch]]]:
    """Every view's patches in frame ``i``, each view with its box."""
    return [(view, _view_patches(sheet, figure, view, i)) for view in sheet_views(sheet)]


def ghost_paths(sheet: Canvas, figure: Figure, i: int) -> list[Array]:
    """Outlines of the body, the pelvis and the thighs in the main view of frame ``i``."""
    view = sheet_views(sheet)[0]
    skin, _ = figure.shell.posed(sheet.plan.frames, i)
    paths = traced(view.camera.project(skin), figure.shell.triangles, view.box)
    for shape in figure.shapes.values():
        if shape.name in ("hip", "sacrum", "femur"):
            paths += traced(_on_page(sheet, view, shape, i)[0], shape.surface.triangles, view.box)
    return paths


def _on_page(sheet: Canvas, view: View, shape: Shape, i: int) -> tuple[Array, Array]:
    """A shape's vertices on the page (V, 2) and in the world (V, 3)."""
    frame = frame_at(sheet, view, shape, i)
    world = shape.surface.points @ frame[:3, :3].T + frame[:3, 3]
    return camera_at(sheet, view, i).project(world), world


def _view_patches(sheet: Canvas, figure: Figure, view: View, i: int) -> list[Patch]:
    c, box, out = sheet.colours, view.box, []
    camera = camera_at(sheet, view, i)
    if view.skin:
        skin, _ = figure.shell.posed(sheet.plan.frames, i)
        out.append(
            Patch(traced(camera.project(skin), figure.shell.triangles, box), c["shell_fill"], c["shell_rim"], 1.0)
        )
    drawn = []
    for key, shape in figure.shapes.items():
        if not shows(sheet, view, key, shape):
            continue
        page, world = _on_page(sheet, view, shape, i)
        if (page[:, 1].max() < box.top) or (page[:, 1].min() > box.bottom):
            continue
        before = 0.0
        if shape.material == "cartilage":
            before = 1.0 if "lunate" in shape.name and camera.toward[1] < -0.3 else -1.0
        patches = [Patch(traced(page, shape.surface.triangles, box), c[shape.material], c["soft"], 1.1)]
        if shows_pressure(sheet, shape) and before > 0:
            patches += _bands(page, shape.surface.triangles, cartilage_pressure(shape, sheet.plan, i), sheet, box)
        femur_first = 2.0 if view.name == MAIN and sheet.view == "joint" and shape.name == "femur" else 0.0
        drawn.append((float((world @ camera.toward).mean()) + before + femur_first, patches))
    out += [p for _, some in sorted(drawn, key=lambda item: item[0]) for p in some]
    if view.name == MAIN and shows_muscles(sheet):
        out += _muscles(sheet, i, view)
    return out


def _muscles(sheet: Canvas, i: int, view: View) -> list[Patch]:
    """Muscle bodies, see-through, the hindmost first."""
    out = []
    bodies = [(body_points(m, i), m) for m in sheet.plan.muscles]
    for points, muscle in sorted(bodies, key=lambda item: float((item[0] @ view.camera.toward).mean())):
        paths = traced(view.camera.project(points), muscle_triangles(muscle.start.shape[1]), view.box)
        tone = "#" + "".join(f"{round(255 * v):02X}" for v in body_colour(muscle, i, sheet.colours))
        out.append(Patch(paths, tone, sheet.colours["muscle"], 0.8, 0.6))
    return out


def _bands(page: Array, triangles: Triangles, pressure: Array, sheet: Canvas, box: Box) -> list[Patch]:
    """Triangles of the loaded cartilage by band of pressure, each band one patch."""
    tones = pressure_map(grey=sheet.theme.backdrop == "print")
    mean = pressure[triangles].mean(axis=1)
    out = []
    for k in range(int(PRESSURE_RANGE[1] / _BAND)):
        loaded = mean > max(k * _BAND, 1.0)
        if loaded.sum() < 3:
            break
        tone = tones[min(255, int((k + 0.5) * _BAND / PRESSURE_RANGE[1] * 255))]
        out.append(Patch(traced(page, triangles[loaded], box), "#" + "".join(f"{round(v * 255):02X}" for v in tone)))
    return out


def traced(page: Array, triangles: Triangles, box: Box) -> list[Array]:
    """Closed outlines (P, 2) of the area that projected triangles cover, within a box."""
    used = page[np.unique(triangles)]
    low = np.floor(np.maximum(used.min(axis=0), [box.left - 20, box.top - 20])) - 2
    high = np.ceil(np.minimum(used.max(axis=0), [box.right + 20, box.bottom + 20])) + 2
    if (high <= low).any():
        return []
    size = np.maximum(((high - low) * _FINE).astype(int), 4)
    image = Image.new("L", (int(size[0]), int(size[1])))
    draw = ImageDraw.Draw(image)
    for corner in ((page - low) * _FINE)[triangles]:
        draw.polygon([tuple(p) for p in corner], fill=255)
    mask = np.asarray(image, dtype=float).copy()
    mask[[0, -1], :] = mask[:, [0, -1]] = 0.0
    lines = [np.asarray(line) for line in contourpy.contour_generator(z=mask).lines(127.0)]
    return [line[:: 2 if len(line) > 24 else 1] / _FINE + low for line in lines if len(line) > 6]
