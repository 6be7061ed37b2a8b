"""Is there an off-screen drawing library, and if not, what must be installed?

The drawing library crashes the whole process where the system lacks OpenGL or its driver is broken. So each run opens
a small window first, in a copy of the process where there is one, and looks at what it got: a tenth of a second, and
nothing to remember that could have become untrue. Called before anything is drawn, and by ``viz3d doctor``.
"""

from __future__ import annotations

import contextlib
import os
import platform
import signal
import subprocess
import sys
import threading
import warnings
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

from viz3d.errors import RenderError

_PROBE = (
    "import os,sys\n"
    "import pyvista as pv\n"
    "p = pv.Plotter(off_screen=True, window_size=(32, 32))\n"
    "p.add_mesh(pv.Sphere()); p.show(auto_close=False)\n"
    "image = p.screenshot(return_img=True)\n"
    "os._exit(0 if image.std() > 0 else 3)\n"
)
_PATIENCE = 60
"""Seconds after which a window is not waited for."""
_LAST_RESORT = ("vtkOSOpenGLRenderWindow", "vtkRenderWindow")
"""What the drawing library gives where no other window opens; it may draw, and may crash."""


def prepare() -> None:
    """Choose the off-screen window before the drawing library is imported, and keep its driver from printing."""
    if sys.platform.startswith("linux"):
        os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")
        os.environ.setdefault("EGL_LOG_LEVEL", "fatal")


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
    """Try a whole drawing in another process; "" when it works, else one line on what to install."""
    prepare()
    with contextlib.suppress(OSError, subprocess.TimeoutExpired):
        done = subprocess.run([sys.executable, "-c", _PROBE], capture_output=True, timeout=90, check=False)
        if done.returncode == 0:
            return ""
    return advice()


def advice() -> str:
    """What to install so that pictures can be drawn."""
    if platform.system() == "Linux":
        return f"drawing needs OpenGL; on Debian and Ubuntu run: sudo apt-get install -y {' '.join(system_packages())}"
    return "drawing needs OpenGL; update the graphics driver of this computer"


def require() -> None:
    """Make sure that drawing works here.

    Raises
    ------
    RenderError : it does not; the message names the packages.
    """
    if not opens():
        trouble = probe()
        if trouble:
            raise RenderError(f"cannot draw: {trouble}; 'solve', 'check' and SVG pictures work without it")


@lru_cache
def opens() -> bool:
    """True where a window opens; seen in a copy of this process, which alone is lost if the driver crashes."""
    prepare()
    try:
        import vtkmodules.vtkRenderingOpenGL2  # noqa: F401
    except ImportError:
        return False
    if not hasattr(os, "fork") or not all(t.daemon for t in _others()):  # they may hold what the copy would wait for
        return bool(_renderer())
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of threads: ours wait, or draw a bar
        copy = os.fork()
    if copy == 0:
        code = 1
        try:
            signal.alarm(_PATIENCE)
            code = 0 if _renderer() else 1
        finally:
            os._exit(code)
    return os.waitpid(copy, 0)[1] == 0


def _others() -> list[threading.Thread]:
    return [t for t in threading.enumerate() if t is not threading.current_thread()]


def _renderer() -> str:
    """Kind and renderer of the window that opens; "" where there is none but the last resort."""
    with _small_window() as window:
        kind = str(window.GetClassName())
        if kind in _LAST_RESORT:
            return ""
        window.SetOffScreenRendering(1)
        window.SetSize(8, 8)
        window.Render()
        told = [x.strip() for x in window.ReportCapabilities().splitlines() if "renderer" in x.lower()]
        window.Finalize()
        return " ".join([kind, *told])


@contextlib.contextmanager
def _small_window() -> Iterator[Any]:
    """A window of the drawing library, which says nothing meanwhile: what it found is told in one line of ours."""
    from vtkmodules.vtkCommonCore import vtkLogger
    from vtkmodules.vtkRenderingCore import vtkRenderWindow

    before = vtkLogger.GetCurrentVerbosityCutoff()
    vtkLogger.SetStderrVerbosity(vtkLogger.VERBOSITY_OFF)
    try:
        yield vtkRenderWindow()
    finally:
        vtkLogger.SetStderrVerbosity(before)


@lru_cache
def renderer() -> str:
    """What draws here: library version, window kind, and the renderer's own name.

    Raises
    ------
    RenderError : nothing draws here.
    """
    from importlib.metadata import version

    require()
    return f"{version('vtk')} {_renderer()}"


def lost() -> RenderError:
    """Why a drawing process ended by itself: its driver crashes here, or somebody stopped it."""
    trouble = probe()
    if trouble:
        return RenderError(f"cannot draw: {trouble}")
    return RenderError("a drawing process was stopped from outside; run again: what was drawn is kept")
