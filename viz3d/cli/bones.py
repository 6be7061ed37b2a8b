"""``viz3d bones``: a person's bones as a labelled plate, or as a mesh file; into ``meshes/`` unless told otherwise."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from viz3d.cli.options import Changes, Open, Quiet, SceneName, lowered, output_path, show_file
from viz3d.cli.progress import progress
from viz3d.cli.say import say

if TYPE_CHECKING:
    from viz3d.progress import Progress
    from viz3d.scene.schema import Scene
    from viz3d.stage.plate import PlateKind

Side = Literal["left", "right", "both"]
Units = Literal["mm", "m"]


def bones(
    scene: SceneName,
    changes: Changes = None,
    of: Annotated[
        str, typer.Option("--of", metavar="BONES", help="What to show: pelvis, femur, skeleton ...", callback=lowered)
    ] = "pelvis",
    views: Annotated[
        list[str] | None, typer.Option("--view", help="Plates: a view; may be repeated.", show_default=False)
    ] = None,
    labels: Annotated[bool, typer.Option("--labels/--no-labels", help="Plates: names on them.")] = True,
    side: Annotated[Side | None, typer.Option("--side", help="Mesh files: one side (default: both).")] = None,
    units: Annotated[Units | None, typer.Option("--units", help="Mesh files: mm (GLB: m) unless given.")] = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="PATH", help="File to write, or folder to write into (default: meshes)."),
    ] = None,
    open_: Open = False,
    quiet: Quiet = False,
) -> None:
    """Draw a labelled plate of the person's bones (PNG), or write them as a mesh (STL, PLY, OBJ, GLB)."""
    from viz3d.errors import InputError
    from viz3d.output.suffixes import MESHES
    from viz3d.scene.reader import load_scene
    from viz3d.stage.plate import check_views, plate_kind

    kind = plate_kind(of)
    views = [v.strip().lower() for v in views or []]
    check_views(views)
    loaded = load_scene(scene, changes or [])
    path = output_path(out, f"{Path(scene).stem}-{of}", ".png", (".png", *MESHES), "meshes")
    plate = path.suffix.lower() == ".png"
    for name, given in (("--side", side), ("--units", units)) if plate else (("--view", views),):
        if given:
            raise InputError(f"{name} belongs to {'mesh files' if plate else 'plates'}; {path.name} is not one")
    left_out: list[str] = []
    with progress("preparing bones", quiet) as report:
        if plate:
            left_out = _draw(loaded, kind, views, labels, path, report)
        else:
            _export(loaded, kind, side or "both", units, path, report)
    if not quiet:
        say(f"wrote {path}")
        if left_out:
            say(f"no room for {len(left_out)} names: {', '.join(left_out)}; give fewer views or a wider picture.size")
    if open_:
        show_file(path)


def _draw(
    scene: Scene, kind: PlateKind, views: list[str] | None, labels: bool, path: Path,
    report: Progress | None,
) -> list[str]:  # fmt: skip
    from viz3d.output.plate import draw_plate
    from viz3d.solution.inputs import body_of
    from viz3d.stage.tell import measured_words, person_words
    from viz3d.stage.theme import voice_of
    from viz3d.words.message import joined

    who = joined("join.dot", [person_words(scene), measured_words(scene)])
    picture = scene.picture
    return draw_plate(
        body_of(scene),
        kind,
        list(views or kind.views),
        path,
        who,
        picture.pixels,
        picture.backdrop,
        labels,
        report,
        voice_of(scene),
    )


def _export(scene: Scene, kind: PlateKind, side: str, units: str | None, path: Path, report: Progress | None) -> None:
    from viz3d.output.export import export_bones
    from viz3d.shapes.skeleton import placed_shapes
    from viz3d.solution.inputs import body_of

    body = body_of(scene)
    sides = ("left", "right", "middle") if side == "both" else (side, "middle")
    export_bones(body, placed_shapes(body, lambda key, at: kind.shows(key) and at in sides, report), path, units)
