"""The hand on the window: what mouse and keys do, and nothing else does anything.

Question answered: what happens when a person clicks, drags, rolls the wheel or presses a key?

The drawing library's own ways of dealing with a mouse and its keys are taken away; ours are the words on the page.
"""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from viz3d.errors import RenderError
from viz3d.stage.crop import FRAMES
from viz3d.stage.desk import FRAME_KEY, KEEP_KEY, LAYERS, LEAST, VIEWS

if TYPE_CHECKING:
    from viz3d.output.orbit import Orbit

_TURN = np.radians(0.45)
"""Turn for a pixel of drag."""
_ARROW = np.radians(6.0)
"""Turn for an arrow key."""
_WHEEL = 1.12
_TICK = 40
"""Milliseconds."""
_ARROWS = {"Left": (-1, 0), "Right": (1, 0), "Up": (0, 1), "Down": (0, -1)}
_NEAR = {"plus": _WHEEL, "equal": _WHEEL, "KP_Add": _WHEEL, "minus": 1 / _WHEEL, "KP_Subtract": 1 / _WHEEL}


class Hand3D:
    """Mouse and keys of one window."""

    def __init__(self, orbit: Orbit) -> None:
        self.orbit = orbit
        self.kept: list[Path] = []
        self.drag, self.at = "", (0, 0)
        self.since = 0.0
        self.done = False
        self.trouble: BaseException | None = None

    # ---- what a person does ------------------------------------------------------------------------------

    def press(self, x: int, y: int, button: str = "left", shift: bool = False) -> None:
        """A button goes down at a place; (0, 0) is the top left corner."""
        hit, self.at = self.orbit.desk.hit(x, y), (x, y)
        room = self.orbit.desk.figure
        if button == "left" and hit is not None:
            self.act(hit.act, hit.what, x)
        elif room.left <= x <= room.right and room.top <= y <= room.bottom:
            self.drag = "shift" if shift or button != "left" else "turn"

    def move(self, x: int, y: int) -> None:
        """The pointer moves."""
        across, down = x - self.at[0], y - self.at[1]
        if self.drag == "turn":
            self.orbit.turn(across * _TURN, down * _TURN)
        elif self.drag == "shift":
            self.orbit.shift(across, down)
        elif self.drag == "time":
            self.orbit.show_time(self.orbit.desk.time_at(x))
        self.at = (x, y)

    def release(self) -> None:
        """A button goes up."""
        self.drag = ""

    def wheel(self, x: int, y: int, way: int) -> None:
        """The wheel is rolled by a notch."""
        room = self.orbit.desk.figure
        if room.left <= x <= room.right and room.top <= y <= room.bottom:
            self.orbit.near(_WHEEL**way)

    def act(self, what: str, to: str, x: int = 0) -> None:
        """Do what a place on the page, or a key, stands for."""
        orbit = self.orbit
        if what == "view":
            orbit.look(to)
        elif what == "frame":
            orbit.look(orbit.state.view if orbit.state.view not in ("", "joint") else "front", to)
        elif what == "layer":
            orbit.toggle(to)
        elif what == "step":
            orbit.to_step(int(to))
        elif what == "play":
            self.since = time.monotonic()
            orbit.play(not orbit.state.playing)
        elif what == "keep":
            self._keep()
        elif what == "time":
            self.drag = "time"
            orbit.show_time(orbit.desk.time_at(x))

    def key(self, name: str) -> bool:
        """A key is pressed, as the windowing system names it; True where it does something."""
        orbit, small = self.orbit, name.lower()
        now = orbit.desk.stretch_at(orbit.state.time)
        if name in _ARROWS:
            orbit.turn(*(_ARROW * way for way in _ARROWS[name]))
        elif name in _NEAR:
            orbit.near(_NEAR[name])
        elif name in ("Prior", "Next"):
            orbit.to_step(now + (1 if name == "Next" else -1))
        elif small in VIEWS or small.removeprefix("kp_") in VIEWS:
            orbit.look(VIEWS[small.removeprefix("kp_")])
        elif small in ("0", "kp_0"):
            orbit.look("front")
        elif small in LAYERS:
            orbit.toggle(LAYERS[small])
        elif small == FRAME_KEY:
            self.act("frame", FRAMES[(FRAMES.index(orbit.state.frame) + 1) % len(FRAMES)])
        elif small == KEEP_KEY:
            self._keep()
        elif small == "space":
            self.act("play", "")
        elif name == "Escape":
            self.done = True
        else:
            return False
        return True

    def tick(self) -> bool:
        """Time passes: the film goes on where it plays; True where something changed."""
        orbit = self.orbit
        if not orbit.state.playing:
            return False
        now = time.monotonic()
        orbit.show_time(orbit.state.time + now - self.since)
        self.since = now
        if orbit.moment == len(orbit.times) - 1:
            orbit.play(False)
        return True

    def _keep(self) -> None:
        try:
            self.kept.append(self.orbit.keep())
        except RenderError as error:
            self.orbit.say_so(str(error))

    # ---- the window ----------------------------------------------------------------------------------------

    def run(self) -> list[Path]:
        """Open the window and stay until it is closed; the pictures that were saved."""
        import vtkmodules.vtkRenderingUI  # noqa: F401  without it the next name stands for no window
        from vtkmodules.vtkRenderingCore import vtkRenderWindowInteractor

        native = self.orbit.window.plotter.ren_win
        native.SetOffScreenRendering(False)
        native.SetShowWindow(True)
        ears = vtkRenderWindowInteractor()
        ears.SetRenderWindow(native)
        self.listen(ears, native)
        ears.Initialize()
        ears.CreateRepeatingTimer(_TICK)
        native.Render()
        ears.Start()
        native.Finalize()
        if self.trouble is not None:
            raise self.trouble
        return self.kept

    def listen(self, ears: Any, native: Any) -> None:
        """Hear the window's events; the library's own ways with mouse and keys are taken away."""
        ears.SetInteractorStyle(None)

        def where() -> tuple[int, int]:
            x, y = ears.GetEventPosition()
            return x, native.GetSize()[1] - 1 - y

        def after(change: Any) -> Any:
            def heard(*_: object) -> None:
                try:
                    if change() is not False:
                        native.Render()
                except BaseException as error:  # the library would print it and go on
                    self.trouble, self.done = error, True
                if self.done:
                    ears.TerminateApp()

            return heard

        def ticked() -> bool:
            size = native.GetSize()
            grown = (max(size[0], LEAST[0]), max(size[1], LEAST[1]))
            if grown != tuple(self.orbit.desk.size):
                if grown != tuple(size):
                    native.SetSize(*grown)
                self.orbit.resize(grown)
                return True
            return self.tick()

        def moved() -> bool:
            if self.drag:
                self.move(*where())
            return bool(self.drag)

        for name, button in (("Left", "left"), ("Middle", "middle"), ("Right", "right")):
            ears.AddObserver(
                f"{name}ButtonPressEvent",
                after(lambda b=button: self.press(*where(), b, bool(ears.GetShiftKey()))),
            )
            ears.AddObserver(f"{name}ButtonReleaseEvent", lambda *_: self.release())
        ears.AddObserver("MouseMoveEvent", after(moved))
        ears.AddObserver("MouseWheelForwardEvent", after(lambda: self.wheel(*where(), 1)))
        ears.AddObserver("MouseWheelBackwardEvent", after(lambda: self.wheel(*where(), -1)))
        ears.AddObserver("KeyPressEvent", after(lambda: self.key(ears.GetKeySym() or "")))
        ears.AddObserver("TimerEvent", after(ticked))
        ears.AddObserver("ExitEvent", lambda *_: ears.TerminateApp())
