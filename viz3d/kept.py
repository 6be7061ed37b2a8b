"""Files kept between runs, believed only as far as they can be checked.

Question answered: is this the file that was kept under this name, whole and unchanged?

A seal of 34 bytes at the end holds a digest of the name and of everything before it: a file that was cut short,
damaged or put in another's place does not carry its own. Readers of zip and of Matroska files skip the seal, so a kept
file opens in any program. What fails is removed, and whoever asked makes it anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from pathlib import Path

from viz3d.atomic import atomic_write

_MARK = b"\xec\xa0"
"""An empty element of Matroska, 32 bytes long."""
_SEAL = len(_MARK) + hashlib.sha256().digest_size
_LARGEST = 1 << 31


def keep(path: Path, data: bytes) -> None:
    """Keep data as a file under a name.

    Raises
    ------
    OSError : the folder cannot be written, or the disk is full.
    """
    with atomic_write(path) as part:
        part.write_bytes(data + _seal(path.name, data))


def kept(path: Path) -> bytes | None:
    """What was kept under a name, marked as used; None where there is nothing, or nothing that can be believed."""
    try:
        if not path.is_file() or path.stat().st_size > _LARGEST:
            return None
        whole = path.read_bytes()
    except OSError:
        return None
    data = whole[:-_SEAL]
    if whole[-_SEAL:] != _seal(path.name, data):
        drop(path)
        return None
    with contextlib.suppress(OSError):  # a folder that can only be read serves as well
        os.utime(path)
    return data


def drop(path: Path) -> None:
    """Remove a kept file where that is possible."""
    with contextlib.suppress(OSError):
        path.unlink(missing_ok=True)


def _seal(name: str, data: bytes) -> bytes:
    return _MARK + hashlib.sha256(name.encode() + b"\0" + data).digest()
