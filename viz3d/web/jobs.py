"""Longer work of the live page, each in a process of its own: pictures, films, offline pages.

Question answered: how far is it, has it failed, where is the file?

A job that crashes or is stopped takes nothing with it, and a job whose server is gone ends by itself.
"""

from __future__ import annotations

import multiprocessing
import secrets
import shutil
import tempfile
from contextlib import ExitStack
from dataclasses import dataclass
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from viz3d.atomic import scratch
from viz3d.echo import shown
from viz3d.errors import InputError, Viz3dError
from viz3d.given import toml_tables
from viz3d.output import gl
from viz3d.output.children import begin_child, born_deaf

KINDS = {"still": ".png", "vector": ".svg", "film": ".mp4", "page": ".html", "model": ".glb"}
MOST = 2
"""Jobs at one time."""
_KEPT = 12
"""Finished jobs whose files are kept."""


@dataclass
class Job:
    """One piece of work: how far it is, and its file once it is done."""

    kind: str
    path: Path
    process: BaseProcess
    progress: Any
    done: int = 0
    of: int = 0
    error: str = ""
    unwanted: bool = False
    """Whether a person stopped it."""

    @property
    def state(self) -> str:
        """ "running", "done", "failed" or "stopped"."""
        while not self.progress.empty():
            told = self.progress.get()
            if told[0] == "error":
                self.error = str(told[1])
            elif told[0] == "frame":
                self.done, self.of = int(told[1]), int(told[2])
        if self.process.is_alive():
            return "running"
        if self.process.exitcode == 0 and self.path.is_file():
            return "done"
        if self.unwanted and not self.error:
            return "stopped"
        self.error = self.error or str(gl.lost())
        return "failed"


class Jobs:
    """All jobs of a server; ``close`` stops them and removes their files."""

    def __init__(self) -> None:
        self._kept = ExitStack()
        self.folder = self._kept.enter_context(scratch(Path(tempfile.gettempdir())))
        self.all: dict[str, Job] = {}

    def start(self, kind: str, text: str) -> str:
        """Begin a job on a scene file's text; its name.

        Raises
        ------
        InputError : no such kind, or too many at once.
        """
        if kind not in KINDS:
            raise InputError(f"found {shown(kind)}; allowed: {', '.join(KINDS)}")
        if sum(j.state == "running" for j in self.all.values()) >= MOST:
            raise InputError(f"{MOST} downloads are being made already; wait for one, or stop it")
        for name in [n for n, j in self.all.items() if j.state != "running"][:-_KEPT]:
            shutil.rmtree(self.all.pop(name).path.parent, ignore_errors=True)
        name = secrets.token_hex(8)
        folder = self.folder / name
        folder.mkdir()
        path = folder / f"scene{KINDS[kind]}"
        context = multiprocessing.get_context("spawn")
        with born_deaf():
            progress = context.SimpleQueue()
            process = context.Process(target=_work, args=(kind, text, path, progress), daemon=False)
            process.start()
        self.all[name] = Job(kind, path, process, progress)
        return name

    def stop(self, name: str) -> None:
        """Stop a job; nothing of it is left."""
        job = self.all[name]
        if job.process.is_alive():
            job.unwanted = True
            job.process.terminate()
            job.process.join(5)

    def close(self) -> None:
        """Stop everything."""
        for name in list(self.all):
            self.stop(name)
        self._kept.close()


def _work(kind: str, text: str, path: Path, progress: Any) -> None:
    """What a job's process does."""
    begin_child()
    from viz3d.scene.reader import check_scene

    def report(what: str, done: int, of: int) -> None:
        if what == "frame":
            progress.put(("frame", done, of))

    try:
        scene = check_scene(toml_tables(text.encode()), path.with_suffix(".toml"))
        if kind in ("still", "vector"):
            from viz3d.output.still import draw_still

            draw_still(scene, path, "scene")
        elif kind == "film":
            from viz3d.output.film import FilmOptions, draw_film

            draw_film(scene, path, "scene", frames=report, options=FilmOptions(workers=0))
        elif kind == "model":
            from viz3d.output.gltf import write_gltf

            write_gltf(scene, path, "scene")
        else:
            from viz3d.web.offline import write_page

            write_page(scene, path, "scene")
    except Viz3dError as error:
        progress.put(("error", str(error)))
        raise SystemExit(1) from error
