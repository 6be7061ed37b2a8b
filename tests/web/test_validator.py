"""Every scene's glTF file passes the Khronos validator."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Sequence
from pathlib import Path

import pygltflib
import pytest

from viz3d.output.gltf import write_gltf
from viz3d.scene.reader import library_scenes, load_scene

SEVERAL_BODIES = {"neck-angles", "cane-switch-hands", "step-cycle", "replacement-hip"}


SOME = ("bag-sides", "replacement-hip")
"""Scenes that together hold most of what a file may hold; the long tier has every scene."""


def test_the_khronos_validator_finds_no_fault(tmp_path: Path) -> None:
    check_files(SOME, tmp_path)
    check_files(("level-stance",), tmp_path, ["picture.dress=patient"])


@pytest.mark.long
def test_the_khronos_validator_finds_no_fault_in_any_scene(tmp_path: Path) -> None:
    check_files(tuple(library_scenes()), tmp_path)


def check_files(names: tuple[str, ...], tmp_path: Path, changes: Sequence[str] = ()) -> None:
    """Write scenes' films as 3-D files; each is sound, and has the scenes and the animations that it should."""
    written = []
    for name in names:
        path = tmp_path / f"{name}.glb"
        write_gltf(load_scene(name, list(changes)), path, name)
        written.append(str(path))
    script = Path(__file__).with_name("validate.js")
    done = subprocess.run(["node", str(script), *written], capture_output=True, text=True, check=True, timeout=300)
    found = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(found) == len(written) == len(names)
    for one in found:
        assert (one["errors"], one["warnings"]) == (0, 0), one
        scene = load_scene(Path(one["name"]).stem)
        several = Path(one["name"]).stem in SEVERAL_BODIES
        scenes = pygltflib.GLTF2().load(one["name"]).scenes
        assert (len(scenes) > 1) is several
        if not several:
            assert one["animations"] == int(any(s.set for s in scene.steps))
