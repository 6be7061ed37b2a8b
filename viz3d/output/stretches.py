"""Stretches of a film, encoded one by one and kept: a change of a step's words encodes that stretch anew, and no other.

Question answered: which stretches of this film look as they did in an earlier one?

A stretch is a step's change or its hold. Its frames are first *told*, not painted: every picture becomes a digest of
everything that its pixels depend on, on the very way through the film on which it would be painted. What was encoded
under the same digests is taken as it is; the film is the stretches one after the other, whether they are new or kept,
so that both give the same bytes.
"""

from __future__ import annotations

import contextlib
import hashlib
import itertools
from collections.abc import Collection, Generator, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from viz3d.kept import kept
from viz3d.output.encode import encode_video, find_encoder
from viz3d.output.files import sources
from viz3d.output.layers import pieces_folder, pieces_of
from viz3d.output.paint import Pixels
from viz3d.output.pieces import Pieces, Setup, keep_within
from viz3d.output.push import Place
from viz3d.output.reading import Reading, seen_from
from viz3d.output.reel import Reel, begun_frame
from viz3d.output.views import sheet_views
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import frame_times
from viz3d.stage.canvas import Canvas
from viz3d.stage.drawing import Mark

LARGEST_BYTES = 500_000_000
"""Most that is kept of stretches; those used longest ago go first."""


class Tell:
    """Digests in place of pixels.

    Parameters
    ----------
    same : what holds for all pictures of the film.
    """

    def __init__(self, setup: Setup, same: bytes) -> None:
        self.setup, sheet = setup, setup.sheet
        told = [sheet_views(sheet)[0].box, sheet.u, sheet.cards.left, sheet.cards.shown, sheet.fades]
        self._same = _digest(same, repr((told, sheet.size, sorted(sheet.colours.items()))).encode())

    def solids(self, frames: list[int], wanted: Collection[int] | None) -> Generator[bytes]:
        """The names under which pieces are kept, and places in them."""
        store = Pieces(self.setup, pieces_folder())
        for piece in pieces_of(frames):
            name = store.path(piece).stem.encode()
            yield from (_digest(name, bytes([k])) for k in range(len(piece)))

    def nearer(self, solid: bytes, place: Place) -> bytes:
        """Of a solid layer and a place."""
        return _digest(self._same, solid, repr(seen_from(place)).encode())

    def painted(self, solid: bytes, ghost: list[Mark], shown: Canvas, row: int, bare: bool) -> bytes:
        """Of a solid layer and marks."""
        return _digest(self._same, solid, _written([*ghost, *shown.drawing(row, bare).over]))

    def mixed(self, a: bytes, b: bytes, share: float) -> bytes:
        """Of two pictures and a share."""
        return a if a == b else _digest(a, b, repr(float(share)).encode())

    def dissolved(self, gone: bytes, come: bytes, share: float, band: int) -> bytes:
        """Of two pictures, a share and a height."""
        return _digest(gone, come, repr((float(share), band)).encode())


def told(reel: Reel, own: Sequence[Path] = ()) -> list[bytes]:
    """A digest of each frame of a film; ``own``: files beside the scene that its words depend on."""
    same = _digest(sources().encode(), *(path.read_bytes() for path in own))
    with contextlib.ExitStack() as reading_them:
        reading = [Reading(one, Tell(one.setup, same)) for one in reel.drawn]
        for one in reading:
            reading_them.callback(one.close)
        return [begun_frame(reading, n).result() for n in range(reel.count)]


@dataclass(frozen=True)
class FilmStretch:
    """Frames ``first`` to ``end`` of a film; ``name``: under which they are kept."""

    first: int
    end: int
    name: str


def stretches(scene: Scene, reel: Reel, keep_them: bool) -> list[FilmStretch]:
    """A film's stretches in order; those that nobody keeps are named by their places, and nothing has to be told."""
    ends = [*_starts(scene, reel.count), reel.count]
    if not keep_them:
        return [FilmStretch(a, b, f"{a}") for a, b in itertools.pairwise(ends)]
    named = [name for name in (scene.picture.font, scene.picture.palette) if name]
    frames, rate = told(reel, [scene.folder / name for name in named]), scene.picture.frames_per_second
    encoder = Path(find_encoder())
    settings = repr((reel.size, rate, encoder.name, encoder.stat().st_size)).encode()
    return [FilmStretch(a, b, _digest(settings, *frames[a:b]).hex()[:40]) for a, b in itertools.pairwise(ends)]


def _starts(scene: Scene, count: int) -> list[int]:
    """Frames at which a step's change or its hold begins."""
    spans = [span for step in scene.steps for span in (step.change, step.hold)]
    times = np.concatenate([[0.0], np.cumsum(spans)])
    frames = np.searchsorted(frame_times(scene), times - 1e-9)
    return sorted({int(n) for n in frames if n < count} | {0})


class Encoded:
    """Encoded stretches; ``keep``: look for them among those kept, and keep new ones."""

    def __init__(self, all_: list[FilmStretch], size: tuple[int, int], rate: int, keep_them: bool) -> None:
        self.all, self.size, self.rate = all_, size, rate
        self.folder = pieces_folder() / "stretches" if keep_them else None
        self._found = {one.name: self._kept(one) for one in all_}

    @property
    def missing(self) -> list[FilmStretch]:
        """Those that are to be encoded, each look once."""
        first = {one.name: one for one in reversed(self.all) if self._found[one.name] is None}
        return sorted(first.values(), key=lambda one: one.first)

    @property
    def frames(self) -> list[int]:
        """The frames that are to be painted."""
        return [n for one in self.missing for n in range(one.first, one.end)]

    def encode(self, pictures: Iterator[Pixels], place: Path) -> list[Path]:
        """Every stretch as a file in a folder, in order; ``pictures``: of :attr:`frames`.

        Raises
        ------
        RenderError : the encoder stopped. OSError : the disk is full.
        """
        for one in self.missing:
            path = place / f"{one.name}.mp4"
            encode_video(itertools.islice(pictures, one.end - one.first), self.size, self.rate, path)
            self._keep(one, path.read_bytes())
        next(pictures, None)
        for name, data in self._found.items():
            if data is not None:
                (place / f"{name}.mp4").write_bytes(data)
        return [place / f"{one.name}.mp4" for one in self.all]

    def _kept(self, one: FilmStretch) -> bytes | None:
        return kept(self.folder / f"{one.name}.mp4") if self.folder else None

    def _keep(self, one: FilmStretch, data: bytes) -> None:
        if self.folder is not None:
            keep_within(self.folder / f"{one.name}.mp4", data, LARGEST_BYTES)


def _written(marks: list[Mark]) -> bytes:
    """Everything that marks' pixels depend on; no text of ours holds the sign between its parts."""
    out = bytearray()
    for mark in marks:
        out += type(mark).__name__.encode()
        for value in vars(mark).values():
            if isinstance(value, np.ndarray):
                out += f"{value.dtype}{value.shape}\x1f".encode() + value.tobytes()
            else:
                out += f"{value!r}\x1f".encode()
    return bytes(out)


def _digest(*parts: bytes) -> bytes:
    """Of parts in order, each with its length."""
    whole = hashlib.sha256()
    for part in parts:
        whole.update(len(part).to_bytes(8, "little") + part)
    return whole.digest()
