"""The mesh layer: bones, cane and body shell of one plan, drawn off-screen frame by frame.

Question answered: what do the solid things look like in frame i, over the backdrop?

Two off-screen windows: bones at twice the size (reduced, which is both cleaner and faster than the
library's own anti-aliasing in software), and the body shell unlit as n·v. They are put together here: shell
as a flat fill behind, bones, then a rim veil in front; no depth peeling. The joint and whole-figure insets
are viewports of the same windows. Called by still and film.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.spatial import cKDTree

from viz3d.output import gl
from viz3d.output.cartilage import cartilage_pressure
from viz3d.output.interrupt import interrupt_held
from viz3d.output.paint import Painter
from viz3d.shapes.build import Shape
from viz3d.shapes.skeleton import Figure, belongs
from viz3d.shapes.surface import Surface
from viz3d.stage.camera import Camera
from viz3d.stage.drawing import Array, Box
from viz3d.stage.layout import Sheet
from viz3d.stage.palette import pressure_colours, rgb

Pixels = NDArray[np.uint8]
_OVER = 2
"""Bones are drawn this many times larger and reduced."""
_FIGURE_REACH = 500.0
"""The figure is drawn this far (u) to both sides of the camera's axis."""
_SHADE_FLOOR = 0.55
_FOCUS = (230.0, 520.0, 0.30)
"""Bones fade from full at the first radius (u) to the last value at the second."""


@dataclass
class _Actor:
    shape: Shape
    actor: Any
    mesh: Any


