"""A desktop window to turn a solved scene in: its figure, its timeline, its layers and numbers.

Question answered: what does this scene look like from here, at this moment, and where is a picture of that?

Everything is ours: the page round the figure (:mod:`viz3d.stage.desk`), the labels at the arrows, the mouse and the
keys (:mod:`viz3d.output.orbit_hand`). The drawing library's own keys do nothing.
"""

from __future__ import annotations

import dataclasses
import os
import sys
from pathlib import Path

import numpy as np
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from viz3d.arrays import Array, Frames
from viz3d.errors import RenderError
from viz3d.output.clothes import beside_hips
from viz3d.output.figures import figure_of
from viz3d.output.files import check_space, source_line, written_whole
from viz3d.output.orbit_shot import REACH, ShotInWindow
from viz3d.output.overlay import Sheet2D, painted, see_through
from viz3d.output.paint import Pixels
from viz3d.output.window import View, Window
from viz3d.progress import Progress
from viz3d.scene.pace import paced
from viz3d.scene.schema import Scene
from viz3d.scene.segments import on_the_spot
from viz3d.shapes.skeleton import Figure
from viz3d.solution.refuse import refuse_unheld
from viz3d.solution.script import Clip, Script
from viz3d.stage.camera import Camera, view_direction
from viz3d.stage.compose import compose
from viz3d.stage.crop import HIP, PELVIS, WHOLE, centre_of, near_scale, whole_scale
from viz3d.stage.desk import ALL, UNTOLD, USUAL, Desk, Glance, Stretch
from viz3d.stage.desk_labels import Labels
from viz3d.stage.drawing import Box
from viz3d.stage.main_view import PELVIS_ARROWS, below
from viz3d.stage.plan import Plan
from viz3d.stage.theme import Theme, theme_of
from viz3d.words.message import Said, joined, message, seconds

RATE = 25
"""Moments of the timeline a second."""
_CLOSE = 2600.0
"""Pixels (u) per metre of the view into the socket."""
_STEEPEST = np.radians(80.0)


@dataclasses.dataclass(frozen=True)
class Shown:
    """One shot: its plan, its figure, and the row of the plan for each moment of the film it is in."""

    plan: Plan
    figure: Figure


