"""The page on walking is what the code says; a thousand different cycles are solved, each closing."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]


def loaded(path: Path) -> Any:
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[path.stem] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.long
def test_walking_page_is_current() -> None:
    page = loaded(ROOT / "docs" / "make_walking.py").page()
    assert (ROOT / "docs" / "walking.md").read_text(encoding="utf-8") == page


@pytest.mark.long
def test_a_thousand_cycles_close() -> None:
    walks = loaded(ROOT / "benchmarks" / "walks.py")
    found = [walks.solved(k) for k in range(0, walks.CYCLES, walks.AT_ONCE)]
    assert len(found) * walks.AT_ONCE == 1000
    assert max(residual for _, residual in found) < 1e-9
    assert all(2.0 < joint < 3.5 for joint, _ in found)
