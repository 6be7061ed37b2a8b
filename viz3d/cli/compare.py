"""``viz3d compare``: situations side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from viz3d.cli.options import Changes, Open, Out, Quiet, output_path, show_file, step_index
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
    out: Out = None,
    strict: Strict = False,
    open_: Open = False,
    quiet: Quiet = False,
) -> None:
    """Draw two to four situations side by side, to one scale, and say how the joint force differs."""
    from viz3d.errors import InputError
    from viz3d.output.compare import draw_comparison
    from viz3d.output.still import SUFFIXES

    if not 2 <= len(situations) <= 4:
        raise InputError(f"found {len(situations)} situations; allowed: 2 to 4 side by side")
    chosen = [_situation(text, changes or []) for text in situations]
    name = "-".join(dict.fromkeys(Path(t.rpartition(":")[0] or t).stem for t in situations))
    path = output_path(out, f"{name}-compared", ".png", SUFFIXES)
    with progress("preparing bones", quiet) as report:
        draw_comparison(chosen, path, situations[0], strict, report)
    if not quiet:
        say(f"wrote {path}")
    if open_:
        show_file(path)


def _situation(text: str, changes: list[str]) -> tuple[Scene, int]:
    """A scene and a step, counted from 0; the last step where none was named."""
    from viz3d.scene.reader import load_scene

    name, colon, step = text.rpartition(":")
    if not colon or not step.isdigit():
        name, step = text, ""
    scene = load_scene(name, changes)
    return scene, step_index(scene, int(step) if step else None, last=True)
