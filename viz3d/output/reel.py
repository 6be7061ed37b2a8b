"""A film laid out: its shots as sheets, its clips as streams of pictures, and how one passes into the next.

Question answered: what does frame n look like?

Where only the layers change, one picture dissolves into the other. Where the body, the hands' things or the view
change, arrows and words go first, then the bones dissolve or the camera moves along a smooth path, and arrows and words
come back: none is ever drawn on the way, where it would not be to scale.
"""

from __future__ import annotations

import contextlib
import dataclasses
from collections.abc import Generator
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.output.figures import figure_of
from viz3d.output.layers import solid_frames
from viz3d.output.paint import Painter, Pixels
from viz3d.output.pieces import Setup
from viz3d.output.vector import ghost_marks
from viz3d.output.views import camera_at, sheet_views
from viz3d.progress import Progress
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import eased, frame_times
from viz3d.solution.refuse import refuse_unheld
from viz3d.solution.script import Clip, Script, Shot
from viz3d.solution.solved import Solved
from viz3d.stage.camera import Camera, between
from viz3d.stage.canvas import Canvas, Framing
from viz3d.stage.card_boxes import CURVE
from viz3d.stage.crop import centre_of
from viz3d.stage.drawing import Mark
from viz3d.stage.sheets import lay_out

_AWAY = 0.25
"""Share of such a change in which arrows and words go, and again in which they come."""


@dataclass(frozen=True)
class DrawnClip:
    """One clip, ready to be drawn: its setup, its rows of film frames and which of them look alike."""

    clip: Clip
    setup: Setup
    anew: bool
    """True where it comes in with another body or view, not only with other layers."""
    rows: NDArray[np.intp]
    """Rows of the plan for frames ``clip.first`` to ``clip.end``."""
    alike: NDArray[np.intp]
    """A number per frame: equal where the solid layer is the same."""

    def row(self, n: int) -> int:
        """The plan's row of film frame n."""
        return int(self.rows[n - self.clip.first])


@dataclass(frozen=True)
class Reel:
    """A whole film: ``count`` frames in drawn clips."""

    drawn: list[DrawnClip]
    shots: list[Shot]
    count: int
    size: tuple[int, int]

    @property
    def distinct(self) -> int:
        """How many solid pictures are drawn."""
        return sum(len(np.unique(s.alike)) for s in self.drawn)

    @property
    def last(self) -> tuple[Setup, int]:
        """The setup and row of the last frame."""
        return self.drawn[-1].setup, self.drawn[-1].row(self.count - 1)

    def painted(self, executor: Executor | None, keep: bool, progress: Progress | None) -> Generator[Pixels]:
        """Every frame in order, (height, width, 3); memory stays flat whatever the length."""
        with contextlib.ExitStack() as open_ones:
            reading = [Reading(one, executor, keep) for one in self.drawn]
            for one in reading:
                open_ones.callback(one.close)
            for n in range(self.count):
                now = [r for r in reading if r.drawn.clip.first <= n < r.drawn.clip.end]
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
    shots, clips = Script(scene, file).film()
    for shot in shots:
        refuse_unheld(shot.scene, shot.solved, strict)
    sheets = _sheets(scene, shots, clips, size)
    figures = [figure_of(sheet.plan, shot.body, bones, "film") for shot, sheet in zip(shots, sheets, strict=True)]
    shown = [sheets[c.shot].showing(c.scene.picture.shown) for c in clips]
    paths: list[dict[int, Camera]] = [{} for _ in clips]
    for k in range(1, len(clips)):
        if _moves(shots, clips, k):
            _lay_path(shots, clips, shown, paths, k)
    drawn = []
    for k, clip in enumerate(clips):
        shot = shots[clip.shot]
        rows = np.searchsorted(shot.rows, np.arange(clip.first, clip.end))
        alike = _apart(frame_groups(shot.solved)[rows], rows, paths[k])
        sheet = shown[k].moving(paths[k]) if paths[k] else shown[k]
        drawn.append(
            DrawnClip(clip, Setup(sheet, figures[clip.shot]), k > 0 and clip.shot != clips[k - 1].shot, rows, alike)
        )
    return Reel(drawn, shots, len(frame_times(scene)), size)


