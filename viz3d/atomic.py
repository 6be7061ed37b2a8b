"""Writing files whole or not at all: write beside, then rename."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path


def umask() -> int:
    """What this process takes away from the rights of new files."""
    mask = os.umask(0o077)  # the only way to read it is to set it; for that moment files are the more private
    os.umask(mask)
    return mask


@contextlib.contextmanager
def atomic_write(path: Path) -> Iterator[Path]:
    """A temporary path beside ``path`` that replaces it on success and vanishes on any failure.

    Raises
    ------
    OSError : the folder cannot be written, or the disk is full.
    """
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.stem}-", suffix=path.suffix)
    os.close(handle)
    temporary = Path(name)
    try:
        yield temporary
        temporary.chmod(0o666 & ~umask())
        temporary.replace(path)
    finally:
        temporary.unlink(missing_ok=True)
