"""The same from Python, for notebooks and scripts: open a scene, change it, solve it, draw it, show it.

    import viz3d
    scene = viz3d.load("cane-opposite-hand", {"person.mass": "80 kg"})
    viz3d.solve(scene)[-1]["joint_force_bw"]
    viz3d.view(scene)                      # in a notebook: the page with sliders, inline
    viz3d.film(scene, "cane.mp4")

Every function takes a scene and raises :class:`viz3d.errors.Viz3dError` with one line that says what is wrong.
"""

from __future__ import annotations

import html
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from viz3d.echo import shown
from viz3d.errors import InputError
from viz3d.output.suffixes import GLB, MOVING, STILLS
from viz3d.scene.reader import load_scene
from viz3d.scene.schema import Scene

if TYPE_CHECKING:
    from viz3d.output.film import FilmOptions


def load(name: str | Path, changes: Mapping[str, str] | None = None) -> Scene:
    """A scene from a file or from the library, with keys changed as ``--set`` does.

    Raises
    ------
    SceneError : there is no such scene, or a change makes none.
    """
    return load_scene(str(name), [f"{key}={value}" for key, value in (changes or {}).items()])


def solve(scene: Scene) -> list[dict[str, Any]]:
    """Every step's numbers, as ``viz3d solve --json`` prints its situations (SI units; forces also in body weights).

    Raises
    ------
    SceneError : a hand cannot reach, or somebody would carry more than they weigh.
    """
    from viz3d.solution.records import scene_record
    from viz3d.solution.script import Script

    found: list[dict[str, Any]] = scene_record("scene", scene, Script(scene).shots())["situations"]
    return found


def still(scene: Scene, path: str | Path, step: int | None = None) -> Path:
    """A picture of a step (counted from 1; the last by default) as .png, .svg or .pdf; returns its path.

    Raises
    ------
    InputError, RenderError, SceneError : one line each.
    """
    from viz3d.output.still import draw_still

    where = _path(path, STILLS)
    if step is not None:
        scene = scene.model_copy(update={"picture": scene.picture.model_copy(update={"step": step})})
    return draw_still(scene, where, "scene")


def film(scene: Scene, path: str | Path, options: FilmOptions | None = None) -> Path:
    """The scene's film as .mp4, .gif, .webp, or .glb for a 3-D viewer; returns its path.

    Raises
    ------
    InputError, RenderError, SceneError : one line each.
    """
    where = _path(path, (*MOVING, GLB))
    if where.suffix.lower() == ".glb":
        from viz3d.output.gltf import write_gltf

        return write_gltf(scene, where, "scene")
    from viz3d.output.film import draw_film

    return draw_film(scene, where, "scene", options=options)[0]


def compare(scenes: Sequence[tuple[Scene, int]], path: str | Path) -> Path:
    """Two to four scenes with their steps (counted from 1) side by side, as a picture; returns its path.

    Raises
    ------
    InputError, RenderError, SceneError : one line each.
    """
    from viz3d.output.compare import draw_comparison

    return draw_comparison([(one, step - 1) for one, step in scenes], _path(path, STILLS), "scene")


def page(scene: Scene, path: str | Path, step: int = 1) -> Path:
    """The offline page of a scene, with its other inputs as at a step (counted from 1); returns its path.

    Raises
    ------
    InputError, RenderError, SceneError : one line each.
    """
    from viz3d.web.offline import write_page

    where = _path(path, (".html",))
    if not 1 <= step <= len(scene.steps):
        raise InputError(f"step: found {step}; this scene has {scene.counted}")
    write_page(scene, where, "scene", step - 1)
    return where


class PageView:
    """A scene's page inside a notebook; ``text`` is the whole page."""

    def __init__(self, text: str, height: int) -> None:
        self.text, self.height = text, height

    def _repr_html_(self) -> str:
        """How a notebook shows it: in a frame of its own that may run scripts and nothing else."""
        return (
            f'<iframe sandbox="allow-scripts" style="width:100%;height:{self.height}px;border:0" title="viz3d"'
            f' srcdoc="{html.escape(self.text)}"></iframe>'
        )


def view(scene: Scene, step: int = 1, height: int = 780) -> PageView:
    """The same page inline in a notebook: turn, lean, press; no server, no network.

    Raises
    ------
    InputError, RenderError, SceneError : one line each.
    """
    with tempfile.TemporaryDirectory() as folder:
        return PageView(page(scene, Path(folder) / "view.html", step).read_text(encoding="utf-8"), height)


def _path(path: str | Path, allowed: tuple[str, ...]) -> Path:
    where = Path(path)
    if where.suffix.lower() not in allowed:
        raise InputError(f"{where.name}: found {shown(where.suffix)}; allowed: {', '.join(allowed)}")
    return where