def _sheets(scene: Scene, shots: list[Shot], clips: list[Clip], size: tuple[int, int]) -> list[Canvas]:
    """One sheet a shot: one middle, one force scale, and the whole film's course on each."""
    silent = scene.film.captions in ("track", "none")

    def fitted(shot: Shot, framing: Framing | None = None, placed: bool = True) -> Canvas:
        sheet = lay_out(shot.scene, shot.solved, size, framing, placed)
        if silent:
            sheet.plan = dataclasses.replace(sheet.plan, captions=[""] * len(sheet.plan))
        return sheet

    if len(shots) == 1:
        return [fitted(shots[0])]
    sheets = [fitted(shot, placed=False) for shot in shots]
    still = [s for s in sheets if s.view != "joint"] or sheets
    least = min(s.per_weight for s in still)
    middle = centre_of([s.plan for s in still], still[0].measures.frame)
    scale = min(s.scale_about(middle) for s in still)
    sheets = [
        fitted(x, Framing(middle, least, scale) if s.view != "joint" else Framing(middle))
        for x, s in zip(shots, sheets, strict=True)
    ]
    course = (frame_times(scene), _course(shots, clips, len(frame_times(scene))))
    for sheet in sheets:
        sheet.plan = dataclasses.replace(sheet.plan, course=course)
    return sheets


def _course(shots: list[Shot], clips: list[Clip], count: int) -> NDArray[np.float64]:
    """Joint force in body weights at every frame; a shot that comes in counts from the middle of its transition on."""
    out = np.zeros(count)
    for clip in clips:
        frames = np.arange(clip.first + clip.transition // 2, clip.end)
        out[frames] = shots[clip.shot].solved.joint_bw[np.searchsorted(shots[clip.shot].rows, frames)]
    return out


def frame_groups(solved: Solved) -> NDArray[np.intp]:
    """First frame that looks like each frame: holds repeat one picture, (N,)."""
    columns = [np.asarray(getattr(solved.posture, f.name), dtype=float) for f in dataclasses.fields(solved.posture)]
    torque = solved.hip.abductor_torque * np.ones(len(solved.times))
    rows = np.column_stack([*columns, solved.step, solved.load.joint_force, torque])
    _, first, inverse = np.unique(np.nan_to_num(rows), axis=0, return_index=True, return_inverse=True)
    return np.asarray(first[inverse.ravel()])


# ---- passing from one clip to the next -------------------------------------------------------------------


def _moves(shots: list[Shot], clips: list[Clip], k: int) -> bool:
    """True where the view changes as clip k comes in."""
    if k == 0 or clips[k].transition == 0:
        return False
    return shots[clips[k].shot].scene.picture.view != shots[clips[k - 1].shot].scene.picture.view


def _lay_path(
    shots: list[Shot], clips: list[Clip], sheets: list[Canvas], paths: list[dict[int, Camera]], k: int
) -> None:
    """Add the cameras of clip k's transition, for the clip that goes and for the one that comes."""
    clip = clips[k]
    for n in range(clip.first, clip.first + clip.transition):
        ends, rows = [], []
        for one in (k - 1, k):
            row = shots[clips[one].shot].row(n)
            ends.append(camera_at(sheets[one], sheet_views(sheets[one])[0], row))
            rows.append(row)
        part = float(eased(np.array([(_progress(clip, n) - _AWAY) / (1.0 - 2.0 * _AWAY)]))[0])
        camera = between(ends[0], ends[1], part)
        paths[k - 1][rows[0]] = paths[k][rows[1]] = camera


def _apart(alike: NDArray[np.intp], rows: NDArray[np.intp], cameras: dict[int, Camera]) -> NDArray[np.intp]:
    """The same groups, but for frames with a camera of their own."""
    own = np.array([int(r) in cameras for r in rows], dtype=bool)
    return np.where(own, alike.max(initial=0) + 1 + rows, alike)


def _progress(clip: Clip, n: int) -> float:
    return (n - clip.first + 0.5) / clip.transition


def _passing(going: Reading, coming: Reading, n: int) -> Pixels:
    """Frame n while one clip passes into the next."""
    part = _progress(coming.drawn.clip, n)
    if not coming.drawn.anew:
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
    """A clip being read from its first frame to its last."""

    def __init__(self, drawn: DrawnClip, executor: Executor | None, keep: bool) -> None:
        self.drawn, self._executor, self._keep = drawn, executor, keep
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
        solid, sheet = self.solid(n), self.drawn.setup.sheet
        row = self.drawn.row(n)
        same = (self._group, row if CURVE in sheet.cards.boxes else 0)  # the curve's dot moves on through a hold
        known = self._painted.get(bare)
        if known is not None and known[0] == same:
            return known[1]
        painter = Painter(sheet.size, solid, sheet.theme.face)
        painter.marks([*([] if bare else self._ghost), *sheet.drawing(row, bare).over], sheet.colours["paper_top"])
        self._painted[bare] = (same, painter.pixels())
        return self._painted[bare][1]
