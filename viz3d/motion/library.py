"""The motions that come with viz3d, and those of people's own.

Question answered: which motion does this name mean?
"""

from __future__ import annotations

from functools import lru_cache
from importlib import resources
from pathlib import Path

from viz3d.errors import MotionError
from viz3d.motion.c3d import read_c3d
from viz3d.motion.read import read_motion
from viz3d.motion.table import Motion

USUAL = "one_adult.csv"
"""One cycle of measured walking; its head names source and licence."""
SUFFIXES = (".csv", ".c3d")


@lru_cache
def usual_motion() -> Motion:
    """One adult's measured cycle."""
    with resources.as_file(resources.files("viz3d.motion").joinpath("data", USUAL)) as path:
        return read_motion(path)


def named_motion(path: Path | None) -> Motion:
    """A motion from a file, or the usual one where none is named.

    Raises
    ------
    MotionError : no such file, another kind of file, or no motion.
    """
    if path is None:
        return usual_motion()
    if path.suffix.lower() not in SUFFIXES:
        raise MotionError(path.name, "is no motion that can be read", f"allowed: {', '.join(SUFFIXES)}")
    return read_motion(path) if path.suffix.lower() == ".csv" else read_c3d(path)
