"""``viz3d page``: one HTML file to turn, lean and press, without a network."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from viz3d.cli.options import Changes, Language, Open, Out, Quiet, SceneName, output_path, show_file, spoken, step_index
from viz3d.cli.progress import progress
from viz3d.cli.say import say


def page(
    scene: SceneName,
    changes: Changes = None,
    language: Language = None,
    out: Out = None,
    step: Annotated[
        int | None, typer.Option("--step", help="Step whose other inputs hold (default: the first).")
    ] = None,
    open_: Open = False,
    quiet: Quiet = False,
) -> None:
    """Write one HTML page that students open offline: turn the figure, lean, press on the cane, answer questions."""
    from viz3d.scene.reader import find_scene, load_scene
    from viz3d.web.offline import write_page
    from viz3d.words.voice import USUAL

    loaded = load_scene(scene, spoken(changes, language))
    index = step_index(loaded, step)
    path = output_path(out, Path(scene).stem, ".html", (".html",))
    with progress("preparing bones", quiet) as report:
        error = write_page(loaded, path, str(find_scene(scene)), index, report)
    if not quiet:
        said = f"{USUAL.tick(100 * error + 0.005, 2)} %"
        say(f"wrote {path} (between its solved poses at most {said} off)")
    if open_:
        show_file(path)
