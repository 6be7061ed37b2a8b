"""Clips read from their first frame to their last, and how one passes into the next.

Question answered: which pixels has film frame n?
"""

from __future__ import annotations

from collections.abc import Generator
from concurrent.futures import Executor

import numpy as np

from viz3d.output.clips import AWAY, DrawnClip, progress
from viz3d.output.layers import solid_frames
from viz3d.output.paint import Painter, Pixels
from viz3d.output.push import Place, Push, moved_strokes
from viz3d.output.vector import ghost_marks
from viz3d.scene.timeline import eased
from viz3d.stage.card_boxes import CURVE
from viz3d.stage.drawing import Mark


def passing(going: Reading, coming: Reading, n: int) -> Pixels:
    """Frame n while one clip passes into the next."""
    part = progress(coming.drawn.clip, n)
    if not coming.drawn.anew:
        return mixed(going.picture(n), coming.picture(n), float(eased(np.array([part]))[0]))
    if part < AWAY:
        coming.solid(n)
        return mixed(going.picture(n), going.picture(n, bare=True), part / AWAY)
    if part > 1.0 - AWAY:
        going.solid(n)
        return mixed(coming.picture(n, bare=True), coming.picture(n), (part - 1.0 + AWAY) / AWAY)
    middle = float(eased(np.array([(part - AWAY) / (1.0 - 2.0 * AWAY)]))[0])
    gone, come = going.picture(n, bare=True), coming.picture(n, bare=True)
    both, band = mixed(gone, come, middle), round(coming.drawn.setup.sheet.band.top) - 4
    both[band:] = (gone if middle < 0.5 else come)[band:]  # words do not dissolve into words
    return both


def mixed(a: Pixels, b: Pixels, share: float) -> Pixels:
    """``share`` of b and the rest of a."""
    part = np.float32(share)
    return np.asarray(a + (b.astype(np.float32) - a) * part + np.float32(0.5), dtype=np.uint8)


class Reading:
    """A clip being read from its first frame to its last."""

    def __init__(self, drawn: DrawnClip, executor: Executor | None, keep: bool) -> None:
        self.drawn, self._executor, self._keep = drawn, executor, keep
        self._solids: Generator[Pixels] | None = None
        self._left = -1
        self._group = -1
        self._solid: Pixels = np.zeros((0, 0, 3), dtype=np.uint8)
        self._painted: dict[tuple[bool, int], tuple[tuple[object, ...], Pixels]] = {}
        self._ghost: list[Mark] = []
        self._push: Push | None = None
        self._nearer: tuple[tuple[object, ...], Pixels] | None = None

    def close(self) -> None:
        """Stop drawing; what was drawn to its end is kept."""
        if self._solids is not None:
            if self._left == 0:
                next(self._solids, None)
            self._solids.close()

    def solid(self, n: int) -> Pixels:
        """The solid layer of film frame n; frames are asked for in rising order."""
        alike, clip = self.drawn.alike, self.drawn.clip
        if self._solids is None:
            starts = np.flatnonzero(np.concatenate([[True], alike[1:] != alike[:-1]]))
            frames = [int(r) for r in self.drawn.rows[starts]]
            self._solids = solid_frames(self.drawn.setup, frames, self._executor, self._keep)
            self._left = len(frames)
            self._ghost = ghost_marks(self.drawn.setup.sheet, self.drawn.setup.figure)
        group = int(alike[n - clip.first])
        if group != self._group:
            self._group, self._solid = group, next(self._solids)
            self._left -= 1
        return self._solid

    def picture(self, n: int, bare: bool = False) -> Pixels:
        """Film frame n with its marks."""
        low, high, share = self.drawn.words(n)
        if bare or share == 0.0:
            return self._with_words(n, bare, low)
        return mixed(self._with_words(n, bare, low), self._with_words(n, bare, high), share)

    def _with_words(self, n: int, bare: bool, groups: int) -> Pixels:
        """Film frame n with the first groups of its words."""
        solid, sheet, row, place = self.solid(n), self.drawn.setup.sheet, self.drawn.row(n), self.drawn.place(n)
        dot = row if CURVE in sheet.cards.boxes else 0  # the curve's dot moves on through a hold
        same = (self._group, dot, sheet.plan.captions[row], *_seen(place))
        known = self._painted.get((bare, groups))
        if known is not None and known[0] == same:
            return known[1]
        shown, ghost = sheet.saying(groups), [] if bare else self._ghost
        if place is not None:
            solid = self._from_nearer(solid, place)
            shown = shown.through(place.camera(sheet.camera, sheet.plan.hip[row]))
            ghost = moved_strokes(ghost, place)
        painter = Painter(sheet.size, solid, sheet.theme.face)
        painter.marks([*ghost, *shown.drawing(row, bare).over], sheet.colours["paper_top"])
        self._painted[bare, groups] = (same, painter.pixels())
        return self._painted[bare, groups][1]

    def _from_nearer(self, solid: Pixels, place: Place) -> Pixels:
        """A solid layer seen from a place; the last one is kept."""
        same = (self._group, *_seen(place))
        if self._nearer is None or self._nearer[0] != same:
            self._push = self._push or Push(self.drawn.setup.sheet)
            self._nearer = (same, self._push.enlarged(solid, place))
        return self._nearer[1]


def _seen(place: Place | None) -> tuple[float, ...]:
    """What tells places of the camera apart."""
    return () if place is None else (place.near, *place.hip.tolist(), *place.seen.tolist())
