"""A still: one situation as PNG, SVG or PDF, with its manifest; or the same in a build-up of layers."""

from __future__ import annotations

import dataclasses
from pathlib import Path

from viz3d.errors import InputError
from viz3d.output.figures import figure_of
from viz3d.output.files import check_space, source_line, write_manifest
from viz3d.output.memory import check_memory
from viz3d.output.pictures import write_page
from viz3d.progress import Progress
from viz3d.scene.schema import Scene
from viz3d.scene.segments import scene_at
from viz3d.solution.refuse import refuse_unheld
from viz3d.solution.script import Script
from viz3d.stage.builds import stage_caption
from viz3d.stage.canvas import Canvas
from viz3d.stage.page import Page, single_page
from viz3d.stage.sheets import check_size, lay_out


def still_step(scene: Scene) -> int:
    """Index of the step a still shows.

    Raises
    ------
    InputError : the scene names a step it does not have.
    """
    if scene.picture.step is None:
        return len(scene.steps) - 1
    if scene.picture.step > len(scene.steps):
        raise InputError(f"picture.step: found {scene.picture.step}; this scene has {scene.counted}")
    return scene.picture.step - 1


def draw_still(scene: Scene, path: Path, file: str, strict: bool = False, progress: Progress | None = None) -> Path:
    """Draw the scene's chosen step to ``path`` (.png, .svg or .pdf).

    Raises
    ------
    RenderError, InputError, SceneError : one line each.
    """
    layers = scene_at(scene, still_step(scene)).picture.shown
    draw_builds(scene, [(path, layers)], file, strict, progress)
    return path


def draw_builds(
    scene: Scene, files: list[tuple[Path, tuple[str, ...]]], file: str, strict: bool = False,
    progress: Progress | None = None,
) -> None:  # fmt: skip
    """Draw the chosen step once for each file, with that file's layers; all in the same places.

    Of several pictures all but the last say what they add instead of the step's caption.

    Raises
    ------
    RenderError, InputError, SceneError : one line each.
    """
    if any(path.suffix.lower() == ".png" for path, _ in files):
        from viz3d.output import gl

        check_memory(scene.picture.pixels)
        gl.require()
    step = still_step(scene)
    shot, index = Script(scene, file).shot_at(step)
    shown = shot.scene
    check_size(shown.picture.pixels)
    refuse_unheld(shown, shot.solved, strict)
    check_space(files[0][0].parent)
    sheet = lay_out(shown, shot.solved, shown.picture.pixels)
    figure = figure_of(sheet.plan, shot.body, progress)
    before: tuple[str, ...] = ()
    for n, (path, layers) in enumerate(files, 1):
        stage = sheet.showing(layers, index)
        page = single_page(stage, index) if n == len(files) else _staged(stage, index, before)
        before = layers
        write_page(page, [figure], path, source_line([scene]))
        about = {
            "kind": "still", "step": scene.steps[step].name, "view": shown.picture.view, "layers": list(layers),
            "alt_text": page.alt,
        }  # fmt: skip
        write_manifest(path, scene, shot.solved, about)


def _staged(sheet: Canvas, index: int, before: tuple[str, ...]) -> Page:
    """A page that says what it adds, and nothing of what is still to come."""
    plan, told = sheet.plan, stage_caption(sheet.plan, index, before, tuple(sheet.layers))
    caption = sheet.say(told) if told is not None else ""
    sheet.plan = dataclasses.replace(plan, captions=[caption] * len(plan), notes=[""] * len(plan))
    return dataclasses.replace(single_page(sheet, index), alt=caption)
