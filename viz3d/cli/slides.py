"""``viz3d slides``: a deck for a lecture."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from viz3d.cli.options import Changes, Language, Open, Out, Quiet, SceneNames, output_path, show_file, spoken
from viz3d.cli.progress import progress
from viz3d.cli.say import say


def slides(
    scene: SceneNames,
    changes: Changes = None,
    language: Language = None,
    out: Out = None,
    builds: Annotated[
        bool, typer.Option("--builds/--no-builds", help="With the first picture built up, slide by slide.")
    ] = True,
    open_: Open = False,
    quiet: Quiet = False,
) -> None:
    """Make a deck (PPTX, 16:9): free body, build-up, steps, a question to predict, comparison, table, sources."""
    from viz3d.output import gl
    from viz3d.output.files import check_space
    from viz3d.output.slides import write_slides
    from viz3d.output.suffixes import SLIDES
    from viz3d.scene.reader import find_scene, load_scene
    from viz3d.teach.deck import Chosen, deck_of

    loaded = [Chosen(load_scene(name, spoken(changes, language)), str(find_scene(name))) for name in scene]
    path = output_path(out, Path(scene[0]).stem, ".pptx", SLIDES)
    gl.require()
    check_space(path.parent)
    with progress("preparing bones", quiet) as report:
        write_slides(deck_of(loaded, builds), path, report)
    if not quiet:
        say(f"wrote {path}")
    if open_:
        show_file(path)
