"""A film's solid layer: drawn in short pieces, by this process or by workers, and kept for the next time.

Question answered: which pictures of the solid things does this film need, and which were drawn before?

A piece is kept losslessly under a key of everything its pixels depend on: meshes, poses, muscles, pressure, cameras,
size, colours, the drawing code's number, the library's version and the renderer. Words and arrows are not part of it,
so a film whose captions change draws nothing solid anew, and one that was interrupted goes on where it stopped.
Called by film.
"""

from __future__ import annotations

import contextlib
import hashlib
import itertools
import multiprocessing
import os
import pickle
import shutil
import tempfile
from collections import deque
from collections.abc import Generator, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

from viz3d.beside import written_beside
from viz3d.errors import RenderError
from viz3d.output import gl
from viz3d.output.encode import decode_lossless, encode_lossless
from viz3d.output.meshes import MeshLayer
from viz3d.output.views import sheet_views
from viz3d.output.window import Pixels
from viz3d.shapes.cache import user_folder
from viz3d.shapes.skeleton import Figure
from viz3d.stage.canvas import Canvas

DRAWING = 3
"""Raised whenever the drawing code changes how solid things look."""
PIECE = 12
"""Frames of one piece."""
LARGEST_BYTES = 3_000_000_000
"""Most that is kept; the pieces used longest ago go first."""
SPARE_BYTES = 1_000_000_000
"""Nothing is kept where the disk has less than this to spare."""


@dataclass(frozen=True)
class Setup:
    """What is drawn: a sheet and the meshes in it; ``behind``: its part of a larger page, None for its own page."""

    sheet: Canvas
    figure: Figure
    behind: Pixels | None = None


def solid_frames(
    setup: Setup, frames: list[int], executor: Executor | None = None, keep: bool = True
) -> Generator[Pixels]:
    """The solid layer of these frames in order, (height, width, 3) each; memory stays flat.

    Parameters
    ----------
    executor : who draws; None for this process. keep : read and write the cache.

    Raises
    ------
    RenderError : a worker was lost.
    """
    pieces = [frames[k : k + PIECE] for k in range(0, len(frames), PIECE)]
    store = _Store(setup, user_folder() / "films") if keep else None
    if executor is None:
        yield from _drawn_here(setup, pieces, store)
    else:
        yield from _drawn_by(setup, pieces, store, executor)


def _drawn_here(setup: Setup, pieces: list[list[int]], store: _Store | None) -> Iterator[Pixels]:
    size, layer = setup.sheet.size, None
    try:
        for piece in pieces:
            kept = store.find(piece) if store else None
            if kept is not None:
                yield from decode_lossless(kept, size)
                continue
            layer = layer or MeshLayer(setup.sheet, setup.figure, setup.behind)
            drawn = []
            for i in piece:
                drawn.append(layer.frame(i))
                yield drawn[-1]
            if store:
                store.keep(piece, drawn)
    finally:
        if layer is not None:
            layer.close()


def _drawn_by(setup: Setup, pieces: list[list[int]], store: _Store | None, executor: Executor) -> Iterator[Pixels]:
    packed = pickle.dumps(setup, protocol=5)
    near = isinstance(executor, ProcessPoolExecutor)
    waiting: deque[tuple[list[int], Path | Future[bytes]]] = deque()
    ahead = 2 * (os.cpu_count() or 1) + 1
    todo = iter(pieces)
    with tempfile.TemporaryDirectory(prefix="viz3d-") as folder:

        def asked(piece: list[int]) -> Path | Future[bytes]:
            kept = store.find(piece) if store else None
            if kept is None and near:
                raw = Path(folder) / f"{piece[0]}-{len(piece)}"
                return executor.submit(draw_beside, packed, piece, raw, store.folder if store else None)
            return kept or executor.submit(draw_piece, packed, piece)

        try:
            waiting.extend((piece, asked(piece)) for piece in itertools.islice(todo, ahead))
            while waiting:
                piece, source = waiting.popleft()
                if isinstance(source, Path):
                    yield from decode_lossless(source, setup.sheet.size)
                elif near:
                    yield from _mapped(Path(source.result().decode()), setup, len(piece))
                else:
                    yield from _unpacked(setup, piece, source.result(), store)
                waiting.extend((after, asked(after)) for after in itertools.islice(todo, 1))
        except BrokenProcessPool as error:
            raise RenderError(
                "a drawing process was stopped from outside; run again: what was drawn is kept"
            ) from error
        finally:
            for _, source in waiting if not near else ():  # a local pool is stopped whole; cancelling would trip it up
                if not isinstance(source, Path):
                    source.cancel()


def _mapped(raw: Path, setup: Setup, count: int) -> Iterator[Pixels]:
    """The pictures that a worker of this machine left in a file, which is then removed."""
    width, height = setup.sheet.size
    pictures = np.memmap(raw, np.uint8, "r", shape=(count, height, width, 3))
    for picture in pictures:
        yield np.array(picture)
    del pictures
    raw.unlink(missing_ok=True)


def _unpacked(setup: Setup, piece: list[int], data: bytes, store: _Store | None) -> Iterator[Pixels]:
    kept = store.keep_bytes(piece, data) if store else None
    if kept is not None:
        yield from decode_lossless(kept, setup.sheet.size)
        return
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "piece.mkv"
        path.write_bytes(data)
        yield from decode_lossless(path, setup.sheet.size)


# ---- workers --------------------------------------------------------------------------------------------


