"""A folder of files is of one making: put in place whole, never over somebody's own files."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from viz3d.errors import RenderError
from viz3d.output.together import LIST, MAKER, check_folder, made_before, made_together


def put(folder: Path, *names: str, told: str = "first") -> None:
    """A pack of small files and its list."""
    with made_together(folder) as work:
        for name in names:
            (work / name).write_text(told, encoding="utf-8")
        links = "".join(f'<a href="{name}">{name}</a>' for name in names)
        (work / LIST).write_text(f'<meta name="generator" content="{MAKER}">{links}', encoding="utf-8")


def texts(folder: Path) -> dict[str, str]:
    return {p.name: p.read_text(encoding="utf-8") for p in folder.iterdir() if p.name != LIST}


def test_a_second_making_replaces_the_first_whole(tmp_path: Path) -> None:
    folder = tmp_path / "new" / "pack"
    put(folder, "worksheet.pdf", "still-9.png")
    (folder / "my notes.txt").write_text("mine", encoding="utf-8")
    put(folder, "worksheet.pdf", "answers.pdf", told="second")
    assert texts(folder) == {"worksheet.pdf": "second", "answers.pdf": "second", "my notes.txt": "mine"}
    assert made_before(folder) == {"worksheet.pdf", "answers.pdf", LIST}


@pytest.mark.parametrize("end", [KeyboardInterrupt, RenderError("x"), OSError(28, "No space left on device")])
def test_what_is_cut_short_changes_nothing(tmp_path: Path, end: BaseException) -> None:
    folder = tmp_path / "pack"
    put(folder, "worksheet.pdf", "answers.pdf")
    before = texts(folder)
    with pytest.raises((KeyboardInterrupt, RenderError)), made_together(folder) as work:
        (work / "worksheet.pdf").write_text("other", encoding="utf-8")
        raise end
    assert texts(folder) == before
    with pytest.raises((KeyboardInterrupt, RenderError)), made_together(tmp_path / "fresh") as work:
        raise end
    assert not (tmp_path / "fresh").exists()


def test_messages_name_the_later_place(tmp_path: Path) -> None:
    with pytest.raises(RenderError) as told, made_together(tmp_path / "pack") as work:
        raise RenderError(f"{work / 'handout-a4.pdf'}: the disk is full")
    assert str(told.value) == f"{tmp_path / 'pack' / 'handout-a4.pdf'}: the disk is full"


def test_somebody_s_own_files_are_refused(tmp_path: Path) -> None:
    (tmp_path / LIST).write_text("<title>My own page</title>", encoding="utf-8")
    with pytest.raises(
        RenderError, match=r"holds files that no lesson made \('index.html'\); allowed with --out: a new"
    ):
        check_folder(tmp_path)
    with pytest.raises(RenderError, match=r"index\.html: is a file; name a folder with --out"):
        check_folder(tmp_path / LIST / "below")
    assert [p.name for p in tmp_path.iterdir()] == [LIST]


def test_a_disk_that_can_only_be_read_is_told_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(RenderError, match="cannot write there; choose another place with --out"):
        check_folder(tmp_path / "a" / "b")
    assert list(tmp_path.iterdir()) == []
