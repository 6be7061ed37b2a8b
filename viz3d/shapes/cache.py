"""The mesh cache: surfaces kept between runs, keyed by what shaped them.

Question answered: has this person's bone been built before, by this mesher?

Folder: ``VIZ3D_CACHE``, else the checkout's ``meshes/``, else the user's cache folder; films' pieces and what else is
kept between runs never go into a checkout. One ``.npz`` per group, written beside and renamed; ``manifest.json`` says
what each holds. Size-capped, oldest out. Processes that share the folder build a surface once: who comes second waits
and reads it.
"""

from __future__ import annotations

import contextlib
import json
import os
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from filelock import FileLock
from numpy.typing import NDArray

from viz3d.atomic import atomic_write
from viz3d.errors import MeshError
from viz3d.shapes.build import Shape
from viz3d.shapes.surface import Surface

MESHER = 22
"""Raised whenever the mesher or a warp changes what it builds."""
LARGEST_BYTES = 400_000_000


def cache_folder() -> Path:
    """Where surfaces are kept.

    Raises
    ------
    MeshError : the folder cannot be made.
    """
    meshes = Path(__file__).resolve().parents[2] / "meshes"
    in_checkout = (meshes.parent / "pyproject.toml").is_file() and os.access(meshes, os.W_OK)
    return _made(meshes) if in_checkout and not os.environ.get("VIZ3D_CACHE") else user_folder()


def user_folder() -> Path:
    """Where all else is kept between runs, films' pieces above all: ``VIZ3D_CACHE``, else the user's cache folder.

    Raises
    ------
    MeshError : the folder cannot be made.
    """
    named = os.environ.get("VIZ3D_CACHE")
    if named:
        return _made(Path(named))
    from platformdirs import user_cache_path

    return _made(user_cache_path("viz3d"))


def _made(folder: Path) -> Path:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise MeshError(f"{folder}: the mesh cache cannot be made there: {error.strerror}; set VIZ3D_CACHE") from error
    return folder


def load(key: str) -> list[Shape] | None:
    """The shapes kept under a key, or None; a damaged file counts as absent."""
    path = cache_folder() / f"{key}.npz"
    try:
        with np.load(path, allow_pickle=False) as data:
            about = json.loads(str(data["about"]))
            shapes = []
            for i, (name, link, side, material) in enumerate(about):
                parts = [data[f"{i}_{part}"] for part in ("points", "triangles", "normals", "shade")]
                points, triangles, normals, shade = parts
                surface = Surface(points.astype(float), triangles, normals.astype(float), shade.astype(float))
                shapes.append(Shape(name, link, side, material, surface))
        os.utime(path)
        return shapes
    except (OSError, KeyError, ValueError, zipfile.BadZipFile, EOFError):
        return None


def store(key: str, shapes: list[Shape], about: dict[str, object]) -> None:
    """Keep shapes under a key; a full or read-only disk costs only the cache, not the picture."""
    folder = cache_folder()
    arrays: dict[str, object] = {"about": json.dumps([[s.name, s.link, s.side, s.material] for s in shapes])}
    for i, shape in enumerate(shapes):
        surface = shape.surface
        arrays[f"{i}_points"] = surface.points.astype(np.float32)
        arrays[f"{i}_triangles"] = surface.triangles
        arrays[f"{i}_normals"] = surface.normals.astype(np.float32)
        arrays[f"{i}_shade"] = surface.shade.astype(np.float16)
    with contextlib.suppress(OSError):
        with atomic_write(folder / f"{key}.npz") as temporary:
            np.savez(temporary, **arrays)  # type: ignore[arg-type]
        _note(folder, key, about)
        _prune(folder)


def found_or_built(key: str, build: Callable[[], list[Shape]], lock: str = "") -> list[Shape]:
    """The shapes kept under a key, else what ``build`` returns and keeps there itself.

    One process at a time builds; ``lock``: a name that keys built together share, the key itself if there is none.
    """
    found = load(key)
    if found is not None:
        return found
    with _alone(lock or key):
        found = load(key)
        return build() if found is None else found


@contextlib.contextmanager
def _alone(name: str) -> Iterator[None]:
    """Held by one process at a time for a name; by several where the folder takes no locks: that costs only time."""
    with contextlib.ExitStack() as held:
        with contextlib.suppress(OSError):
            locks = cache_folder() / "locks"
            locks.mkdir(exist_ok=True)
            held.enter_context(FileLock(locks / f"{name[:2]}.lock"))
        yield


def load_array(key: str) -> NDArray[np.float64] | None:
    """An array kept under a key, or None."""
    try:
        with np.load(cache_folder() / f"{key}.npz", allow_pickle=False) as data:
            return np.asarray(data["array"], dtype=float)
    except (OSError, KeyError, ValueError, zipfile.BadZipFile, EOFError):
        return None


def store_array(key: str, array: NDArray[np.float64], about: dict[str, object]) -> None:
    """Keep one array under a key; a full or read-only disk costs only the cache."""
    folder = cache_folder()
    with contextlib.suppress(OSError):
        with atomic_write(folder / f"{key}.npz") as temporary:
            np.savez(temporary, array=array.astype(np.float32))
        _note(folder, key, about)


def _note(folder: Path, key: str, about: dict[str, object]) -> None:
    with _alone("manifest"):
        _add_to_manifest(folder, key, about)


def _add_to_manifest(folder: Path, key: str, about: dict[str, object]) -> None:
    manifest = folder / "manifest.json"
    try:
        known = json.loads(manifest.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        known = {}
    known[key] = about
    kept = {k: v for k, v in sorted(known.items()) if (folder / f"{k}.npz").is_file()}
    with atomic_write(manifest) as temporary:
        temporary.write_text(json.dumps(kept, indent=1), encoding="utf-8")


def _prune(folder: Path) -> None:
    """Drop the least recently used surfaces beyond the size cap."""
    files = sorted(folder.glob("*.npz"), key=lambda p: p.stat().st_mtime, reverse=True)
    total = 0
    for path in files:
        total += path.stat().st_size
        if total > LARGEST_BYTES:
            path.unlink(missing_ok=True)
