"""A film laid out: its shots as sheets, its clips as streams of pictures, and how one passes into the next.

Question answered: what does frame n look like?

Where only the layers change, one picture dissolves into the other. Where the body, the hands' things or the view
change, arrows and words go first, then the bones dissolve or the camera moves along a smooth path, and arrows and words
come back: none is ever drawn on the way, where it would not be to scale. Both pictures of a dissolve put the pelvis on
one place of the page, so that bones which stay as they are do not dissolve. While a number changes, the words but the
joint's are away and the camera is nearer (:mod:`viz3d.scene.rhythm`, :mod:`viz3d.output.push`).
"""

from __future__ import annotations

import contextlib
import dataclasses
import itertools
from collections import deque
from collections.abc import Generator, Sequence
from concurrent.futures import Executor, Future
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.output.clips import AWAY, DrawnClip, progress
from viz3d.output.figures import figure_of
from viz3d.output.paint import Pixels
from viz3d.output.pieces import Setup
from viz3d.output.push import RATIO
from viz3d.output.reading import Paint, Reading, T, hands_for, passing
from viz3d.output.views import camera_at, sheet_views
from viz3d.progress import Progress
from viz3d.scene.rhythm import Rhythm, rhythm_of
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import eased, frame_times
from viz3d.solution.refuse import refuse_unheld
from viz3d.solution.script import Clip, Script, Shot
from viz3d.solution.solved import Solved
from viz3d.stage.camera import Camera, between
from viz3d.stage.canvas import Canvas, Framing
from viz3d.stage.crop import centre_of
from viz3d.stage.sheets import lay_out


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

    def painted(
        self, executor: Executor | None, keep: bool, progress: Progress | None, some: Sequence[int] | None = None
    ) -> Generator[Pixels]:
        """Every frame in order, or some in rising order, (height, width, 3); memory stays flat whatever the length."""
        frames = range(self.count) if some is None else some
        wanted = None if some is None else set(some)
        with contextlib.ExitStack() as open_ones:
            hands, ahead = hands_for(executor)
            open_ones.enter_context(hands)
            reading = [Reading(one, Paint(one.setup, executor, keep), hands, wanted) for one in self.drawn]
            for one in reading:
                open_ones.callback(one.close)
            begun: deque[Future[Pixels]] = deque()
            for k in range(len(frames) + ahead):
                if k < len(frames):
                    begun.append(begun_frame(reading, frames[k]))
                if k < ahead:
                    continue
                pixels = begun.popleft().result()
                if progress:
                    progress("frame", k - ahead, len(frames))
                yield pixels
        if progress and len(frames):
            progress("frame", len(frames), len(frames))


