"""What is kept between runs is believed only whole: damaged, cut, swapped or unwritable, it costs time and nothing else."""

from __future__ import annotations

import dataclasses
import hashlib
import os
import random
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from tests.conftest import Ran
from viz3d.atomic import PREFIX, atomic_write, scratch
from viz3d.body.person import Body
from viz3d.kept import keep, kept
from viz3d.output import pieces
from viz3d.output.film import FilmOptions, draw_film
from viz3d.scene.reader import load_scene
from viz3d.shapes import cache
from viz3d.shapes.body_shell import build_shell
from viz3d.shapes.skeleton import group_shapes

ROOT = Path(__file__).resolve().parents[2]
FILM = ("picture.size=480x360", "picture.frames_per_second=5")


# ---- ways to spoil a file -------------------------------------------------------------------------------


def cut(path: Path, dice: random.Random, _: list[Path]) -> None:
    os.truncate(path, dice.randrange(path.stat().st_size))


def emptied(path: Path, _: random.Random, __: list[Path]) -> None:
    os.truncate(path, 0)


def one_bit(path: Path, dice: random.Random, _: list[Path]) -> None:
    data = bytearray(path.read_bytes())
    data[dice.randrange(len(data))] ^= 1 << dice.randrange(8)
    path.write_bytes(data)


def some_bytes(path: Path, dice: random.Random, _: list[Path]) -> None:
    data = bytearray(path.read_bytes())
    start = dice.randrange(len(data))
    data[start : start + 200] = dice.randbytes(len(data[start : start + 200]))
    path.write_bytes(data)


def in_another_s_place(path: Path, dice: random.Random, all_of_them: list[Path]) -> None:
    others = [p for p in all_of_them if p != path and p.is_file()]
    path.write_bytes(dice.choice(others).read_bytes() if others else b"alone")


def longer(path: Path, dice: random.Random, _: list[Path]) -> None:
    path.write_bytes(path.read_bytes() + dice.randbytes(dice.randrange(1, 100)))


def unsealed(path: Path, _: random.Random, __: list[Path]) -> None:
    os.truncate(path, path.stat().st_size - 34)


def a_folder(path: Path, _: random.Random, __: list[Path]) -> None:
    path.unlink()
    path.mkdir()


def gone(path: Path, _: random.Random, __: list[Path]) -> None:
    path.unlink()


WAYS = (cut, emptied, one_bit, some_bytes, in_another_s_place, longer, unsealed, a_folder, gone)


def files_in(folder: Path, pattern: str) -> list[Path]:
    """Kept files; folders that were put in their places before go."""
    for p in folder.glob(pattern):
        if p.is_dir():
            p.rmdir()
    return sorted(folder.glob(pattern))


def spoilt(folder: Path, pattern: str, dice: random.Random) -> str:
    """Spoil one kept file at random; what was done to which."""
    files = files_in(folder, pattern)
    path, way = dice.choice(files), dice.choice(WAYS)
    way(path, dice, files)
    return f"{way.__name__} {path.name}"


