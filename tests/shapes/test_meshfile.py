"""Mesh files that are no meshes, and those that point at other files: refused in a line, nothing opened beside them."""

from __future__ import annotations

import builtins
import io
import logging
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from viz3d.errors import InputError, MeshError
from viz3d.shapes.meshfile import read_mesh
from viz3d.shapes.order import EXAMPLE, read_order


@pytest.fixture(scope="module")
def ball() -> trimesh.Trimesh:
    return trimesh.creation.icosphere(subdivisions=3, radius=24.0)


def as_ply(mesh: trimesh.Trimesh) -> str:
    data = mesh.export(file_type="ply", encoding="ascii")
    return data.decode() if isinstance(data, bytes) else str(data)


def put(folder: Path, name: str, text: str | bytes) -> Path:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


@pytest.mark.parametrize("name", ["beside.mtl", "../beside.mtl", "/etc/passwd"])
def test_a_mesh_opens_no_file_beside_it(
    tmp_path: Path, ball: trimesh.Trimesh, name: str, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str],
    caplog: pytest.LogCaptureFixture,
) -> None:  # fmt: skip
    put(tmp_path, "beside.mtl", "newmtl x\nmap_Kd beside.png\n")
    put(tmp_path, "beside.png", b"no picture")
    body = as_ply(ball).replace("element vertex", f"comment TextureFile {name}\nelement vertex", 1)
    paths = [
        put(tmp_path, "a.obj", f"mtllib {name}\nusemtl x\n{ball.export(file_type='obj')}"),
        put(tmp_path, "a.ply", body),
    ]
    opened: list[str] = []
    real = io.open

    def watched(file: Any, *arguments: Any, **named: Any) -> Any:
        opened.append(str(file))
        return real(file, *arguments, **named)

    monkeypatch.setattr(io, "open", watched)
    monkeypatch.setattr(builtins, "open", watched)
    with caplog.at_level(logging.WARNING):
        for path in paths:
            assert len(read_mesh(path).triangles) == len(ball.faces)
    assert {Path(o) for o in opened} == set(paths)
    assert capfd.readouterr() == ("", "")
    assert caplog.records == []


def degenerate(ball: trimesh.Trimesh) -> trimesh.Trimesh:
    return trimesh.Trimesh(ball.vertices, np.stack([ball.faces[:, 0]] * 3, axis=1), process=False)


@pytest.mark.parametrize("kind", ["stl", "ply", "obj"])
def test_a_mesh_of_triangles_without_area_is_none(tmp_path: Path, ball: trimesh.Trimesh, kind: str) -> None:
    data = degenerate(ball).export(file_type=kind)
    with pytest.raises(MeshError, match="no surface of triangles in it"):
        read_mesh(put(tmp_path, f"a.{kind}", data))


@pytest.mark.parametrize("corner", ["642", "99999", "-5", "4294967295"])
def test_a_triangle_past_the_last_corner_is_refused(tmp_path: Path, ball: trimesh.Trimesh, corner: str) -> None:
    lines = as_ply(ball).rstrip().split("\n")
    path = put(tmp_path, "a.ply", "\n".join([*lines[:-1], f"3 0 1 {corner}", ""]))
    with pytest.raises(MeshError, match=r"a\.ply: (a triangle names a corner|cannot be read)"):
        read_mesh(path)


def test_corners_without_three_numbers_are_refused(tmp_path: Path, ball: trimesh.Trimesh) -> None:
    flat = "\n".join(f"v {x} {y}" for x, y, _ in ball.vertices) + "\n"
    flat += "\n".join("f {} {} {}".format(*(face + 1)) for face in ball.faces)
    with pytest.raises(MeshError, match=r"a\.obj: "):
        read_mesh(put(tmp_path, "a.obj", flat))


@pytest.mark.parametrize("number", ["1" + "0" * 400, "1e400", "nan", "inf", "true", "'x'"])
def test_a_landmark_that_is_no_number_is_refused(tmp_path: Path, number: str) -> None:
    path = put(tmp_path, "order.toml", EXAMPLE.replace("head = [0.0,", f"head = [{number},"))
    with pytest.raises(
        InputError, match=r"order\.toml: (femur\.head: found .*allowed: three numbers|line 17 holds a number)"
    ):
        read_order(path)
