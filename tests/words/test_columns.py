"""What a picture's columns say in English they say in Spanish: no line and no name is dropped for longer words."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from viz3d.scene.reader import library_scenes, load_scene
from viz3d.solution.script import Script, Shot
from viz3d.stage.layout import Sheet
from viz3d.stage.sheets import lay_out


def lines(shots: Iterable[Shot]) -> dict[tuple[int, str], int]:
    """How many lines each label has; upright pictures have no columns."""
    out: dict[tuple[int, str], int] = {}
    for n, shot in enumerate(shots):
        sheet = lay_out(shot.scene, shot.solved, shot.scene.picture.pixels)
        if isinstance(sheet, Sheet):
            out |= {(n, key): len(label.sizes) + (0 if label.inline else 1) for key, label in sheet.labels.items()}
    return out


def check(name: str, steps: Iterable[int] | None, *changes: str) -> int:
    """Compare a scene's steps, or its film where none are named; returns the number of labels."""
    found = []
    for language in ("en", "es"):
        scene = load_scene(name, [f"picture.language={language}", *changes])
        script = Script(scene)
        found.append(lines(script.film()[0] if steps is None else (script.shot_at(k)[0] for k in steps)))
    english, spanish = found
    assert english.keys() == spanish.keys(), name
    assert not {key: (count, spanish[key]) for key, count in english.items() if spanish[key] < count}, name
    return len(english)


def test_columns_say_as_much_in_spanish() -> None:
    assert check("cane-same-hand", [1]) > 5


@pytest.mark.long
@pytest.mark.parametrize("words", ["trade", "plain"])
@pytest.mark.parametrize("name", sorted(library_scenes()))
def test_columns_of_every_step_and_film_say_as_much_in_spanish(name: str, words: str) -> None:
    steps = range(len(load_scene(name).steps))
    upright = check(name, steps, f"picture.words={words}") == 0
    assert (check(name, None, f"picture.words={words}") == 0) == upright
