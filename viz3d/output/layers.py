"""A film's solid layer: drawn in short pieces, by this process or by workers, and kept for the next time.

Question answered: which pictures of the solid things does this film need, and which were drawn before?

A piece is kept losslessly under a key of everything its pixels depend on: meshes, poses, muscles, pressure, cameras,
size, colours, the drawing code's number, the library's version and the renderer. Words and arrows are not part of it,
so a film whose captions change draws nothing solid anew, and one that was interrupted goes on where it stopped.
"""

from __future__ import annotations

import contextlib
import itertools
import os
import pickle
import tempfile
from collections import deque
from collections.abc import Collection, Generator, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from functools import lru_cache
from pathlib import Path

import numpy as np

from viz3d.atomic import scratch
from viz3d.errors import RenderError
from viz3d.output import gl
from viz3d.output.children import Pool
from viz3d.output.encode import decode_lossless, encode_lossless
from viz3d.output.meshes import MeshLayer
from viz3d.output.pieces import Pieces, Setup
from viz3d.output.window import Pixels
from viz3d.shapes.cache import user_folder

PIECE, SENT = 12, 3
"""Frames of one piece, and of one from elsewhere: short, so that it travels while the next ones are drawn."""
_UNPACKED = 16
"""Pieces from elsewhere that are decoded at once, ahead of the film."""
_NOTHING: Pixels = np.zeros((0, 0, 3), dtype=np.uint8)
"""Stands for a frame that nobody asked for."""


