"""``viz3d compare``: situations side by side."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from viz3d.cli.options import Changes, Language, Open, Out, Quiet, output_path, show_file, spoken, step_index
from viz3d.cli.progress import progress
from viz3d.cli.say import say
from viz3d.cli.still import Strict

if TYPE_CHECKING:
    from viz3d.scene.schema import Scene

Situations = Annotated[
    list[str],
    typer.Argument(metavar="SCENE[:STEP]...", help="Two to four: a scene, or a scene and a step like lean-over-hip:2."),
]


def compare(
    situations: Situations,
    changes: Changes = None,
    language: Language = None,
    out: Out = None,
    strict: Strict = False,
    open_: Open = False,
    quiet: Quiet = False,
) -> None:
    """Draw two to four situations side by side, to one scale; with --out NAME.mp4, play their scenes in step."""
    from viz3d.errors import InputError
    from viz3d.output.compare import draw_comparison, film_comparison
    from viz3d.output.suffixes import MOVING, STILLS

    if not 2 <= len(situations) <= 4:
        raise InputError(f"found {len(situations)} situations; allowed: 2 to 4 side by side")
    chosen = [_situation(text, spoken(changes, language)) for text in situations]
    name = "-".join(dict.fromkeys(_in_name(t) for t in situations))
    path = output_path(out, f"{name}-compared", ".png", (*STILLS, *MOVING))
    if path.suffix.lower() in MOVING:
        if any(_parts(text)[1] for text in situations):
            raise InputError("a film plays whole scenes: leave out the steps, like lean-over-hip without :2")
        with progress("drawing film", quiet) as report:
            film_comparison([scene for scene, _ in chosen], path, situations[0], strict, report, report)
    else:
        with progress("preparing bones", quiet) as report:
            draw_comparison(chosen, path, situations[0], strict, report)
    if not quiet:
        say(f"wrote {path}")
    if open_:
        show_file(path)


def _situation(text: str, changes: list[str]) -> tuple[Scene, int]:
    """A scene and a step, counted from 0; the last step where none was named."""
    from viz3d.scene.reader import load_scene

    name, step = _parts(text)
    scene = load_scene(name, changes)
    return scene, step_index(scene, int(step) if step else None, last=True, typed=text)


def _in_name(text: str) -> str:
    """What a file's name says of a situation: its scene, and its step where one was named."""
    scene, step = _parts(text)
    return f"{Path(scene).stem}-{step}" if step else Path(scene).stem


def _parts(text: str) -> tuple[str, str]:
    """A scene's name and the step that was named, "" for none."""
    name, colon, step = text.rpartition(":")
    return (name, step) if colon and re.fullmatch("[0-9]{1,9}", step) else (text, "")
