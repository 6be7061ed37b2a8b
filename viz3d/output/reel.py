"""A film laid out: its looks as sheets, its cuts as streams of pictures, and how one passes into the next.

Question answered: what does frame n look like?

Where only the layers change, one picture dissolves into the other. Where the body, the hands' things or the view
change, arrows and words go first, then the bones dissolve or the camera moves along a smooth path, and arrows and words
come back: none is ever drawn on the way, where it would not be to scale. Called by film.
"""

from __future__ import annotations

import contextlib
import dataclasses
from collections.abc import Generator
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.output.layers import Shot, solid_frames
from viz3d.output.paint import Painter, Pixels
from viz3d.output.still import Progress, lay_out, refuse_unheld
from viz3d.output.vector import ghost_marks
from viz3d.output.views import camera_at, sheet_views
from viz3d.scene.picture import LAYERS
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import eased, frame_times
from viz3d.shapes.skeleton import build_figure
from viz3d.solution.inputs import body_of
from viz3d.solution.looks import Cut, Look, looks_of_film
from viz3d.solution.solve import Solved
from viz3d.stage.camera import Camera, between
from viz3d.stage.cards import CURVE
from viz3d.stage.drawing import Mark
from viz3d.stage.layout import Framing, Sheet, middle_of

_AWAY = 0.25
"""Share of such a change in which arrows and words go, and again in which they come."""


@dataclass(frozen=True)
class Strip:
    """One cut, ready to be drawn: its shot, its rows of film frames and which of them look alike."""

    cut: Cut
    shot: Shot
    anew: bool
    """True where it comes in with another body or view, not only with other layers."""
    rows: NDArray[np.intp]
    """Rows of the plan for frames ``cut.first`` to ``cut.end``."""
    alike: NDArray[np.intp]
    """A number per frame: equal where the solid layer is the same."""

    def row(self, n: int) -> int:
        """The plan's row of film frame n."""
        return int(self.rows[n - self.cut.first])


@dataclass(frozen=True)
class Reel:
    """A whole film: ``count`` frames in strips."""

    strips: list[Strip]
    looks: list[Look]
    count: int
    size: tuple[int, int]

    @property
    def distinct(self) -> int:
        """How many solid pictures are drawn."""
        return sum(len(np.unique(s.alike)) for s in self.strips)

    @property
    def last(self) -> tuple[Shot, int]:
        """The shot and row of the last frame."""
        return self.strips[-1].shot, self.strips[-1].row(self.count - 1)

    def painted(self, executor: Executor | None, keep: bool, progress: Progress | None) -> Generator[Pixels]:
        """Every frame in order, (height, width, 3); memory stays flat whatever the length."""
        with contextlib.ExitStack() as open_ones:
            reading = [Reading(strip, executor, keep) for strip in self.strips]
            for one in reading:
                open_ones.callback(one.close)
            for n in range(self.count):
                now = [r for r in reading if r.strip.cut.first <= n < r.strip.cut.end]
                pixels = now[-1].picture(n) if len(now) == 1 else _passing(now[-2], now[-1], n)
                if progress:
                    progress("frame", n, self.count)
                yield pixels
        if progress:
            progress("frame", self.count, self.count)


def make_reel(
    scene: Scene, file: str, size: tuple[int, int], strict: bool = False, bones: Progress | None = None
) -> Reel:
    """Solve a scene's film and lay it out.

    Raises
    ------
    RenderError, InputError, SceneError : one line each.
    """
    looks, cuts = looks_of_film(scene, file)
    for look in looks:
        refuse_unheld(look.scene, look.solved, strict)
    sheets = _sheets(scene, looks, cuts, size)
    figures = [
        build_figure(body_of(look.scene), bones, sheet.plan.aids, "film")
        for look, sheet in zip(looks, sheets, strict=True)
    ]
    shown = [sheets[c.look].showing(c.scene.picture.layers or LAYERS) for c in cuts]
    paths: list[dict[int, Camera]] = [{} for _ in cuts]
    for k in range(1, len(cuts)):
        if _moves(looks, cuts, k):
            _lay_path(looks, cuts, shown, paths, k)
    strips = []
    for k, cut in enumerate(cuts):
        look = looks[cut.look]
        rows = np.searchsorted(look.rows, np.arange(cut.first, cut.end))
        alike = _apart(frame_groups(look.solved)[rows], rows, paths[k])
        sheet = shown[k].moving(paths[k]) if paths[k] else shown[k]
        strips.append(Strip(cut, Shot(sheet, figures[cut.look]), k > 0 and cut.look != cuts[k - 1].look, rows, alike))
    return Reel(strips, looks, len(frame_times(scene)), size)


