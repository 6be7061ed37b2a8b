"""Shared fixtures: the house person, running the command as the shell would, and a mesh cache that lives as long as the checkout."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from viz3d.body.person import Body, make_body
from viz3d.cli import main

os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")
LEVEL = Path(__file__).resolve().parents[1] / "scenes" / "level-stance.toml"


@dataclass
class Ran:
    """What a command left: its exit status and what it printed."""

    code: int
    out: str
    err: str


@pytest.fixture(scope="session")
def house() -> Body:
    """The demo person: a woman, 64 kg, 1.66 m."""
    return make_body("female", 64.0, 1.66)


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(20260101)


@contextlib.contextmanager
def hearing_again() -> Iterator[None]:
    """A command that is over hears no signal, but the process of the tests lives on and must."""
    numbers = [getattr(signal, n) for n in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, n)]
    answers = {n: signal.getsignal(n) for n in numbers}
    try:
        yield
    finally:
        for number, answer in answers.items():
            signal.signal(number, answer)


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Callable[..., Ran]:
    """Run ``viz3d`` with arguments in an empty folder."""
    monkeypatch.chdir(tmp_path)

    def call(*arguments: str) -> Ran:
        monkeypatch.setattr(sys, "argv", ["viz3d", *arguments])
        try:
            with hearing_again():
                main()
            code = 0
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 0 if end.code is None else 1
        captured = capsys.readouterr()
        return Ran(code, captured.out, captured.err)

    return call


@pytest.fixture
def level_text() -> str:
    return LEVEL.read_text(encoding="utf-8")


HELD = """
import sys
from viz3d.cli import main
from viz3d.output import film

drawn = film.draw_film

def draw_film(scene, path, file, strict, bones, frames, options):
    def told(what, done, of):
        if frames:
            frames(what, done, of)
        if done == 3:
            print("three frames", flush=True)
            sys.stdin.readline()
    return drawn(scene, path, file, strict, bones, told, options)

film.draw_film = draw_film
main()
"""


def held_film(*arguments: str) -> subprocess.Popen[str]:
    """A ``viz3d film`` in a process of its own that has drawn three frames and waits for a line before the fourth."""
    process = subprocess.Popen(
        [sys.executable, "-c", HELD, "film", *arguments],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stdout.readline() == "three frames\n", process.communicate()
    return process
