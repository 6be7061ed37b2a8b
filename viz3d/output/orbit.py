"""A desktop window to turn a solved scene in: bones, skin, arrows, lever arms and pressure, with the timeline.

Question answered: what does this film look like from here, at this moment?

The mouse turns, the wheel brings nearer, keys choose views and layers.
"""

from __future__ import annotations

import os
import sys
import textwrap
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np

from viz3d.errors import RenderError
from viz3d.output.cartilage import cartilage_colours, cartilage_pressure, isobars
from viz3d.output.figures import figure_of
from viz3d.output.solid_arrows import HEAD, METRES_PER_WEIGHT, POINT, SHAFT, arrow_parts, arrow_pose
from viz3d.output.window import baked_colours, lines_in, unlight
from viz3d.progress import Progress
from viz3d.scene.pace import paced
from viz3d.scene.schema import Scene
from viz3d.shapes.build import Shape
from viz3d.shapes.skeleton import Figure, belongs
from viz3d.solution.refuse import refuse_unheld
from viz3d.solution.script import Script
from viz3d.stage.camera import view_direction
from viz3d.stage.canvas import DRAWN_OUT
from viz3d.stage.compose import compose
from viz3d.stage.figure import LAYER_OF
from viz3d.stage.plan import Plan
from viz3d.stage.theme import Theme, theme_of
from viz3d.stage.type import INTER
from viz3d.words import cautions
from viz3d.words.message import Amount, joined, message, newtons, seconds

VIEWS = {"1": "front", "2": "three-quarter", "3": "side", "4": "back", "5": "joint"}
LAYERS = {
    "b": "bones",
    "s": "skin",
    "w": "weight",
    "m": "muscle",
    "j": "joint",
    "c": "cane",
    "l": "lever",
    "p": "pressure",
}
_HELP = ("view_keys", "play_keys", "layer_keys", "more_layer_keys")
"""Rows of the keys' help."""
_LINE = 44
"""Letters of a line of the readout."""


