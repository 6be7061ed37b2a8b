"""The patient look: a person in clothes, what the hands hold, and a soft window on the hip that is talked about.

Question answered: what does a patient see of this person in frame i, and which colour has it?

One window of lit, opaque surfaces. Around the stance hip, cloth and skin turn to a pale pane with a soft edge, through
which the bones of the joint are seen, so that arrows end on something. No skull, no other bones.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.errors import RenderError
from viz3d.output.arms import Arms
from viz3d.output.views import MAIN, camera_at, frame_at, shows_held
from viz3d.output.window import Actor, Pixels, View, Window, baked_colours, reshape
from viz3d.shapes.body_shell import Shell, lighter_shell
from viz3d.shapes.clothing import Clothed
from viz3d.shapes.skeleton import Figure
from viz3d.shapes.surface import Surface
from viz3d.stage.camera import Camera
from viz3d.stage.canvas import Canvas
from viz3d.stage.palette import rgb

PANE = 0.84
"""Share of the pane's colour where the window is clear."""
CLEAR, CLOSED = 0.70, 1.0
"""Where the window begins and ends to close, as shares of its radii."""
RADII = (0.118, 0.138)
"""Half width and half height of the window, m."""
RISE = 0.030
"""How far its middle lies above the hip, m."""
VEIL = 0.35
"""Share of a held thing's colour over the body that hides it, in turned views."""
_SMALL = 0.25
"""Share of the triangles in a card."""


@dataclass
class _Worn:
    """One surface in one view."""

    name: str
    shell: Shell
    mesh: Any


class Dressed:
    """Draws the clothed person in every view that shows one; close it when done."""

    def __init__(self, sheet: Canvas, figure: Figure, views: list[View], size: tuple[int, int]) -> None:
        self.sheet, self.views, self.clothed = sheet, views, clothed_of(figure)
        self.window = Window(size, views)
        self._worn: list[list[_Worn]] = [[] for _ in views]
        self._held: list[list[tuple[str, Actor]]] = [[] for _ in views]
        self._aimed = [view.camera for view in views]
        self._posed: dict[str, Array] = {}
        """Where the main view's surfaces lie now."""
        whole = sheet.frontal and views[0].name == MAIN and views[0].skin
        self.arms = Arms(self.clothed.surfaces, _largest(sheet)) if whole else None
        self._pane = np.array(rgb(sheet.colours["pane"]), dtype=np.float32) * np.float32(255)
        for k, view in enumerate(views):
            if view.skin:
                self._fill(k, view, figure)
            else:
                self.window.hide(k)
        self._veiled: list[tuple[str, Actor]] = []
        self.veil = self._veil(figure) if veils(sheet) and self._held[0] else None

    def close(self) -> None:
        """Free the windows."""
        self.window.close()
        for more in (self.veil, self.arms):
            if more is not None:
                more.close()

    def _veil(self, figure: Figure) -> Window:
        """A window of what is held alone, so that nothing held is ever wholly hidden."""
        window = Window(self.window.size, self.views[:1])
        for key, _ in self._held[0]:
            shape = figure.shapes[key]
            self._veiled.append((key, window.add(0, shape, self.sheet.colours[shape.material])))
        return window

    def _fill(self, k: int, view: View, figure: Figure) -> None:
        for name, whole in self.clothed.surfaces.items():
            shell, shade = whole, self.clothed.shade[name]
            if view.name != MAIN:
                shell, shade = lighter_shell(whole, shade, _SMALL)
            surface = Surface(shell.points, shell.triangles, shell.normals, shade)
            colours = np.clip(255 * baked_colours(surface, self.sheet.colours[name]), 0, 255).astype(np.uint8)
            self._worn[k].append(_Worn(name, shell, self.window.add_surface(k, surface, colours)[1]))
        for key, shape in figure.shapes.items():
            if shows_held(self.sheet, key, shape):
                self._held[k].append((key, self.window.add(k, shape, self.sheet.colours[shape.material])))

    def draw(self, i: int) -> None:
        """Pose everything and draw all views of frame i; :meth:`over` then puts them on a page."""
        frames = self.clothed.frames(self.sheet.plan.frames, i)
        for k, view in enumerate(self.views):
            camera = camera_at(self.sheet, view, i)
            if camera is not self._aimed[k]:
                self._aimed[k] = camera
                self.window.aim(k, camera)
                if self.veil is not None and k == 0:
                    self.veil.aim(k, camera)
            for key, held in [*self._held[k], *(self._veiled if k == 0 else [])]:
                held.actor.SetVisibility(shows_held(self.sheet, key, held.shape, i))
                held.actor.user_matrix = frame_at(self.sheet, view, held.shape, i)
            for worn in self._worn[k]:
                points, normals = worn.shell.posed(frames, 0, self.sheet.plan.empty_hands(i))
                reshape(worn.mesh, points, normals)
                if view.name == MAIN:
                    self._posed[worn.name] = points
        self.window.draw()
        if self.veil is not None:
            self.veil.draw()

    def over(self, base: Pixels, k: int, i: int, bones: Pixels, rise: NDArray[np.float32] | None) -> None:
        """Put view k of frame i over its part of the page, in place; bones show through the window only."""
        person = self.window.part(k)
        there = person[..., 3] | bones[..., 3]
        rows, columns = (np.flatnonzero(there.any(axis=axis)) for axis in (1, 0))
        if len(rows) == 0:
            return
        whole = (slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1))
        person, page = person[whole], base[whole]
        share = np.float32(1.0) if rise is None else np.broadcast_to(rise, there.shape)[whole][..., None]
        cover = person[..., 3:] * (share * np.float32(1 / 255))
        drawn = page * (1 - cover) + person[..., :3] * share
        page[:] = np.minimum(drawn + np.float32(0.5), 255)
        view = self.views[k]
        if self.veil is not None and view.name == MAIN:
            held = self.veil.part(0)[whole]
            thin = VEIL * share
            drawn = page * (1 - held[..., 3:] * (thin * np.float32(1 / 255))) + held[..., :3] * thin
            page[:] = np.minimum(drawn + np.float32(0.5), 255)
        if view.name == MAIN:
            self._open(base, person_alpha(person, whole, there.shape), bones, i, view)

    def _open(self, base: Pixels, cover: NDArray[np.float32], bones: Pixels, i: int, view: View) -> None:
        """Turn the person to a pane around the hip, and put the bones behind it."""
        camera = camera_at(self.sheet, view, i)
        cut, clear = soft_window(camera, self.sheet.plan.hip[i], view, base.shape[:2])
        if clear.size == 0:
            return
        low = round(view.box.left) + cut[1].start, round(view.box.top) + cut[0].start
        arms = None if self.arms is None else self.arms.cover(self._posed, camera, low, clear.shape)
        clear = clear if arms is None else clear * (1 - arms)
        seen, page = bones[cut], base[cut]
        pane = (PANE * clear * cover[cut])[..., None]
        behind = page * (1 - pane) + self._pane * pane
        weight = clear[..., None] * np.float32(1 / 255)
        out = behind * (1 - seen[..., 3:] * weight) + seen[..., :3] * clear[..., None]
        page[:] = np.minimum(out + np.float32(0.5), 255)


