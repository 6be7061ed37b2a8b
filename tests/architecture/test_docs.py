"""Pages generated from the tables are up to date, and the README's example is a real scene."""

from __future__ import annotations

import importlib.util
import re
import tomllib
from pathlib import Path

from viz3d.scene.reader import check_scene

ROOT = Path(__file__).resolve().parents[2]


def test_defaults_page_is_current() -> None:
    spec = importlib.util.spec_from_file_location("make_defaults", ROOT / "docs" / "make_defaults.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert (ROOT / "docs" / "defaults.md").read_text(encoding="utf-8") == module.page()


def test_readme_example_is_a_scene() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    example, *more = re.findall(r"```toml\n(.*?)```", text, flags=re.S)
    for steps in more:  # further examples are steps to put at a scene's end
        assert check_scene(tomllib.loads(f"{example}\n{steps}"), Path("readme.toml")).steps[-1].name
    scene = check_scene(tomllib.loads(example), ROOT / "README.md")
    assert len(scene.steps) == 2


def test_one_list_of_system_packages() -> None:
    listed = (ROOT / "system-packages.txt").read_text(encoding="utf-8")
    assert "libegl1" in listed
    for name in ("setup.sh", ".ci/run", "viz3d/output/gl.py"):
        assert "libegl1" not in (ROOT / name).read_text(encoding="utf-8"), f"{name} must read the one list"
