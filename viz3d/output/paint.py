"""Painting a drawing's marks on pixels: anti-aliased shapes by Agg, words by FreeType.

Question answered: how do these marks look over this picture?

The frame itself is the painter's canvas, so nothing is blended twice.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.path import Path
from matplotlib.transforms import Affine2D
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from viz3d.stage.drawing import Mark, Shape2D, Stroke, Words
from viz3d.stage.palette import rgb
from viz3d.stage.type import INTER, Face, font, needs_shaping, text_width

Pixels = NDArray[np.uint8]


class Painter:
    """A canvas of one frame.

    Parameters
    ----------
    size : (width, height). picture : (height, width, 3) pixels painted over. face : font of all words.
    """

    def __init__(self, size: tuple[int, int], picture: Pixels, face: Face = INTER) -> None:
        self.width, self.height = size
        self._face = face
        self._agg = RendererAgg(self.width, self.height, 72)
        self._canvas = np.asarray(self._agg.buffer_rgba())
        self._canvas[..., :3] = picture
        self._canvas[..., 3] = 255
        self._flip = Affine2D().scale(1, -1).translate(0, self.height)

    def pixels(self) -> Pixels:
        """The painted frame, (height, width, 3)."""
        return np.ascontiguousarray(self._canvas[..., :3])

    def marks(self, marks: list[Mark], halo: str) -> None:
        """Paint marks in order; ``halo`` is the colour of rims."""
        for mark in marks:
            if isinstance(mark, Words):
                self._words(mark, halo)
            elif isinstance(mark, Shape2D):
                self._shape(mark, halo)
            else:
                self._stroke(mark, halo)

    def _shape(self, mark: Shape2D, halo: str) -> None:
        path = Path(mark.points, closed=False)
        if mark.halo > 0:
            self._line(_closed(mark.points), halo, 2 * mark.halo)
        gc = self._agg.new_gc()
        gc.set_linewidth(0.0)
        gc.set_alpha(mark.opacity)
        self._agg.draw_path(gc, path, self._flip, (*rgb(mark.fill), mark.opacity))
        gc.restore()

    def _stroke(self, mark: Stroke, halo: str) -> None:
        if mark.halo > 0:
            self._line(Path(mark.points), halo, mark.width + 2 * mark.halo, mark.dash)
        self._line(Path(mark.points), mark.colour, mark.width, mark.dash, mark.opacity)

    def _line(
        self, path: Path, colour: str, width: float, dash: tuple[float, float] | None = None, opacity: float = 1.0
    ) -> None:
        gc = self._agg.new_gc()
        gc.set_alpha(opacity)
        gc.set_linewidth(width)
        gc.set_foreground(colour)
        gc.set_capstyle("butt")
        gc.set_joinstyle("round")
        if dash:
            gc.set_dashes(0, list(dash))
        self._agg.draw_path(gc, path, self._flip)
        gc.restore()

    def _words(self, mark: Words, halo: str) -> None:
        size = max(6, round(mark.size))
        stroke = round(mark.halo)
        mask, left, top = _mask(mark.text, size, mark.weight, 0, self._face)
        width = text_width(mark.text, size, mark.weight, self._face)
        x = mark.x - {"start": 0.0, "middle": width / 2, "end": width}[mark.anchor]
        if stroke:
            rim, rim_left, rim_top = _mask(mark.text, size, mark.weight, stroke, self._face)
            self._blend(rim, round(x) + rim_left, round(mark.y) + rim_top, halo)
        self._blend(mask, round(x) + left, round(mark.y) + top, mark.colour)

    def _blend(self, mask: Pixels, x: int, y: int, colour: str) -> None:
        tall, wide = mask.shape
        x0, y0, x1, y1 = max(x, 0), max(y, 0), min(x + wide, self.width), min(y + tall, self.height)
        if x0 >= x1 or y0 >= y1:
            return
        share = mask[y0 - y : y1 - y, x0 - x : x1 - x, None].astype(np.float32) / 255
        part = self._canvas[y0:y1, x0:x1, :3]
        ink = np.array(rgb(colour), dtype=np.float32) * 255
        part[:] = (part + share * (ink - part) + 0.5).astype(np.uint8)


def paper(size: tuple[int, int], colours: dict[str, str]) -> Pixels:
    """The empty page: a quiet gradient, a little darker at the edges, (height, width, 3)."""
    width, height = size
    top, bottom = (np.array(rgb(colours[f"paper_{e}"])) for e in ("top", "bottom"))
    y = np.linspace(0, 1, height)[:, None, None]
    x = np.linspace(-1, 1, width)[None, :, None]
    edge = 1.0 - 0.035 * np.clip(x**2 + (2 * y - 1) ** 2 - 0.6, 0, None)
    return np.asarray(np.clip(255 * (top * (1 - y) + bottom * y) * edge, 0, 255).astype(np.uint8))


def _closed(points: NDArray[np.float64]) -> Path:
    codes = np.full(len(points) + 1, Path.LINETO)
    codes[0], codes[-1] = Path.MOVETO, Path.CLOSEPOLY
    return Path(np.concatenate([points, points[:1]]), codes)


@lru_cache(maxsize=2048)
def _mask(text: str, size: int, weight: str, stroke: int, face: Face) -> tuple[Pixels, int, int]:
    """Coverage of one line of text and its offset from the baseline start."""
    letters = font(face, weight, size, needs_shaping(text))
    box = letters.getbbox(text, anchor="ls", stroke_width=stroke)
    left, top = int(np.floor(box[0])) - 1, int(np.floor(box[1])) - 1
    image = Image.new("L", (int(box[2]) - left + 2, int(box[3]) - top + 2))
    ImageDraw.Draw(image).text((-left, -top), text, 255, letters, anchor="ls", stroke_width=stroke)
    return np.asarray(image), left, top