# ---- bones ----------------------------------------------------------------------------------------------


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("VIZ3D_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache"


def digest(arrays: Iterator[np.ndarray | None]) -> str:
    whole = hashlib.sha256()
    for array in arrays:
        if array is not None:
            whole.update(repr((array.dtype, array.shape)).encode() + np.ascontiguousarray(array).tobytes())
    return whole.hexdigest()


def bones(group: str, body: Body) -> str:
    """Digest of everything that was built or read of a group, or of the body's outline."""
    if group == "shell":
        shell = build_shell(body)
        return digest(a for f in dataclasses.fields(shell) if isinstance(a := getattr(shell, f.name), np.ndarray))
    return digest(
        getattr(s.surface, f.name) for s in group_shapes(group, body, "film") for f in dataclasses.fields(s.surface)
    )


@pytest.mark.parametrize("group", ["cane", "shell"])
def test_grown_and_kept_are_the_same(folder: Path, house: Body, group: str) -> None:
    grown = bones(group, house)
    assert grown == bones(group, house)
    for path in folder.glob("*-bind.npz"):  # the outline kept, its weights lost
        path.unlink()
        assert grown == bones(group, house)


def check_spoilt_bones(folder: Path, house: Body, group: str, count: int) -> None:
    dice, whole = random.Random(group), bones(group, house)
    for _ in range(count):
        told = spoilt(folder, "*.npz", dice)
        assert bones(group, house) == whole, told
        assert bones(group, house) == whole, told


def test_a_few_spoilt_bones(folder: Path, house: Body) -> None:
    check_spoilt_bones(folder, house, "cane", 6)


@pytest.mark.long
@pytest.mark.parametrize(("group", "count"), [("cane", 30), ("thigh", 20), ("shell", 10)])
def test_sixty_spoilt_bones(folder: Path, house: Body, group: str, count: int) -> None:
    check_spoilt_bones(folder, house, group, count)


@pytest.mark.parametrize("text", ["[]", '"x"', "7", "null", "{", "[" * 100_000, b"\xff\xfe", '{"a": 1}'])
def test_a_list_of_the_wrong_kind_is_written_anew(folder: Path, house: Body, text: str | bytes) -> None:
    folder.mkdir()
    (folder / "manifest.json").write_bytes(text if isinstance(text, bytes) else text.encode())
    cache.store("0123", [], {"group": "none"})
    assert cache.load("0123") == []
    assert '"0123"' in (folder / "manifest.json").read_text(encoding="utf-8")


# ---- films ----------------------------------------------------------------------------------------------


def drawn(path: Path) -> bytes:
    draw_film(load_scene("pelvic-drop", FILM), path, "x", options=FilmOptions(workers=0))
    return path.read_bytes()


def check_spoilt_pieces(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, count: int, seed: str) -> None:
    monkeypatch.setattr("viz3d.output.layers.user_folder", lambda: tmp_path / "kept")
    dice, whole = random.Random(seed), drawn(tmp_path / "a.mp4")
    films = tmp_path / "kept" / "films"
    assert len(files_in(films / "stretches", "*.mp4")) > 1
    for _ in range(count):
        files = files_in(films / "stretches", "*.mp4")
        for path in files:  # every one: a whole stretch asks for no piece
            dice.choice(WAYS)(path, dice, files)
        told = spoilt(films, "*.mkv", dice)
        assert drawn(tmp_path / "b.mp4") == whole, told


def test_a_spoilt_piece_is_drawn_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests.shapes.test_kept.WAYS", (in_another_s_place,))
    check_spoilt_pieces(tmp_path, monkeypatch, 1, "one")


@pytest.mark.long
@pytest.mark.parametrize("part", range(4))
def test_sixty_spoilt_pieces(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, part: int) -> None:
    check_spoilt_pieces(tmp_path, monkeypatch, 15, str(part))


@pytest.mark.long
def test_workers_find_spoilt_pieces_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A piece that cannot be read when its turn comes is asked for again."""
    monkeypatch.setattr("viz3d.output.layers.user_folder", lambda: tmp_path / "kept")
    whole, dice = drawn(tmp_path / "a.mp4"), random.Random(5)
    shutil.rmtree(tmp_path / "kept" / "films" / "stretches")
    files = sorted((tmp_path / "kept" / "films").glob("*.mkv"))
    assert len(files) > 1
    for way, path in zip((cut, in_another_s_place), files, strict=False):
        way(path, dice, files)
    scene = load_scene("pelvic-drop", FILM)
    draw_film(scene, tmp_path / "b.mp4", "x", options=FilmOptions(workers=1))
    assert (tmp_path / "b.mp4").read_bytes() == whole


# ---- folders that cannot be written ---------------------------------------------------------------------


def test_kept_files_open_in_other_programs(tmp_path: Path) -> None:
    path = tmp_path / "a.npz"
    np.savez(tmp_path / "bare.npz", x=np.arange(5))
    keep(path, (tmp_path / "bare.npz").read_bytes())
    with np.load(path) as data:
        assert data["x"].tolist() == [0, 1, 2, 3, 4]
    assert kept(path) == (tmp_path / "bare.npz").read_bytes()
    path.rename(tmp_path / "b.npz")
    assert kept(tmp_path / "b.npz") is None
    assert not (tmp_path / "b.npz").exists()


def refuse_writing(monkeypatch: pytest.MonkeyPatch, *folders: Path) -> None:
    """As a disk that can only be read: also where the person may do everything."""
    mkdir, utime, access = os.mkdir, os.utime, os.access

    def refused(path: object) -> bool:
        return any(folder == Path(str(path)) or folder in Path(str(path)).parents for folder in folders)

    def fails(real: Callable[..., None]) -> Callable[..., None]:
        def call(path: object, *rest: object, **more: object) -> None:
            if refused(path):
                raise OSError(30, "Read-only file system", str(path))
            real(path, *rest, **more)

        return call

    monkeypatch.setattr(os, "mkdir", fails(mkdir))
    monkeypatch.setattr(os, "utime", fails(utime))
    monkeypatch.setattr(os, "access", lambda path, *rest, **more: not refused(path) and access(path, *rest, **more))


def test_warm_bones_on_a_read_only_disk_are_used(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, house: Body) -> None:
    """A checkout that cannot be written: its bones are read, others go to the user's folder."""
    meshes, user = tmp_path / "meshes", tmp_path / "user"
    meshes.mkdir()
    monkeypatch.setattr(cache, "_checkouts", lambda: meshes)
    monkeypatch.setattr(cache, "user_folder", lambda: user)
    whole = bones("cane", house)
    refuse_writing(monkeypatch, meshes)
    monkeypatch.setattr("viz3d.shapes.skeleton.build_group", lambda *_: pytest.fail("grown again"))
    assert bones("cane", house) == whole
    assert not user.exists()


def test_a_folder_that_cannot_be_made_costs_only_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, run: Callable[..., Ran], house: Body
) -> None:
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv("VIZ3D_CACHE", str(tmp_path / "file" / "deeper"))
    first = bones("cane", house)
    assert bones("cane", house) == first
    ran = run("doctor")
    assert "MISSING" not in ran.out, ran.out
    monkeypatch.setenv("VIZ3D_CACHE", str(tmp_path / "file"))
    assert "a file, while VIZ3D_CACHE names a folder; nothing new can be kept there" in run("doctor").out


