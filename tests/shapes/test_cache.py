"""The mesh cache: who comes second waits and reads, a damaged file is built anew, the oldest go first."""

from __future__ import annotations

import os
import threading
from pathlib import Path

import numpy as np
import pytest

from viz3d.shapes import cache
from viz3d.shapes.build import Shape
from viz3d.shapes.surface import Surface

KEY = "0123456789abcdef"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("VIZ3D_CACHE", str(tmp_path))
    return tmp_path


def ball(size: float = 1.0) -> list[Shape]:
    points = size * np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1.0]])
    triangles = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]], dtype=np.int32)
    return [Shape("ball", "pelvis", "middle", "bone", Surface(points, triangles, points, np.ones(4)))]


def test_two_that_ask_at_once_build_once(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second has looked in vain before the first is done; locks are the same between threads and processes."""
    built, looked, begun = [], threading.Event(), threading.Event()
    load = cache.load

    def seen(key: str) -> list[Shape] | None:
        found = load(key)
        if threading.current_thread().name == "second":
            looked.set()
        return found

    def build() -> list[Shape]:
        built.append(threading.current_thread().name)
        begun.set()
        assert looked.wait(60)
        cache.store(KEY, ball(), {})
        return ball()

    monkeypatch.setattr(cache, "load", seen)
    found: dict[str, list[Shape]] = {}

    def ask() -> None:
        found[threading.current_thread().name] = cache.found_or_built(KEY, build)

    first, second = (threading.Thread(target=ask, name=n) for n in ("first", "second"))
    first.start()
    assert begun.wait(60)
    second.start()
    for thread in (first, second):
        thread.join(60)
    assert built == ["first"]
    assert np.array_equal(found["first"][0].surface.points, found["second"][0].surface.points)


def test_a_damaged_file_is_built_anew(folder: Path) -> None:
    cache.store(KEY, ball(), {"group": "ball"})
    (folder / f"{KEY}.npz").write_bytes(b"damaged")
    assert cache.found_or_built(KEY, lambda: ball(3.0))[0].surface.points.max() == 3.0


def test_a_folder_without_locks_costs_only_time(folder: Path) -> None:
    (folder / "locks").write_text("in the way")
    assert cache.found_or_built(KEY, lambda: ball(2.0))[0].surface.points.max() == 2.0


def test_the_least_used_go_first(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for k in range(3):
        cache.store(f"{k}{KEY}", ball(), {"group": str(k)})
        os.utime(folder / f"{k}{KEY}.npz", (k, k))
    size = (folder / f"0{KEY}.npz").stat().st_size
    monkeypatch.setattr(cache, "LARGEST_BYTES", 2.5 * size)
    cache.load(f"0{KEY}")
    cache.store(f"3{KEY}", ball(), {"group": "3"})
    assert sorted(p.name[0] for p in folder.glob("*.npz")) == ["0", "3"]
