"""The benchmarks run: each from its beginning to its end, measuring whatever this machine does."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
NAMES = sorted(p.name for p in (ROOT / "benchmarks").glob("*.py"))


def test_each_is_known() -> None:
    assert NAMES == ["films.py", "measure.py", "pages.py", "pictures.py", "walks.py"]


@pytest.mark.long
@pytest.mark.parametrize("name", NAMES)
def test_each_runs(name: str) -> None:
    done = subprocess.run(
        [sys.executable, str(ROOT / "benchmarks" / name), "quick", "smoke"], capture_output=True, text=True, check=False,
        cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert len(done.stdout.splitlines()) >= 3
    assert "nan" not in done.stdout.lower()
