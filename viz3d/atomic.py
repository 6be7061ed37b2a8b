"""Writing files whole or not at all: write beside, then rename."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path


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
        temporary.chmod(0o644)
        temporary.replace(path)
    finally:
        temporary.unlink(missing_ok=True)
