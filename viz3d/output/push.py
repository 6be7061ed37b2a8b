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
_STRIDE = 2
"""Of so many pixels each way one is asked whether anything is there: with its soft edges, nothing drawn is thinner."""
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
        out = solid.copy()
        here = (slice(self.top, self.bottom), slice(self.left, self.right))
        out[here] = self.page[here]
        part = self._of_things(solid, place)
        if part is None:
            return out
        rows, columns, low, high = part
        size = (columns.stop - columns.start, rows.stop - rows.start)
        things = np.subtract(_resized(solid, size, low, high), _resized(self.page, size, low, high), dtype=np.int16)
        fade = self.fade[rows.start - self.top : rows.stop - self.top, columns.start - self.left :][:, : size[0]]
        things *= np.rint(_ONE - place.near * (_ONE - _ONE * fade)).astype(np.int16)
        things += _ONE // 2
        things >>= _BITS
        things += self.page[rows, columns]
        out[rows, columns] = np.clip(things, 0, 255, out=things)
        return out

    def _of_things(self, solid: Pixels, place: Place) -> tuple[slice, slice, Array, Array] | None:
        """Rows and columns that anything but the page reaches as seen from a place, and their corners as drawn."""
        corners = np.array([[self.left, self.top], [self.right, self.bottom]], dtype=float)
        low, high = np.clip(place.hip + (corners - place.seen) / place.ratio, 0.0, solid.shape[1::-1])
        (x0, y0), (x1, y1) = np.floor(low).astype(int), np.ceil(high).astype(int)
        differs = (solid[y0:y1:_STRIDE, x0:x1:_STRIDE] != self.page[y0:y1:_STRIDE, x0:x1:_STRIDE]).any(axis=2)
        if not differs.any():
            return None
        ends = []
        for axis, first in ((0, x0), (1, y0)):
            there = np.flatnonzero(differs.any(axis=axis)) * _STRIDE + first
            ends.append((there[0] - 2 * _STRIDE, there[-1] + 2 * _STRIDE))
        found = np.array(ends, dtype=float).T
        seen = corners[0] + (found - low) / (high - low) * (corners[1] - corners[0])
        first, last = np.maximum(np.floor(seen[0]), corners[0]), np.minimum(np.ceil(seen[1]), corners[1])
        share = [(edge - corners[0]) / (corners[1] - corners[0]) for edge in (first, last)]
        (left, top), (right, bottom) = first.astype(int), last.astype(int)
        return slice(top, bottom), slice(left, right), low + share[0] * (high - low), low + share[1] * (high - low)


def _resized(picture: Pixels, size: tuple[int, int], low: Array, high: Array) -> Pixels:
    """The part of a picture between two corners, at another size; the corners may lie between pixels."""
    return np.asarray(Image.fromarray(picture).resize(size, Image.Resampling.BICUBIC, (*low.tolist(), *high.tolist())))


def moved_strokes(marks: list[Mark], place: Place) -> list[Mark]:
    """Lines that lie upon the solid layer, moved with it."""
    return [dataclasses.replace(m, points=place.moved(m.points)) for m in marks if isinstance(m, Stroke)]