class MeshLayer:
    """Draws the solid layer of a sheet; use as a context manager so that windows are closed."""

    def __init__(self, sheet: Sheet, figure: Figure) -> None:
        gl.require()
        with interrupt_held():
            self._build(sheet, figure)

    def _build(self, sheet: Sheet, figure: Figure) -> None:
        import pyvista as pv

        self._pv = pv
        self.sheet, self.figure = sheet, figure
        self.width, self.height = sheet.size
        self.drawn = round(sheet.band.top)
        """Rows above the caption band: only these are rendered."""
        self.views = self._views()
        self.bones = self._window(_OVER)
        self.shell = self._window(_OVER)
        self._actors: list[list[_Actor]] = [[] for _ in self.views]
        self._shells: list[Any] = [None for _ in self.views]
        self._fill()
        self.backdrop = self._backdrop()
        self._focus, self._rise = self._focus_masks()

    def __enter__(self) -> MeshLayer:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Free both windows."""
        self.bones.close()
        self.shell.close()

    def frame(self, i: int) -> Pixels:
        """The backdrop with all solid things of frame i, (height, width, 3)."""
        with interrupt_held():
            self._pose(i)
            solid = self._read(self.bones, _OVER)
            skin = self._read(self.shell, _OVER)
        out = self.backdrop.copy()
        for view in self.views:
            self._compose(out, solid, skin, view)
        return out

    # ---- set-up ---------------------------------------------------------------------------------------

    def _views(self) -> list[dict[str, Any]]:
        sheet = self.sheet
        middle, reach = sheet.camera.at[0], _FIGURE_REACH * sheet.u
        right = sheet.cards.left - 10 * sheet.u if sheet.cards.shown else self.width
        main = Box(max(0, middle - reach), 0, min(right, middle + reach), sheet.band.top)
        views: list[dict[str, Any]] = [{"name": "main", "box": main, "camera": sheet.camera, "skin": True}]
        if sheet.cards.shown:
            views.append(
                {
                    "name": "socket",
                    "box": sheet.insets.socket_box,
                    "camera": sheet.insets.socket,
                    "skin": False,
                }
            )
            views.append(
                {
                    "name": "figure",
                    "box": sheet.insets.figure_box,
                    "camera": sheet.insets.figure,
                    "skin": True,
                }
            )
        for view in views:
            b = view["box"]
            view["box"] = Box(round(b.left), round(b.top), round(b.right), round(b.bottom))
        return views

    def _window(self, times: int) -> Any:
        pv = self._pv
        plotter = pv.Plotter(
            off_screen=True, window_size=(self.width * times, self.drawn * times),
            shape=(1, len(self.views)), border=False, lighting="none",
        )  # fmt: skip
        plotter.ren_win.SetAlphaBitPlanes(1)
        plotter.ren_win.SetMultiSamples(0)
        for k, view in enumerate(self.views):
            plotter.subplot(0, k)
            plotter.disable_anti_aliasing()
            box = view["box"]
            renderer = plotter.renderers[k]
            renderer.SetViewport(
                box.left / self.width,
                1 - box.bottom / self.drawn,
                box.right / self.width,
                1 - box.top / self.drawn,
            )
            renderer.SetBackground(0, 0, 0)
            renderer.SetBackgroundAlpha(0.0)
            _aim(renderer, view["camera"], box)
        for place, colour, power in _LIGHTS:
            light = pv.Light(light_type="camera light", color=colour, intensity=power)
            light.position, light.focal_point = place, (0, 0, 0)
            plotter.add_light(light)
        return plotter

    def _fill(self) -> None:
        plan = self.sheet.plan
        stance = "right" if plan.sign > 0 else "left"
        for k, view in enumerate(self.views):
            for name, shape in self.figure.shapes.items():
                if not _shown(name, shape, plan.aids, view["name"], stance) or not self._in_view(shape, view):
                    continue
                self.bones.subplot(0, k)
                self._actors[k].append(self._add(_coarse(shape) if view["name"] == "figure" else shape))
            if view["skin"]:
                self.shell.subplot(0, k)
                self._shells[k] = self._add_shell()
            else:
                self.shell.renderers[k].SetDraw(False)

    def _in_view(self, shape: Shape, view: dict[str, Any]) -> bool:
        """True where any frame could show part of this shape in this view."""
        points = shape.surface.points
        middle = (points.min(axis=0) + points.max(axis=0)) / 2
        radius = float(np.linalg.norm(points - middle, axis=1).max())
        frames = self.sheet.plan.frames[self._link(shape)]
        at = view["camera"].project(frames[:, :3, :3] @ middle + frames[:, :3, 3])
        reach, box = radius * view["camera"].scale, view["box"]
        across = (at[:, 0] > box.left - reach) & (at[:, 0] < box.right + reach)
        return bool((across & (at[:, 1] > box.top - reach) & (at[:, 1] < box.bottom + reach)).any())

    def _link(self, shape: Shape) -> str:
        return shape.link if shape.link in self.sheet.plan.frames else f"{shape.side}_{shape.link}"

    def _add(self, shape: Shape) -> _Actor:
        surface = shape.surface
        mesh = _poly(self._pv, surface.points, surface.triangles)
        mesh.point_data["Normals"] = surface.normals.astype(np.float32)
        mesh.point_data.active_normals_name = "Normals"
        base = np.array(rgb(self.sheet.colours[shape.material]))
        shade = _SHADE_FLOOR + (1.0 - _SHADE_FLOOR) * surface.shade[:, None]
        mesh.point_data["colour"] = np.clip(255 * base * shade, 0, 255).astype(np.uint8)
        actor = self.bones.add_mesh(
            mesh, scalars="colour", rgb=True, ambient=0.30, diffuse=0.80, specular=0.0, smooth_shading=False,
            reset_camera=False, render=False,
        )  # fmt: skip
        actor.GetProperty().SetInterpolationToGouraud()
        return _Actor(shape, actor, mesh)

    def _add_shell(self) -> Any:
        shell = self.figure.shell
        mesh = _poly(self._pv, shell.points, shell.triangles)
        mesh.point_data["facing"] = np.zeros((len(shell.points), 3), dtype=np.uint8)
        self.shell.add_mesh(mesh, scalars="facing", rgb=True, lighting=False, reset_camera=False, render=False)
        return mesh

    def _backdrop(self) -> Pixels:
        top, bottom = (np.array(rgb(self.sheet.colours[f"paper_{e}"])) for e in ("top", "bottom"))
        y = np.linspace(0, 1, self.height)[:, None, None]
        x = np.linspace(-1, 1, self.width)[None, :, None]
        edge = 1.0 - 0.035 * np.clip(x**2 + (2 * y - 1) ** 2 - 0.6, 0, None)
        paper = np.clip(255 * (top * (1 - y) + bottom * y) * edge, 0, 255).astype(np.uint8)
        painter = Painter(self.sheet.size, paper)
        painter.marks(self.sheet.drawing(0).under, self.sheet.colours["card"])
        return painter.pixels()

    def _focus_masks(self) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """How strongly bones, and the shell, show at each pixel of the main view."""
        box, u = self.views[0]["box"], self.sheet.u
        at = self.sheet.camera.project(self.sheet.plan.middle_hip.mean(axis=0))
        y = np.arange(box.top, box.bottom)[:, None] - at[1]
        x = np.arange(box.left, box.right)[None, :] - at[0]
        full, far, low = _FOCUS
        share = np.clip((np.hypot(x, 0.85 * y) / u - full) / (far - full), 0, 1)
        share = share * share * (3 - 2 * share)
        rise = np.clip((np.arange(box.top, box.bottom)[:, None] / u - 118.0) / 150.0, 0, 1)
        rise = rise * rise * (3 - 2 * rise)
        bones = (1.0 - (1.0 - low) * share) * rise
        skin = np.broadcast_to(rise, bones.shape)
        return bones.astype(np.float32), skin.astype(np.float32)

    # ---- per frame ------------------------------------------------------------------------------------

    def _pose(self, i: int) -> None:
        plan = self.sheet.plan
        for k, actors in enumerate(self._actors):
            if self.views[k]["name"] == "socket":
                camera = dataclasses.replace(self.views[k]["camera"], centre=plan.hip[i])
                _aim(self.bones.renderers[k], camera, self.views[k]["box"])
            for one in actors:
                one.actor.user_matrix = plan.frames[self._link(one.shape)][i]
                if one.shape.name == "lunate" and one.shape.side == ("right" if plan.sign > 0 else "left"):
                    colours = pressure_colours(cartilage_pressure(one.shape, plan, i), self.sheet.backdrop)
                    one.mesh.point_data["colour"][:] = np.clip(255 * colours, 0, 255).astype(np.uint8)
                    one.mesh.GetPointData().GetArray("colour").Modified()
            mesh = self._shells[k]
            if mesh is not None:
                points, normals = self.figure.shell.posed(plan.frames, i)
                mesh.points[:] = points
                facing = np.clip(normals @ self.views[k]["camera"].toward, 0, 1)
                mesh.point_data["facing"][:] = (255 * facing).astype(np.uint8)[:, None]
                mesh.GetPoints().Modified()
                mesh.GetPointData().GetArray("facing").Modified()

    def _read(self, plotter: Any, times: int) -> Pixels:
        from vtkmodules.util.numpy_support import vtk_to_numpy
        from vtkmodules.vtkRenderingCore import vtkWindowToImageFilter

        plotter.ren_win.Render()
        grab = vtkWindowToImageFilter()
        grab.SetInput(plotter.ren_win)
        grab.SetInputBufferTypeToRGBA()
        grab.ReadFrontBufferOff()
        grab.ShouldRerenderOff()
        grab.Update()
        image = grab.GetOutput()
        wide, tall, _ = image.GetDimensions()
        pixels = vtk_to_numpy(image.GetPointData().GetScalars()).reshape(tall, wide, 4)
        if times > 1:
            small = Image.frombuffer("CMYK", (wide, tall), np.ascontiguousarray(pixels), "raw", "CMYK", 0, 1)
            pixels = np.asarray(small.reduce(times))
        return np.array(pixels[::-1])

    def _compose(self, out: Pixels, solid: Pixels, skin: Pixels, view: dict[str, Any]) -> None:
        """Shell fill behind, bones over it, rim veil in front, as one weighted sum per pixel."""
        b = view["box"]
        rows, columns = slice(int(b.top), int(b.bottom)), slice(int(b.left), int(b.right))
        base, bones, shell = out[rows, columns], solid[rows, columns], skin[rows, columns]
        main = view["name"] == "main"
        seen = self._rise if main else np.float32(1.0)
        focus = self._focus if main else np.float32(1.0)
        covered = shell[..., 3] * seen * np.float32(1 / 255)
        veil = covered * _VEIL[shell[..., 0]]
        open_ = (1 - veil) * (1 - bones[..., 3] * (focus * np.float32(1 / 255)))
        covered *= np.float32(_FILL)
        behind, filled, drawn = open_ * (1 - covered), open_ * covered, focus * (1 - veil)
        fill, rim = (np.array(rgb(self.sheet.colours[n])) * 255 for n in ("shell_fill", "shell_rim"))
        for c in range(3):
            colour = base[..., c] * behind
            colour += np.float32(fill[c]) * filled
            colour += bones[..., c] * drawn
            colour += np.float32(rim[c]) * veil
            base[..., c] = np.minimum(colour + np.float32(0.5), 255)


_FILL = 0.92
_VEIL = (0.62 * (1.0 - np.arange(256) / 255) ** 2.6).astype(np.float32)
"""Share of the shell's rim colour by how far a point faces the viewer."""
_LIGHTS = (
    ((0.45, 0.85, 1.0), "#FFF6E8", 0.80),
    ((-0.9, 0.15, 0.6), "#E4ECF6", 0.30),
    ((0.1, -1.0, 0.3), "#F2EEE6", 0.12),
)
"""Place (camera frame), colour and power: warm key from upper right, cool fill, weak light from below."""


