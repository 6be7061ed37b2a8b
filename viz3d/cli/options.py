"""Options that several commands share, and where output may go."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from viz3d.scene.schema import Scene
    from viz3d.units import Force


def lowered(typed: str | None) -> str | None:
    """A word of ours however it was typed."""
    return typed if typed is None else typed.strip().lower()


SceneName = Annotated[str, typer.Argument(metavar="SCENE", help="A scene file, or the name of a library scene.")]
SceneNames = Annotated[list[str], typer.Argument(metavar="SCENE...", help="Scene files or library names.")]
Changes = Annotated[
    list[str] | None,
    typer.Option("--set", metavar="KEY=VALUE", help='Change one value, like person.mass="80 kg". May be repeated.'),
]
Language = Annotated[
    str | None,
    typer.Option(
        "--language", metavar="LANGUAGE", help="Of all words: en or es (default: the scene's).", callback=lowered
    ),
]
Out = Annotated[
    Path | None,
    typer.Option("--out", metavar="PATH", help="File to write, or folder to write into (default: renders)."),
]
Open = Annotated[bool, typer.Option("--open", help="Open the result when it is ready.")]
StartStep = Annotated[int | None, typer.Option("--step", help="Step to start from, from 1 (default: the first).")]
By = Annotated[
    str, typer.Option("--by", metavar="INPUT", help="lean, drop, cane, bag, mass or lever.", callback=lowered)
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="Print nothing but errors.")]


def spoken(changes: list[str] | None, language: str | None) -> list[str]:
    """Changes to a scene, with the language that was asked for."""
    return [*(changes or ()), *([f"picture.language={language}"] if language is not None else [])]


def known_language(language: str | None) -> str | None:
    """A language that was asked for where there is no scene, and None for none.

    Raises
    ------
    InputError : there are no words in it.
    """
    from viz3d.echo import shown
    from viz3d.errors import InputError
    from viz3d.words.catalogue import languages

    if language is not None and language not in languages():
        raise InputError(f"--language: found {shown(language)}; allowed: {', '.join(languages())}")
    return language


def output_path(out: Path | None, name: str, suffix: str, allowed: tuple[str, ...], folder: str = "renders") -> Path:
    """The file to write for a scene; into ``folder``, in the current one, where no place is named.

    Raises
    ------
    RenderError : the suffix is not one of ``allowed``.
    """
    from viz3d.errors import RenderError

    if out is None:
        out = Path(folder)
    path = out if out.suffix else out / f"{name}{suffix}"
    if path.suffix.lower() not in allowed:
        raise RenderError(f"{path.name}: this command writes {', '.join(allowed)}")
    return path


def step_index(scene: Scene, step: int | None, last: bool = False, typed: str = "--step") -> int:
    """Index of the step a person named from 1, where ``typed``; the first, or the last, where none was named.

    Raises
    ------
    InputError : there is no such step.
    """
    from viz3d.errors import InputError

    count = len(scene.steps)
    index = (count if last else 1) - 1 if step is None else step - 1
    if not 0 <= index < count:
        raise InputError(f"{typed}: found {step}; this scene has {scene.counted}")
    return index


def typed_value(option: str, text: str, dimension: str) -> float:
    """A quantity typed after an option, SI.

    Raises
    ------
    InputError : it cannot be read; names the option.
    """
    from viz3d import units
    from viz3d.errors import InputError

    try:
        return units.parse_quantity(text, dimension)
    except InputError as error:
        raise InputError(f"{option}: {error}") from error


def typed_force(option: str, text: str) -> Force:
    """A force typed after an option.

    Raises
    ------
    InputError : as :func:`typed_value`.
    """
    from viz3d import units
    from viz3d.errors import InputError

    try:
        return units.parse_force(text)
    except InputError as error:
        raise InputError(f"{option}: {error}") from error


def show_file(path: Path) -> None:
    """Open a finished file with the system's viewer."""
    typer.launch(str(path))
