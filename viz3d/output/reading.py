"""Clips read from their first frame to their last, and how one passes into the next.

Question answered: of which pictures is film frame n made?

Solid layers are asked for in order, by one thread; what is made of them is begun with *hands*, which may be threads: a
picture is a future. Hands take up work in the order in which it is begun, and a picture is begun after those that it
is made of, so none waits for one that nobody has taken up.

What a picture is, a *brush* knows: pixels (:class:`Paint`), or a digest of everything that its pixels depend on
(:class:`viz3d.output.stretches.Tell`). Both go the same way through a film, so that what is told is what is painted.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Generator
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from typing import Any, Generic, Protocol, TypeVar

import numpy as np

from viz3d.output.clips import AWAY, DrawnClip, progress
from viz3d.output.layers import solid_frames
from viz3d.output.paint import Painter, Pixels
from viz3d.output.pieces import Setup
from viz3d.output.push import Place, Push, moved_strokes
from viz3d.output.vector import ghost_marks
from viz3d.scene.timeline import eased
from viz3d.stage.canvas import Canvas
from viz3d.stage.card_boxes import CURVE
from viz3d.stage.drawing import Mark

T = TypeVar("T")
MOST_HANDS = 8
"""Threads that paint: each holds a few pictures."""


class Brush(Protocol[T]):
    """Makes the pictures of one clip."""

    def solids(self, frames: list[int], wanted: Collection[int] | None) -> Generator[T]:
        """The solid layers of a plan's rows in order; ``wanted``: places in ``frames``, None for all."""

    def nearer(self, solid: T, place: Place) -> T:
        """A solid layer seen from a place."""

    def painted(self, solid: T, ghost: list[Mark], shown: Canvas, row: int, bare: bool) -> T:
        """A solid layer with the marks of a row of what is shown."""

    def mixed(self, a: T, b: T, share: float) -> T:
        """``share`` of b and the rest of a."""

    def dissolved(self, gone: T, come: T, share: float, band: int) -> T:
        """One picture dissolved into another; below ``band`` either is there: words do not dissolve into words."""


class Paint:
    """Pixels.

    Parameters
    ----------
    executor : who draws solid layers; None for this thread. keep : read and write the cache.
    """

    def __init__(self, setup: Setup, executor: Executor | None, keep: bool) -> None:
        self.setup, self._executor, self._keep = setup, executor, keep
        self._push: Push | None = None

    def solids(self, frames: list[int], wanted: Collection[int] | None) -> Generator[Pixels]:
        """The solid layers, drawn or kept."""
        return solid_frames(self.setup, frames, self._executor, self._keep, wanted)

    def nearer(self, solid: Pixels, place: Place) -> Pixels:
        """The solid layer, enlarged."""
        self._push = self._push or Push(self.setup.sheet)
        return self._push.enlarged(solid, place)

    def painted(self, solid: Pixels, ghost: list[Mark], shown: Canvas, row: int, bare: bool) -> Pixels:
        """Marks over a solid layer."""
        painter = Painter(shown.size, solid, shown.theme.face)
        painter.marks([*ghost, *shown.drawing(row, bare).over], shown.colours["paper_top"])
        return painter.pixels()

    def mixed(self, a: Pixels, b: Pixels, share: float) -> Pixels:
        """Pixel by pixel."""
        return mixed(a, b, share)

    def dissolved(self, gone: Pixels, come: Pixels, share: float, band: int) -> Pixels:
        """Pixel by pixel down to the band."""
        both = mixed(gone, come, share)
        both[band:] = (gone if share < 0.5 else come)[band:]
        return both


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


def passing(going: Reading[T], coming: Reading[T], n: int) -> Future[T]:
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
    band, brush = round(coming.drawn.setup.sheet.band.top) - 4, coming.brush
    return coming.hands.submit(lambda: brush.dissolved(gone.result(), come.result(), middle, band))


def mixed(a: Pixels, b: Pixels, share: float) -> Pixels:
    """``share`` of b and the rest of a."""
    part = np.float32(share)
    return np.asarray(a + (b.astype(np.float32) - a) * part + np.float32(0.5), dtype=np.uint8)


