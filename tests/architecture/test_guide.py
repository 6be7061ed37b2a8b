"""What DEVELOPERS.md says of the code is so: its names exist, its rooms are the import rules', its figures the code's."""

from __future__ import annotations

import importlib
import itertools
import pkgutil
import re
import subprocess
import tomllib
from functools import cache
from pathlib import Path

import pytest

import viz3d

ROOT = Path(viz3d.__file__).resolve().parents[1]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
MODULES = [m.name for m in pkgutil.walk_packages([str(ROOT / "viz3d")], "viz3d.") if not m.name.endswith("__main__")]
BESIDE_THE_ROOMS = {"atomic", "kept"}
"""Layers that the import rules name and the guide's table leaves out: helpers of one file."""
NOT_LAYERED = {"__main__"}
"""At the top of the package, above every layer."""


def files() -> list[str]:
    """Every file of the project, as git has them or, in a copy without git, as they lie there."""
    done = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if done.returncode == 0 and done.stdout:
        return [f for f in done.stdout.splitlines() if (ROOT / f).exists()]
    places = ("viz3d", "tests", "docs", "scenes", "benchmarks", ".ci")
    found = [p for name in places for p in (ROOT / name).rglob("*") if p.is_file()]
    return [p.relative_to(ROOT).as_posix() for p in [*found, *(p for p in ROOT.iterdir() if p.is_file())]]


FILES = files()
FOLDERS = {"/".join(f.split("/")[:k]) for f in FILES for k in range(1, f.count("/") + 1)} | {"renders", "meshes"}
SOURCE = "\n".join(
    (ROOT / f).read_text(encoding="utf-8")
    for f in FILES
    if f.startswith(("viz3d/", "scenes/", "tests/"))
    and f.endswith((".py", ".toml", ".js"))
    and f != "tests/architecture/test_guide.py"
)


def rooms() -> list[tuple[list[str], list[str]]]:
    """The table of rooms: names in a row's first cell, and where to start reading."""
    rows = re.findall(r"^\| (`[a-z_/`., ]+`) \| .+ \| (.+) \|$", GUIDE, flags=re.M)
    found = [([n.removesuffix("/").removesuffix(".py") for n in ticked(a)], ticked(b)) for a, b in rows]
    assert len(found) >= 12
    return found


def ticked(text: str) -> list[str]:
    return re.findall(r"`([^`\n]+)`", text)


def prose() -> str:
    """The guide without its fenced blocks, code spans that run over a line's end made whole."""
    return re.sub(r"\n(?=\S)", " ", re.sub(r"```.*?```", "", GUIDE, flags=re.S))


@cache
def named_by(dotted: str) -> object | None:
    """What ``a.b.name`` names, its front taken as the end of a module's name; None for nothing."""
    front, _, last = dotted.rpartition(".")
    for name in MODULES:
        if name == f"viz3d.{dotted}" or name.endswith(f".{dotted}"):
            return importlib.import_module(name)
        if front and (name == f"viz3d.{front}" or name.endswith(f".{front}")):
            module = importlib.import_module(name)
            if last in vars(module):
                return vars(module)[last]
    owner = named_by(front) if front else None
    fields = {*dir(owner), *getattr(owner, "__dataclass_fields__", {}), *getattr(owner, "model_fields", {})}
    return owner if owner is not None and last in fields else None


def is_there(token: str) -> bool:
    """Does the code have what a word in backticks names: a file, a folder, a dotted name, a word of the sources?"""
    place = token.removesuffix("/")
    if any(f == place or f.endswith(f"/{place}") for f in FILES) or any(
        f == place or f.endswith(f"/{place}") for f in FOLDERS
    ):
        return True
    dotted = token.replace("/", ".")
    if re.fullmatch(r"[A-Za-z_]\w*(\.[A-Za-z_]\w*)+", dotted):
        return named_by(dotted) is not None or _member(dotted)
    if re.fullmatch(r"[A-Za-z_][\w-]*", token):
        return (
            re.search(rf"(?<![\w-]){re.escape(token)}(?![\w-])", SOURCE) is not None
            or token in PROJECT["project"]["scripts"]
        )
    return "=" in token and token in SOURCE


def _member(token: str) -> bool:
    """``Class.field`` of a class whose module the guide leaves to the reader."""
    front, _, last = token.rpartition(".")
    owners = [vars(m)[front] for m in map(importlib.import_module, MODULES) if front in vars(m)]
    fields = [{*dir(o), *getattr(o, "__dataclass_fields__", {}), *getattr(o, "model_fields", {})} for o in owners]
    return any(last in some for some in fields)