class Orbit:
    """A solved scene in a window; ``show(moment)`` brings it to a moment of the film.

    Parameters
    ----------
    shots : of the film. row_at : shot and row of each moment, (M, 2). times : of each moment, (M,) s.
    """

    def __init__(
        self, shots: list[Shown], row_at: Frames, times: Array, stretches: list[Stretch], theme: Theme,
        frame: str = HIP, name: str = "scene", source: str = "", size: tuple[int, int] = USUAL,
    ) -> None:  # fmt: skip
        self.shots, self.row_at, self.times, self.theme = shots, row_at, times, theme
        self.name, self.source = name, source
        self.desk = Desk(size, theme, stretches, REACH)
        self.clothed = shots[0].figure.clothed is not None
        self.state = Glance(0.0, frame=frame, layers=ALL - (UNTOLD if self.clothed else frozenset()))
        self.moment = 0
        self.labels = [Labels(s.plan, theme, REACH) for s in shots]
        self.camera = Camera(view_direction("front", self.plan.sign), np.zeros(3), (0.0, 0.0), 1.0)
        names = ("figure", "inside") if self.clothed else ("figure",)
        self.window = Window(size, [View(name, self.desk.figure, self.camera) for name in names], 1)
        native = self.window.plotter.ren_win
        native.SetWindowName(f"viz3d: {self.plan.title}")
        native.SetNumberOfLayers(len(names) + 2)
        for k in range(len(names)):
            self.window.plotter.renderers[k].SetLayer(k + 1)
        self.page, self.over = Sheet2D(native, 0), Sheet2D(native, len(names) + 1)
        self.solid = [ShotInWindow(self.window, s.plan, s.figure, theme) for s in shots]
        self.look("front")

    @property
    def plan(self) -> Plan:
        """The plan of the present moment."""
        return self.shots[int(self.row_at[self.moment, 0])].plan

    @property
    def row(self) -> int:
        """The plan's row at the present moment."""
        return int(self.row_at[self.moment, 1])

    @property
    def reach(self) -> float:
        """Length of an arrow of one body weight as the figure is seen, m."""
        near = self.state.frame == PELVIS and self.state.view != "joint"
        return REACH * PELVIS_ARROWS if near else REACH

    # ---- bringing it to a moment ------------------------------------------------------------------------

    def show(self, moment: int) -> None:
        """Bring everything to a moment of the film."""
        self.moment = int(np.clip(moment, 0, len(self.times) - 1))
        self.state = dataclasses.replace(self.state, time=float(self.times[self.moment]))
        self.draw()

    def show_time(self, time: float) -> None:
        """Bring everything to the moment nearest to a time."""
        self.show(int(np.argmin(np.abs(self.times - time))))

    def to_step(self, step: int) -> None:
        """Go to the end of a step, where its change is complete."""
        stretches = self.desk.stretches
        end = stretches[int(np.clip(step, 0, len(stretches) - 1))].end
        self.show(int(np.searchsorted(self.times, end)) - 1)

    def draw(self) -> None:
        """Put the present moment, seen from the present place, into the window."""
        which = int(self.row_at[self.moment, 0])
        for k, solid in enumerate(self.solid):
            if k != which:
                solid.hide()
        self.desk.reach = self.labels[which].reach = self.solid[which].reach = self.reach
        self.solid[which].show(self.row, self.state.layers, self.state.view == "joint")
        size = self.desk.size
        marks = self.desk.marks(self.plan, self.row, self.state)
        self.page.show(painted(size, marks, self.theme), Box(0, 0, *size), size)
        self.turned()

    def turned(self) -> None:
        """Aim the camera and write the labels anew: all that changes while the figure is turned."""
        desk, room = self.desk, self.desk.figure
        for k in range(len(self.window.views)):
            self.window.aim(k, self.camera)
        bare = self.state.view == "joint" or "skin" not in self.state.layers
        self.solid[int(self.row_at[self.moment, 0])].opening.aim(
            self.camera, self.plan.hip[self.row], desk.size[1], bare
        )
        labels = self.labels[int(self.row_at[self.moment, 0])]
        inner = Box(0.0, 0.0, room.right - room.left, room.bottom - room.top)
        at = dataclasses.replace(self.camera, at=(self.camera.at[0] - room.left, self.camera.at[1] - room.top))
        marks = labels.marks(self.row, at, inner, self.state.layers, desk.u, desk.t, self.state.view == "joint")
        self.over.show(see_through((int(inner.right), int(inner.bottom)), marks, self.theme), room, desk.size)

    def lines(self) -> list[str]:
        """Title, step and time, and every number as the pictures write it."""
        plan, i, voice = self.plan, self.row, self.theme.voice
        now = joined("join.dot", [plan.steps[i], seconds(plan.times[i])])
        told = [plan.title, voice.say(now)]
        for item in plan.shown(i, voice).values():
            told += [voice.say(joined("join.colon", [item["label"], line])) for line in item["lines"][:1]]
        return [*told, *([voice.say(plan.notices[i])] if plan.notices[i] else [])]

    # ---- looking ----------------------------------------------------------------------------------------

    def look(self, view: str, frame: str = "") -> None:
        """Go to a named view, with the pelvis, the hip or the whole person in the figure's place."""
        frame = frame or self.state.frame
        self.state = dataclasses.replace(self.state, view=view, frame=frame)
        self.camera = self._home(view, frame)
        self.draw()

    def _home(self, view: str, frame: str) -> Camera:
        room, plan = self.desk.figure, self.plan
        wide, tall = room.right - room.left, room.bottom - room.top
        u = min(tall / 1080.0, wide / 740.0)
        at = ((room.left + room.right) / 2, (room.top + room.bottom) / 2)
        toward = view_direction(view, plan.sign)
        if view == "joint":
            return Camera(toward, plan.hip[self.row], at, _CLOSE * u)
        plans = [s.plan for s in self.shots]
        edge = 24 * self.desk.u
        inner = Box(room.left + edge, room.top + edge, room.right - edge, room.bottom - edge)
        camera = Camera(toward, centre_of(plans, frame), at, 1.0)
        half = 0.5 * wide - edge
        if frame == WHOLE:
            scales = [whole_scale(p, camera, inner) for p in plans]
        else:
            scales = [near_scale(p, camera, half, u, frame) for p in plans]
        if frame == PELVIS:
            scales += [0.5 * tall / below(p, camera.centre, self.reach) for p in plans]
        return dataclasses.replace(camera, scale=min(scales))

    def turn(self, across: float, up: float) -> None:
        """Go round the figure by so many radians; the view then is none of the named ones."""
        x, y, z = self.camera.toward
        bearing, height = np.arctan2(z, x) + across, np.clip(np.arcsin(y) + up, -_STEEPEST, _STEEPEST)
        toward = np.array([np.cos(height) * np.cos(bearing), np.sin(height), np.cos(height) * np.sin(bearing)])
        self._to(dataclasses.replace(self.camera, toward=toward))

    def shift(self, across: float, down: float) -> None:
        """Move the figure on the page by so many pixels."""
        camera = self.camera
        moved = camera.right * (across / camera.scale) - camera.up * (down / camera.scale)
        self._to(dataclasses.replace(camera, centre=camera.centre - moved), named=self.state.view)

    def near(self, ratio: float) -> None:
        """Come nearer by a ratio, within what can be told apart."""
        scale = float(np.clip(self.camera.scale * ratio, 120.0, 9000.0))
        self._to(dataclasses.replace(self.camera, scale=scale), named=self.state.view)

    def _to(self, camera: Camera, named: str = "") -> None:
        before, self.camera = self.state.view, camera
        joint = before == "joint"
        self.state = dataclasses.replace(self.state, view=named or ("joint" if joint else ""))
        if self.state.view != before:
            self.draw()
        else:
            self.turned()

    def toggle(self, layer: str) -> None:
        """Show or hide a layer."""
        self.state = dataclasses.replace(self.state, layers=self.state.layers ^ {layer})
        self.draw()

    def play(self, playing: bool) -> None:
        """Let the film run, from its start where it had ended; or stop it."""
        self.state = dataclasses.replace(self.state, playing=playing)
        if playing and self.moment == len(self.times) - 1:
            self.show(0)
        else:
            self.draw()

    def resize(self, size: tuple[int, int]) -> None:
        """Lay the page out anew for another size of the window."""
        ratio = min(size[1] / self.desk.size[1], size[0] / self.desk.size[0])
        self.desk = Desk(size, self.theme, self.desk.stretches, self.reach)
        room, self.window.size = self.desk.figure, size
        if tuple(self.window.plotter.ren_win.GetSize()) != size:
            self.window.plotter.ren_win.SetSize(*size)
        box = (room.left / size[0], 1 - room.bottom / size[1], room.right / size[0], 1 - room.top / size[1])
        for k, view in enumerate(self.window.views):
            self.window.views[k] = dataclasses.replace(view, box=room)
            self.window.plotter.renderers[k].SetViewport(*box)
        at = ((room.left + room.right) / 2, (room.top + room.bottom) / 2)
        self.camera = dataclasses.replace(self.camera, at=at, scale=self.camera.scale * ratio)
        self.draw()

    # ---- a picture of what is seen -----------------------------------------------------------------------

    def pixels(self) -> Pixels:
        """The whole window as it is now, (height, width, 3)."""
        return self.window.read()[..., :3]

    def keep(self, folder: Path = Path("renders")) -> Path:
        """Save a picture of what is seen, without controls and timeline, under the next free name.

        Raises
        ------
        RenderError : it cannot be written.
        """
        check_space(folder)
        path = next(p for k in range(1, 10**6) if not (p := folder / f"{self.name}-seen-{k:02d}.png").exists())
        room = self.desk.figure
        seen = self.pixels()[: int(room.bottom), : int(room.right)]
        told, language = PngInfo(), self.theme.voice.language
        told.add_itxt("Title", self.plan.title, language, "Title")
        told.add_itxt("Description", "\n".join(self.lines()), language, "Description")
        told.add_itxt("Source", self.source)
        with written_whole(path) as part:
            Image.fromarray(np.ascontiguousarray(seen)).save(part, format="PNG", pnginfo=told)
        self.say_so(message("window.kept", file=str(path)))
        return path

    def say_so(self, told: Said) -> None:
        """Say something under the controls."""
        self.state = dataclasses.replace(self.state, told=told)
        self.draw()

    def close(self) -> None:
        """Free the window."""
        self.window.close()


