"""Is there an off-screen drawing library, and if not, what must be installed?

The drawing library crashes the whole process where the system lacks OpenGL, so the first look happens in a
child process. Called before anything is drawn, and by ``viz3d doctor``.
"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
from functools import lru_cache
from pathlib import Path

from viz3d.errors import RenderError

_PROBE = (
    "import os,sys\n"
    "import pyvista as pv\n"
    "p = pv.Plotter(off_screen=True, window_size=(32, 32))\n"
    "p.add_mesh(pv.Sphere()); p.show(auto_close=False)\n"
    "image = p.screenshot(return_img=True)\n"
    "told = [x for x in p.ren_win.ReportCapabilities().splitlines() if 'renderer' in x.lower()]\n"
    "sys.stdout.write(' '.join(told))\n"
    "os._exit(0 if image.std() > 0 else 3)\n"
)


def prepare() -> None:
    """Choose the off-screen window before the drawing library is imported."""
    if sys.platform.startswith("linux"):
        os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")


def system_packages() -> list[str]:
    """Debian packages that drawing needs: one list for set-up, running and testing."""
    package = Path(__file__).resolve().parents[1]
    for path in (package.parent / "system-packages.txt", package / "system-packages.txt"):
        if path.is_file():
            lines = (line.split("#")[0].strip() for line in path.read_text(encoding="utf-8").splitlines())
            return [line for line in lines if line]
    return []


@lru_cache
def probe() -> str:
    """Try drawing in a child process; "" when it works, else one line on what to install."""
    prepare()
    try:
        done = subprocess.run([sys.executable, "-c", _PROBE], capture_output=True, timeout=90, check=False)
        if done.returncode == 0:
            _marker().write_bytes(done.stdout)
            return ""
    except (OSError, subprocess.TimeoutExpired):
        pass
    return advice()


def advice() -> str:
    """What to install so that pictures can be drawn."""
    if platform.system() == "Linux":
        return f"drawing needs OpenGL; on Debian and Ubuntu run: sudo apt-get install -y {' '.join(system_packages())}"
    return "drawing needs OpenGL; update the graphics driver of this computer"


def _marker() -> Path:
    """A file that remembers that drawing worked here with this library version and window kind."""
    from importlib.metadata import version

    from viz3d.shapes.cache import user_folder

    window = os.environ.get("VTK_DEFAULT_OPENGL_WINDOW", "default")
    libraries = "-".join(sorted({p.name for d in ("/usr/lib", "/usr/lib64") for p in Path(d).glob("*/libEGL.so*")}))
    return user_folder() / f".draws-{version('vtk')}-{window}-{abs(hash_text(libraries))}"


def hash_text(text: str) -> int:
    """A number that stays the same between runs, from text."""
    import zlib

    return zlib.crc32(text.encode())


def require() -> None:
    """Make sure drawing works before importing the drawing library.

    Raises
    ------
    RenderError : it does not; the message names the packages.
    """
    prepare()
    marker = _marker()
    if marker.is_file():
        return
    trouble = probe()
    if trouble:
        raise RenderError(f"cannot draw: {trouble}; 'solve', 'check' and SVG pictures work without it")


def renderer() -> str:
    """What draws here: library version, window kind, and the renderer's name as it gave it when it was tried.

    Raises
    ------
    RenderError : nothing draws here.
    """
    require()
    marker = _marker()
    return f"{marker.name} {marker.read_text(encoding='utf-8', errors='replace') if marker.is_file() else ''}"