def commands() -> set[str]:
    """Words in backticks that are typed into a shell, or are pieces of TOML shown as such."""
    return {t for t in ticked(prose()) if re.match(r"(viz3d|python|pytest|lint-imports|sh)( |$)|\[", t)}


NAMES = sorted(set(ticked(prose())) - commands())


def test_the_guide_names_many_things() -> None:
    assert len(NAMES) > 80


@pytest.mark.parametrize("token", NAMES)
def test_what_the_guide_names_is_there(token: str) -> None:
    assert is_there(token), f"DEVELOPERS.md names `{token}`: no such file, function, field or word in the code"


@pytest.mark.parametrize("token", ["scene/scheme.py", "frontal.sits", "Posture.hat", "flibber", "stage/"[:-1] + "y/"])
def test_the_check_sees_a_name_that_is_gone(token: str) -> None:
    assert not is_there(token)


@pytest.mark.parametrize("token", sorted(commands()))
def test_commands_of_the_guide_exist(token: str) -> None:
    from typer.main import get_command

    from viz3d.cli.app import app

    words = token.split()
    if words[0] == "viz3d":
        assert set(words[1:2]) <= set(get_command(app).commands), token  # type: ignore[attr-defined]
    elif words[0] == "python":
        assert words[1] in FILES, token
    elif token.startswith("["):
        assert re.search(re.escape(token.strip("[]").split(".")[0]), SOURCE), token
    else:
        assert words[0] in {"pytest", "lint-imports", "sh"}, token


@pytest.mark.parametrize(("room", "start"), [(r, s) for r, s in rooms()], ids=[" ".join(r) for r, _ in rooms()])
def test_reading_starts_at_a_name_of_that_room(room: list[str], start: list[str]) -> None:
    assert start
    for token in start:
        if token.endswith(".py"):
            assert any(f in FILES for n in room for f in (f"viz3d/{n}/{token}", f"viz3d/{token}")), token
        else:
            assert any(named_by(front + token) is not None for front in ("", *(f"{n}." for n in room))), token


def test_rooms_are_the_layers_of_the_import_rules() -> None:
    """The same names, and the table runs from the lowest layer to the highest."""
    contract = next(c for c in PROJECT["tool"]["importlinter"]["contracts"] if c["type"] == "layers")
    layers = [[n.strip() for n in re.split(r"[|:]", line)] for line in contract["layers"]]
    height = {name: len(layers) - k for k, line in enumerate(layers) for name in line}
    names = [n for room, _ in rooms() for n in room]
    assert set(names) - NOT_LAYERED == set(height) - BESIDE_THE_ROOMS
    rows = [[height[n] for n in room if n in height] for room, _ in rooms()]
    climbing = [(min(row), max(row)) for row in rows if row]
    assert all(before <= low for (_, before), (low, _) in itertools.pairwise(climbing))
    on_disk = {m.name.split(".")[1] for m in pkgutil.walk_packages([str(ROOT / "viz3d")], "viz3d.")}
    assert on_disk == set(height) | NOT_LAYERED


def test_shell_lines_of_the_guide_point_at_files() -> None:
    blocks = [b for language, b in re.findall(r"^```(\w*)\n(.*?)^```", GUIDE, flags=re.S | re.M) if not language]
    lines = [line for block in blocks for line in block.splitlines() if line.startswith((".venv/", "sh "))]
    assert len(lines) >= 4
    for line in lines:
        for word in line.split():
            if word.endswith((".py", ".sh")):
                assert word in FILES, line
    made = set(PROJECT["project"]["optional-dependencies"]["test"])
    for tool in re.findall(r"\.venv/bin/(ruff|mypy|pytest|lint-imports)", "\n".join(lines)):
        assert any(d.startswith({"lint-imports": "import-linter"}.get(tool, tool)) for d in made), tool


def test_files_that_both_lists_of_packages_name() -> None:
    assert "tests/system-packages.txt" in FILES
    assert "tests/web/package.json" in FILES
    for reader in ("setup.sh", "viz3d/output/gl.py"):
        assert "system-packages.txt" in (ROOT / reader).read_text(encoding="utf-8")


def test_bands_of_printed_pressure_are_as_wide_as_the_guide_says() -> None:
    from viz3d.output import outline

    (told,) = re.findall(r"bands of ([\d.]+) MPa", GUIDE)
    assert float(told) * 1e6 == outline._BAND


@pytest.mark.parametrize("test", sorted(set(re.findall(r"`(tests/[\w/]+\.py)` asks for 3 mm", GUIDE))))
def test_three_millimetres_are_asked_for(test: str) -> None:
    text = (ROOT / test).read_text(encoding="utf-8")
    assert re.search(r"< (0\.003|3e-3)\b", text)
