"""``viz3d chart``: one output over one or two inputs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from viz3d.cli.options import (
    Changes,
    Language,
    Open,
    Out,
    Quiet,
    SceneName,
    StartStep,
    lowered,
    output_path,
    show_file,
    spoken,
    step_index,
)
from viz3d.cli.say import say


def chart(
    scene: SceneName,
    over: Annotated[
        str, typer.Option("--over", metavar="INPUT", help="lean, drop, cane, bag, mass or lever.", callback=lowered)
    ] = "cane",
    and_: Annotated[
        str, typer.Option("--and", metavar="INPUT", help="A second input: draws a contour map.", callback=lowered)
    ] = "",
    show: Annotated[
        str,
        typer.Option("--show", metavar="OUTPUT", help="joint, muscle, lever, pressure or relief.", callback=lowered),
    ] = "joint",
    changes: Changes = None,
    language: Language = None,
    step: StartStep = None,
    out: Out = None,
    open_: Open = False,
    quiet: Quiet = False,
) -> None:
    """Chart the joint force (or another output) over one or two inputs: PNG, SVG or CSV."""
    from viz3d.output.chart import write_chart
    from viz3d.output.suffixes import CHARTS
    from viz3d.questions.sweep import sweep
    from viz3d.scene.reader import load_scene
    from viz3d.scene.segments import scene_at
    from viz3d.stage.tell import person_words
    from viz3d.stage.theme import voice_of
    from viz3d.words.message import message

    loaded = load_scene(scene, spoken(changes, language))
    index = step_index(loaded, step)
    found = sweep(loaded, index, over, and_, show, file=scene)
    loaded = scene_at(loaded, index)
    name = "-".join(part for part in (Path(scene).stem, show, over, and_) if part)
    path = output_path(out, name, ".png", CHARTS)
    voice = voice_of(loaded)
    stands = message(f"person.on_leg.{loaded.posture.stance}", person=person_words(loaded))
    who = message("person.step", person=stands, step=loaded.steps[index].name)
    write_chart(found, loaded.title, who, path, voice)
    if not quiet:
        say(f"wrote {path}")
    if open_:
        show_file(path)
