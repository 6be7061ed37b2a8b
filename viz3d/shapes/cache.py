"""The mesh cache: surfaces kept between runs, keyed by what shaped them.

Question answered: has this person's bone been built before, by this mesher?

Folder: ``VIZ3D_CACHE``, else the checkout's ``meshes/``, else the user's cache folder; films' pieces and what else is
kept between runs never go into a checkout. One ``.npz`` per group; ``manifest.json`` says what each holds and is read
by nobody but people. Size-capped, oldest out. Processes that share the folder build a surface once: who comes second
waits and reads it. A file is believed only with its seal (:mod:`viz3d.kept`), a folder that cannot be written costs
only time, and what was just built is rounded as what is kept, so that both give the same pictures.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viz3d.atomic import atomic_write
from viz3d.kept import keep, kept
from viz3d.shapes.build import Shape
from viz3d.shapes.surface import Surface

MESHER = 25
"""Raised whenever the mesher or a warp changes what it builds."""
LARGEST_BYTES = 400_000_000
PATIENCE = 900.0
"""Seconds that one process waits for another that builds the same, before it builds them itself."""


def cache_folder() -> Path:
    """Where surfaces are kept."""
    meshes = _checkouts()
    return meshes if meshes is not None and os.access(meshes, os.W_OK) else user_folder()


def _checkouts() -> Path | None:
    """The checkout's folder of surfaces, where there is one and no other place is named."""
    meshes = Path(__file__).resolve().parents[2] / "meshes"
    there = (meshes.parent / "pyproject.toml").is_file() and meshes.is_dir()
    return meshes if there and not os.environ.get("VIZ3D_CACHE") else None


def user_folder() -> Path:
    """Where all else is kept between runs, films' pieces above all: ``VIZ3D_CACHE``, else the user's cache folder.

    It need not be there: where it cannot be made, nothing is kept.
    """
    named = os.environ.get("VIZ3D_CACHE")
    if named:
        folder = Path(named)
    else:
        from platformdirs import user_cache_path

        folder = user_cache_path("viz3d")
    with contextlib.suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
    return folder


def load(key: str) -> list[Shape] | None:
    """The shapes kept under a key, or None; a damaged file counts as absent, and so does one of another version."""
    data = _found(key)
    with contextlib.suppress(KeyError, ValueError):
        return None if data is None else _unpacked(data)
    return None


def store(key: str, shapes: list[Shape], about: dict[str, object]) -> None:
    """Keep shapes under a key; a full or read-only disk costs only the cache, not the picture."""
    _store(key, _packed(shapes), about)


def found_or_built(key: str, build: Callable[[], list[Shape]], lock: str = "") -> list[Shape]:
    """The shapes kept under a key, else what ``build`` returns and keeps there itself, rounded as if it were read.

    One process at a time builds; ``lock``: a name that keys built together share, the key itself if there is none.
    """
    found = load(key)
    if found is not None:
        return found
    with _alone(lock or key):
        found = load(key)
        return _unpacked(_packed(build())) if found is None else found


def found_or_computed(
    key: str, shape: tuple[int, ...], compute: Callable[[], NDArray[np.float64]], about: dict[str, object]
) -> NDArray[np.float64]:
    """The array of this shape kept under a key, else the one that ``compute`` returns, kept and rounded."""
    data = _found(key)
    if data is not None:
        array = _array(data)
        if array.shape == shape:
            return array
    file = io.BytesIO()
    np.savez(file, array=compute().astype(np.float32))
    _store(key, file.getvalue(), about)
    return _array(file.getvalue())


# ---- files ----------------------------------------------------------------------------------------------


def _found(key: str) -> bytes | None:
    """A kept file; also out of a checkout that can only be read."""
    meshes, folder = _checkouts(), cache_folder()
    places = [folder] if meshes in (None, folder) else [meshes, folder]
    return next((data for place in places if (data := kept(place / f"{key}.npz")) is not None), None)


def _store(key: str, data: bytes, about: dict[str, object]) -> None:
    folder = cache_folder()
    with contextlib.suppress(OSError):
        keep(folder / f"{key}.npz", data)
        _prune(folder)
        _note(folder, key, about)


def _packed(shapes: list[Shape]) -> bytes:
    arrays: dict[str, Any] = {"about": json.dumps([[s.name, s.link, s.side, s.material] for s in shapes])}
    for i, shape in enumerate(shapes):
        surface = shape.surface
        arrays[f"{i}_points"] = surface.points.astype(np.float32)
        arrays[f"{i}_triangles"] = surface.triangles
        arrays[f"{i}_normals"] = surface.normals.astype(np.float32)
        arrays[f"{i}_shade"] = surface.shade.astype(np.float16)
        if surface.warm is not None:
            arrays[f"{i}_warm"] = np.round(255 * surface.warm).astype(np.uint8)
    file = io.BytesIO()
    np.savez(file, **arrays)
    return file.getvalue()


def _unpacked(data: bytes) -> list[Shape]:
    with np.load(io.BytesIO(data), allow_pickle=False) as arrays:
        about = json.loads(str(arrays["about"]))
        shapes = []
        for i, (name, link, side, material) in enumerate(about):
            parts = [arrays[f"{i}_{part}"] for part in ("points", "triangles", "normals", "shade")]
            points, triangles, normals, shade = parts
            warm = arrays[f"{i}_warm"] / 255.0 if f"{i}_warm" in arrays else None
            surface = Surface(points.astype(float), triangles, normals.astype(float), shade.astype(float), warm)
            shapes.append(Shape(name, link, side, material, surface))
        return shapes


def _array(data: bytes) -> NDArray[np.float64]:
    with np.load(io.BytesIO(data), allow_pickle=False) as arrays:
        return np.asarray(arrays["array"], dtype=float)


@contextlib.contextmanager
def _alone(name: str) -> Iterator[None]:
    """Held by one process at a time for a name; by several where the folder takes no locks: that costs only time."""
    from filelock import FileLock

    with contextlib.ExitStack() as held:
        with contextlib.suppress(OSError, NotImplementedError):
            locks = cache_folder() / "locks"
            locks.mkdir(exist_ok=True)
            held.enter_context(FileLock(locks / f"{name[:2]}.lock", timeout=PATIENCE))
        yield


def _note(folder: Path, key: str, about: dict[str, object]) -> None:
    with _alone("manifest"):
        _add_to_manifest(folder, key, about)


def _add_to_manifest(folder: Path, key: str, about: dict[str, object]) -> None:
    manifest = folder / "manifest.json"
    try:
        known = json.loads(manifest.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        known = {}
    known = (known if isinstance(known, dict) else {}) | {key: about}
    here = {k: v for k, v in sorted(known.items()) if (folder / f"{k}.npz").is_file()}
    with atomic_write(manifest) as temporary:
        temporary.write_text(json.dumps(here, indent=1), encoding="utf-8")


def _prune(folder: Path) -> None:
    """Drop the least recently used surfaces beyond the size cap."""
    files = sorted(folder.glob("*.npz"), key=lambda p: p.stat().st_mtime, reverse=True)
    total = 0
    for path in files:
        total += path.stat().st_size
        if total > LARGEST_BYTES:
            path.unlink(missing_ok=True)
