"""The same input gives the same bytes: in another process, with other hash seeds, on another day."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

SMALL = ["--set", "picture.size=640x480"]
FILM = ["--set", "picture.size=360x360", "--set", "picture.frames_per_second=5", "--no-cache"]
SCENE = "cane-opposite-hand"
QUICK = [["page", SCENE, "--out", "page.html"]]
ALL = [
    *QUICK,
    ["film", SCENE, "--out", "film.glb"],
    ["chart", SCENE, "--over", "cane", "--out", "chart.svg"],
    ["chart", SCENE, "--over", "lean", "--and", "cane", "--out", "map.svg"],
    *[["chart", SCENE, "--over", "lean", "--out", f"chart.{x}"] for x in ("png", "csv")],
    *[["still", SCENE, *SMALL, "--out", f"still.{x}"] for x in ("png", "svg", "pdf")],
    *[["compare", "level-stance:1", f"{SCENE}:2", "--out", f"compared.{x}"] for x in ("svg", "pdf", "png")],
    *[["film", "lean-over-hip", *FILM, "--out", f"film.{x}"] for x in ("mp4", "gif", "webp")],
    *[["bones", SCENE, "--out", f"bones.{x}"] for x in ("png", "stl", "ply", "obj", "glb")],
]
DRIVER = """
import sys, time
from viz3d.cli import main
really, days = time.time, float(sys.argv.pop(1))
time.time = lambda: really() + 86400.0 * days
commands = [c.split("\\t") for c in sys.argv[1:]]
for command in commands:
    sys.argv[1:] = [*command, "--quiet"]
    try:
        main()
    except SystemExit as end:
        assert not end.code, command
"""


def digests(folder: Path, commands: list[list[str]], seed: int, days: float) -> dict[str, str]:
    """Digest of every file that commands write, in a process of its own with a hash seed, so many days later."""
    folder.mkdir()
    told = ["\t".join(c) for c in commands]
    subprocess.run(
        [sys.executable, "-c", DRIVER, str(days), *told],
        cwd=folder, env={**os.environ, "PYTHONHASHSEED": str(seed)}, check=True,
    )  # fmt: skip
    return {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in sorted(folder.iterdir())}


def check_same(tmp_path: Path, commands: list[list[str]]) -> None:
    first, second = (digests(tmp_path / str(n), commands, n, 400.0 * n) for n in (1, 2))
    assert set(first) >= {c[-1] for c in commands}
    assert [name for name in first if first[name] != second.get(name)] == []


@pytest.mark.long
def test_pages_are_functions_of_their_input(tmp_path: Path) -> None:
    check_same(tmp_path, QUICK)


@pytest.mark.long
def test_every_output_is_a_function_of_its_input(tmp_path: Path) -> None:
    check_same(tmp_path, ALL)
