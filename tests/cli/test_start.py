"""What a command reads before it answers: slow libraries wait until something is drawn."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

DRAWING = {
    "PIL.ImageDraw", "colour", "contourpy", "distributed", "embreex", "fast_simplification", "fontTools", "fpdf",
    "imageio", "imageio_ffmpeg", "manifold3d", "matplotlib", "multiprocessing.pool", "networkx", "pygltflib", "pyvista",
    "scipy", "starlette", "trimesh", "uharfbuzz", "uvicorn", "viz3d.output", "viz3d.shapes", "viz3d.web", "vtkmodules",
}  # fmt: skip
"""Libraries that only pictures, bones, questions and pages need."""
SOLVING = {"PIL", "babel", "numpy", "viz3d.scene", "viz3d.solution", "viz3d.stage", "viz3d.statics", "viz3d.words"}
"""What solving needs besides."""

READ = "import json, sys\ntry:\n    from viz3d.cli import main\n    main()\nfinally:\n    print(json.dumps(sorted(sys.modules)))"


def read_by(*arguments: str) -> set[str]:
    """Names of the modules that a command has read when it ends."""
    code = f"import sys\nsys.argv[1:] = {list(arguments)!r}\n{READ}"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    found: list[str] = json.loads(done.stdout.splitlines()[-1])
    return set(found)


@pytest.mark.parametrize("command", [["--help"], ["--version"], ["solve", "--help"], ["film", "--help"]])
def test_help_reads_nothing_that_solves_or_draws(command: list[str]) -> None:
    found = read_by(*command)
    assert "viz3d.cli.film" in found
    assert found & (DRAWING | SOLVING) == set()


@pytest.mark.parametrize("command", [["solve", "level-stance"], ["solve", "muscle-set"], ["check", "limp"], ["scenes"]])
def test_numbers_read_nothing_that_draws(command: list[str]) -> None:
    found = read_by(*command)
    assert "viz3d.scene" in found
    assert found & DRAWING == set()
