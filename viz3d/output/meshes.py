"""The mesh layer: bones, cane and body shell of one plan, drawn off-screen frame by frame.

Question answered: what do the solid things look like in frame i, over the backdrop?

Two off-screen windows: the lit bones, and the body shell unlit as n·v. They are put together here: shell
as a flat fill behind, bones, then a rim veil in front; no depth peeling. The joint and whole-figure insets
are viewports of the same windows.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from viz3d.output import gl
from viz3d.output.cartilage import cartilage_colours, cartilage_pressure, hatching, isobars
from viz3d.output.dressed import Dressed
from viz3d.output.flesh import Flesh
from viz3d.output.interrupt import interrupt_held
from viz3d.output.paint import Painter, paper
from viz3d.output.views import (
    MAIN,
    camera_at,
    comes_and_goes,
    faintness,
    focus_of,
    frame_at,
    from_near,
    seen_through,
    sheet_views,
    shows,
    shows_muscles,
    shows_pressure,
)
from viz3d.output.window import Actor, Lines, Pixels, View, Window, reshape
from viz3d.shapes.build import Shape
from viz3d.shapes.finish import lighter
from viz3d.shapes.skeleton import Figure
from viz3d.shapes.spine import BENDING, bent_spine
from viz3d.shapes.surface import Surface
from viz3d.stage.canvas import Canvas
from viz3d.stage.card_boxes import FIGURE
from viz3d.stage.palette import rgb


class MeshLayer:
    """Draws the solid layer of a sheet; use as a context manager so that windows are closed.

    Parameters
    ----------
    page : what lies behind it, (height, width, 3); an empty page by default.
    """

    def __init__(self, sheet: Canvas, figure: Figure, page: Pixels | None = None) -> None:
        gl.require()
        with interrupt_held():
            self._build(sheet, figure, page)

    def _build(self, sheet: Canvas, figure: Figure, page: Pixels | None) -> None:
        self.sheet, self.figure = sheet, figure
        self.width, self.height = sheet.size
        self.drawn = round(sheet.band.top)
        """Rows above the caption band: only these are rendered."""
        self.views = sheet_views(sheet)
        self.bones = Window((self.width, self.drawn), self.views)
        self.shell = Window((self.width, self.drawn), self.views, 1)
        clothed = sheet.plan.dress == "patient"
        self.dressed = Dressed(sheet, figure, self.views, (self.width, self.drawn)) if clothed else None
        self._actors: list[list[Actor]] = [[] for _ in self.views]
        self._passing: list[tuple[View, str, Actor]] = []
        """What only some frames show."""
        self._shells: list[Any] = [None for _ in self.views]
        self._isobars: dict[int, Lines] = {}
        self._hatching: dict[int, Lines] = {}
        self._aimed = [view.camera for view in self.views]
        self._fill()
        muscles = sheet.plan.muscles if shows_muscles(sheet) else []
        self.flesh = Flesh(self.bones, 0, sheet.plan, sheet.colours, figure, muscles)
        self.backdrop = self._backdrop(page)
        self._bare = self._backdrop(page, bare=True) if sheet.cameras else self.backdrop
        self._focus, self._rise = self._focus_masks()
        self._skin_fill, self._skin_rim = (
            np.array(rgb(sheet.colours[n]), dtype=np.float32) * np.float32(255) for n in ("shell_fill", "shell_rim")
        )

    def __enter__(self) -> MeshLayer:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Free both windows."""
        self.bones.close()
        self.shell.close()
        if self.dressed is not None:
            self.dressed.close()

    def frame(self, i: int) -> Pixels:
        """The backdrop with all solid things of frame i, (height, width, 3)."""
        with interrupt_held():
            self._pose(i)
            self.bones.draw()
            out = (self._bare if i in self.sheet.cameras else self.backdrop).copy()
            if self.dressed is None:
                self.shell.draw()
            else:
                self.dressed.draw(i)
            for k, view in enumerate(self.views):
                if self.dressed is not None and view.skin:
                    part = out[int(view.box.top) : int(view.box.bottom), int(view.box.left) : int(view.box.right)]
                    rise = self._rise if view.name == MAIN else None
                    self.dressed.over(part, k, i, self.bones.part(k), rise)
                else:
                    self._compose(out, k, view)
        return out

    # ---- set-up ---------------------------------------------------------------------------------------

    def _fill(self) -> None:
        for k, view in enumerate(self.views):
            for name, shape in self.figure.shapes.items():
                if not shows(self.sheet, view, name, shape) or not self._in_view(shape, view):
                    continue
                drawn = _small(shape) if view.name == FIGURE else shape
                loaded = shows_pressure(self.sheet, shape)
                self._actors[k].append(self.bones.add(k, drawn, self.sheet.colours[shape.material], lit=not loaded))
                if seen_through(self.sheet, view, shape):
                    self._actors[k][-1].actor.GetProperty().SetOpacity(faintness(self.sheet))
                    self._actors[k][-1].actor.GetProperty().BackfaceCullingOn()
                if loaded:
                    self._isobars[k] = self.bones.add_lines(k, _ISOBAR * self.sheet.u)
                    self._hatch(k, shape.side)
                if view.name in (MAIN, FIGURE) and comes_and_goes(self.sheet, name, shape):
                    self._passing.append((view, name, self._actors[k][-1]))
            if view.skin and self.dressed is None:
                shell = self.figure.shell
                skin = Surface(shell.points, shell.triangles, shell.normals, np.ones(len(shell.points)))
                self._shells[k] = self.shell.add_unlit(k, skin)
            else:
                self.shell.hide(k)

    def _hatch(self, k: int, side: str) -> None:
        """Lines on the bare floor of the loaded socket in view k."""
        self._hatching[k] = self.bones.add_lines(k, _HATCH * self.sheet.u)
        self._hatching[k].show(*hatching(self.figure, side, self.sheet.theme))

    def _in_view(self, shape: Shape, view: View) -> bool:
        """True where any frame could show part of this shape in this view."""
        if view.name == MAIN and self.sheet.cameras:
            return True
        points = shape.surface.points
        middle = (points.min(axis=0) + points.max(axis=0)) / 2
        radius = float(np.linalg.norm(points - middle, axis=1).max())
        frames = self.sheet.plan.frames[shape.link_among(self.sheet.plan.frames)]
        at = view.camera.project(frames[:, :3, :3] @ middle + frames[:, :3, 3])
        reach, box = (radius + 0.1) * view.camera.scale, view.box
        across = (at[:, 0] > box.left - reach) & (at[:, 0] < box.right + reach)
        return bool((across & (at[:, 1] > box.top - reach) & (at[:, 1] < box.bottom + reach)).any())

    def _backdrop(self, page: Pixels | None, bare: bool = False) -> Pixels:
        """What lies behind; ``bare``: for the time that the camera moves."""
        painter = Painter(self.sheet.size, paper(self.sheet.size, self.sheet.colours) if page is None else page)
        painter.marks(self.sheet.drawing(0, bare).under, self.sheet.colours["card"])
        return painter.pixels()

    def _focus_masks(self) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """How strongly bones, and the shell, show at each pixel of the main view."""
        box, u = self.views[0].box, self.sheet.u
        at = self.sheet.camera.project(self.sheet.plan.middle_hip.mean(axis=0))
        y = np.arange(box.top, box.bottom)[:, None] - at[1]
        x = np.arange(box.left, box.right)[None, :] - at[0]
        full, far, low = focus_of(self.sheet)
        share = np.clip((np.hypot(x, 0.85 * y) / u - full) / (far - full), 0, 1)
        share = np.zeros_like(share) if self.sheet.whole else share * share * (3 - 2 * share)
        start, end, out = self.sheet.fades
        rise = np.clip((np.arange(box.top, box.bottom)[:, None] - start) / (end - start), 0, 1)
        rise = rise * rise * (3 - 2 * rise)
        if out:
            rise = rise * np.clip((box.bottom - np.arange(box.top, box.bottom)[:, None]) / u / 70.0, 0, 1)
        bones = (1.0 - (1.0 - low) * share) * rise
        skin = bones if from_near(self.sheet) else np.broadcast_to(rise, bones.shape)
        return bones.astype(np.float32), skin.astype(np.float32)

    # ---- per frame ------------------------------------------------------------------------------------

    def _pose(self, i: int) -> None:
        plan = self.sheet.plan
        self.flesh.pose(i)
        for view, name, one in self._passing:
            one.actor.SetVisibility(shows(self.sheet, view, name, one.shape, i))
        for k, actors in enumerate(self._actors):
            view = self.views[k]
            camera = camera_at(self.sheet, view, i)
            if camera is not self._aimed[k]:
                self._aimed[k] = camera
                self.bones.aim(k, camera)
                self.shell.aim(k, camera)
            for one in actors:
                one.actor.user_matrix = frame_at(self.sheet, view, one.shape, i)
                if one.shape.name in BENDING:
                    reshape(one.mesh, *bent_spine(one.shape, self.figure.shell, plan.frames, i))
                if shows_pressure(self.sheet, one.shape):
                    self._press(k, one, i)
            mesh = self._shells[k]
            if mesh is not None:
                points, normals = self.figure.shell.posed(plan.frames, i, plan.empty_hands(i))
                mesh.points[:] = points
                facing = np.clip(normals @ camera.toward, 0, 1)
                mesh.point_data["facing"][:] = (255 * facing).astype(np.uint8)[:, None]
                mesh.GetPoints().Modified()
                mesh.GetPointData().GetArray("facing").Modified()

    def _press(self, k: int, one: Actor, i: int) -> None:
        """Colour the loaded cartilage of view k for frame i and draw its isobars."""
        plan, theme = self.sheet.plan, self.sheet.theme
        pascals = cartilage_pressure(one.shape, plan, i)
        colours = cartilage_colours(one.shape, pascals, theme, plan.sign)
        one.mesh.point_data["colour"][:] = np.clip(255 * colours + 0.5, 0, 255).astype(np.uint8)
        one.mesh.GetPointData().GetArray("colour").Modified()
        lines = self._isobars[k]
        lines.show(*isobars(one.shape, pascals, theme))
        lines.actor.user_matrix = one.actor.user_matrix
        self._hatching[k].actor.user_matrix = one.actor.user_matrix

    def _compose(self, out: Pixels, k: int, view: View) -> None:
        """Shell fill behind, bones over it, rim veil in front, as one weighted sum per pixel that has any of them."""
        bones = self.bones.part(k)
        shell = self.shell.part(k) if view.skin else None
        there = bones[..., 3] if shell is None else bones[..., 3] | shell[..., 3]
        rows, columns = (np.flatnonzero(there.any(axis=axis)) for axis in (1, 0))
        if len(rows) == 0:
            return
        rows, columns = (
            np.clip([v[0] - _EDGE, v[-1] + _EDGE], 0, n - 1) for v, n in zip((rows, columns), there.shape, strict=True)
        )
        whole = (slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1))
        bones, shell = bones[whole], None if shell is None else _softened(shell[whole])
        base = out[int(view.box.top) : int(view.box.bottom), int(view.box.left) : int(view.box.right)]
        base = base[whole]
        masks: list[Any] = [m[whole] for m in (self._focus, self._rise)] if view.name == MAIN else []
        for top in range(0, len(base), _BAND):
            cut = slice(top, top + _BAND)
            focus, seen = [m[cut] for m in masks] if masks else (np.float32(1.0), np.float32(1.0))
            if shell is None:
                _over(base[cut], bones[cut], focus)
            else:
                self._with_skin(base[cut], bones[cut], shell[cut], focus, seen)

    def _with_skin(self, base: Pixels, bones: Pixels, shell: Pixels, focus: Any, seen: Any) -> None:
        """Put bones and skin over the backdrop, in place."""
        covered = shell[..., 1] * seen * np.float32(1 / 255)
        veil = covered * _VEIL[shell[..., 0]]
        open_ = (1 - veil) * (1 - bones[..., 3] * (focus * np.float32(1 / 255)))
        covered *= np.float32(_FILL)
        behind, filled, drawn = open_ * (1 - covered), open_ * covered, focus * (1 - veil)
        for c in range(3):
            colour = base[..., c] * behind
            colour += self._skin_fill[c] * filled
            colour += bones[..., c] * drawn
            colour += self._skin_rim[c] * veil
            base[..., c] = np.minimum(colour + np.float32(0.5), 255)