@pytest.mark.parametrize("keeps", [True, False])
def test_films_are_drawn_where_nothing_can_be_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, keeps: bool
) -> None:
    (tmp_path / "file").write_text("in the way")
    for room in ("layers", "film"):
        monkeypatch.setattr(f"viz3d.output.{room}.user_folder", lambda: tmp_path / "file" / "deeper")
    scene = load_scene("level-stance", FILM)
    options = FilmOptions(workers=0, keep=keeps)
    draw_film(scene, tmp_path / "a.mp4", "x", options=options)
    assert (tmp_path / "a.mp4").stat().st_size > 1000


def test_a_full_disk_costs_only_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, folder: Path, house: Body
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(cache, "keep", full)
    first = bones("cane", house)
    monkeypatch.setattr(pieces, "keep", full)
    assert bones("cane", house) == first
    assert not list(folder.glob("*.npz"))


# ---- unfinished work ------------------------------------------------------------------------------------

HOLDS = """
import sys
from pathlib import Path
from viz3d.atomic import scratch
with scratch(Path(sys.argv[1])) as folder:
    (folder / "part").write_text("half")
    print(folder, flush=True)
    sys.stdin.read()
"""


def test_only_work_of_the_dead_is_swept(tmp_path: Path) -> None:
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDS, str(tmp_path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert holder.stdout is not None
    theirs = Path(holder.stdout.readline().strip())
    (tmp_path / f"{PREFIX}file").write_text("not a folder")
    (tmp_path / ".hidden").mkdir()
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / f"{PREFIX}link").symlink_to(tmp_path / "elsewhere")
    with scratch(tmp_path) as mine:
        assert (theirs / "part").read_text() == "half"
        with atomic_write(tmp_path / "a.txt") as part:
            part.write_text("whole")
        assert mine.is_dir()
    assert not mine.exists()
    holder.kill()
    holder.communicate()
    assert theirs.is_dir()
    with scratch(tmp_path):
        assert not theirs.exists()
    left = sorted(p.name for p in tmp_path.iterdir())
    assert left == sorted(["a.txt", ".hidden", "elsewhere", f"{PREFIX}file", f"{PREFIX}link"])


def test_files_have_the_rights_that_the_person_gives(tmp_path: Path) -> None:
    before = os.umask(0o027)
    try:
        with atomic_write(tmp_path / "a.txt") as part:
            part.write_text("x")
    finally:
        os.umask(before)
    if os.name == "posix":
        assert (tmp_path / "a.txt").stat().st_mode & 0o777 == 0o640
