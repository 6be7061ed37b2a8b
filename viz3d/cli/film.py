"""``viz3d film``: the whole timeline of a scene."""

from __future__ import annotations

from pathlib import Path

from viz3d.cli.options import Changes, Open, Out, Quiet, SceneName, output_path, show_file
from viz3d.cli.progress import progress
from viz3d.cli.say import say
from viz3d.cli.still import Strict


def film(
    scene: SceneName,
    changes: Changes = None,
    out: Out = None,
    strict: Strict = False,
    open_: Open = False,
    quiet: Quiet = False,
) -> None:
    """Draw a scene's timeline as a film (MP4)."""
    from viz3d.output.film import SUFFIXES, draw_film
    from viz3d.scene.reader import find_scene, load_scene

    loaded = load_scene(scene, changes or ())
    path = output_path(out, Path(scene).stem, ".mp4", SUFFIXES)
    with progress("drawing film", quiet) as report:
        draw_film(loaded, path, str(find_scene(scene)), strict, report, report)
    if not quiet:
        say(f"wrote {path}")
    if open_:
        show_file(path)