class Reading(Generic[T]):
    """A clip being read from its first frame to its last.

    Parameters
    ----------
    brush : makes its pictures. hands : who does that. wanted : film frames that will be asked for; None for all.
    """

    def __init__(
        self, drawn: DrawnClip, brush: Brush[T], hands: Executor | None = None, wanted: Collection[int] | None = None
    ) -> None:
        self.drawn, self.brush, self.hands, self._wanted = drawn, brush, hands or Here(), wanted
        alike = drawn.alike
        self._starts = np.flatnonzero(np.concatenate([[True], alike[1:] != alike[:-1]]))
        self._solids: Generator[T] | None = None
        self._solid: T | None = None
        self._at = -1
        self._painted: dict[tuple[bool, int], tuple[tuple[object, ...], Future[T]]] = {}
        self._ghost: list[Mark] = []
        self._nearer: tuple[tuple[object, ...], Future[T]] | None = None

    def close(self) -> None:
        """Stop drawing; what was drawn to its end is kept."""
        if self._solids is not None:
            if self._at == len(self._starts) - 1:
                next(self._solids, None)
            self._solids.close()

    def solid(self, n: int) -> T:
        """The solid layer of film frame n; frames are asked for in rising order."""
        if self._solids is None:
            frames = [int(r) for r in self.drawn.rows[self._starts]]
            clip, wanted = self.drawn.clip, self._wanted
            here = None if wanted is None else {self._run(m) for m in wanted if clip.first <= m < clip.end}
            self._solids = self.brush.solids(frames, here)
            self._ghost = ghost_marks(self.drawn.setup.sheet, self.drawn.setup.figure)
        while self._at < self._run(n):
            self._solid = next(self._solids)
            self._at += 1
        if self._solid is None:
            raise AssertionError
        return self._solid

    def _run(self, n: int) -> int:
        """Which of the clip's solid layers film frame n has."""
        return int(np.searchsorted(self._starts, n - self.drawn.clip.first, "right")) - 1

    def picture(self, n: int, bare: bool = False) -> T:
        """Film frame n with its marks."""
        return self.begun(n, bare).result()

    def begun(self, n: int, bare: bool = False) -> Future[T]:
        """Film frame n with its marks, begun."""
        low, high, share = self.drawn.words(n)
        if bare or share == 0.0:
            return self._with_words(n, bare, low)
        return self.mix(self._with_words(n, bare, low), self._with_words(n, bare, high), share)

    def mix(self, a: Future[T], b: Future[T], share: float) -> Future[T]:
        """``share`` of b and the rest of a, begun."""
        return self.hands.submit(lambda: self.brush.mixed(a.result(), b.result(), share))

    def _with_words(self, n: int, bare: bool, groups: int) -> Future[T]:
        """Film frame n with the first groups of its words; what looks as the last one did is that one."""
        solid, sheet, row, place = self.solid(n), self.drawn.setup.sheet, self.drawn.row(n), self.drawn.place(n)
        dot = row if CURVE in sheet.cards.boxes else 0  # the curve's dot moves on through a hold
        same = (self._alike(n), dot, sheet.plan.captions[row], *seen_from(place))
        known = self._painted.get((bare, groups))
        if known is not None and known[0] == same:
            return known[1]
        ghost, brush = [] if bare else self._ghost, self.brush
        if place is None:
            begun = self.hands.submit(lambda: brush.painted(solid, ghost, sheet.saying(groups), row, bare))
        else:
            nearer = self._from_nearer(n, solid, place)
            begun = self.hands.submit(
                lambda: brush.painted(
                    nearer.result(),
                    moved_strokes(ghost, place),
                    sheet.saying(groups).through(place.camera(sheet.camera, sheet.plan.hip[row])),
                    row,
                    bare,
                )
            )
        self._painted[bare, groups] = (same, begun)
        return begun

    def _alike(self, n: int) -> int:
        return int(self.drawn.alike[n - self.drawn.clip.first])

    def _from_nearer(self, n: int, solid: T, place: Place) -> Future[T]:
        """A solid layer seen from a place, begun; the last one is kept."""
        same = (self._alike(n), *seen_from(place))
        if self._nearer is None or self._nearer[0] != same:
            self._nearer = (same, self.hands.submit(lambda: self.brush.nearer(solid, place)))
        return self._nearer[1]


def seen_from(place: Place | None) -> tuple[Any, ...]:
    """What tells places of the camera apart."""
    return () if place is None else (place.near, *place.hip.tolist(), *place.seen.tolist())
