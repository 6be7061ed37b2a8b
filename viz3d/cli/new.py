"""``viz3d new``: a scene of your own, started from another."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated

import typer

from viz3d.cli.options import Quiet
from viz3d.cli.say import as_typed, say


def new(
    name: Annotated[str, typer.Argument(metavar="NAME", help="Name of the new scene; NAME.toml is written here.")],
    start: Annotated[str, typer.Option("--from", metavar="SCENE", help="Scene to copy.")] = "level-stance",
    quiet: Quiet = False,
) -> None:
    """Write a new scene file, copied from another one, in this folder."""
    from viz3d.atomic import atomic_write
    from viz3d.echo import shown
    from viz3d.errors import InputError, RenderError
    from viz3d.scene.reader import find_scene, load_scene

    source = find_scene(start)
    load_scene(str(source))
    bare = name.removesuffix(".toml")
    if not bare or Path(bare).name != bare or bare.startswith("."):
        raise InputError(f"found {shown(name)}; a scene's name is a plain file name, without folders")
    target = Path(f"{bare}.toml")
    try:
        if os.path.lexists(target):
            raise RenderError(f"{target}: already there; choose another name, or remove it first")
        with atomic_write(target) as part:
            part.write_text(source.read_text(encoding="utf-8"), encoding="utf-8")
    except OSError as error:
        raise RenderError(f"{target}: cannot be written: {error.strerror}") from error
    if not quiet:
        say(f"wrote {target.resolve()}; edit it with any text editor; next: viz3d check {as_typed(str(target))}")
