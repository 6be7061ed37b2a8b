"""What others made is shipped with its terms: notices name all of it, word for word, and go wherever viz3d goes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

from viz3d.motion.read import read_motion
from viz3d.web import parts
from viz3d.web.three import three_script

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "viz3d"
NOTICES = (PACKAGE / "NOTICES.txt").read_text(encoding="utf-8")


def squeezed(text: str) -> str:
    return " ".join(text.split())


def test_the_drawing_library_is_named_with_its_licence_word_for_word() -> None:
    banner = three_script().partition("*/")[0].removeprefix("/*! three.js\n").strip()
    assert "Copyright" in banner
    assert "THE SOFTWARE IS PROVIDED" in banner
    assert banner in NOTICES
    version = json.loads((PACKAGE / "web" / "library" / "package.json").read_text(encoding="utf-8"))
    assert f"three.js {version['dependencies']['three']}\n" in NOTICES


@pytest.mark.parametrize("mode", ["offline", "live"])
def test_pages_carry_the_library_with_its_licence(mode: str) -> None:
    [library] = [text for text in parts.scripts(mode) if text.startswith("/*! three.js")]
    assert "Permission is hereby granted, free of charge" in library[:1200]


def test_every_data_table_of_others_is_named_with_source_and_licence() -> None:
    tables = sorted((PACKAGE / "motion" / "data").iterdir())
    assert tables
    for table in tables:
        motion = read_motion(table)
        assert table.relative_to(PACKAGE).as_posix() in NOTICES
        for part in motion.source.split(";")[0].split(", "):
            assert part in squeezed(NOTICES), part
        assert motion.licence.split(" (")[0] in NOTICES
    assert "CC BY 4.0" in NOTICES
    assert "doi 10.7717/peerj.4640" in squeezed(NOTICES)


def test_fonts_are_named_and_their_licence_lies_beside_them() -> None:
    licence = (PACKAGE / "stage" / "fonts" / "OFL.txt").read_text(encoding="utf-8")
    assert "stage/fonts/OFL.txt" in NOTICES
    assert licence.partition(",")[0] in NOTICES
    assert "copyright 2016-2022 The Inter Project Authors" in licence
    assert "Copyright 2016-2022 The Inter Project Authors" in NOTICES


def test_the_package_names_all_terms() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["license-files"] == ["LICENSE", "viz3d/NOTICES.txt", "viz3d/stage/fonts/OFL.txt"]
    assert all((ROOT / file).is_file() for file in project["license-files"])


@pytest.mark.long
def test_a_wheel_carries_them(tmp_path: Path) -> None:
    """Built as people install it; it needs the registry for its builder."""
    command = [sys.executable, "-m", "pip", "wheel", str(ROOT), "--no-deps", "--wheel-dir", str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=500, env=dict(os.environ))
    assert done.returncode == 0, done.stderr[-2000:]
    [wheel] = tmp_path.glob("viz3d-*.whl")
    with zipfile.ZipFile(wheel) as packed:
        names = packed.namelist()
        assert packed.read("viz3d/NOTICES.txt").decode() == NOTICES
        assert packed.read("viz3d/web/library/three.js").decode() == three_script()
    for file in ("LICENSE", "viz3d/NOTICES.txt", "viz3d/stage/fonts/OFL.txt"):
        assert any(name.endswith(f".dist-info/licenses/{file}") for name in names), file
    assert "viz3d/motion/data/one_adult.csv" in names
