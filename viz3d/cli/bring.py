"""``viz3d bring``: a pelvis and a femur of your own become a bone folder that scenes can name."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from viz3d.cli.options import Quiet
from viz3d.cli.say import say


def bring(
    order: Annotated[
        Path | None, typer.Argument(metavar="ORDER.toml", help="File that names meshes, units, side and points.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FOLDER", help="Bone folder to make (default: the order's name).")
    ] = None,
    example: Annotated[bool, typer.Option("--example", help="Print an order file to fill in, and stop.")] = False,
    quiet: Quiet = False,
) -> None:
    """Check, align and measure your own pelvis and femur (STL, PLY, OBJ), for scenes to use."""
    from viz3d.errors import InputError
    from viz3d.shapes.intake import bring as bring_bones
    from viz3d.shapes.intake import report
    from viz3d.shapes.order import EXAMPLE

    if example:
        print(EXAMPLE, end="")
        return
    if order is None:
        raise InputError("ORDER.toml: missing; 'viz3d bring --example' prints one to fill in")
    folder = out or order.parent / order.stem
    intake = bring_bones(order, folder)
    if not quiet:
        say(report(intake))
        say(f'wrote {folder}; a scene in the same folder uses it with  bones = "{folder.name}"  under [person]')
