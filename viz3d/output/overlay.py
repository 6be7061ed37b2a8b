"""Marks of ours in a window of the drawing library: a page behind the figure, and words over it.

Question answered: how do painted pixels get behind and before what the library draws?
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from viz3d.output.paint import Painter, Pixels, paper
from viz3d.stage.drawing import Box, Mark
from viz3d.stage.theme import Theme


def painted(size: tuple[int, int], marks: list[Mark], theme: Theme) -> Pixels:
    """The page with marks on it, (height, width, 3)."""
    ends = tuple((n, theme.colours[n]) for n in ("paper_top", "paper_bottom"))
    painter = Painter(size, _paper(size, ends), theme.face)
    painter.marks(marks, theme.colours["paper_top"])
    return painter.pixels()


@lru_cache(maxsize=2)
def _paper(size: tuple[int, int], ends: tuple[tuple[str, str], ...]) -> Pixels:
    return paper(size, dict(ends))


def see_through(size: tuple[int, int], marks: list[Mark], theme: Theme) -> Pixels:
    """Marks on nothing, (height, width, 4): what black and white paper share is theirs."""
    black, white = (np.full((size[1], size[0], 3), tone, dtype=np.uint8) for tone in (0, 255))
    both = []
    for sheet in (black, white):
        painter = Painter(size, sheet, theme.face)
        painter.marks(marks, theme.colours["paper_top"])
        both.append(painter.pixels())
    out = np.zeros((size[1], size[0], 4), dtype=np.uint8)
    (r, g, b), (red, green, blue) = (np.moveaxis(one, 2, 0) for one in both)
    touched = ((r | g | b) > 0) | ((red & green & blue) < 255)
    dark, light = (one[touched].astype(np.int32) for one in both)
    opaque = np.clip(255 - (light - dark).max(axis=1), 0, 255)
    colour = dark * 255 // np.maximum(opaque, 1)[:, None]
    out[touched] = np.column_stack([np.clip(colour, 0, 255), opaque])
    return out


class Sheet2D:
    """An image over a part of the window, in a layer of its own."""

    def __init__(self, window: Any, layer: int) -> None:
        from vtkmodules.vtkCommonDataModel import vtkImageData
        from vtkmodules.vtkRenderingCore import vtkActor2D, vtkImageMapper, vtkRenderer

        self.renderer = vtkRenderer()
        self.renderer.SetLayer(layer)
        self.renderer.InteractiveOff()
        window.AddRenderer(self.renderer)
        self._image, self._mapper, self._actor = vtkImageData(), vtkImageMapper(), vtkActor2D()
        self._mapper.SetColorWindow(255)
        self._mapper.SetColorLevel(127.5)
        self._mapper.SetInputData(self._image)
        self._actor.SetMapper(self._mapper)
        self.renderer.AddViewProp(self._actor)

    def show(self, pixels: Pixels, box: Box, size: tuple[int, int]) -> None:
        """Show pixels, (height, width, 3 or 4), in a box of a window of this size."""
        from vtkmodules.util.numpy_support import numpy_to_vtk

        tall, wide, parts = pixels.shape
        self._image.SetDimensions(wide, tall, 1)
        array = numpy_to_vtk(np.ascontiguousarray(pixels[::-1]).reshape(-1, parts), deep=True)
        self._image.GetPointData().SetScalars(array)
        self._image.Modified()
        width, height = size
        self.renderer.SetViewport(box.left / width, 1 - box.bottom / height, box.right / width, 1 - box.top / height)
