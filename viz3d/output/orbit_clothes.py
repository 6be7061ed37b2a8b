"""A person in clothes in the window that turns, and the soft opening towards whoever looks.

Question answered: how are cloth, the pane over it and the bones behind it drawn, so that the hip is seen from anywhere?

As in pictures: cloth and skin are opaque; round the hip they take the pane's colour, softly; the hip's bones come over
that, in a view of their own, and fade at the same edge. The graphics card asks each pixel how clear it is there.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.output.clothes import worn_by
from viz3d.output.dressed import CLEAR, CLOSED, PANE, RADII, RISE
from viz3d.output.window import Window, bytes_of, reshape
from viz3d.shapes.clothing import Clothed
from viz3d.shapes.surface import Surface
from viz3d.stage.camera import Camera
from viz3d.stage.plan import Plan

_WHOLE = (0.0, 0.0, 1e6, 1e6)
"""An opening that nothing lies outside of."""
_SEEN = """//VTK::Light::Impl
  float away = length((gl_FragCoord.xy - opening.xy) / opening.zw);
  float part = clamp((ends.y - away) / (ends.y - ends.x), 0.0, 1.0);
  float cover = share * part * part * (3.0 - 2.0 * part);
  if (cover < 0.004) discard;
  gl_FragData[0].a *= cover;
"""


class Opening:
    """What is seen round the hip only: actors that fade where the window ends."""

    def __init__(self) -> None:
        self._uniforms: list[Any] = []

    def fade(self, actor: Any, share: float = 1.0) -> None:
        """Let an actor be seen through the window alone, ``share`` of its colour where that is clear."""
        look = actor.GetShaderProperty()
        look.AddFragmentShaderReplacement("//VTK::Light::Impl", True, _SEEN, False)
        known = look.GetFragmentCustomUniforms()
        known.SetUniform2f("ends", (CLEAR, CLOSED))
        known.SetUniformf("share", share)
        known.SetUniform4f("opening", _WHOLE)
        self._uniforms.append(known)

    def aim(self, camera: Camera, hip: Array, tall: float, whole: bool = False) -> None:
        """Put the window where a hip is seen, on a page ``tall`` pixels high; ``whole``: everything is seen."""
        x, y = camera.project(hip + np.array([0.0, RISE, 0.0]))
        place = _WHOLE if whole else (float(x), float(tall - y), *(r * camera.scale for r in RADII))
        for known in self._uniforms:
            known.SetUniform4f("opening", place)


class ClothesInWindow:
    """Skin, hair and clothes in a view of a window, and the pane that lies on them."""

    def __init__(self, window: Window, k: int, clothed: Clothed, colours: dict[str, str], opening: Opening) -> None:
        self.clothed = clothed
        self._worn: list[tuple[Any, Any, Any]] = []
        self.panes: list[Any] = []
        for worn in worn_by(clothed):
            shell = worn.shell
            surface = Surface(shell.points.copy(), shell.triangles, shell.normals, worn.shade)
            actor, mesh = window.add_surface(k, surface, bytes_of(worn.colours(colours[worn.name])))
            self._worn.append((shell, actor, mesh))
        for _, _, mesh in self._worn:  # after all cloth: what hides cloth hides the pane on it
            self.panes.append(window.add_film(k, mesh, colours["pane"]))
            opening.fade(self.panes[-1], PANE)

    @property
    def actors(self) -> list[Any]:
        """Everything that may be hidden."""
        return [*(actor for _, actor, _ in self._worn), *self.panes]

    def show(self, plan: Plan, row: int, seen: bool, opened: bool) -> None:
        """Bring it to a row of the plan; ``opened``: with the window on the hip."""
        now, empty = {name: frame[row : row + 1] for name, frame in plan.frames.items()}, plan.empty_hands(row)
        for shell, actor, mesh in self._worn:
            actor.SetVisibility(seen)
            if seen:
                reshape(mesh, *shell.posed(now, 0, empty))
        for pane in self.panes:
            pane.SetVisibility(seen and opened)
