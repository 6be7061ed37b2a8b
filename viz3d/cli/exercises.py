"""``viz3d exercises``: questions with worked answers, other numbers for each seed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from viz3d.cli.options import Changes, Language, Quiet, known_language, spoken
from viz3d.cli.say import say


def exercises(
    scene: Annotated[
        str | None, typer.Argument(metavar="[SCENE]", help="Whose person to ask about (default: people by the seed).")
    ] = None,
    changes: Changes = None,
    language: Language = None,
    seed: Annotated[int, typer.Option("--seed", help="Other numbers for each seed.")] = 1,
    count: Annotated[int, typer.Option("--count", help="How many.")] = 7,
    about: Annotated[
        list[str] | None,
        typer.Option("--about", metavar="KIND", help="abductor, joint, hand, lean, bag, reading or error; repeatable."),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="PATH", help="A .txt file, or a .zip for learning systems (QTI 3).")
    ] = None,
    answers: Annotated[bool, typer.Option("--answers/--no-answers", help="With worked answers.")] = True,
    quiet: Quiet = False,
) -> None:
    """Make exercises from solved people: abductor force, joint force, which hand, lean, bag, read or mend a picture."""
    from viz3d.cli.options import output_path
    from viz3d.output.suffixes import EXERCISES
    from viz3d.scene.reader import load_scene
    from viz3d.teach.exercises.draw import draw_exercises
    from viz3d.teach.exercises.text import as_text
    from viz3d.words.catalogue import SOURCE
    from viz3d.words.message import message
    from viz3d.words.voice import Voice

    loaded = load_scene(scene, spoken(changes, language)) if scene else None
    voice = loaded.picture.voice if loaded else Voice(known_language(language) or SOURCE)
    made = draw_exercises(seed, count, about or (), loaded)
    if out is None:
        say(as_text(made, voice, answers).rstrip("\n"))
        return
    path = output_path(out, f"exercises-{seed}", ".txt", EXERCISES)
    if path.suffix.lower() == ".txt":
        from viz3d.output.files import check_space, written_whole

        check_space(path.parent)
        with written_whole(path) as part:
            part.write_text(as_text(made, voice, answers), encoding="utf-8")
    else:
        from viz3d.output.assessment import write_package
        from viz3d.output.files import check_space

        check_space(path.parent)
        title = loaded.title if loaded else voice.say(message("exercise.set", seed=str(seed)))
        write_package(made, title, path, voice)
    if not quiet:
        say(f"wrote {path}")
