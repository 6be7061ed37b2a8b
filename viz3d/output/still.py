"""A still: one situation as a PNG or an SVG, with its manifest.

Called by ``viz3d still``.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image

from viz3d.errors import InputError, RenderError
from viz3d.output.files import check_space, write_manifest, written_whole
from viz3d.scene.schema import Scene
from viz3d.shapes.skeleton import Figure, build_figure
from viz3d.solution.inputs import body_of
from viz3d.solution.solve import HELD, Solved, solve_scene
from viz3d.stage.compose import compose
from viz3d.stage.layout import Sheet
from viz3d.units import show_moment

SUFFIXES = (".png", ".svg")
SMALLEST, LARGEST = (480, 360), (7680, 4320)
Progress = Callable[[str, int, int], None]


def check_size(size: tuple[int, int]) -> None:
    """Refuse picture sizes that cannot be laid out.

    Raises
    ------
    InputError : too small, too large, or too narrow.
    """
    width, height = size
    if not (SMALLEST[0] <= width <= LARGEST[0] and SMALLEST[1] <= height <= LARGEST[1]) or width < 1.3 * height:
        raise InputError(
            f"picture.size: found {width}x{height}; allowed: {SMALLEST[0]}x{SMALLEST[1]} to"
            f" {LARGEST[0]}x{LARGEST[1]}, at least 1.3 times as wide as high"
        )


def still_step(scene: Scene) -> int:
    """Index of the step a still shows.

    Raises
    ------
    InputError : the scene names a step it does not have.
    """
    if scene.picture.step is None:
        return len(scene.steps) - 1
    if scene.picture.step > len(scene.steps):
        raise InputError(f"picture.step: found {scene.picture.step}; this scene has {len(scene.steps)} steps")
    return scene.picture.step - 1


def prepare(
    scene: Scene, path: Path, file: str, strict: bool, progress: Progress | None
) -> tuple[Solved, Sheet, Figure]:
    """Solve at the steps, make the output folder, lay out and fetch the surfaces.

    Raises
    ------
    RenderError : with ``strict``, when a step cannot be held.
    """
    check_size(scene.picture.pixels)
    solved = solve_scene(scene, file=file)
    refuse_unheld(scene, solved, strict)
    check_space(path.parent)
    sheet = Sheet(compose(scene, solved), scene.picture.pixels, scene.picture.view, scene.picture.backdrop)
    return solved, sheet, build_figure(body_of(scene), progress, sheet.plan.aids)


def refuse_unheld(scene: Scene, solved: Solved, strict: bool) -> None:
    """Refuse what has no joint force to draw; with ``strict``, also what nobody could hold."""
    lost = np.nonzero(~np.isfinite(solved.load.joint_magnitude))[0]
    if len(lost):
        name = scene.steps[int(solved.step[lost[0]])].name
        raise RenderError(
            f"step '{name}': the muscle set is {show_moment(float(solved.shortfall[lost[0]]))} too weak, so there is no"
            " joint force to draw; 'viz3d hold' says what helps, and the equivalent muscle can be drawn"
        )
    rows = np.nonzero(solved.status != HELD)[0]
    if strict and len(rows):
        name = scene.steps[int(solved.step[rows[0]])].name
        raise RenderError(
            f"step '{name}' cannot be held ({str(solved.status[rows[0]]).replace('_', ' ')}); drawn without --strict"
        )


def draw_still(scene: Scene, path: Path, file: str, strict: bool = False, progress: Progress | None = None) -> Path:
    """Draw the scene's chosen step to ``path`` (.png or .svg).

    Raises
    ------
    RenderError, InputError, SceneError : one line each.
    """
    if path.suffix.lower() == ".png":
        from viz3d.output import gl

        gl.require()
    index = still_step(scene)
    solved, sheet, figure = prepare(scene, path, file, strict, progress)
    if path.suffix.lower() == ".svg":
        from viz3d.output.vector import write_svg

        with written_whole(path) as temporary:
            write_svg(sheet, figure, index, temporary)
    else:
        from viz3d.output.meshes import MeshLayer

        with MeshLayer(sheet, figure) as layer:
            pixels = paint_frame(layer, sheet, index)
        with written_whole(path) as temporary:
            Image.fromarray(pixels).save(temporary, format="PNG")
    write_manifest(path, scene, solved, {"kind": "still", "step": scene.steps[index].name, "view": scene.picture.view})
    return path


def paint_frame(layer, sheet: Sheet, index: int):  # type: ignore[no-untyped-def]
    """Mesh layer and overlay of one frame, (height, width, 3)."""
    from viz3d.output.paint import Painter

    painter = Painter(sheet.size, layer.frame(index))
    painter.marks(sheet.drawing(index).over, sheet.colours["paper_top"])
    return painter.pixels()