def make_orbit(scene: Scene, file: str, strict: bool = False, progress: Progress | None = None) -> Orbit:
    """A scene's film, ready to be turned.

    Raises
    ------
    RenderError, SceneError : one line each.
    """
    rate = scene.picture.model_copy(update={"frames_per_second": RATE})
    whole = on_the_spot(paced(scene)).model_copy(update={"picture": rate})
    shots, clips = Script(whole, file).film()
    shown = []
    for shot in shots:
        refuse_unheld(shot.scene, shot.solved, strict)
        plan = compose(shot.scene, shot.solved)
        figure = figure_of(plan, shot.body, progress, "film")
        shown.append(Shown(beside_hips(plan, figure), figure))
    count = max(c.end for c in clips)
    row_at = np.array([_clip_at(clips, n).shot for n in range(count)])
    rows = [shots[s].row(n) for n, s in enumerate(row_at)]
    ends = np.cumsum([s.change + s.hold for s in whole.steps])
    stretches = [
        Stretch(s.name, float(e - s.change - s.hold), float(e - s.hold), float(e))
        for s, e in zip(whole.steps, ends, strict=True)
    ]
    times = (np.arange(count) + 0.5) / RATE
    place = np.stack([row_at, np.array(rows)], axis=-1)
    name, source = Path(file).stem, source_line([scene])
    return Orbit(shown, place, times, stretches, theme_of(scene), scene.picture.framed, name, source)


def _clip_at(clips: list[Clip], n: int) -> Clip:
    """The clip that a moment of the film shows: the last that has come in half."""
    return next(c for c in reversed(clips) if n >= c.first + c.transition / 2 or c is clips[0])


def need_a_display() -> None:
    """Refuse where no window can be opened.

    Raises
    ------
    RenderError : there is no display; the message says what works without one.
    """
    if sys.platform.startswith("linux") and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        raise RenderError("there is no display for a window here; 'viz3d live' or 'viz3d page' show it in a browser")
    if os.environ.get("VTK_DEFAULT_OPENGL_WINDOW") == "vtkEGLRenderWindow":
        del os.environ["VTK_DEFAULT_OPENGL_WINDOW"]  # chosen for pictures without a window
