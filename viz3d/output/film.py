"""A film: the whole timeline as MP4, GIF, animated WebP or numbered PNGs; solved once, drawn frame by frame.

Frames that look alike (holds) are drawn once. The solid layer comes from :mod:`viz3d.output.layers`; arrows and words
are painted over it here. Captions go into the picture, into a subtitle track, or both.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import tempfile
from collections.abc import Callable, Generator, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path

from filelock import FileLock, Timeout
from PIL import Image, UnidentifiedImageError
from PIL.PngImagePlugin import PngInfo

from viz3d.atomic import scratch
from viz3d.errors import InputError, RenderError
from viz3d.output.captions import chapters, narration, webvtt
from viz3d.output.cluster import Cluster
from viz3d.output.encode import (
    VoiceTrack,
    encode_gif,
    encode_mp4,
    encode_webp,
    find_encoder,
    join_mp4,
    sound_seconds,
)
from viz3d.output.files import check_space, told_in_one_line, write_manifest, written_whole
from viz3d.output.layers import local_workers, solid_frames
from viz3d.output.memory import check_memory
from viz3d.output.paint import Painter, Pixels
from viz3d.output.reel import Reel, make_reel
from viz3d.output.stretches import Encoded, stretches
from viz3d.progress import Progress
from viz3d.scene.pace import paced
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import duration
from viz3d.shapes.cache import user_folder
from viz3d.stage.alt import alt_text
from viz3d.stage.sheets import check_size
from viz3d.stage.theme import voice_of

LONGEST = 30 * 60.0
_MAKER = "viz3d"
"""How numbered pictures say whose they are, so that a new film may take the place of an old one and of nothing else."""
MANY = 60
"""From this many different frames on, workers are worth their start."""


@dataclass(frozen=True)
class FilmOptions:
    """How a film is drawn.

    Parameters
    ----------
    workers : processes that draw; 0 for this one, None for whichever is faster. scheduler : address of a Dask cluster.
    keep : keep drawn pieces for the next time. poster, words : also write a poster; captions and narration.
    """

    workers: int | None = None
    scheduler: str | None = None
    keep: bool = True
    poster: bool = False
    words: bool = False


def draw_film(
    scene: Scene, path: Path, file: str, strict: bool = False, bones: Progress | None = None,
    frames: Progress | None = None, options: FilmOptions | None = None,
) -> list[Path]:  # fmt: skip
    """Draw a scene's timeline to a file as its suffix says, with its manifest; returns the files written.

    Parameters
    ----------
    strict : refuse when a frame could not be held. bones, frames : called with (what, done, of).

    Raises
    ------
    RenderError, InputError, SceneError : one line each; no half file is left.
    """
    options = options or FilmOptions()
    given = scene
    scene, voice = _voiced(scene)
    prepare_film(scene, path)
    size = film_size(scene.picture.pixels)
    reel = make_reel(scene, file, size, strict, bones)
    encoded = _encoded(scene, reel, path, options)
    some = encoded.frames if encoded else None

    def pictures(executor: Executor | None) -> Generator[Pixels]:
        return reel.painted(executor, options.keep, frames, some)

    distinct = reel.distinct if some is None else min(reel.distinct, len(some))
    written = [write_film(scene, pictures, distinct, size, path, options, voice, encoded)]
    setup, last = reel.last
    about = {
        "kind": "film", "frames": reel.count, "frames_per_second": scene.picture.frames_per_second,
        "captions": scene.film.captions, "alt_text": alt_text(setup.sheet.plan, last, setup.sheet.theme.voice),
    }  # fmt: skip
    write_manifest(path, given, reel.shots[-1].solved, about)
    return written + _beside(scene, reel, path, options)


def _encoded(scene: Scene, reel: Reel, path: Path, options: FilmOptions) -> Encoded | None:
    """The stretches of a film that is to be an MP4, with those that were encoded before."""
    if path.suffix.lower() in (".png", ".gif", ".webp"):
        return None
    return Encoded(stretches(scene, reel, options.keep), reel.size, scene.picture.frames_per_second, options.keep)


def prepare_film(scene: Scene, path: Path) -> None:
    """Refuse a film that cannot be drawn here, before anything is solved.

    Raises
    ------
    RenderError, InputError : no encoder, no renderer, no disk; a size or a length that is not allowed.
    """
    from viz3d.output import gl

    find_encoder()
    check_size(scene.picture.pixels)
    check_memory(scene.picture.pixels)
    if duration(scene) > LONGEST or duration(scene) <= 0:
        raise InputError(f"the film would last {duration(scene):g} s; allowed: more than 0 s, at most {LONGEST:g} s")
    gl.require()
    check_space(path.parent)


def film_size(pixels: tuple[int, int]) -> tuple[int, int]:
    """The nearest size with an even width and height, as H.264 wants it."""
    return pixels[0] // 2 * 2, pixels[1] // 2 * 2


def write_film(
    scene: Scene, pictures: Callable[[Executor | None], Generator[Pixels]], distinct: int, size: tuple[int, int],
    path: Path, options: FilmOptions, voice: VoiceTrack | None = None, encoded: Encoded | None = None,
) -> Path:  # fmt: skip
    """Have a film's pictures drawn and write them as the path's suffix says, with the scene's captions and chapters.

    Parameters
    ----------
    pictures : gives the frames, drawn by an executor or by this process; where ``encoded`` holds the film's stretches,
    the frames that those lack. distinct : how many of them differ.
    """
    with _only_one(path), _drawers(options, distinct) as executor:
        return _write(scene, pictures(executor), size, path, voice, encoded)


@contextlib.contextmanager
def _only_one(path: Path) -> Iterator[None]:
    """One film to a file at a time; where no lock can be kept, nobody is kept out.

    Raises
    ------
    RenderError : another process is writing it.
    """
    name = hashlib.sha256(str(path.resolve()).encode(errors="surrogateescape")).hexdigest()[:16]
    with contextlib.ExitStack() as held:
        for folder in (user_folder() / "films", Path(tempfile.gettempdir())):
            try:
                folder.mkdir(parents=True, exist_ok=True)
                held.enter_context(FileLock(folder / f"viz3d-{name}.lock", timeout=0))
                break
            except Timeout as error:
                raise RenderError(
                    f"{path}: another viz3d is writing it; wait, or choose another place with --out"
                ) from error
            except (OSError, NotImplementedError):
                continue
        yield


@contextlib.contextmanager
def _drawers(options: FilmOptions, distinct: int) -> Iterator[Executor | None]:
    """Who draws: this process, processes of this machine, or a cluster."""
    if options.scheduler is not None:
        with _cluster(options.scheduler) as executor:
            yield executor
        return
    count = options.workers if options.workers is not None else _usual_workers(distinct)
    if count == 0:
        yield None
        return
    pool = local_workers(count)
    try:
        yield pool
    except BaseException:
        pool.stop()
        raise
    pool.shutdown()


def _usual_workers(distinct: int) -> int:
    """Workers where they are faster than one process: see ``benchmarks/films.py``."""
    cores = os.cpu_count() or 1
    return min(cores, 8) if distinct >= MANY and cores > 1 else 0


@contextlib.contextmanager
def _cluster(address: str) -> Iterator[Executor]:
    """The workers of a Dask cluster.

    Raises
    ------
    RenderError : Dask is not installed, or no scheduler answers.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise RenderError("--scheduler needs Dask; run: .venv/bin/python -m pip install distributed") from error
    try:
        client = Client(address, timeout="8s", set_as_default=False)
    except (OSError, ValueError) as error:
        raise RenderError(f"--scheduler: no Dask scheduler answers at {address}") from error
    with client:
        yield Cluster(client)


