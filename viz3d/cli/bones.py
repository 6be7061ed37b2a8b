"""``viz3d bones``: a person's bones as a labelled plate, or as a mesh file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from viz3d.cli.options import Changes, Open, Out, Quiet, SceneName, output_path, show_file
from viz3d.cli.progress import progress
from viz3d.cli.say import say


def bones(
    scene: SceneName,
    changes: Changes = None,
    of: Annotated[
        str, typer.Option("--of", metavar="BONES", help="What to show: pelvis, femur, skeleton ...")
    ] = "pelvis",
    views: Annotated[
        list[str] | None, typer.Option("--view", help="View of a plate; may be repeated.", show_default=False)
    ] = None,
    labels: Annotated[bool, typer.Option("--labels/--no-labels", help="Names on a plate.")] = True,
    side: Annotated[str, typer.Option("--side", help="For a mesh file: left, right or both.")] = "both",
    units: Annotated[str | None, typer.Option("--units", help="For a mesh file: mm or m.", show_default=False)] = None,
    out: Out = None,
    open_: Open = False,
    quiet: Quiet = False,
) -> None:
    """Draw a labelled plate of the person's bones (PNG), or write them as a mesh (STL, PLY, OBJ, GLB)."""
    from viz3d.errors import InputError
    from viz3d.output.export import SUFFIXES, export_bones
    from viz3d.output.plate import draw_plate
    from viz3d.scene.reader import load_scene
    from viz3d.shapes.skeleton import placed_shapes
    from viz3d.solution.inputs import body_of
    from viz3d.stage.compose import measured_words, person_words
    from viz3d.stage.plate import check_views, plate_kind

    kind = plate_kind(of)
    chosen = list(views or kind.views)
    check_views(chosen)
    if side not in ("left", "right", "both"):
        raise InputError(f"--side: found {side!r}; allowed: left, right, both")
    loaded = load_scene(scene, changes or [])
    path = output_path(out, f"{Path(scene).stem}-{of}", ".png", (".png", *SUFFIXES))
    body, left_out = body_of(loaded), []
    who = " · ".join(w for w in (person_words(loaded), measured_words(loaded)) if w)
    with progress("preparing bones", quiet) as report:
        if path.suffix.lower() == ".png":
            picture = loaded.picture
            left_out = draw_plate(
                body, kind, chosen, path, who, picture.pixels, picture.backdrop, labels, report
            )  # fmt: skip
        else:
            sides = ("left", "right", "middle") if side == "both" else (side, "middle")
            placed = placed_shapes(body, lambda key, at: kind.shows(key) and at in sides, report)
            export_bones(body, placed, path, units)
    if not quiet:
        say(f"wrote {path}")
        if left_out:
            say(f"no room for {len(left_out)} names: {', '.join(left_out)}; give fewer views or a larger picture.size")
    if open_:
        show_file(path)