def _sheets(scene: Scene, looks: list[Look], cuts: list[Cut], size: tuple[int, int]) -> list[Sheet]:
    """One sheet a look: one middle, one force scale, and the whole film's course on each."""
    silent = scene.film.captions in ("track", "none")

    def fitted(look: Look, framing: Framing | None = None, placed: bool = True) -> Sheet:
        sheet = lay_out(look.scene, look.solved, size, framing, placed)
        if silent:
            sheet.plan = dataclasses.replace(sheet.plan, captions=[""] * len(sheet.plan))
        return sheet

    if len(looks) == 1:
        return [fitted(looks[0])]
    sheets = [fitted(look, placed=False) for look in looks]
    still = [s for s in sheets if s.view != "joint"] or sheets
    least = min(s.per_weight for s in still)
    middle = middle_of([s.plan for s in still])
    sheets = [
        fitted(x, Framing(middle, least if s.view != "joint" else None)) for x, s in zip(looks, sheets, strict=True)
    ]
    course = (frame_times(scene), _course(looks, cuts, len(frame_times(scene))))
    for sheet in sheets:
        sheet.plan = dataclasses.replace(sheet.plan, course=course)
    return sheets


def _course(looks: list[Look], cuts: list[Cut], count: int) -> NDArray[np.float64]:
    """Joint force in body weights at every frame, of the look that is coming in from the middle of its opening on."""
    out = np.zeros(count)
    for cut in cuts:
        frames = np.arange(cut.first + cut.opening // 2, cut.end)
        out[frames] = looks[cut.look].solved.joint_bw[np.searchsorted(looks[cut.look].rows, frames)]
    return out


def frame_groups(solved: Solved) -> NDArray[np.intp]:
    """First frame that looks like each frame: holds repeat one picture, (N,)."""
    p, load = solved.posture, solved.load
    rows = np.column_stack(
        [p.lean, p.obliquity, p.share, p.lifted, p.clearance, p.cane_force, p.bag_mass, p.backpack, p.trunk_shift,
         p.swing_abduction, p.heel_lift, solved.step, load.joint_force,
         solved.hip.abductor_torque * np.ones(len(p.lean))]
    )  # fmt: skip
    _, first, inverse = np.unique(np.nan_to_num(rows), axis=0, return_index=True, return_inverse=True)
    return np.asarray(first[inverse.ravel()])


# ---- passing from one cut to the next -------------------------------------------------------------------


def _moves(looks: list[Look], cuts: list[Cut], k: int) -> bool:
    """True where the view changes as cut k comes in."""
    if k == 0 or cuts[k].opening == 0:
        return False
    return looks[cuts[k].look].scene.picture.view != looks[cuts[k - 1].look].scene.picture.view


def _lay_path(looks: list[Look], cuts: list[Cut], sheets: list[Sheet], paths: list[dict[int, Camera]], k: int) -> None:
    """Add the cameras of cut k's opening, for the cut that goes and for the one that comes."""
    cut = cuts[k]
    for n in range(cut.first, cut.first + cut.opening):
        ends, rows = [], []
        for one in (k - 1, k):
            row = looks[cuts[one].look].row(n)
            ends.append(camera_at(sheets[one], sheet_views(sheets[one])[0], row))
            rows.append(row)
        part = float(eased(np.array([(_progress(cut, n) - _AWAY) / (1.0 - 2.0 * _AWAY)]))[0])
        camera = between(ends[0], ends[1], part)
        paths[k - 1][rows[0]] = paths[k][rows[1]] = camera


def _apart(alike: NDArray[np.intp], rows: NDArray[np.intp], cameras: dict[int, Camera]) -> NDArray[np.intp]:
    """The same groups, but for frames with a camera of their own."""
    own = np.array([int(r) in cameras for r in rows], dtype=bool)
    return np.where(own, alike.max(initial=0) + 1 + rows, alike)


def _progress(cut: Cut, n: int) -> float:
    return (n - cut.first + 0.5) / cut.opening


def _passing(going: Reading, coming: Reading, n: int) -> Pixels:
    """Frame n while one cut passes into the next."""
    part = _progress(coming.strip.cut, n)
    if not coming.strip.anew:
        return _mixed(going.picture(n), coming.picture(n), float(eased(np.array([part]))[0]))
    if part < _AWAY:
        coming.solid(n)
        return _mixed(going.picture(n), going.picture(n, bare=True), part / _AWAY)
    if part > 1.0 - _AWAY:
        going.solid(n)
        return _mixed(coming.picture(n, bare=True), coming.picture(n), (part - 1.0 + _AWAY) / _AWAY)
    middle = float(eased(np.array([(part - _AWAY) / (1.0 - 2.0 * _AWAY)]))[0])
    return _mixed(going.picture(n, bare=True), coming.picture(n, bare=True), middle)


def _mixed(a: Pixels, b: Pixels, share: float) -> Pixels:
    """``share`` of b and the rest of a."""
    part = np.float32(share)
    return np.asarray(a + (b.astype(np.float32) - a) * part + np.float32(0.5), dtype=np.uint8)


class Reading:
    """A strip being read from its first frame to its last."""

    def __init__(self, strip: Strip, executor: Executor | None, keep: bool) -> None:
        self.strip, self._executor, self._keep = strip, executor, keep
        self._solids: Generator[Pixels] | None = None
        self._left = -1
        self._group = -1
        self._solid: Pixels = np.zeros((0, 0, 3), dtype=np.uint8)
        self._painted: dict[bool, tuple[tuple[int, int], Pixels]] = {}
        self._ghost: list[Mark] = []

    def close(self) -> None:
        """Stop drawing; what was drawn to its end is kept."""
        if self._solids is not None:
            if self._left == 0:
                next(self._solids, None)
            self._solids.close()

    def solid(self, n: int) -> Pixels:
        """The solid layer of film frame n; frames are asked for in rising order."""
        alike, cut = self.strip.alike, self.strip.cut
        if self._solids is None:
            starts = np.flatnonzero(np.concatenate([[True], alike[1:] != alike[:-1]]))
            frames = [int(r) for r in self.strip.rows[starts]]
            self._solids = solid_frames(self.strip.shot, frames, self._executor, self._keep)
            self._left = len(frames)
            self._ghost = ghost_marks(self.strip.shot.sheet, self.strip.shot.figure)
        group = int(alike[n - cut.first])
        if group != self._group:
            self._group, self._solid = group, next(self._solids)
            self._left -= 1
        return self._solid

    def picture(self, n: int, bare: bool = False) -> Pixels:
        """Film frame n with its marks."""
        solid, sheet = self.solid(n), self.strip.shot.sheet
        row = self.strip.row(n)
        same = (self._group, row if CURVE in sheet.cards.boxes else 0)  # the curve's dot moves on through a hold
        known = self._painted.get(bare)
        if known is not None and known[0] == same:
            return known[1]
        painter = Painter(sheet.size, solid, sheet.theme.face)
        painter.marks([*([] if bare else self._ghost), *sheet.drawing(row, bare).over], sheet.colours["paper_top"])
        self._painted[bare] = (same, painter.pixels())
        return self._painted[bare][1]
