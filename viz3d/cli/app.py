"""The commands, grouped: numbers, pictures, set-up. Each lives in a file of its own."""

from __future__ import annotations

import typer

from viz3d import __version__
from viz3d.cli import (
    bones,
    bring,
    chart,
    check,
    compare,
    doctor,
    exercises,
    explain,
    film,
    fit,
    hold,
    lesson,
    live,
    match,
    new,
    orbit,
    page,
    raise_leg,
    scenes,
    schema,
    slides,
    solve,
    spread,
    still,
    target,
    walk,
    words,
)

NUMBERS, PICTURES, SET_UP = "Numbers", "Pictures", "Set-up"

app = typer.Typer(
    name="viz3d",
    help="What the hip carries: a scene file in, a solved, true-to-scale explanation out.",
    no_args_is_help=True,
    context_settings={"help_option_names": ["-h", "--help"], "token_normalize_func": str.lower},
    add_completion=False,
    rich_markup_mode="rich",
    pretty_exceptions_enable=False,
)


def _version(wanted: bool) -> None:
    if wanted:
        print(__version__)
        raise typer.Exit


@app.callback()
def _options(
    version: bool = typer.Option(False, "--version", callback=_version, is_eager=True, help="Print the version."),
) -> None:
    """What the hip carries: a scene file in, a solved, true-to-scale explanation out."""


app.command("solve", rich_help_panel=NUMBERS)(solve.solve)
app.command("explain", rich_help_panel=NUMBERS)(explain.explain)
app.command("exercises", rich_help_panel=NUMBERS)(exercises.exercises)
app.command("check", rich_help_panel=NUMBERS)(check.check)
app.command("target", rich_help_panel=NUMBERS)(target.target)
app.command("hold", rich_help_panel=NUMBERS)(hold.hold)
app.command("match", rich_help_panel=NUMBERS)(match.match)
app.command("raise", rich_help_panel=NUMBERS)(raise_leg.raise_leg)
app.command("walk", rich_help_panel=NUMBERS)(walk.walk)
app.command("spread", rich_help_panel=NUMBERS)(spread.spread)
app.command("chart", rich_help_panel=NUMBERS)(chart.chart)
app.command("still", rich_help_panel=PICTURES)(still.still)
app.command("compare", rich_help_panel=PICTURES)(compare.compare)
app.command("bones", rich_help_panel=PICTURES)(bones.bones)
app.command("bring", rich_help_panel=SET_UP)(bring.bring)
app.command("film", rich_help_panel=PICTURES)(film.film)
app.command("orbit", rich_help_panel=PICTURES)(orbit.orbit)
app.command("slides", rich_help_panel=PICTURES)(slides.slides)
app.command("fit", rich_help_panel=PICTURES)(fit.fit)
app.command("lesson", rich_help_panel=PICTURES)(lesson.lesson)
app.command("page", rich_help_panel=PICTURES)(page.page)
app.command("live", rich_help_panel=PICTURES)(live.live)
app.command("scenes", rich_help_panel=SET_UP)(scenes.scenes)
app.command("new", rich_help_panel=SET_UP)(new.new)
app.command("words", rich_help_panel=SET_UP)(words.words)
app.command("schema", rich_help_panel=SET_UP)(schema.schema)
app.command("doctor", rich_help_panel=SET_UP)(doctor.doctor)
