"""Clips read from their first frame to their last, and how one passes into the next.

Question answered: which pixels has film frame n?

Solid layers are asked for in order, by one thread; what is painted on them is begun with *hands*, which may be threads:
a picture is a future. Hands take up work in the order in which it is begun, and a picture is begun after those that it
is made of, so none waits for one that nobody has taken up.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Generator
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from typing import TypeVar

import numpy as np

from viz3d.output.clips import AWAY, DrawnClip, progress
from viz3d.output.layers import solid_frames
from viz3d.output.paint import Painter, Pixels
from viz3d.output.push import Place, Push, moved_strokes
from viz3d.output.vector import ghost_marks
from viz3d.scene.timeline import eased
from viz3d.stage.canvas import Canvas
from viz3d.stage.card_boxes import CURVE
from viz3d.stage.drawing import Mark

T = TypeVar("T")
MOST_HANDS = 8
"""Threads that paint: each holds a few pictures."""


class Here(Executor):
    """An executor that does everything at once, in the thread that asks."""

    def submit(self, fn: Callable[..., T], /, *args: object, **kwargs: object) -> Future[T]:
        """Do it."""
        done: Future[T] = Future()
        done.set_result(fn(*args, **kwargs))
        return done


def hands_for(executor: Executor | None) -> tuple[Executor, int]:
    """Who paints while others draw the solid layers, and how many pictures ahead: threads of this process, one picture
    each; this process itself where it draws them too."""
    count = 0 if executor is None else min(os.cpu_count() or 1, MOST_HANDS)
    return (ThreadPoolExecutor(count, "paint"), count) if count else (Here(), 0)


def passing(going: Reading, coming: Reading, n: int) -> Future[Pixels]:
    """Frame n while one clip passes into the next, begun."""
    part = progress(coming.drawn.clip, n)
    if not coming.drawn.anew:
        return coming.mix(going.begun(n), coming.begun(n), float(eased(np.array([part]))[0]))
    if part < AWAY:
        coming.solid(n)
        return coming.mix(going.begun(n), going.begun(n, bare=True), part / AWAY)
    if part > 1.0 - AWAY:
        going.solid(n)
        return coming.mix(coming.begun(n, bare=True), coming.begun(n), (part - 1.0 + AWAY) / AWAY)
    middle = float(eased(np.array([(part - AWAY) / (1.0 - 2.0 * AWAY)]))[0])
    gone, come = going.begun(n, bare=True), coming.begun(n, bare=True)
    band = round(coming.drawn.setup.sheet.band.top) - 4
    return coming.hands.submit(_dissolved, gone, come, middle, band)


def _dissolved(gone: Future[Pixels], come: Future[Pixels], share: float, band: int) -> Pixels:
    """One picture dissolved into another; below ``band`` either is there: words do not dissolve into words."""
    both = mixed(gone.result(), come.result(), share)
    both[band:] = (gone if share < 0.5 else come).result()[band:]
    return both


def mixed(a: Pixels, b: Pixels, share: float) -> Pixels:
    """``share`` of b and the rest of a."""
    part = np.float32(share)
    return np.asarray(a + (b.astype(np.float32) - a) * part + np.float32(0.5), dtype=np.uint8)


class Reading:
    """A clip being read from its first frame to its last.

    Parameters
    ----------
    executor : who draws its solid layers; None for this thread. keep : read and write the cache. hands : who paints.
    """

    def __init__(self, drawn: DrawnClip, executor: Executor | None, keep: bool, hands: Executor | None = None) -> None:
        self.drawn, self.hands, self._executor, self._keep = drawn, hands or Here(), executor, keep
        self._solids: Generator[Pixels] | None = None
        self._left = -1
        self._group = -1
        self._solid: Pixels = np.zeros((0, 0, 3), dtype=np.uint8)
        self._painted: dict[tuple[bool, int], tuple[tuple[object, ...], Future[Pixels]]] = {}
        self._ghost: list[Mark] = []
        self._push: Push | None = None
        self._nearer: tuple[tuple[object, ...], Future[Pixels]] | None = None

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
        return self.begun(n, bare).result()

    def begun(self, n: int, bare: bool = False) -> Future[Pixels]:
        """Film frame n with its marks, begun."""
        low, high, share = self.drawn.words(n)
        if bare or share == 0.0:
            return self._with_words(n, bare, low)
        return self.mix(self._with_words(n, bare, low), self._with_words(n, bare, high), share)

    def mix(self, a: Future[Pixels], b: Future[Pixels], share: float) -> Future[Pixels]:
        """``share`` of b and the rest of a, begun."""
        return self.hands.submit(lambda: mixed(a.result(), b.result(), share))

    def _with_words(self, n: int, bare: bool, groups: int) -> Future[Pixels]:
        """Film frame n with the first groups of its words; what looks as the last one did is that one."""
        solid, sheet, row, place = self.solid(n), self.drawn.setup.sheet, self.drawn.row(n), self.drawn.place(n)
        dot = row if CURVE in sheet.cards.boxes else 0  # the curve's dot moves on through a hold
        same = (self._group, dot, sheet.plan.captions[row], *_seen(place))
        known = self._painted.get((bare, groups))
        if known is not None and known[0] == same:
            return known[1]
        ghost = [] if bare else self._ghost
        if place is None:
            begun = self.hands.submit(lambda: _painted(solid, ghost, sheet.saying(groups), row, bare))
        else:
            nearer = self._from_nearer(solid, place)
            begun = self.hands.submit(
                lambda: _painted(
                    nearer.result(),
                    moved_strokes(ghost, place),
                    sheet.saying(groups).through(place.camera(sheet.camera, sheet.plan.hip[row])),
                    row,
                    bare,
                )
            )
        self._painted[bare, groups] = (same, begun)
        return begun

    def _from_nearer(self, solid: Pixels, place: Place) -> Future[Pixels]:
        """A solid layer seen from a place, begun; the last one is kept."""
        same = (self._group, *_seen(place))
        if self._nearer is None or self._nearer[0] != same:
            push = self._push = self._push or Push(self.drawn.setup.sheet)
            self._nearer = (same, self.hands.submit(lambda: push.enlarged(solid, place)))
        return self._nearer[1]


def _painted(solid: Pixels, ghost: list[Mark], shown: Canvas, row: int, bare: bool) -> Pixels:
    """A solid layer with the marks of a row of what is shown."""
    painter = Painter(shown.size, solid, shown.theme.face)
    painter.marks([*ghost, *shown.drawing(row, bare).over], shown.colours["paper_top"])
    return painter.pixels()


def _seen(place: Place | None) -> tuple[float, ...]:
    """What tells places of the camera apart."""
    return () if place is None else (place.near, *place.hip.tolist(), *place.seen.tolist())
