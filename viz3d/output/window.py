"""An off-screen window of orthographic views with solid shapes in it.

Question answered: which pixels do these shapes cover, lit as every picture of ours is?

Drawn at twice the size and reduced, which is both cleaner and faster than the library's own anti-aliasing in software.
Colours are baked per vertex: material times contact shadow.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from viz3d.arrays import Array
from viz3d.shapes.build import Shape
from viz3d.shapes.surface import Surface
from viz3d.stage.camera import Camera
from viz3d.stage.drawing import Box
from viz3d.stage.palette import rgb

Pixels = NDArray[np.uint8]
OVER = 2
"""Shapes are drawn this many times larger and reduced."""
_SHADE_FLOOR = 0.58
_WARM = np.array([0.015, 0.058, 0.105])
"""Parts of red, green and blue that the warmest places lose; greys lose their mean and stay grey."""
LIGHTS = (
    ((0.45, 0.85, 1.0), "#FFF6E8", 0.80),
    ((-0.9, 0.15, 0.6), "#ECEBEA", 0.36),
    ((0.1, -1.0, 0.3), "#F2EEE6", 0.12),
)
"""Place (camera frame), colour and power: warm key from upper right, cool fill, weak light from below."""
AMBIENT, DIFFUSE = 0.36, 0.78
SHINE = {"metal": 0.75, "ceramic": 0.5}
"""Material -> how strongly it mirrors the lamps; bone and skin are matt."""
_GLOSS = 26.0
"""Shares of a colour that all light and the lamps bring out."""


@dataclass(frozen=True)
class View:
    """One camera and the part of the window it fills, in whole pixels."""

    name: str
    box: Box
    camera: Camera
    skin: bool = False


@dataclass
class Actor:
    """A shape in a view: the library's actor, and the mesh whose "colour" may be repainted."""

    shape: Shape
    actor: Any
    mesh: Any


@dataclass
class Lines:
    """Straight pieces in a view."""

    actor: Any
    mesh: Any

    def show(self, ends: Array, colours: Array) -> None:
        """Draw pieces between ``ends`` (S, 2, 3), each in its colour (S, 3), fractions."""
        import pyvista as pv

        self.actor.SetVisibility(len(ends) > 0)
        if len(ends) > 0:
            self.mesh.copy_from(_pieces(pv, ends, colours))


def unlight(actor: Any) -> None:
    """Show an actor's colours as they are, whatever the lights."""
    look = actor.GetProperty()
    look.SetLighting(False)
    look.SetAmbient(0.0)
    look.SetDiffuse(1.0)


def lines_in(plotter: Any, wide: float) -> Lines:
    """Lines in the plotter's present view, ``wide`` of its pixels, without lighting."""
    import pyvista as pv

    mesh = _pieces(pv, np.zeros((1, 2, 3)), np.zeros((1, 3)))
    actor = plotter.add_mesh(
        mesh, scalars="colour", rgb=True, lighting=False, line_width=wide, reset_camera=False, render=False
    )
    return Lines(actor, mesh)


def _pieces(pv: Any, ends: Array, colours: Array) -> Any:
    """Straight pieces (S, 2, 3) in colours (S, 3) as the library's mesh."""
    count = len(ends)
    cells = np.column_stack([np.full(count, 2), np.arange(2 * count).reshape(count, 2)]).ravel()
    mesh = pv.PolyData(ends.reshape(-1, 3).astype(np.float32), lines=cells)
    mesh.point_data["colour"] = np.repeat(np.clip(255 * colours, 0, 255).astype(np.uint8), 2, axis=0)
    return mesh


def baked_colours(surface: Surface, colour: str) -> Array:
    """Colour of each vertex under its contact shadow, warmer where muscles fasten, (V, 3) fractions of at most 1."""
    base = np.array(rgb(colour))
    if surface.warm is None:
        return shaded(base, surface.shade)
    loss = _WARM if np.ptp(base) > 0.01 else np.full(3, np.mean(_WARM))
    return shaded(base * (1.0 - surface.warm[:, None] * loss), surface.shade)


def shaded(colours: Array, shade: Array) -> Array:
    """Colours, (3,) or (V, 3), under a contact shadow (V,): (V, 3) fractions of at most 1."""
    return np.asarray(np.minimum(colours * (_SHADE_FLOOR + (1.0 - _SHADE_FLOOR) * shade[:, None]), 1.0))


def reshape(mesh: Any, points: Array, normals: Array) -> None:
    """Move a lit surface's vertices, (V, 3), and turn their normals."""
    mesh.points[:] = points
    mesh.point_data["Normals"][:] = normals
    mesh.GetPoints().Modified()
    mesh.GetPointData().GetArray("Normals").Modified()


def bytes_of(colours: Array) -> Pixels:
    """Fractions as a picture's numbers."""
    return np.clip(255 * colours, 0, 255).astype(np.uint8)


