"""No OpenGL, or a broken one: one line that names the packages, no file, and nothing remembered from better days."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any, cast

import pytest

from viz3d.output import gl
from viz3d.web.jobs import Job

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="breaks the drivers of Linux")
ROOT = Path(__file__).resolve().parents[2]
DRIVER = "libEGL_mesa.so.0"
SMALL = ("--set", "picture.size=480x360")
COMMANDS = {
    "still": ("still", "level-stance", *SMALL, "--out", "a.png"),
    "beside": ("compare", "level-stance", "pelvic-drop", "--set", "picture.size=640x360", "--out", "a.png"),
    "film": ("film", "pelvic-drop", *SMALL, "--workers", "2", "--out", "a.mp4"),
    "plate": ("bones", "level-stance", "--of", "femur", "--out", "a.png"),
}


def vendor(folder: Path, library: Path | str) -> dict[str, str]:
    """Surroundings in which this library is the one driver."""
    named = folder / "vendor.json"
    about = {"file_format_version": "1.0.0", "ICD": {"library_path": str(library)}}
    named.write_text(json.dumps(about), encoding="utf-8")
    return {"__EGL_VENDOR_LIBRARY_FILENAMES": str(named)}


def copied_driver(folder: Path) -> Path:
    """A copy of the driver that can be spoilt."""
    found = next(Path("/usr/lib").rglob(DRIVER), None)
    if found is None:
        pytest.skip("the usual driver is not where Debian puts it")
    return Path(shutil.copy(found, folder / DRIVER))


def missing(folder: Path) -> dict[str, str]:
    (folder / "none").mkdir()
    return {"__EGL_VENDOR_LIBRARY_DIRS": str(folder / "none")}


def empty_file(folder: Path) -> dict[str, str]:
    (folder / "libEGL_empty.so.0").touch()
    return vendor(folder, folder / "libEGL_empty.so.0")


def driver_missing(folder: Path) -> dict[str, str]:
    return {"LIBGL_DRIVERS_PATH": str(folder / "none")}


def removed_after_success(folder: Path) -> dict[str, str]:
    driver = copied_driver(folder)
    around = vendor(folder, driver)
    assert opens(around)
    driver.unlink()
    return around


def cut_after_success(folder: Path) -> dict[str, str]:
    """Half a driver crashes whoever loads it."""
    driver = copied_driver(folder)
    around = vendor(folder, driver)
    assert opens(around)
    os.truncate(driver, driver.stat().st_size // 2)
    return around


WAYS = (missing, empty_file, driver_missing, removed_after_success, cut_after_success)
FAST = (driver_missing,)


def surroundings(more: dict[str, str]) -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(ROOT), "VTK_DEFAULT_OPENGL_WINDOW": "vtkEGLRenderWindow", **more}


def opens(around: dict[str, str]) -> bool:
    code = (  # beside a thread, as where a bar shows how far the work is
        "import sys, threading; from viz3d.output import gl\n"
        "threading.Thread(target=threading.Event().wait, daemon=True).start()\n"
        "sys.exit(0 if gl.opens() else 7)"
    )
    done = subprocess.run([sys.executable, "-c", code], env=surroundings(around), capture_output=True, check=False)
    assert done.returncode in (0, 7), done.stderr
    assert done.stderr == b""
    return done.returncode == 0


@pytest.mark.parametrize("way", [w if w in FAST else pytest.param(w, marks=pytest.mark.long) for w in WAYS])
def test_what_does_not_open_is_seen_each_time(way: object, tmp_path: Path) -> None:
    assert callable(way)
    assert opens({})
    assert not opens(way(tmp_path))


def check_refused(command: tuple[str, ...], around: dict[str, str], folder: Path) -> None:
    folder.mkdir()
    done = subprocess.run(
        [sys.executable, "-m", "viz3d", *command], env=surroundings(around), capture_output=True, text=True, check=False,
        cwd=folder,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.startswith("viz3d: cannot draw: drawing needs OpenGL"), done.stderr
    assert " ".join(gl.system_packages()) in done.stderr
    assert done.stderr.count("\n") == 1
    assert list(folder.iterdir()) == []


def test_one_line_and_no_file(tmp_path: Path) -> None:
    check_refused(COMMANDS["still"], cut_after_success(tmp_path), tmp_path / "work")


@pytest.mark.long
@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("way", WAYS)
def test_every_way_and_every_command(way: object, command: str, tmp_path: Path) -> None:
    assert callable(way)
    check_refused(COMMANDS[command], way(tmp_path), tmp_path / "work")


def test_a_driver_that_breaks_under_the_workers_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gl, "probe", gl.advice)
    assert str(gl.lost()).startswith("cannot draw: drawing needs OpenGL")
    monkeypatch.setattr(gl, "probe", lambda: "")
    assert str(gl.lost()).startswith("a drawing process was stopped from outside; run again")


class Ended:
    """A process that is over, and its empty queue of messages."""

    def __init__(self, code: int) -> None:
        self.exitcode = code

    def is_alive(self) -> bool:
        return False

    def empty(self) -> bool:
        return True


def test_a_download_whose_process_crashed_says_why(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(gl, "probe", gl.advice)
    crashed = Job("still", tmp_path / "a.png", cast(Any, Ended(-11)), Ended(0))
    assert crashed.state == "failed"
    assert crashed.error.startswith("cannot draw: drawing needs OpenGL")
    stopped = Job("still", tmp_path / "a.png", cast(Any, Ended(-15)), Ended(0), unwanted=True)
    assert (stopped.state, stopped.error) == ("stopped", "")
