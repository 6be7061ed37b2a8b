"""``viz3d lesson``: everything an educator hands out, from one lesson file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from viz3d.cli.options import Language, Open, Quiet, known_language, show_file
from viz3d.cli.progress import progress
from viz3d.cli.say import say


def lesson(
    name: Annotated[str, typer.Argument(metavar="LESSON", help="A lesson file, a library lesson, or a scene.")],
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FOLDER", help="Folder to write into (default: in renders).")
    ] = None,
    changes: Annotated[
        list[str] | None,
        typer.Option("--set", metavar="KEY=VALUE", help="Change all pictures, like picture.mass=lb. May be repeated."),
    ] = None,
    language: Language = None,
    pages: Annotated[bool, typer.Option("--pages/--no-pages", help="With an offline page of each scene.")] = True,
    films: Annotated[bool, typer.Option("--films", help="With films of the scenes and one for patients.")] = False,
    open_: Open = False,
    quiet: Quiet = False,
) -> None:
    """Write a lesson's folder: slides, worksheet, answers, patient handout, exercises, numbers, page; and an index."""
    from viz3d.teach.lesson import open_lesson
    from viz3d.words.message import message

    opened = open_lesson(name, known_language(language), changes or ())
    from viz3d.output import gl
    from viz3d.output.pack import Pack, folder_name
    from viz3d.output.together import LIST, check_folder, made_together
    from viz3d.web.offline import write_page

    folder = out or Path("renders") / folder_name(opened.lesson.title)
    check_folder(folder)
    gl.require()
    with progress("preparing bones", quiet) as report, made_together(folder) as work:
        pack = Pack(opened, work, report, folder)
        pack.check()
        if films:
            pack.film(report)
        pack.write()
        for chosen, short in zip(opened.chosen, opened.names, strict=True):
            if pages:
                told = message("pack.page", scene=chosen.scene.title)
                path = pack.add("for_students", told, f"page-{short}.html")
                write_page(chosen.scene, path, chosen.file, 0, report)
                pack.add("for_you", message("pack.record", of=told), f"{path.name}.json")
        pack.index()
    if not quiet:
        say(f"wrote {len(pack.entries) + 1} files; open {folder / LIST}")
        say(pack.voice.say(pack.readability()))
    if open_:
        show_file(folder / LIST)