def _over(base: Pixels, bones: Pixels, focus: Any) -> None:
    """Put bones over the backdrop, in place."""
    weight = bones[..., 3] * (focus * np.float32(1 / 255))
    for c in range(3):
        base[..., c] = np.minimum(base[..., c] * (1 - weight) + bones[..., c] * focus + np.float32(0.5), 255)


_ISOBAR = 1.3
"""Width of an isobar, u."""
_HATCH = 0.9
"""Width of a line on a socket's bare floor, u."""
_EDGE = 2
"""Pixels around what is drawn, into which its softened edge reaches."""
_BAND = 48
"""Rows put together at a time: what is worked on stays in the processor's cache."""
_FILL = 0.92
_VEIL = (0.62 * (1.0 - np.arange(256) / 255) ** 2.6).astype(np.float32)
"""Share of the shell's rim colour by how far a point faces the viewer."""


def _softened(skin: Pixels) -> Pixels:
    """The shell's facing and coverage with their hard edge smoothed, (height, width, 2)."""
    both = Image.fromarray(np.ascontiguousarray(skin[..., ::3]), "LA")
    return np.asarray(both.filter(ImageFilter.BoxBlur(0.6)))


def _small(shape: Shape) -> Shape:
    """The same shape with a fifth of its triangles, for the small whole figure."""
    return dataclasses.replace(shape, surface=lighter(shape.surface, 0.2))