class Orbit:
    """A solved shot in a window; ``show(time)`` brings it to a moment of the film.

    Parameters
    ----------
    off_screen : draw without a window, for tests and pictures.
    """

    def __init__(self, plan: Plan, figure: Figure, theme: Theme, off_screen: bool = False) -> None:
        import pyvista as pv

        self.plan, self.figure, self.theme = plan, figure, theme
        self.layers = set(LAYERS.values())
        self.index, self.playing = 0, False
        self.slider: Any = None
        self.view = "front"
        self.plotter = pv.Plotter(off_screen=off_screen, window_size=(1280, 860), title=f"viz3d: {plan.title}")
        self.plotter.set_background(theme.colours["paper_bottom"], top=theme.colours["paper_top"])
        self.plotter.enable_parallel_projection()
        self.parts: list[tuple[Shape, Any, Any]] = []
        self.isobars = lines_in(self.plotter, 1.5)
        for key, shape in figure.shapes.items():
            if belongs(key, shape, plan.aids):
                self._part(shape)
        self.skin = pv.PolyData(figure.shell.points.copy(), _faces(figure.shell.triangles))
        self.skin_actor = self.plotter.add_mesh(
            self.skin, color=theme.colours["shell_fill"], opacity=0.18, specular=0.0, reset_camera=False
        )
        self.arrows = {a.key: self._arrow(theme.colours[a.role]) for a in plan.arrows}
        self.levers = {d.key: self._lever() for d in plan.dimensions}
        self.show(0)
        self.look("front")

    # ---- what is in it ----------------------------------------------------------------------------------

    def _part(self, shape: Shape) -> None:
        import pyvista as pv

        surface = shape.surface
        mesh = pv.PolyData(surface.points.astype(np.float32), _faces(surface.triangles))
        colours = np.clip(255 * baked_colours(surface, self.theme.colours[shape.material]), 0, 255).astype(np.uint8)
        mesh.point_data["colour"] = colours
        actor = self.plotter.add_mesh(
            mesh, scalars="colour", rgb=True, smooth_shading=True, specular=0.0, reset_camera=False
        )
        if self._loaded(shape):
            unlight(actor)
        self.parts.append((shape, actor, mesh))

    def _loaded(self, shape: Shape) -> bool:
        return shape.name == "lunate" and shape.side == ("right" if self.plan.sign > 0 else "left")

    def _arrow(self, colour: str) -> tuple[Any, Any]:
        import pyvista as pv

        rod = pv.Cylinder(center=(0, 0.5, 0), direction=(0, 1, 0), radius=SHAFT, height=1.0, resolution=24)
        cone = pv.Cone(center=(0, POINT / 2, 0), direction=(0, 1, 0), height=POINT, radius=HEAD, resolution=32)
        both = [
            self.plotter.add_mesh(m, color=colour, specular=0.0, ambient=0.3, reset_camera=False) for m in (rod, cone)
        ]
        for actor in both:
            _in_front(actor)
        return both[0], both[1]

    def _lever(self) -> tuple[Any, Any]:
        import pyvista as pv

        line = pv.PolyData(np.zeros((2, 3)), lines=[2, 0, 1])
        actor = self.plotter.add_mesh(line, color=self.theme.colours["ink"], line_width=3, reset_camera=False)
        _in_front(actor)
        return line, actor

    # ---- bringing it to a moment ------------------------------------------------------------------------

    def show(self, index: int) -> None:
        """Bring everything to a frame of the plan."""
        self.index = int(np.clip(index, 0, len(self.plan) - 1))
        i, plan = self.index, self.plan
        for shape, actor, mesh in self.parts:
            link = shape.link_among(plan.frames)
            actor.user_matrix = self._frame(link, i)
            actor.visibility = "bones" in self.layers
            if self._loaded(shape):
                pascals = cartilage_pressure(shape, plan, i)
                pascals *= "pressure" in self.layers
                colours = cartilage_colours(shape, pascals, self.theme, plan.sign)
                mesh.point_data["colour"] = np.clip(255 * colours + 0.5, 0, 255).astype(np.uint8)
                self.isobars.show(*isobars(shape, pascals, self.theme))
                self.isobars.actor.user_matrix = actor.user_matrix
        self.skin.points = self.figure.shell.posed(plan.frames, i)[0]
        self.skin_actor.visibility = "skin" in self.layers
        for arrow in plan.arrows:
            self._place_arrow(arrow.key, i)
        for lever in plan.dimensions:
            line, actor = self.levers[lever.key]
            start, end = lever.start[i].copy(), lever.end[i].copy()
            if np.isfinite(lever.drop):
                start[1] = end[1] = plan.hip[i, 1] - lever.drop
                start[0] = end[0]
            line.points = np.stack([start, end])
            actor.visibility = "lever" in self.layers and LAYER_OF.get(lever.role, lever.role) in self.layers
        self._write()

    def _frame(self, link: str, i: int) -> Any:
        """Where a link stands; looking into the joint, the stance thigh is drawn out of its socket."""
        frame = self.plan.frames[link][i]
        side = "right" if self.plan.sign > 0 else "left"
        if self.view == "joint" and link in (f"{side}_thigh", f"{side}_shank", f"{side}_foot"):
            frame = frame.copy()
            frame[:3, 3] += np.array(DRAWN_OUT) * (1.0, 1.0, self.plan.sign)
        return frame

    def _place_arrow(self, key: str, i: int) -> None:
        from scipy.spatial.transform import Rotation

        arrow = self.plan.arrow(key)
        tail, turn, length = (v[i] for v in arrow_pose(self.plan, arrow))
        rod, cone = self.arrows[key]
        shaft, (at, head) = (v for v in arrow_parts(np.array([length])))
        place = np.eye(4)
        place[:3, :3] = Rotation.from_quat(turn).as_matrix()
        place[:3, 3] = tail
        rod.user_matrix = place @ np.diag([*shaft[0], 1.0])
        lifted = np.diag([*head[0], 1.0])
        lifted[:3, 3] = at[0]
        cone.user_matrix = place @ lifted
        seen = LAYER_OF.get(arrow.role, arrow.role) in self.layers and length > 0.004
        rod.visibility = cone.visibility = bool(seen)

    def lines(self) -> list[str]:
        """The readout: title, step, and every number as the pictures write it."""
        plan, i = self.plan, self.index
        voice = self.theme.voice
        caption = textwrap.wrap(plan.captions[i], _LINE)
        now = voice.say(message("window.now", time=seconds(plan.times[i]), step=plan.steps[i]))
        told = [plan.title, now, *caption, ""]
        for item in plan.shown(i, voice).values():
            told += [voice.say(joined("join.colon", [item["label"], line])) for line in item["lines"][:1]]
        return [*told, *(textwrap.wrap(voice.say(plan.notices[i]), _LINE) if plan.notices[i] else [])]

    def _help(self) -> str:
        """How long arrows are, what this is not for, and the keys."""
        voice = self.theme.voice
        one = newtons(self.plan.body_weight)
        scale = message("window.scale", length=Amount(METRES_PER_WEIGHT, "whole_length"), weight=one)
        said = [line for told in (scale, cautions.SHORT) for line in textwrap.wrap(voice.say(told), _LINE)]
        keys = [voice.say(message(f"window.{k}")) for k in _HELP]
        return "\n".join([*said, "", *keys])

    def _write(self) -> None:
        colours = self.theme.colours
        file = str(INTER.file("Medium"))
        self.plotter.add_text(
            "\n".join(self.lines()), position="upper_left", font_size=10, color=colours["ink"], font_file=file,
            name="readout", render=False,
        )  # fmt: skip
        self.plotter.add_text(
            self._help(), position=(24, 20), font_size=9, color=colours["soft"], font_file=file, name="help",
            render=False,
        )  # fmt: skip

    # ---- looking ----------------------------------------------------------------------------------------

    def look(self, view: str) -> None:
        """Go to a named view."""
        self.view = view
        self.show(self.index)
        toward = view_direction(view, self.plan.sign)
        close = view == "joint"
        focus = self.plan.hip[self.index] if close else np.array([0.0, self.plan.hip[:, 1].mean(), 0.0])
        across = np.cross([0.0, 1.0, 0.0], toward)
        focus = focus - (0.05 if close else 0.17) * across / np.linalg.norm(across)  # the readout stands at the left
        camera = self.plotter.camera
        camera.focal_point, camera.position, camera.up = focus, focus + 4.0 * toward, (0.0, 1.0, 0.0)
        camera.parallel_scale = 0.13 if close else 0.5
        camera.clipping_range = (0.05, 12.0)

    def toggle(self, layer: str) -> None:
        """Show or hide a layer."""
        self.layers ^= {layer}
        self.show(self.index)

    def run(self) -> None:
        """Open the window and stay until it is closed."""
        plotter, plan = self.plotter, self.plan
        for key, view in VIEWS.items():
            plotter.add_key_event(key, partial(self._then_draw, self.look, view))
        for key, layer in LAYERS.items():
            plotter.add_key_event(key, partial(self._then_draw, self.toggle, layer))
        plotter.add_key_event("space", self._play)
        starts = [int(np.argmax(np.array(plan.steps) == s)) for s in dict.fromkeys(plan.steps)]
        plotter.add_key_event("Right", lambda: self._jump(starts, 1))
        plotter.add_key_event("Left", lambda: self._jump(starts, -1))
        if len(plan) > 1:
            self.slider = plotter.add_slider_widget(
                lambda value: self.show(int(np.searchsorted(plan.times, value))), (0.0, float(plan.times[-1])),
                value=0.0, title="seconds", pointa=(0.66, 0.07), pointb=(0.97, 0.07), style="modern",
                color=self.theme.colours["ink"], fmt="%.1f", slider_width=0.03, tube_width=0.006, title_height=0.02,
            )  # fmt: skip
            plotter.add_timer_event(max_steps=10**9, duration=40, callback=self._tick)
        plotter.show()

    def _then_draw(self, act: Callable[[str], None], what: str) -> None:
        act(what)
        self.plotter.render()

    def _play(self) -> None:
        self.playing = not self.playing

    def _tick(self, _: int) -> None:
        if self.playing:
            self._go((self.index + 1) % len(self.plan))

    def _jump(self, starts: list[int], by: int) -> None:
        ends = [*[s - 1 for s in starts[1:]], len(self.plan) - 1]
        now = int(np.searchsorted(starts, self.index, side="right")) - 1
        self._go(ends[int(np.clip(now + by, 0, len(ends) - 1))])

    def _go(self, index: int) -> None:
        self.show(index)
        if self.slider is not None:
            self.slider.GetRepresentation().SetValue(float(self.plan.times[self.index]))
        self.plotter.render()


def make_orbit(
    scene: Scene, file: str, strict: bool = False, progress: Progress | None = None, off_screen: bool = False
) -> Orbit:
    """The last shot of a scene's film, ready to be turned.

    Raises
    ------
    RenderError, SceneError : one line each.
    """
    rate = scene.picture.model_copy(update={"frames_per_second": 25})
    shots, _ = Script(paced(scene).model_copy(update={"picture": rate}), file).film()
    shot = shots[-1]
    refuse_unheld(shot.scene, shot.solved, strict)
    plan = compose(shot.scene, shot.solved, bodies=False)
    return Orbit(plan, figure_of(plan, shot.body, progress, "film"), theme_of(shot.scene), off_screen)


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


def _in_front(actor: Any) -> None:
    """Draw it over whatever stands before it, as arrows and lever arms are in pictures."""
    actor.mapper.SetResolveCoincidentTopologyToPolygonOffset()
    actor.mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(0.0, -2e6)
    actor.mapper.SetRelativeCoincidentTopologyLineOffsetParameters(0.0, -2e6)


def _faces(triangles: Any) -> Any:
    return np.column_stack([np.full(len(triangles), 3, dtype=np.int32), triangles]).ravel()
