"""The run that grows its bones writes the same bytes as those that read them: every kind of output."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.cli.killed import COMMANDS, Place

NAMES = ("mesh", "still", "drawing", "paper", "film", "model", "page", "plate")


@pytest.mark.long
@pytest.mark.parametrize("name", NAMES)
def test_grown_and_read_bones_give_the_same_files(name: str, tmp_path: Path) -> None:
    place = Place(tmp_path / "place", None)
    grown = place.ran(COMMANDS[name])
    shutil.rmtree(place.folder / "work")
    shutil.rmtree(place.folder / "cache" / "films", ignore_errors=True)
    (place.folder / "work" / "out").mkdir(parents=True)
    assert place.ran(COMMANDS[name]) == grown