def local_workers(count: int, threads: int | None = None) -> ProcessPoolExecutor:
    """Processes of this machine, each drawing with an equal share of its cores, or with so many threads."""
    threads = threads or max(1, (os.cpu_count() or 1) // count)
    return ProcessPoolExecutor(count, multiprocessing.get_context("spawn"), _share_cores, (threads,))


def _share_cores(threads: int) -> None:
    os.environ["LP_NUM_THREADS"] = str(threads)
    gl.prepare()


def draw_piece(packed: bytes, frames: list[int]) -> bytes:
    """Frames of a packed setup as one lossless piece, for workers anywhere; windows stay open between pieces."""
    layer = _layer_of(packed)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "piece.mkv"
        encode_lossless((layer.frame(i) for i in frames), layer.sheet.size, 30, path)
        return path.read_bytes()


def draw_beside(packed: bytes, frames: list[int], raw: Path, keep: Path | None) -> bytes:
    """Frames of a packed setup as plain pixels in a file, for workers of this machine; returns its path.

    ``keep``: folder that the piece is also kept in.
    """
    layer = _layer_of(packed)
    pictures = [layer.frame(i) for i in frames]
    with raw.open("wb") as out:
        for picture in pictures:
            out.write(picture.data)
    if keep is not None:
        _store_of(packed, keep).keep(frames, pictures)
    return str(raw).encode()


@lru_cache(maxsize=2)
def _setup_of(packed: bytes) -> Setup:
    setup: Setup = pickle.loads(packed)
    return setup


@lru_cache(maxsize=2)
def _layer_of(packed: bytes) -> MeshLayer:
    gl.prepare()
    setup = _setup_of(packed)
    return MeshLayer(setup.sheet, setup.figure, setup.behind)


@lru_cache(maxsize=2)
def _store_of(packed: bytes, folder: Path) -> _Store:
    return _Store(_setup_of(packed), folder)


# ---- what is kept ---------------------------------------------------------------------------------------


class _Store:
    """Pieces of one setup on disk."""

    def __init__(self, setup: Setup, folder: Path) -> None:
        self.setup, self.folder = setup, folder
        self.same = _fixed_part(setup)

    def path(self, frames: list[int]) -> Path:
        digest = self.same.copy()
        plan = self.setup.sheet.plan
        for link in sorted(plan.frames):
            digest.update(np.ascontiguousarray(plan.frames[link][frames]).tobytes())
        for muscle in plan.muscles:
            for values in (muscle.path, muscle.start, muscle.end, muscle.bulge, muscle.activation):
                digest.update(np.ascontiguousarray(values[frames]).tobytes())
        moving = [self.setup.sheet.cameras.get(i) for i in frames]
        if any(moving):
            digest.update(repr(moving).encode())
        p = plan.pressure
        for some in (p.pole, p.pole_pressure, p.edge, p.peak, p.displacement, plan.hip):
            digest.update(b"-" if some is None else np.ascontiguousarray(some[frames]).tobytes())
        return self.folder / f"{digest.hexdigest()[:40]}.mkv"

    def find(self, frames: list[int]) -> Path | None:
        """The kept piece, marked as used."""
        path = self.path(frames)
        with contextlib.suppress(OSError):
            if path.stat().st_size > 0:
                os.utime(path)
                return path
        return None

    def keep(self, frames: list[int], pictures: list[Pixels]) -> None:
        """Keep drawn pictures; a full disk is no reason to stop a film."""
        with contextlib.suppress(OSError, RenderError):
            if self._has_room():
                with written_beside(self.path(frames)) as temporary:
                    encode_lossless(iter(pictures), self.setup.sheet.size, 30, temporary)
                self._trim()

    def keep_bytes(self, frames: list[int], data: bytes) -> Path | None:
        """Keep a worker's piece; None where there is no room for it."""
        with contextlib.suppress(OSError):
            if self._has_room():
                path = self.path(frames)
                with written_beside(path) as temporary:
                    temporary.write_bytes(data)
                self._trim()
                return path
        return None

    def _has_room(self) -> bool:
        self.folder.mkdir(parents=True, exist_ok=True)
        return shutil.disk_usage(self.folder).free > SPARE_BYTES

    def _trim(self) -> None:
        kept = sorted((p.stat().st_mtime, p.stat().st_size, p) for p in self.folder.glob("*.mkv"))
        total = sum(size for _, size, _ in kept)
        for _, size, path in kept[:-1]:
            if total <= LARGEST_BYTES:
                return
            path.unlink(missing_ok=True)
            total -= size


def _fixed_part(setup: Setup) -> hashlib._Hash:
    """Digest of everything that holds for all frames of a setup."""
    sheet, figure = setup.sheet, setup.figure
    told = [
        DRAWING, gl.renderer(), sheet.size, sheet.view, sorted(sheet.layers), sheet.theme.backdrop,
        sorted(sheet.colours.items()), sorted(sheet.plan.aids.items()), sheet.plan.sign, sheet.fades,
        [(v.name, v.box, v.camera, v.skin) for v in sheet_views(sheet)], sheet.drawing(0).under,
        sheet.plan.pressure.surface, [(m.name, m.belly, m.tendon) for m in sheet.plan.muscles],
        sheet.plan.middle_hip.mean(axis=0).tolist(),
    ]  # fmt: skip
    digest = hashlib.sha256(repr(told).encode())
    for name, shape in sorted(figure.shapes.items()):
        surface = shape.surface
        digest.update(f"{name} {shape.link} {shape.side} {shape.material}".encode())
        for values in (surface.points, surface.triangles, surface.normals, surface.shade):
            digest.update(np.ascontiguousarray(values).tobytes())
    digest.update(pickle.dumps(figure.shell, protocol=5))
    if setup.behind is not None:
        digest.update(setup.behind.tobytes())
    return digest