def solid_frames(
    setup: Setup, frames: list[int], executor: Executor | None = None, keep: bool = True,
    wanted: Collection[int] | None = None,
) -> Generator[Pixels]:  # fmt: skip
    """The solid layer of these frames in order, (height, width, 3) each; memory stays flat.

    Parameters
    ----------
    executor : who draws; None for this process. keep : read and write the cache. wanted : places in ``frames`` that are
    asked for, None for all; pieces that hold none of them are not drawn, but given as nothing.

    Raises
    ------
    RenderError : a worker was lost.
    """
    length = PIECE if executor is None or _is_near(executor) else SENT
    pieces = pieces_of(frames, length)
    store = Pieces(setup, pieces_folder()) if keep else None
    asked = set(range(len(pieces))) if wanted is None else {place // length for place in wanted}
    some = [piece for k, piece in enumerate(pieces) if k in asked]
    drawn = _drawn_here(setup, some, store) if executor is None else _drawn_by(setup, some, store, executor)
    with contextlib.closing(drawn):
        for k, piece in enumerate(pieces):
            yield from itertools.islice(drawn, len(piece)) if k in asked else itertools.repeat(_NOTHING, len(piece))
        next(drawn, None)


def pieces_of(frames: list[int], length: int | None = None) -> list[list[int]]:
    """Frames in pieces, as this machine draws them unless another length is asked for."""
    length = length or PIECE
    return [frames[k : k + length] for k in range(0, len(frames), length)]


def pieces_folder() -> Path:
    """Where pieces are kept."""
    return user_folder() / "films"


def _drawn_here(setup: Setup, pieces: list[list[int]], store: Pieces | None) -> Generator[Pixels]:
    layer = None
    try:
        for piece in pieces:
            kept = store.read(piece) if store else None
            if kept is not None:
                yield from kept
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


def _is_near(executor: Executor) -> bool:
    """Whether workers are this machine's own: they pass pixels through files."""
    return isinstance(executor, ProcessPoolExecutor)


def _drawn_by(setup: Setup, pieces: list[list[int]], store: Pieces | None, executor: Executor) -> Generator[Pixels]:
    near = _is_near(executor)
    waiting: deque[tuple[list[int], _Asked | None]] = deque()
    todo = enumerate(pieces)
    with _exchange() as folder, ThreadPoolExecutor(_UNPACKED, "unpack") as unpacking:
        ask = _Asking(setup, executor, store, folder if near else None)

        def ahead(count: int) -> None:
            for number, piece in itertools.islice(todo, count):
                waiting.append((piece, None if store and store.has(piece) else ask(number, piece)))

        try:
            ahead(2 * max(os.cpu_count() or 1, getattr(executor, "workers", 0)) + 1)
            while waiting:
                piece, asked = waiting.popleft()
                for some in [asked, *(a for _, a in itertools.islice(waiting, _UNPACKED - 1))]:
                    if some is not None and not near:
                        some.unpack(unpacking)
                kept = store.read(piece) if store and asked is None else None
                yield from kept or (asked or ask(-1, piece)).pictures()
                ahead(1)
        except BrokenProcessPool as error:
            raise gl.lost() from error
        finally:
            for _, left in waiting if not near else ():  # a local pool is stopped whole; cancelling would trip it up
                if left is not None:
                    left.answer.cancel()


@contextlib.contextmanager
def _exchange() -> Iterator[Path]:
    """A folder through which pictures pass between processes.

    Raises
    ------
    RenderError : it cannot be made, or its disk is full.
    """
    place = tempfile.gettempdir()
    try:
        with scratch(Path(place)) as folder:
            yield folder
    except OSError as error:
        if error.errno is None:  # not of the disk
            raise
        raise RenderError(
            f"{place}: pictures cannot be passed on there: {error.strerror}; TMPDIR names another place"
        ) from error


class _Asking:
    """Asks an executor for pieces of one setup."""

    def __init__(self, setup: Setup, executor: Executor, store: Pieces | None, folder: Path | None) -> None:
        self.setup, self.executor, self.store, self.folder = setup, executor, store, folder
        self.packed = pickle.dumps(setup, protocol=5)

    def __call__(self, number: int, piece: list[int]) -> _Asked:
        """Ask for a piece; ``number``: its place in the film, by which its file is called."""
        if self.folder is None:
            return _Asked(self, piece, None, self.executor.submit(draw_piece, self.packed, piece))
        raw = self.folder / f"{number}"
        keep = self.store.folder if self.store else None
        return _Asked(self, piece, raw, self.executor.submit(draw_beside, self.packed, piece, raw, keep))


class _Asked:
    """A piece that somebody draws; ``raw``: the file that a worker of this machine leaves its pixels in."""

    def __init__(self, ask: _Asking, piece: list[int], raw: Path | None, answer: Future[bytes]) -> None:
        self.ask, self.piece, self.raw, self.answer = ask, piece, raw, answer
        self._unpacked: Future[list[Pixels]] | None = None

    def pictures(self) -> Iterator[Pixels]:
        """The pictures, once they are drawn."""
        if self.raw is not None:
            self.answer.result()
            yield from _mapped(self.raw, self.ask.setup, len(self.piece))
        else:
            yield from self._decoded() if self._unpacked is None else self._unpacked.result()

    def unpack(self, hands: Executor) -> None:
        """Have a piece that comes from elsewhere decoded as soon as it is there."""
        self._unpacked = self._unpacked or hands.submit(self._decoded)

    def _decoded(self) -> list[Pixels]:
        data = self.answer.result()
        if self.ask.store:
            self.ask.store.keep_bytes(self.piece, data)
        with _exchange() as folder:
            path = folder / "piece.mkv"
            path.write_bytes(data)
            return list(decode_lossless(path, self.ask.setup.sheet.size))


def _mapped(raw: Path, setup: Setup, count: int) -> Iterator[Pixels]:
    """The pictures that a worker of this machine left in a file, which is then removed."""
    width, height = setup.sheet.size
    pictures = np.memmap(raw, np.uint8, "r", shape=(count, height, width, 3))
    for picture in pictures:
        yield np.array(picture)
    del pictures
    raw.unlink(missing_ok=True)


# ---- workers --------------------------------------------------------------------------------------------


def local_workers(count: int, threads: int | None = None) -> Pool:
    """Processes of this machine, each drawing with an equal share of its cores, or with so many threads."""
    threads = threads or max(1, (os.cpu_count() or 1) // count)
    return Pool(count, _share_cores, (threads,))


def _share_cores(threads: int) -> None:
    os.environ["LP_NUM_THREADS"] = str(threads)
    gl.prepare()


def draw_piece(packed: bytes, frames: list[int]) -> bytes:
    """Frames of a packed setup as one lossless piece, for workers anywhere; windows stay open between pieces."""
    layer = _layer_of(packed)
    with _exchange() as folder:
        path = folder / "piece.mkv"
        encode_lossless((layer.frame(i) for i in frames), layer.sheet.size, 30, path)
        return path.read_bytes()


def draw_beside(packed: bytes, frames: list[int], raw: Path, keep: Path | None) -> bytes:
    """Frames of a packed setup as plain pixels in a file, for workers of this machine.

    ``keep``: folder that the piece is also kept in.
    """
    layer = _layer_of(packed)
    pictures = [layer.frame(i) for i in frames]
    with raw.open("wb") as out:
        for picture in pictures:
            out.write(picture.data)
    if keep is not None:
        _store_of(packed, keep).keep(frames, pictures)
    return b""


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
def _store_of(packed: bytes, folder: Path) -> Pieces:
    return Pieces(_setup_of(packed), folder)
