"""Writing files whole or not at all: written in a hidden folder beside, then moved into place.

Question answered: where does unfinished work lie, and who clears it away when its process was killed?

Each piece of work has a folder of its own and holds a lock in it. The system frees the lock however the process ends,
so whoever works there next knows which folders are nobody's any more and removes them.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from filelock import BaseFileLock

PREFIX = ".viz3d-"
"""How the hidden folders of unfinished work begin."""
_LOCK = "lock"
_TRIES = 8


@contextlib.contextmanager
def atomic_write(path: Path) -> Iterator[Path]:
    """A path not yet there that replaces ``path`` on success and vanishes on any failure.

    Raises
    ------
    OSError : the folder cannot be written, or the disk is full.
    """
    with scratch(path.parent) as folder:
        part = folder / f"part{path.suffix}"
        yield part
        part.replace(path)


@contextlib.contextmanager
def scratch(parent: Path) -> Iterator[Path]:
    """A hidden folder in ``parent`` for one piece of work; gone afterwards, at the latest when work begins there again.

    Raises
    ------
    OSError : ``parent`` cannot be written, or the disk is full.
    """
    sweep(parent)
    folder, lock = _claimed(parent)
    try:
        yield folder
    finally:
        if lock is not None:
            lock.release()
        shutil.rmtree(folder, ignore_errors=True)


def sweep(parent: Path) -> None:
    """Remove the unfinished work of processes that are gone."""
    with contextlib.suppress(OSError), os.scandir(parent) as entries:
        for entry in entries:
            if entry.name.startswith(PREFIX) and entry.is_dir(follow_symlinks=False) and _is_ours(entry):
                _remove_unheld(Path(entry.path))


def _is_ours(entry: os.DirEntry[str]) -> bool:
    """True for what this person made: in a folder that all share, others' names are not to be followed."""
    return not hasattr(os, "getuid") or entry.stat(follow_symlinks=False).st_uid == os.getuid()


def _remove_unheld(folder: Path) -> None:
    try:
        lock = _held(folder)
    except OSError:  # somebody works there
        return
    if lock is None:
        return
    shutil.rmtree(folder, ignore_errors=True)
    lock.release()
    shutil.rmtree(folder, ignore_errors=True)  # where a file that is held cannot be removed


def _held(folder: Path) -> BaseFileLock | None:
    """A folder's lock; None where the disk knows no locks.

    Raises
    ------
    OSError : another process holds it, or the folder is gone.
    """
    from filelock import FileLock

    lock = FileLock(folder / _LOCK, timeout=0)
    try:
        lock.acquire()
    except NotImplementedError:
        return None
    return lock


def _claimed(parent: Path) -> tuple[Path, BaseFileLock | None]:
    """A new folder and its lock; another one where somebody swept it in the moment before it was held."""
    for _ in range(_TRIES):
        folder = Path(tempfile.mkdtemp(dir=parent, prefix=PREFIX))
        with contextlib.suppress(OSError):
            lock = _held(folder)
            if folder.is_dir():
                return folder, lock
        shutil.rmtree(folder, ignore_errors=True)
    raise OSError(errno.EIO, "what is made there is gone at once")
