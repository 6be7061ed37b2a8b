"""``viz3d fit``: a sheet on how a cane fits a person."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from viz3d.cli.options import Changes, Language, Open, Out, Quiet, SceneName, output_path, show_file, spoken
from viz3d.cli.progress import progress
from viz3d.cli.say import say

PaperSize = Annotated[str, typer.Option("--paper", help="a4 or letter.")]


def fit(
    scene: SceneName,
    changes: Changes = None,
    language: Language = None,
    out: Out = None,
    paper: PaperSize = "a4",
    open_: Open = False,
    quiet: Quiet = False,
) -> None:
    """Write a sheet (PDF) on how a cane fits a scene's person: handle, elbow, tip, with cautions."""
    from viz3d.echo import shown
    from viz3d.errors import InputError
    from viz3d.output import gl
    from viz3d.output.files import check_space
    from viz3d.output.paper import write_paper
    from viz3d.output.suffixes import SHEETS
    from viz3d.scene.reader import find_scene, load_scene
    from viz3d.teach.fitting import fitting_sheet
    from viz3d.teach.paper import PAPERS

    if paper not in PAPERS:
        raise InputError(f"--paper: found {shown(paper)}; allowed: {', '.join(PAPERS)}")
    loaded = load_scene(scene, spoken(changes, language))
    path = output_path(out, f"{Path(scene).stem}-fit", ".pdf", SHEETS)
    leaf = fitting_sheet(loaded, str(find_scene(scene)))
    gl.require()
    check_space(path.parent)
    with progress("preparing bones", quiet) as report:
        write_paper(leaf, path, paper, report)
    if not quiet:
        say(f"wrote {path}")
    if open_:
        show_file(path)
