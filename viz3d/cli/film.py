"""``viz3d film``: the whole timeline of a scene."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from viz3d.cli.options import Changes, Language, Open, Out, Quiet, SceneName, output_path, show_file, spoken
from viz3d.cli.progress import progress
from viz3d.cli.say import say
from viz3d.cli.still import Strict


def film(
    scene: SceneName,
    changes: Changes = None,
    language: Language = None,
    out: Out = None,
    poster: Annotated[bool, typer.Option("--poster", help="Also write the last frame as NAME-poster.png.")] = False,
    words: Annotated[
        bool, typer.Option("--words", help="Also write captions (NAME.vtt) and what to say when (NAME.txt).")
    ] = False,
    workers: Annotated[
        int | None, typer.Option("--workers", min=0, max=64, help="Processes that draw; 0: only this one.")
    ] = None,
    scheduler: Annotated[
        str | None, typer.Option("--scheduler", metavar="ADDRESS", help="Draw on a Dask cluster.")
    ] = None,
    no_cache: Annotated[bool, typer.Option("--no-cache", help="Draw everything anew and keep nothing.")] = False,
    strict: Strict = False,
    open_: Open = False,
    quiet: Quiet = False,
) -> None:
    """Draw a scene's timeline as a film: MP4, GIF, animated WebP, numbered PNGs (--out NAME.png), or 3-D (NAME.glb)."""
    from viz3d.errors import InputError
    from viz3d.output.film import FilmOptions, draw_film
    from viz3d.output.suffixes import FILMS, GLB
    from viz3d.scene.reader import find_scene, load_scene

    if workers is not None and scheduler is not None:
        raise InputError("choose one of --workers and --scheduler")
    loaded = load_scene(scene, spoken(changes, language))
    path = output_path(out, Path(scene).stem, ".mp4", FILMS)
    if path.suffix.lower() == GLB and (poster or words or workers is not None or scheduler is not None):
        raise InputError("a .glb file is not drawn: leave out --poster, --words, --workers and --scheduler")
    options = FilmOptions(workers, scheduler, not no_cache, poster, words)
    with progress("drawing film", quiet) as report:
        if path.suffix.lower() == GLB:
            from viz3d.output.gltf import write_gltf

            written = [write_gltf(loaded, path, str(find_scene(scene)), strict, report)]
        else:
            written = draw_film(loaded, path, str(find_scene(scene)), strict, report, report, options)
    if not quiet and loaded.film.voice is not None and path.suffix.lower() != ".mp4":
        say(f"note: {path.suffix} files have no sound; the voice only set the pace")
    if not quiet:
        for one in written:
            say(f"wrote {one}")
    if open_:
        show_file(written[0])
