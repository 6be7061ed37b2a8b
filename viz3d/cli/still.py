"""``viz3d still``: one picture of a scene."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from viz3d.cli.options import Changes, Language, Open, Out, Quiet, SceneName, output_path, show_file, spoken
from viz3d.cli.progress import progress
from viz3d.cli.say import say

Strict = Annotated[bool, typer.Option("--strict", help="Refuse when a step could not be held.")]


def still(
    scene: SceneName,
    changes: Changes = None,
    language: Language = None,
    out: Out = None,
    step: Annotated[int | None, typer.Option("--step", help="Step to draw, from 1 (default: the last).")] = None,
    builds: Annotated[
        bool, typer.Option("--builds", help="A numbered set: bones first, then layer upon layer.")
    ] = False,
    strict: Strict = False,
    open_: Open = False,
    quiet: Quiet = False,
) -> None:
    """Draw one picture of a scene, as PNG, SVG or PDF; with --builds a set that builds up."""
    from viz3d.errors import InputError
    from viz3d.output.still import draw_builds, draw_still
    from viz3d.output.suffixes import STILLS
    from viz3d.scene.reader import find_scene, load_scene
    from viz3d.stage.builds import builds_of

    if step is not None and step < 1:
        raise InputError(f"--step: found {step}; steps count from 1")
    chosen = [*spoken(changes, language), *([f"picture.step={step}"] if step is not None else [])]
    loaded = load_scene(scene, chosen)
    named = loaded.picture.step is not None and any(c.partition("=")[0].strip() == "picture.step" for c in chosen)
    path = output_path(
        out, f"{Path(scene).stem}-step-{loaded.picture.step}" if named else Path(scene).stem, ".png", STILLS
    )
    files = [path]
    with progress("preparing bones", quiet) as report:
        if builds:
            sets = builds_of(loaded)
            files = [
                path.with_name(f"{path.stem}-{n:02d}-{layers[-1]}{path.suffix}") for n, layers in enumerate(sets, 1)
            ]
            draw_builds(loaded, list(zip(files, sets, strict=True)), str(find_scene(scene)), strict, report)
        else:
            draw_still(loaded, path, str(find_scene(scene)), strict, report)
    if not quiet:
        for one in files:
            say(f"wrote {one}")
    if open_:
        show_file(files[-1])