def _voiced(scene: Scene) -> tuple[Scene, VoiceTrack | None]:
    """The scene at its voice's pace, and the voice.

    Raises
    ------
    InputError : no such sound file beside the scene, or cues that it does not fit.
    """
    name = scene.film.voice
    if name is None:
        return paced(scene), None
    file = scene.own_file("film.voice", name)
    scene = paced(scene, sound_seconds(file, name))
    return scene, VoiceTrack(file, duration(scene))


def _write(
    scene: Scene, pictures: Generator[Pixels], size: tuple[int, int], path: Path, voice: VoiceTrack | None = None,
    encoded: Encoded | None = None,
) -> Path:  # fmt: skip
    rate, kind = scene.picture.frames_per_second, path.suffix.lower()
    with contextlib.closing(pictures):
        if kind == ".png":
            return _numbered(pictures, path)
        with written_whole(path) as temporary:
            if kind == ".gif":
                encode_gif(pictures, size, rate, temporary)
            elif kind == ".webp":
                encode_webp(pictures, size, rate, temporary)
            else:
                marks, words = (temporary.with_name(name) for name in ("chapters.txt", "captions.vtt"))
                marks.write_text(chapters(scene), encoding="utf-8")
                words.write_text(webvtt(scene), encoding="utf-8")
                track = scene.film.captions in ("track", "both") and any(s.caption for s in scene.steps)
                spoken = voice_of(scene).three_letters
                captions = words if track else None
                if encoded is None:
                    encode_mp4(pictures, size, rate, temporary, marks, captions, voice, spoken)
                else:
                    parts = encoded.encode(pictures, temporary.parent)
                    join_mp4(parts, temporary, marks, captions, voice, spoken)
    return path


