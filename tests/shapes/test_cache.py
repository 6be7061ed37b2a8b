"""The mesh cache: who comes second waits and reads, a damaged file is built anew, the oldest go first; keys are whole."""

from __future__ import annotations

import dataclasses
import os
import threading
from pathlib import Path

import numpy as np
import pytest

from viz3d.body.person import Body, Hip, make_body
from viz3d.shapes import cache
from viz3d.shapes.build import BONES, Shape, bone_solids, build_bone
from viz3d.shapes.skeleton import GROUPS, OF_BODY, OF_HIP
from viz3d.shapes.surface import Surface
from viz3d.shapes.warp import make_warp
from viz3d.tables import read_toml

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


STEPS = {
    "head_radius": 0.001, "neck_shaft_angle": 0.1, "version": 0.1, "offset": 0.004, "trochanter_height": 0.004,
    "centre_edge_angle": 0.1, "socket_inclination": 0.1, "socket_version": 0.1, "shortening": 0.01, "socket_out": 0.004,
    "socket_up": 0.004, "strength": -0.2, "full_torque": 5.0, "replaced": 1.0,
}  # fmt: skip
"""Every measure of a hip, and how far it is moved."""
OF_THE_BODY = {"hip_spacing": 0.005, "pelvic_width": 0.01, "pelvis_form": -0.3, "mass": 7.0}


def solids_of(group: str, body: Body, hip: Hip) -> list[np.ndarray]:
    """What a group's bones are meshed from: bounds and distances at fixed random places of every solid."""
    table, rng = read_toml(BONES, f"{group}.toml"), np.random.default_rng(1)
    warp, out = make_warp(table, body, hip), []
    for bone, about in table["bone"].items():
        if about.get("made"):
            out.append(build_bone(group, bone, body, hip, 3.0).points)
            continue
        for solid in (part.solid for part in bone_solids(table, bone, warp)):
            out += [solid.low, solid.high, solid.distance(rng.uniform(solid.low - 5, solid.high + 5, (60, 3)))]
    return out


def same(some: list[np.ndarray], others: list[np.ndarray]) -> bool:
    return len(some) == len(others) and all(map(np.array_equal, some, others))


@pytest.mark.parametrize("sex", ["female", pytest.param("male", marks=pytest.mark.long)])
@pytest.mark.parametrize("group", GROUPS)
def test_a_cached_bone_is_named_by_all_that_shapes_it_and_nothing_else(group: str, sex: str) -> None:
    """A measure that is left out of the key leaves the bones as they are; one that is in it changes them."""
    body = make_body(sex, 70.0, 1.7)
    assert set(STEPS) == {f.name for f in dataclasses.fields(Hip)} - {"abductor_lever"}
    base = solids_of(group, body, body.right)
    of_hip, of_body = OF_HIP.get(group, ()), OF_BODY.get(group, ())

    def moved(hip: list[str], person: list[str]) -> list[np.ndarray]:
        other = dataclasses.replace(body, **{n: getattr(body, n) + OF_THE_BODY[n] for n in person})
        return solids_of(
            group, other, dataclasses.replace(body.right, **{n: getattr(body.right, n) + STEPS[n] for n in hip})
        )

    assert same(base, moved([n for n in STEPS if n not in of_hip], [n for n in OF_THE_BODY if n not in of_body]))
    for name in of_hip:
        assert not same(base, moved([name], [])), name
    for name in of_body:
        assert not same(base, moved([], [name])), name
