"""Situations side by side, as PNG, SVG or PDF, or whole scenes side by side as a film, with their manifest."""

from __future__ import annotations

import contextlib
from collections.abc import Generator
from concurrent.futures import Executor
from pathlib import Path

import numpy as np

from viz3d.errors import InputError
from viz3d.output.clips import DrawnClip
from viz3d.output.figures import figure_of
from viz3d.output.files import check_space, source_line, write_manifest
from viz3d.output.film import FilmOptions, film_size, prepare_film, write_film
from viz3d.output.memory import check_memory
from viz3d.output.paint import Painter, Pixels, paper
from viz3d.output.pictures import write_page
from viz3d.output.pieces import Setup
from viz3d.output.reading import Paint, Reading
from viz3d.output.reel import frame_groups
from viz3d.progress import Progress
from viz3d.scene.pace import paced
from viz3d.scene.picture import LAYERS, Film
from viz3d.scene.schema import Scene
from viz3d.scene.segments import names_what_is
from viz3d.scene.timeline import duration, frame_times
from viz3d.shapes.skeleton import Figure
from viz3d.solution.refuse import refuse_compared, refuse_unheld
from viz3d.solution.script import Clip, Script, Shot
from viz3d.stage.compared import compare_page, lay_compared, page_of
from viz3d.stage.compose import compose
from viz3d.stage.panels import Situation
from viz3d.stage.sheets import check_size
from viz3d.stage.theme import theme_of
from viz3d.stage.type import check_letters

_SAMPLES = 25
"""Frames that the places of names are found for."""


def draw_comparison(
    chosen: list[tuple[Scene, int]], path: Path, file: str, strict: bool = False, progress: Progress | None = None
) -> Path:
    """Draw steps of scenes side by side; view, size, theme and layers are the first scene's.

    Parameters
    ----------
    chosen : scenes and their steps, counted from 0.

    Raises
    ------
    RenderError, InputError, SceneError : one line each.
    """
    if path.suffix.lower() == ".png":
        from viz3d.output import gl

        check_memory(chosen[0][0].picture.pixels)
        gl.require()
    picture = chosen[0][0].picture
    check_size(picture.pixels)
    shots = [Script(scene, file).shot_at(k) for scene, k in chosen]
    for shot, row in shots:
        refuse_unheld(shot.scene, shot.solved, strict)
        refuse_compared(shot.scene, shot.solved, row)
    check_space(path.parent)
    theme = theme_of(chosen[0][0])
    check_letters(theme.face, {f"{s.title}: steps[{k + 1}].name": f"{s.title} {s.steps[k].name}" for s, k in chosen})
    named = [names_what_is(scene, k) for scene, k in chosen]
    situations = [
        Situation(compose(shot.scene, shot.solved), row, own) for (shot, row), own in zip(shots, named, strict=True)
    ]
    page = compare_page(situations, picture.pixels, picture.view, theme, picture.layers or LAYERS)
    figures: list[Figure] = [figure_of(s.plan, x.body, progress) for (x, _), s in zip(shots, situations, strict=True)]
    write_page(page, figures, path, source_line([scene for scene, _ in chosen]))
    about = {
        "kind": "comparison", "steps": [scene.steps[k].name for scene, k in chosen], "view": picture.view,
        "alt_text": page.alt,
    }  # fmt: skip
    write_manifest(path, chosen[0][0], shots[0][0].solved, about)
    return path


def film_comparison(
    scenes: list[Scene], path: Path, file: str, strict: bool = False, bones: Progress | None = None,
    frames: Progress | None = None, options: FilmOptions | None = None,
) -> Path:  # fmt: skip
    """Play two to four scenes side by side, in step; a shorter one waits at its end.

    Raises
    ------
    RenderError, InputError, SceneError : one line each; a scene whose steps change body, hands' things or view.
    """
    given = scenes
    scenes = [paced(s) for s in scenes]
    options, picture = options or FilmOptions(), scenes[0].picture
    size, theme, longest = film_size(picture.pixels), theme_of(scenes[0]), max(scenes, key=duration)
    prepare_film(longest, path)
    one_picture = {"picture": picture}
    shots = [_only_shot(s.model_copy(update=one_picture), file) for s in scenes]
    for shot in shots:
        refuse_unheld(shot.scene, shot.solved, strict)
    plans = [compose(shot.scene, shot.solved) for shot in shots]
    sampled = [np.unique(np.linspace(0, len(p) - 1, _SAMPLES).astype(int)).tolist() for p in plans]
    parts = lay_compared(plans, sampled, size, picture.view, theme, picture.layers or LAYERS)
    figures = [figure_of(p, x.body, bones, "film") for x, p in zip(shots, plans, strict=True)]
    count = len(frame_times(longest.model_copy(update=one_picture)))
    empty = paper(size, theme.colours)
    drawn = []
    for part, shot, figure in zip(parts, shots, figures, strict=True):
        rows = np.minimum(np.arange(count), len(part.sheet.plan) - 1)
        behind = np.ascontiguousarray(empty[:, int(part.x) : int(part.x) + part.sheet.width])
        setup = Setup(part.sheet, figure, behind)
        drawn.append(DrawnClip(Clip(0, shot.scene, 0, count, 0), setup, False, rows, frame_groups(shot.solved)[rows]))
    most = max(float(p.joint_force.max()) / p.body_weight for p in plans)

    def pictures(executor: Executor | None) -> Generator[Pixels]:
        with contextlib.ExitStack() as stack:
            reading = [
                stack.enter_context(contextlib.closing(Reading(s, Paint(s.setup, executor, options.keep))))
                for s in drawn
            ]
            for n in range(count):
                canvas = empty.copy()
                for one, part in zip(reading, parts, strict=True):
                    canvas[:, int(part.x) : int(part.x) + part.sheet.width] = one.picture(n)
                now = [Situation(p, s.row(n), still=False) for p, s in zip(plans, drawn, strict=True)]
                painter = Painter(size, canvas, theme.face)
                painter.marks(page_of(now, parts, size, theme, most).over, theme.colours["paper_top"])
                if frames:
                    frames("frame", n + 1, count)
                yield painter.pixels()

    distinct = sum(len(np.unique(s.alike)) for s in drawn)
    write_film(
        longest.model_copy(update={**one_picture, "film": Film(captions="none")}),
        pictures,
        distinct,
        size,
        path,
        options,
    )
    last = page_of([Situation(p, len(p) - 1, still=False) for p in plans], parts, size, theme, most)
    about = {"kind": "comparison film", "frames": count, "scenes": [s.title for s in scenes], "alt_text": last.alt}
    write_manifest(path, given[0], shots[0].solved, about)
    return path


def _only_shot(scene: Scene, file: str) -> Shot:
    """A scene's one shot, solved for its film.

    Raises
    ------
    InputError : its steps change more than the pose.
    """
    shots, clips = Script(scene, file).film()
    if len(clips) > 1:
        raise InputError(f"{scene.title}: its steps change more than the pose, so it cannot be filmed side by side")
    return shots[0]
