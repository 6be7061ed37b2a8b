"""Mutated orders, bone records, palettes and meshes: refused in one line, or read."""

from __future__ import annotations

import functools
import random
import tomllib
from pathlib import Path

import numpy as np
import pytest
import trimesh

from tests.attacks.mutants import spoil, torn, written
from tests.attacks.watch import failures, outcome, pieces
from viz3d.body.own import FEMUR, FILE, HIP_MEASURES, PELVIS, PERSON_MEASURES, read_own
from viz3d.shapes.intake import take_in
from viz3d.shapes.meshfile import read_mesh
from viz3d.shapes.order import EXAMPLE, mesh_file, read_order
from viz3d.stage.theme import own_palette

RECORD = {
    "format": 1, "femur_side": "right", "person": dict.fromkeys(PERSON_MEASURES, 0.2),
    **{f"{s}_hip": {**dict.fromkeys(HIP_MEASURES, 20.0), "socket_radius": 0.025} for s in ("left", "right")},
    "points": {"pelvis": {"anterior_spine": [0.0, 0.1, 0.1]}, "femur": {"trochanter_tip": [0.0, 0.0, 0.05]}},
}  # fmt: skip
PALETTE = b'joint = "#6F4D9E"\nweight = "#2B5F8A"\nmuscle = "#8A2B2B"\n'
KINDS = ("stl", "ply", "obj")


@functools.cache
def solid(kind: str, how: int) -> bytes:
    """A small closed surface as a file: binary, or as text where the format knows both."""
    shape = trimesh.creation.icosphere(subdivisions=2, radius=24.0)
    if how == 1:
        shape = trimesh.util.concatenate([shape, shape.copy().apply_translation([90, 0, 0])])
    text = {"stl": "stl_ascii", "ply": "ply", "obj": "obj"}[kind]
    data = (
        shape.export(file_type=text, **({"encoding": "ascii"} if kind == "ply" else {}))
        if how
        else shape.export(file_type=kind)
    )
    return data if isinstance(data, bytes) else data.encode()


def spoilt_mesh(seed: int, folder: Path) -> Path:
    """A mesh file with bytes, numbers or lines spoilt."""
    rng = random.Random(seed)
    kind = rng.choice(KINDS)
    data = bytearray(solid(kind, rng.randrange(3)))
    way = rng.randrange(4)
    if way == 0:
        data = bytearray(torn(bytes(data), rng))
    elif way == 1:
        for _ in range(rng.choice((1, 20, 500))):
            data[rng.randrange(len(data))] = rng.randrange(256)
    elif way == 2:
        lines = bytes(data).split(b"\n")
        for _ in range(rng.choice((1, 5, 50))):
            words = lines[rng.randrange(len(lines))].split(b" ")
            words[rng.randrange(len(words))] = rng.choice(
                (b"nan", b"inf", b"-1", b"99999999", b"1e308", b"0", b"", b"4294967295", b"x")
            )
            lines[rng.randrange(len(lines))] = b" ".join(words)
        data = bytearray(b"\n".join(lines))
    else:
        at = rng.randrange(max(1, min(len(data) - 8, 400)))
        data[at : at + 4] = rng.choice((b"\xff\xff\xff\xff", b"\x00\x00\x00\x00", b"\xff\xff\xff\x7f", b"9999"))
    if rng.random() < 0.1:
        data = bytearray(b"mtllib /etc/passwd\nusemtl x\n") + data
    path = folder / f"mesh.{kind if rng.random() < 0.95 else rng.choice(KINDS)}"
    path.write_bytes(data)
    return path


def attack_mesh(folder: Path, seed: int) -> None:
    path = spoilt_mesh(seed, folder)
    assert "\x1b" not in outcome(lambda: _sound(path))


def _sound(path: Path) -> None:
    mesh = read_mesh(path, pieces=True)
    assert np.isfinite(mesh.points).all()
    assert mesh.triangles.max() < len(mesh.points)


def _spoilt_text(text: bytes, rng: random.Random) -> bytes:
    if rng.random() < 0.4:
        return torn(text, rng)
    data = tomllib.loads(text.decode())
    for _ in range(rng.choice((1, 1, 3))):
        spoil(data, rng)
    return written(data)


def attack_text(folder: Path, seed: int) -> None:
    """An order, a bone record, a palette."""
    rng = random.Random(seed)
    order, record, palette = folder / "order.toml", folder / "bones" / FILE, folder / "palette.toml"
    record.parent.mkdir(exist_ok=True)
    for name in (PELVIS, FEMUR):
        (record.parent / name).write_bytes(b"ply")
    which = rng.randrange(3)
    if which == 0:
        order.write_bytes(_spoilt_text(EXAMPLE.encode(), rng))
        line = outcome(lambda: _named(order))
    elif which == 1:
        record.write_bytes(_spoilt_text(written(RECORD), rng))
        line = outcome(lambda: _measured(record.parent))
    else:
        palette.write_bytes(_spoilt_text(PALETTE, rng))
        line = outcome(lambda: own_palette(palette))
    assert "\x1b" not in line


def _named(order: Path) -> None:
    table = read_order(order)
    for bone in ("pelvis", "femur"):
        mesh_file(order, table[bone]["file"], bone)
    take_in(order)


def _measured(folder: Path) -> None:
    own = read_own(folder)
    numbers = [
        *own.person.values(),
        *own.socket_radius.values(),
        *(v for hip in own.hips.values() for v in hip.values()),
    ]
    assert np.isfinite(numbers).all()
    assert np.isfinite([p for some in own.points.values() for p in some.values()]).all()


def test_a_sample_of_spoilt_meshes(tmp_path: Path) -> None:
    assert not failures(range(1_000_000, 1_000_060), functools.partial(attack_mesh, tmp_path))


def test_a_sample_of_spoilt_orders(tmp_path: Path) -> None:
    assert not failures(range(1_000_000, 1_000_150), functools.partial(attack_text, tmp_path))


@pytest.mark.parametrize("value", [float("nan"), float("inf"), True, "wide", [0.2], {}], ids=str)
def test_a_measure_that_is_no_number_is_refused(tmp_path: Path, value: object) -> None:
    for name in (PELVIS, FEMUR):
        (tmp_path / name).write_bytes(b"ply")
    for section, key in (("person", "hip_spacing"), ("left_hip", "socket_radius"), ("right_hip", "version")):
        (tmp_path / FILE).write_bytes(written({**RECORD, section: {**RECORD[section], key: value}}))
        assert outcome(lambda: read_own(tmp_path)), f"{section}.{key}"


@pytest.mark.long
@pieces("meshes", 10_000, 500)
def test_spoilt_meshes(seeds: range, tmp_path: Path) -> None:
    assert not failures(seeds, functools.partial(attack_mesh, tmp_path))


@pytest.mark.long
@pieces("orders", 10_000, 1_000)
def test_spoilt_orders(seeds: range, tmp_path: Path) -> None:
    assert not failures(seeds, functools.partial(attack_text, tmp_path))
