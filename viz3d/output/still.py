"""A still: one situation as PNG, SVG or PDF, with its manifest; or the same in a build-up of layers.

Called by ``viz3d still``.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from viz3d.errors import InputError, RenderError
from viz3d.output.files import check_space, write_manifest, written_whole
from viz3d.scene.picture import LAYERS
from viz3d.scene.posture import AIDS
from viz3d.scene.reader import scene_hash
from viz3d.scene.schema import Scene
from viz3d.scene.segments import scene_at
from viz3d.shapes.skeleton import Figure, build_figure
from viz3d.solution.script import Script
from viz3d.solution.solve import HELD, Solved
from viz3d.stage.canvas import Canvas, Framing
from viz3d.stage.compose import compose
from viz3d.stage.layout import Sheet
from viz3d.stage.page import Page, single_page
from viz3d.stage.tall import TallSheet
from viz3d.stage.theme import theme_of
from viz3d.stage.type import check_letters
from viz3d.version import __version__
from viz3d.words.catalogue import SOURCE, letters_of
from viz3d.words.message import moment
from viz3d.words.voice import USUAL

if TYPE_CHECKING:
    from viz3d.output.meshes import MeshLayer
    from viz3d.output.paint import Pixels

SUFFIXES = (".png", ".svg", ".pdf")
SMALLEST, LARGEST = (360, 360), (7680, 7680)
WIDE = 1.3
"""Narrower pictures have names beside the arrows instead of columns."""
Progress = Callable[[str, int, int], None]


def check_size(size: tuple[int, int]) -> None:
    """Refuse picture sizes that cannot be laid out.

    Raises
    ------
    InputError : too small, too large, or too narrow.
    """
    width, height = size
    if not (SMALLEST[0] <= width <= LARGEST[0] and SMALLEST[1] <= height <= LARGEST[1]) or width < 0.5 * height:
        raise InputError(
            f"picture.size: found {width}x{height}; allowed: {SMALLEST[0]}x{SMALLEST[1]} to"
            f" {LARGEST[0]}x{LARGEST[1]}, at least half as wide as high"
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


def lay_out(
    scene: Scene, solved: Solved, size: tuple[int, int], framing: Framing | None = None, placed: bool = True
) -> Canvas:
    """The sheet a scene asks for; ``framing``: what it shares with others; ``placed``: find its label places now.

    Raises
    ------
    InputError : its palette, font, words or size cannot be laid out.
    """
    theme, picture = theme_of(scene), scene.picture
    words = {"title": scene.title, **{f"steps[{k}].caption": s.caption for k, s in enumerate(scene.steps, 1)}}
    if picture.language != SOURCE:
        words["picture.language"] = letters_of(picture.language)
    check_letters(theme.face, words)
    plan, layers = compose(scene, solved), picture.layers or LAYERS
    sheet: Canvas
    if size[0] < WIDE * size[1]:
        sheet = TallSheet(plan, size, picture.view, theme, layers, framing)
    else:
        sheet = Sheet(plan, size, picture.view, theme, layers, picture.insets, framing)
    if placed:
        sheet.place()
    return sheet


def refuse_unheld(scene: Scene, solved: Solved, strict: bool) -> None:
    """Refuse what has no joint force to draw; with ``strict``, also what nobody could hold."""
    lost = np.nonzero(~np.isfinite(solved.load.joint_magnitude))[0]
    if len(lost):
        name = scene.steps[int(solved.step[lost[0]])].name
        missing = USUAL.number(moment(float(solved.shortfall[lost[0]])))
        raise RenderError(
            f"step '{name}': the muscle set is {missing} too weak, so there is no joint force to draw; 'viz3d hold'"
            " says what helps, and the equivalent muscle can be drawn"
        )
    rows = np.nonzero(solved.status != HELD)[0]
    if strict and len(rows):
        name = scene.steps[int(solved.step[rows[0]])].name
        raise RenderError(
            f"step '{name}' cannot be held ({str(solved.status[rows[0]]).replace('_', ' ')}); drawn without --strict"
        )


def draw_still(scene: Scene, path: Path, file: str, strict: bool = False, progress: Progress | None = None) -> Path:
    """Draw the scene's chosen step to ``path`` (.png, .svg or .pdf).

    Raises
    ------
    RenderError, InputError, SceneError : one line each.
    """
    layers = scene_at(scene, still_step(scene)).picture.layers or LAYERS
    draw_builds(scene, [(path, tuple(layers))], file, strict, progress)
    return path


def builds_of(scene: Scene) -> list[tuple[str, ...]]:
    """The layers of each picture that builds up to the whole one, as the scene lists them or in the usual order."""
    if scene.picture.builds is not None:
        return [tuple(layers) for layers in scene.picture.builds]
    held = any(getattr(scene.hands, side).holds in AIDS for side in ("left", "right"))
    order = [x for x in LAYERS if x != "cane" or held or scene.posture.share < 1.0]
    return [tuple(order[: n + 1]) for n in range(len(order))]


def draw_builds(
    scene: Scene, files: list[tuple[Path, tuple[str, ...]]], file: str, strict: bool = False,
    progress: Progress | None = None,
) -> None:  # fmt: skip
    """Draw the chosen step once for each file, with that file's layers; all in the same places.

    Raises
    ------
    RenderError, InputError, SceneError : one line each.
    """
    if any(path.suffix.lower() == ".png" for path, _ in files):
        from viz3d.output import gl

        gl.require()
    step = still_step(scene)
    shot, index = Script(scene, file).shot_at(step)
    shown = shot.scene
    check_size(shown.picture.pixels)
    refuse_unheld(shown, shot.solved, strict)
    check_space(files[0][0].parent)
    sheet = lay_out(shown, shot.solved, shown.picture.pixels)
    figure = build_figure(shot.body, progress, sheet.plan.aids)
    for path, layers in files:
        page = single_page(sheet.showing(layers), index)
        write_page(page, [figure], path, source_line([scene]))
        about = {
            "kind": "still", "step": scene.steps[step].name, "view": shown.picture.view, "layers": list(layers),
            "alt_text": page.alt,
        }  # fmt: skip
        write_manifest(path, scene, shot.solved, about)


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


def source_line(scenes: list[Scene]) -> str:
    """What pictures say of their making: program, version and the scenes' hashes; nothing about person or place."""
    return f"viz3d {__version__}, scene {', '.join(dict.fromkeys(scene_hash(s) for s in scenes))}"


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
    told = PngInfo()
    language = page.theme.voice.language
    told.add_itxt("Title", page.title, language, "Title")
    told.add_itxt("Description", page.alt, language, "Description")
    told.add_itxt("Source", source)
    Image.fromarray(painter.pixels()).save(path, format="PNG", pnginfo=told)


def paint_frame(layer: MeshLayer, sheet: Canvas, index: int) -> Pixels:
    """Mesh layer and overlay of one frame, (height, width, 3)."""
    from viz3d.output.paint import Painter
    from viz3d.output.vector import ghost_marks

    painter = Painter(sheet.size, layer.frame(index), sheet.theme.face)
    painter.marks([*ghost_marks(sheet, layer.figure), *sheet.drawing(index).over], sheet.colours["paper_top"])
    return painter.pixels()