def _shown(name: str, shape: Shape, aids: dict[str, str], view: str, stance: str) -> bool:
    if view == "socket":
        return (shape.name in ("hip", "lunate") and shape.side == stance) or shape.name == "sacrum"
    return belongs(name, shape, aids)


def _coarse(shape: Shape) -> Shape:
    """The same shape with about a fifth of its triangles, for the small whole figure."""
    import fast_simplification

    surface = shape.surface
    points, triangles = fast_simplification.simplify(
        surface.points.astype(np.float32), surface.triangles, target_reduction=0.8, agg=7.0
    )
    _, nearest = cKDTree(surface.points).query(points)
    light = Surface(points.astype(float), triangles.astype(np.int32), surface.normals[nearest], surface.shade[nearest])
    return dataclasses.replace(shape, surface=light)


def _poly(pv: Any, points: Array, triangles: NDArray[np.int32]) -> Any:
    faces = np.column_stack([np.full(len(triangles), 3, dtype=np.int32), triangles]).ravel()
    return pv.PolyData(points.astype(np.float32), faces)


def _aim(renderer: Any, camera: Camera, box: Box) -> None:
    """Point a renderer's camera so that world points fall where the layout says."""
    middle = np.array([(box.left + box.right) / 2, (box.top + box.bottom) / 2])
    off = (middle - np.array(camera.at)) / camera.scale
    focus = camera.centre + camera.right * off[0] - camera.up * off[1]
    active = renderer.GetActiveCamera()
    active.ParallelProjectionOn()
    active.SetFocalPoint(*focus)
    active.SetPosition(*(focus + 5.0 * camera.toward))
    active.SetViewUp(*camera.up)
    active.SetParallelScale((box.bottom - box.top) / 2 / camera.scale)
    active.SetClippingRange(0.1, 12.0)
    renderer.camera_set = True
