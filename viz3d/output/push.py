"""The camera comes nearer to the hip: a drawn picture enlarged about it, and the camera that sees it so.

Question answered: how does this solid layer look from so much nearer?

Through an orthographic camera nothing but its scale tells near from far, so a nearer view of the same pose is the same
picture, larger: none is drawn anew, and distinct pictures stay as many as the poses. Arrows and lever arms are drawn
over it through the nearer camera, arrows still at the film's one scale of force, lever arms with the bones; the bar of
length says how long it has become. Where the enlarged picture ends it fades into the page.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from viz3d.arrays import Array
from viz3d.output.paint import Pixels, paper
from viz3d.output.views import sheet_views
from viz3d.stage.camera import Camera, nearer
from viz3d.stage.canvas import Canvas
from viz3d.stage.drawing import Mark, Stroke

RATIO = 1.12
"""How much larger the hip is seen at the nearest."""
_BITS = 7
_ONE = 1 << _BITS
"""A whole weight: small enough that a colour times a weight is a short number, which is worked on fast."""
_SIDE, _BELOW = 26.0, 70.0
"""Over so much the enlarged picture fades into the page at its sides, and below where bones end above the band, u."""


@dataclass(frozen=True)
class Place:
    """Where the camera has got to: ``near`` from 0 to 1; the hip's pixel as drawn and as seen from here, (2,)."""

    near: float
    hip: Array
    seen: Array

    @property
    def ratio(self) -> float:
        """How much larger the main view is seen."""
        return float(RATIO**self.near)

    def moved(self, points: Array) -> Array:
        """Where pixels (..., 2) of the main view have got to."""
        return np.asarray(self.seen + self.ratio * (points - self.hip))

    def camera(self, camera: Camera, point: Array) -> Camera:
        """The camera that sees the main view so; ``point``: the hip in the world, (3,)."""
        return nearer(camera, point, self.seen, self.ratio)


class Push:
    """Enlarges one sheet's solid layers."""

    def __init__(self, sheet: Canvas) -> None:
        box, u = sheet_views(sheet)[0].box, sheet.u
        right = min(box.right, sheet.cards.left - 20 * u) if sheet.cards.shown else box.right
        self.left, self.top, self.right, self.bottom = int(box.left), int(box.top), int(right), int(box.bottom)
        self.page = paper(sheet.size, sheet.colours)
        self.fade = self._fade(sheet)

    def _fade(self, sheet: Canvas) -> NDArray[np.float32]:
        """How much of the enlarged picture shows at each pixel where the camera is nearest, (height, width, 1)."""
        u, (start, end, out) = sheet.u, sheet.fades
        x, y = np.arange(self.left, self.right), np.arange(self.top, self.bottom)
        across = np.minimum(x - self.left, self.right - 1 - x) / (_SIDE * u)
        down = (y - start) / max(end - start, 1.0)
        down = np.minimum(down, (self.bottom - y) / (_BELOW * u)) if out else down
        both = [np.clip(v, 0.0, 1.0) for v in (across, down)]
        both = [v * v * (3.0 - 2.0 * v) for v in both]
        return np.asarray(both[1][:, None, None] * both[0][None, :, None], dtype=np.float32)

    def enlarged(self, solid: Pixels, place: Place) -> Pixels:
        """A solid layer seen from a place; the empty page stays as it is."""
        corners = np.array([[self.left, self.top], [self.right, self.bottom]], dtype=float)
        low, high = np.clip(place.hip + (corners - place.seen) / place.ratio, 0.0, solid.shape[1::-1])
        weight = np.rint(_ONE - place.near * (_ONE - _ONE * self.fade)).astype(np.int16)
        things = np.subtract(self._resized(solid, low, high), self._resized(self.page, low, high), dtype=np.int16)
        things *= weight
        things += _ONE // 2
        things >>= _BITS
        here = (slice(self.top, self.bottom), slice(self.left, self.right))
        out = solid.copy()
        things += self.page[here]
        out[here] = np.clip(things, 0, 255, out=things)
        return out

    def _resized(self, picture: Pixels, low: Array, high: Array) -> Pixels:
        size, box = (self.right - self.left, self.bottom - self.top), (*low.tolist(), *high.tolist())
        return np.asarray(Image.fromarray(picture).resize(size, Image.Resampling.BICUBIC, box))


def moved_strokes(marks: list[Mark], place: Place) -> list[Mark]:
    """Lines that lie upon the solid layer, moved with it."""
    return [dataclasses.replace(m, points=place.moved(m.points)) for m in marks if isinstance(m, Stroke)]
