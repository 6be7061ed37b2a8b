"""What a picture costs beside its bare meshes, in one run.

    .venv/bin/python benchmarks/pictures.py [KEY=VALUE ...], for instance picture.dress=patient picture.frame=whole

``stage`` is the pure layout of a frame, ``paint`` its marks and words, ``meshes`` everything three-dimensional.
``bare``: the drawing library alone draws the same meshes once at the picture's size, with its own anti-aliasing.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from collections.abc import Callable

from viz3d.output.figures import figure_of

os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")

import numpy as np
import pyvista as pv

from viz3d.output.flesh import body_points
from viz3d.output.meshes import MeshLayer
from viz3d.output.paint import Painter
from viz3d.output.still import lay_out
from viz3d.output.views import MAIN, frame_at, sheet_views, shows, shows_held, wears_clothes
from viz3d.scene.reader import load_scene
from viz3d.scene.timeline import frame_times
from viz3d.shapes.skeleton import Figure
from viz3d.shapes.surface import Surface
from viz3d.solution.inputs import body_of
from viz3d.solution.script import solve_scene
from viz3d.stage.layout import Sheet

FRAMES = 12


def timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def bare_plotter(sheet: Sheet, figure: Figure, smoothing: str | None) -> pv.Plotter:
    """The same meshes, main view and cards, by the library alone."""
    views = sheet_views(sheet)
    plotter = pv.Plotter(off_screen=True, window_size=sheet.size, shape=(1, len(views)), border=False)
    for k, view in enumerate(views):
        plotter.subplot(0, k)
        if smoothing:
            plotter.enable_anti_aliasing(smoothing)
        box, (width, height) = view.box, sheet.size
        plotter.renderers[k].SetViewport(
            box.left / width, 1 - box.bottom / height, box.right / width, 1 - box.top / height
        )
        for key, shape in figure.shapes.items():
            if shows(sheet, view, key, shape):
                actor = plotter.add_mesh(poly(shape.surface), color="#E6D9BC", smooth_shading=False)
                actor.user_matrix = frame_at(sheet, view, shape, 0)
        if wears_clothes(sheet, view) and figure.clothed is not None:
            for worn in figure.clothed.surfaces.values():
                plotter.add_mesh(
                    pv.PolyData(worn.posed(sheet.plan.frames, 0)[0], faces(worn.triangles)), color="#C3CDD6"
                )
            for key, shape in figure.shapes.items():
                if shows_held(sheet, key, shape):
                    actor = plotter.add_mesh(poly(shape.surface), color="#6B5844", smooth_shading=False)
                    actor.user_matrix = frame_at(sheet, view, shape, 0)
        elif view.skin:
            points, _ = figure.shell.posed(sheet.plan.frames, 0)
            plotter.add_mesh(pv.PolyData(points, faces(figure.shell.triangles)), opacity=0.3)
        if view.name == MAIN:
            for muscle in sheet.plan.muscles:
                points, _ = body_points(sheet.plan, figure, muscle, 0)
                plotter.add_mesh(pv.PolyData(points, faces(figure.muscles[muscle.name].triangles)))
        plotter.camera.parallel_projection = True
        plotter.view_vector(view.camera.toward, (0, 1, 0))
        plotter.camera.focal_point, plotter.camera.parallel_scale = (
            view.camera.centre,
            (box.bottom - box.top) / 2 / view.camera.scale,
        )
    return plotter


def faces(triangles: np.ndarray) -> np.ndarray:
    return np.column_stack([np.full(len(triangles), 3), triangles]).ravel()


def poly(surface: Surface) -> pv.PolyData:
    mesh = pv.PolyData(surface.points, faces(surface.triangles))
    mesh.point_data["Normals"] = surface.normals
    return mesh


def main(changes: list[str]) -> None:
    scene = load_scene("cane-opposite-hand", changes)
    solved = solve_scene(scene, frame_times(scene))
    place = timed(lambda: lay_out(scene, solved, (1920, 1080)))
    sheet = lay_out(scene, solved, (1920, 1080))
    figure = figure_of(sheet.plan, body_of(scene), None, "film")
    frames = np.linspace(0, len(sheet.plan) - 1, FRAMES).astype(int)
    spent: dict[str, list[float]] = {"meshes": [], "stage": [], "paint": [], "bare, plain": [], "bare, smooth": []}
    others = {"bare, plain": bare_plotter(sheet, figure, None), "bare, smooth": bare_plotter(sheet, figure, "ssaa")}
    with MeshLayer(sheet, figure) as layer:
        layer.frame(0)
        for plotter in others.values():
            plotter.show(auto_close=False)
        for i in frames:
            start = time.perf_counter()
            pixels = layer.frame(int(i))
            spent["meshes"].append(time.perf_counter() - start)
            start = time.perf_counter()
            drawing = sheet.drawing(int(i))
            spent["stage"].append(time.perf_counter() - start)
            painter = Painter(sheet.size, pixels, sheet.theme.face)
            start = time.perf_counter()
            painter.marks(drawing.over, sheet.colours["paper_top"])
            spent["paint"].append(time.perf_counter() - start)
            for name, plotter in others.items():
                plotter.camera.azimuth += 0.01
                spent[name].append(timed(lambda p=plotter: (p.render(), p.screenshot(return_img=True))))
    middle = {k: statistics.median(v) for k, v in spent.items()}
    whole = middle["meshes"] + middle["stage"] + middle["paint"]
    for name, value in middle.items():
        print(f"{name:13} {1000 * value:7.1f} ms   {value / whole:5.2f} of a frame")
    print(f"whole frame   {1000 * whole:7.1f} ms")
    print(f"stage's own work: {100 * middle['stage'] / whole:.1f} % of a frame (asked: 15 %), with painting"
          f" {100 * (middle['stage'] + middle['paint']) / whole:.1f} %")  # fmt: skip
    for name in others:
        print(f"whole frame over {name}: {whole / middle[name]:.2f} (asked: 1.3)")
    print(f"placing all labels once: {1000 * place:.0f} ms")


if __name__ == "__main__":
    main(sys.argv[1:])