class Window:
    """An off-screen window; close it when done.

    Parameters
    ----------
    size : (width, height) of the picture, pixels. views : what is drawn where; boxes in whole pixels.
    over : how many times larger it is drawn and reduced; 1 leaves smoothing to the library.
    """

    def __init__(self, size: tuple[int, int], views: list[View], over: int = OVER) -> None:
        import pyvista as pv

        self._pv, self._over = pv, over
        self.size, self.views = size, views
        width, height = size
        plotter = pv.Plotter(
            off_screen=True, window_size=(width * over, height * over), shape=(1, len(views)), border=False,
            lighting="none",
        )  # fmt: skip
        plotter.ren_win.SetAlphaBitPlanes(1)
        plotter.ren_win.SetMultiSamples(0 if over > 1 else 4)
        for k, view in enumerate(views):
            plotter.subplot(0, k)
            plotter.disable_anti_aliasing()
            box, renderer = view.box, plotter.renderers[k]
            renderer.SetViewport(box.left / width, 1 - box.bottom / height, box.right / width, 1 - box.top / height)
            renderer.SetBackground(0, 0, 0)
            renderer.SetBackgroundAlpha(0.0)
            self._aim(renderer, view.camera, box)
        for place, colour, power in LIGHTS:
            light = pv.Light(light_type="camera light", color=colour, intensity=power)
            light.position, light.focal_point = place, (0, 0, 0)
            plotter.add_light(light)
        self.plotter = plotter

    def close(self) -> None:
        """Free the window."""
        self.plotter.close()

    def add(self, k: int, shape: Shape, colour: str, frame: Array | None = None, lit: bool = True) -> Actor:
        """Put a shape into view k; ``frame`` (4, 4) places its link, ``lit``: under the lights."""
        colours = np.clip(255 * baked_colours(shape.surface, colour), 0, 255).astype(np.uint8)
        actor, mesh = self.add_surface(k, shape.surface, colours)
        if shape.material in SHINE:
            actor.GetProperty().SetSpecular(SHINE[shape.material])
            actor.GetProperty().SetSpecularPower(_GLOSS)
        if not lit:
            unlight(actor)
        if frame is not None:
            actor.user_matrix = frame
        return Actor(shape, actor, mesh)

    def add_surface(
        self, k: int, surface: Surface, colours: Pixels, grain: tuple[Array, Pixels] | None = None
    ) -> tuple[Any, Any]:
        """Put a lit surface with colours (V, 3) into view k; its actor and mesh.

        ``grain``: places (V, 2) in an image (height, width, 3) that its colours are multiplied by.
        """
        mesh = self._poly(surface)
        if grain is not None:
            mesh.active_texture_coordinates = grain[0].astype(np.float32)
        mesh.point_data["Normals"] = surface.normals.astype(np.float32)
        mesh.point_data.active_normals_name = "Normals"
        mesh.point_data["colour"] = colours
        self.plotter.subplot(0, k)
        actor = self.plotter.add_mesh(
            mesh, scalars="colour", rgb=True, ambient=AMBIENT, diffuse=DIFFUSE, specular=0.0, smooth_shading=False,
            reset_camera=False, render=False,
        )  # fmt: skip
        actor.GetProperty().SetInterpolationToGouraud()
        if grain is not None:
            texture = self._pv.Texture(grain[1])
            texture.SetInterpolate(True)
            texture.SetRepeat(False)
            texture.SetEdgeClamp(True)
            actor.SetTexture(texture)
        return actor, mesh

    def add_film(self, k: int, mesh: Any, colour: str) -> Any:
        """Lay one unlit colour on a surface that is there already; its actor."""
        self.plotter.subplot(0, k)
        actor = self.plotter.add_mesh(
            mesh, color=colour, scalars=None, lighting=False, reset_camera=False, render=False, copy_mesh=False
        )
        actor.mapper.SetScalarVisibility(False)
        actor.mapper.SetResolveCoincidentTopologyToPolygonOffset()
        actor.mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(0.0, -8.0)
        return actor

    def add_unlit(self, k: int, surface: Surface) -> Any:
        """Put a surface without lighting into view k; its "facing" colours are painted per frame."""
        mesh = self._poly(surface)
        mesh.point_data["facing"] = np.zeros((len(surface.points), 3), dtype=np.uint8)
        self.plotter.subplot(0, k)
        self.plotter.add_mesh(mesh, scalars="facing", rgb=True, lighting=False, reset_camera=False, render=False)
        return mesh

    def add_lines(self, k: int, wide: float) -> Lines:
        """Put lines without lighting into view k, ``wide`` pixels; where they run is said per frame."""
        self.plotter.subplot(0, k)
        return lines_in(self.plotter, wide * self._over)

    def hide(self, k: int) -> None:
        """Draw nothing in view k."""
        self.plotter.renderers[k].SetDraw(False)

    def aim(self, k: int, camera: Camera) -> None:
        """Turn view k to another camera."""
        self._aim(self.plotter.renderers[k], camera, self.views[k].box)

    def draw(self) -> None:
        """Draw all views; :meth:`part` then fetches them."""
        self.plotter.ren_win.Render()

    def part(self, k: int) -> Pixels:
        """View k as it was drawn last, (box height, box width, 4), colours multiplied by coverage."""
        return self._fetched(self.views[k].box)

    def read(self) -> Pixels:
        """Draw and fetch everything, (height, width, 4), colours multiplied by coverage."""
        self.draw()
        return self._fetched(Box(0, 0, *self.size))

    def _fetched(self, box: Box) -> Pixels:
        from vtkmodules.util.numpy_support import vtk_to_numpy
        from vtkmodules.vtkCommonCore import vtkUnsignedCharArray

        over, grabbed = self._over, vtkUnsignedCharArray()
        left, right = over * int(box.left), over * int(box.right)
        low, high = over * (self.size[1] - int(box.bottom)), over * (self.size[1] - int(box.top))
        self.plotter.ren_win.GetRGBACharPixelData(left, low, right - 1, high - 1, 0, grabbed)
        pixels = vtk_to_numpy(grabbed).reshape(high - low, right - left, 4)
        if over == 1:
            return np.asarray(pixels[::-1])
        small = Image.frombuffer("CMYK", (right - left, high - low), pixels, "raw", "CMYK", 0, 1)
        return np.asarray(small.reduce(over))[::-1]

    def _poly(self, surface: Surface) -> Any:
        triangles = surface.triangles
        faces = np.column_stack([np.full(len(triangles), 3, dtype=np.int32), triangles]).ravel()
        return self._pv.PolyData(surface.points.astype(np.float32), faces)

    @staticmethod
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