def _largest(sheet: Canvas) -> tuple[int, int]:
    """Width and height of the window on a hip where it is largest, pixels."""
    scale = max(camera.scale for camera in (sheet.camera, *sheet.cameras.values()))
    wide, tall = (int(v) for v in np.ceil(2 * np.array(RADII) * scale) + 3)
    return min(wide, sheet.size[0]), min(tall, sheet.size[1])


def veils(sheet: Canvas) -> bool:
    """True where a body may hide the whole of what its hands hold: seen from beside."""
    return sheet.plan.dress == "patient" and not sheet.frontal and sheet.view != "joint"


def clothed_of(figure: Figure) -> Clothed:
    """The clothed person of a figure.

    Raises
    ------
    RenderError : it was built without clothes.
    """
    if figure.clothed is None:
        raise RenderError("the figure was built without clothes; it cannot be drawn in the patient look")
    return figure.clothed


def person_alpha(person: Pixels, whole: tuple[slice, slice], shape: tuple[int, ...]) -> NDArray[np.float32]:
    """Cover of the person, 0 to 1, over a whole view."""
    out = np.zeros(shape, dtype=np.float32)
    out[whole] = person[..., 3] * np.float32(1 / 255)
    return out


def soft_window(
    camera: Camera, hip: Array, view: View, shape: tuple[int, ...]
) -> tuple[tuple[slice, slice], NDArray[np.float32]]:
    """The part of a view around the hip, and how clear the window is there, 0 to 1."""
    at = camera.project(hip + np.array([0.0, RISE, 0.0])) - np.array([view.box.left, view.box.top])
    reach = np.array(RADII) * camera.scale
    low = np.clip(np.floor(at - reach).astype(int), 0, [shape[1], shape[0]])
    high = np.clip(np.ceil(at + reach).astype(int) + 1, 0, [shape[1], shape[0]])
    x, y = np.arange(low[0], high[0])[None, :], np.arange(low[1], high[1])[:, None]
    clear = clearness(camera, hip, x + view.box.left, y + view.box.top)
    return (slice(low[1], high[1]), slice(low[0], high[0])), clear.astype(np.float32)


def clearness(camera: Camera, hip: Array, x: Array, y: Array) -> Array:
    """How clear the window on a hip is at places of the page, 0 to 1; ``x`` and ``y`` broadcast, pixels."""
    at = camera.project(hip + np.array([0.0, RISE, 0.0]))
    reach = np.array(RADII) * camera.scale
    away = np.hypot((x - at[0]) / reach[0], (y - at[1]) / reach[1])
    return clear_within(away)


def clear_within(away: Array) -> Array:
    """How clear the window is so far from its middle, 0 to 1; ``away``: in shares of its radii."""
    t = np.clip((CLOSED - away) / (CLOSED - CLEAR), 0.0, 1.0)
    return np.asarray(t * t * (3 - 2 * t))
