"""Where things are kept: grown bones in the checkout's meshes/, all else in the user's cache folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from viz3d.cli.options import output_path
from viz3d.shapes.cache import cache_folder, user_folder

ROOT = Path(__file__).resolve().parents[2]


def test_bones_stay_in_the_checkout_and_films_leave_it(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("VIZ3D_CACHE", raising=False)
    monkeypatch.setattr("platformdirs.user_cache_path", lambda name: tmp_path / name)
    assert cache_folder() == ROOT / "meshes"
    assert user_folder() == tmp_path / "viz3d"
    assert user_folder().is_dir()


def test_one_named_folder_serves_both(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("VIZ3D_CACHE", str(tmp_path / "kept"))
    assert cache_folder() == user_folder() == tmp_path / "kept"


def test_bones_are_written_into_meshes_unless_told(tmp_path: Path) -> None:
    allowed = (".png", ".stl")
    assert output_path(None, "a-femur", ".png", allowed, "meshes") == Path("meshes/a-femur.png")
    assert output_path(tmp_path, "a-femur", ".png", allowed, "meshes") == tmp_path / "a-femur.png"
    assert output_path(None, "a", ".png", allowed) == Path("renders/a.png")


def test_folders_keep_a_page_that_says_what_they_hold() -> None:
    for name in ("meshes", "renders"):
        text = (ROOT / name / "README.md").read_text(encoding="utf-8")
        assert "safe to delete" in text
        assert f"!{name}/README.md" in (ROOT / ".gitignore").read_text(encoding="utf-8")