def _numbered(pictures: Iterator[Pixels], path: Path) -> Path:
    """NAME.png becomes a folder NAME with one numbered picture a frame, which moves into place whole.

    Raises
    ------
    RenderError : something else lies in that folder.
    """
    folder = path.with_suffix("")
    if folder.exists() and not _is_film(folder):
        raise RenderError(
            f"{folder}: is there already and holds more than a film of this name; choose another place with --out"
        )
    with told_in_one_line(path), scratch(path.parent) as place:
        new, told = place / "new", PngInfo()
        told.add_text("Software", _MAKER)
        new.mkdir()
        for n, picture in enumerate(pictures, 1):
            Image.fromarray(picture).save(new / f"{folder.name}-{n:05d}.png", compress_level=1, pnginfo=told)
        if folder.exists():
            folder.replace(place / "old")
        new.replace(folder)
    return folder


def _is_film(folder: Path) -> bool:
    """True for a folder that is empty or holds numbered pictures of that name, which this program made."""
    if not folder.is_dir():
        return False
    numbered = re.compile(re.escape(folder.name) + r"-\d{5,}\.png")
    files = sorted(folder.iterdir())
    if not all(numbered.fullmatch(file.name) and file.is_file() for file in files):
        return False
    try:
        for file in files[:1]:
            with Image.open(file) as first:
                return first.info.get("Software") == _MAKER
    except (OSError, UnidentifiedImageError, ValueError, SyntaxError):
        return False
    return True


def _beside(scene: Scene, reel: Reel, path: Path, options: FilmOptions) -> list[Path]:
    """Poster, captions and narration, where they were asked for."""
    written = []
    if options.poster:
        poster = path.with_name(f"{path.stem}-poster.png")
        setup, last = reel.last
        solid = next(solid_frames(setup, [last], None, options.keep))
        painter = Painter(setup.sheet.size, solid, setup.sheet.theme.face)
        painter.marks(setup.sheet.drawing(last).over, setup.sheet.colours["paper_top"])
        with written_whole(poster) as temporary:
            Image.fromarray(painter.pixels()).save(temporary, format="PNG")
        written.append(poster)
    if options.words:
        for suffix, text in ((".vtt", webvtt(scene)), (".txt", narration(scene))):
            with written_whole(path.with_suffix(suffix)) as temporary:
                temporary.write_text(text, encoding="utf-8")
            written.append(path.with_suffix(suffix))
    return written