def begun_frame(reading: list[Reading[T]], n: int) -> Future[T]:
    """Film frame n, begun, of clips that are being read."""
    now = [r for r in reading if r.drawn.clip.first <= n < r.drawn.clip.end]
    return now[-1].begun(n) if len(now) == 1 else passing(now[-2], now[-1], n)


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
    rhythm = rhythm_of(scene)
    asides = _asides(shots, clips, shown, rhythm)
    drawn = []
    for k, clip in enumerate(clips):
        shot = shots[clip.shot]
        rows = np.searchsorted(shot.rows, np.arange(clip.first, clip.end))
        alike = _apart(frame_groups(shot.solved)[rows], rows, paths[k])
        sheet = shown[k].moving(paths[k]) if paths[k] else shown[k]
        drawn.append(
            DrawnClip(
                clip,
                Setup(sheet, figures[clip.shot]),
                k > 0 and clip.shot != clips[k - 1].shot,
                rows,
                alike,
                rhythm,
                asides[k],
            )
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
    framings = {frame: _framing([s for s in still if s.measures.frame == frame], least) for frame in _frames(still)}
    sheets = [fitted(x, _framed(s, framings)) for x, s in zip(shots, sheets, strict=True)]
    course = (frame_times(scene), _course(shots, clips, len(frame_times(scene))))
    for sheet in sheets:
        sheet.plan = dataclasses.replace(sheet.plan, course=course)
    return sheets


def _frames(sheets: list[Canvas]) -> list[str]:
    return list(dict.fromkeys(s.measures.frame for s in sheets))


def _framing(sheets: list[Canvas], per_newton: float) -> Framing:
    """One middle and one scale for sheets that show as much of the person."""
    middle = centre_of([s.plan for s in sheets], sheets[0].measures.frame)
    return Framing(middle, per_newton, min(s.scale_about(middle) for s in sheets))


def _framed(sheet: Canvas, framings: dict[str, Framing]) -> Framing:
    """What a sheet shares with others; a view into the socket its middle alone."""
    framing = framings.get(sheet.measures.frame) or next(iter(framings.values()))
    return framing if sheet.view != "joint" else Framing(framing.centre)


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
    gone = 0.0 if solved.gait is None else solved.gait.gone
    rows = np.column_stack([*columns, solved.step, solved.load.joint_force, torque, gone + np.zeros(len(torque))])
    _, first, inverse = np.unique(np.nan_to_num(rows), axis=0, return_index=True, return_inverse=True)
    return np.asarray(first[inverse.ravel()])


def frozen_share(scene: Scene) -> float:
    """Share of a film's frames that look like the one before, without regard to a curve's dot; nothing is drawn."""
    shots, clips = Script(scene).film()
    rhythm, count = rhythm_of(scene), len(frame_times(scene))
    looks: list[tuple[object, ...]] = [(rhythm.near[n], rhythm.told[n]) for n in range(count)]
    for k, clip in enumerate(clips):
        alike = frame_groups(shots[clip.shot].solved)
        for n in range(clip.first, clip.end):
            passes = n if n < clip.first + clip.transition else -1
            looks[n] = (*looks[n], k, int(alike[shots[clip.shot].row(n)]), passes)
    return float(np.mean([a == b for a, b in itertools.pairwise(looks)])) if count > 1 else 1.0


# ---- passing from one clip to the next -------------------------------------------------------------------


def _moves(shots: list[Shot], clips: list[Clip], k: int) -> bool:
    """True where the view, or how much of the person it shows, changes as clip k comes in."""
    if k == 0 or clips[k].transition == 0:
        return False
    now, before = (shots[clips[n].shot].scene.picture for n in (k, k - 1))
    return (now.view, now.framed) != (before.view, before.framed)


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
        part = float(eased(np.array([(progress(clip, n) - AWAY) / (1.0 - 2.0 * AWAY)]))[0])
        camera = between(ends[0], ends[1], part)
        paths[k - 1][rows[0]] = paths[k][rows[1]] = camera


def _asides(shots: list[Shot], clips: list[Clip], sheets: list[Canvas], rhythm: Rhythm) -> list[tuple[Array, Array]]:
    """How far each clip's hip is moved at its ends: both pictures of a dissolve have the pelvis in one place."""
    out = [[np.zeros(2), np.zeros(2)] for _ in clips]
    for k in range(1, len(clips)):
        n = clips[k].first
        if clips[k].shot == clips[k - 1].shot or clips[k].transition == 0 or rhythm.near[n] < 1.0:
            continue
        places = []
        for one in (k - 1, k):
            plan, row = sheets[one].plan, shots[clips[one].shot].row(n)
            hip, pelvis = sheets[one].camera.project(np.stack([plan.hip[row], plan.frames["pelvis"][row, :3, 3]]))
            places.append(hip + RATIO * (pelvis - hip))
        half = (places[1] - places[0]) / 2
        out[k - 1][1], out[k][0] = half, -half
    return [(a, b) for a, b in out]


def _apart(alike: NDArray[np.intp], rows: NDArray[np.intp], cameras: dict[int, Camera]) -> NDArray[np.intp]:
    """The same groups, but for frames with a camera of their own."""
    own = np.array([int(r) in cameras for r in rows], dtype=bool)
    return np.where(own, alike.max(initial=0) + 1 + rows, alike)
