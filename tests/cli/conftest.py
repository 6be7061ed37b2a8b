"""Running the command in this process, as the shell would."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from viz3d.cli import main

LEVEL = Path(__file__).resolve().parents[2] / "scenes" / "level-stance.toml"


@dataclass
class Ran:
    code: int
    out: str
    err: str


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Callable[..., Ran]:
    """Run ``viz3d`` with arguments in an empty folder."""
    monkeypatch.chdir(tmp_path)

    def call(*arguments: str) -> Ran:
        monkeypatch.setattr(sys, "argv", ["viz3d", *arguments])
        try:
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
