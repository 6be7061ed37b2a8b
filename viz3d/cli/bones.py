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
    out: Out = None,
    open_: Open = False,
    quiet: Quiet = False,
) -> None:
    """Draw a labelled plate of the person's bones (PNG), or write them as a mesh (STL, PLY, OBJ, GLB)."""
    from viz3d.output.plate import draw_plate
    from viz3d.scene.reader import load_scene
    from viz3d.solution.inputs import body_of
    from viz3d.stage.compose import person_words
    from viz3d.stage.plate import check_views, plate_kind

    kind = plate_kind(of)
    chosen = list(views or kind.views)
    check_views(chosen)
    loaded = load_scene(scene, changes or [])
    path = output_path(out, f"{Path(scene).stem}-{of}", ".png", (".png",))
    with progress("preparing bones", quiet) as report:
        draw_plate(
            body_of(loaded), kind, chosen, path, person_words(loaded), loaded.picture.pixels, loaded.picture.backdrop,
            labels, report,
        )  # fmt: skip
    if not quiet:
        say(f"wrote {path}")
    if open_:
        show_file(path)
