"""Writing files whole or not at all, and the manifest beside each."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import shutil
from collections.abc import Iterator
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

from viz3d.atomic import atomic_write
from viz3d.errors import RenderError
from viz3d.scene.reader import scene_hash
from viz3d.scene.schema import Scene
from viz3d.solution.records import leaves_out, model_words
from viz3d.solution.solved import Solved
from viz3d.version import __version__

_NEEDED = 20_000_000


@contextlib.contextmanager
def written_whole(path: Path) -> Iterator[Path]:
    """A temporary path beside ``path`` that replaces it on success and vanishes on failure.

    Raises
    ------
    RenderError : the folder cannot be written, or the disk is full.
    """
    with told_in_one_line(path), atomic_write(path) as temporary:
        yield temporary


@contextlib.contextmanager
def told_in_one_line(path: Path) -> Iterator[None]:
    """What the disk refuses while ``path`` is written.

    Raises
    ------
    RenderError : the folder cannot be written, or the disk is full.
    """
    try:
        yield
    except OSError as error:
        raise RenderError(_why(path, error)) from error


def _why(path: Path, error: OSError) -> str:
    if error.errno == errno.ENOSPC:
        return f"{path}: the disk is full; free some space or choose another place with --out"
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return f"{path.parent}: cannot write there; choose another place with --out"
    return f"{path}: cannot be written: {error.strerror}"


def check_space(folder: Path, needed: int = _NEEDED) -> None:
    """Make the output folder, and refuse early when the disk has no room.

    Raises
    ------
    RenderError : the folder cannot be made, or fewer than ``needed`` bytes are free.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise RenderError(f"{folder}: cannot write there: {error.strerror}") from error
    free_space(folder, needed)


def free_space(folder: Path, needed: int = _NEEDED) -> None:
    """Refuse a folder whose disk has no room, or can only be read.

    Raises
    ------
    RenderError : it cannot be written, or fewer than ``needed`` bytes are free.
    """
    if not os.access(folder, os.W_OK):
        raise RenderError(f"{folder}: cannot write there; choose another place with --out")
    free = shutil.disk_usage(folder).free
    if free < needed:
        raise RenderError(
            f"{folder}: {free / 1e6:.0f} MB free, about {needed / 1e6:.0f} MB needed; free some space or use --out"
        )


def write_manifest(path: Path, scene: Scene, solved: Solved, about: dict[str, Any]) -> Path:
    """Write ``path``'s manifest beside it: scene hash, version, assumptions, what the model leaves out."""
    document = {
        "file": path.name,
        "viz3d": __version__,
        "scene_sha256": scene_hash(scene),
        "language": scene.picture.language,
        "model": scene.picture.voice.say(model_words(solved)),
        **about,
        "assumed": list(solved.assumed),
        "leaves_out": leaves_out(scene),
    }
    target = path.with_name(path.name + ".json")
    with written_whole(target) as temporary:
        temporary.write_text(json.dumps(document, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    return target


def source_line(scenes: list[Scene]) -> str:
    """What pictures say of their making: program, version and the scenes' hashes; nothing about person or place."""
    return f"viz3d {__version__}, scene {', '.join(dict.fromkeys(scene_hash(s) for s in scenes))}"


@lru_cache
def sources() -> str:
    """Digest of the package's own code and tables."""
    digest = hashlib.sha256()
    root = Path(str(resources.files("viz3d")))
    for path in sorted(p for p in root.rglob("*") if p.suffix in (".py", ".toml")):
        digest.update(path.relative_to(root).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()
