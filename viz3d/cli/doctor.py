"""``viz3d doctor``: is everything here that pictures and films need?"""

from __future__ import annotations

import os
import platform
import sys

from viz3d.cli.options import Quiet
from viz3d.cli.say import say


def doctor(quiet: Quiet = False) -> None:
    """Check Python, drawing, the video encoder and the mesh cache."""
    from viz3d import __version__
    from viz3d.errors import RenderError
    from viz3d.output import gl
    from viz3d.output.encode import find_encoder
    from viz3d.shapes.cache import cache_folder

    troubles = []

    def line(name: str, good: str, bad: str) -> None:
        if bad:
            troubles.append(f"{name}: {bad}")
        if not quiet:
            say(f"{'good' if not bad else 'MISSING':8} {name}: {bad or good}")

    line("viz3d", f"{__version__} on Python {platform.python_version()}", "")
    line("drawing", "off-screen drawing works", gl.probe())
    try:
        line("encoder", find_encoder(), "")
    except RenderError as error:
        line("encoder", "", str(error))
    folder = cache_folder()
    files = list(folder.glob("*.npz"))
    size = sum(p.stat().st_size for p in files) / 1e6
    good = folder.is_dir() and os.access(folder, os.W_OK)
    less = "" if good else "; nothing new can be kept there, which only takes longer"
    less = f"; a file, while VIZ3D_CACHE names a folder{less}" if folder.is_file() else less
    line("mesh cache", f"{folder} ({len(files)} surfaces, {size:.0f} MB){less}", "")
    encoding = sys.stdout.encoding or "unknown"
    line("terminal", f"writes {encoding}", "")
    if troubles:
        raise RenderError("; ".join(troubles) if quiet else "something is missing; see above")
