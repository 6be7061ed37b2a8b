"""The video encoder: pictures in, a file out; and short lossless pieces for the cache.

Question answered: how do these frames become a film that plays everywhere?

The encoder is a process of its own and reads frames through a pipe, so drawing and encoding overlap and memory stays
flat. It reads local files that this program wrote, and nothing else.
"""

from __future__ import annotations

import contextlib
import errno
import os
import subprocess
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from viz3d.errors import InputError, RenderError
from viz3d.output.subtitles import typed_track
from viz3d.output.window import Pixels

_QUIET = ("-hide_banner", "-loglevel", "error", "-nostdin", "-y", "-protocol_whitelist", "file,pipe")
_SOUNDS = ("-format_whitelist", "aac,aiff,caf,flac,matroska,mov,mp3,ogg,w64,wav", "-protocol_whitelist", "file")
"""Kinds of sound file that are read; none of them can name another file or an address."""
_SAME = ("-flags:v", "+bitexact", "-fflags", "+bitexact")
GIF_RATE = 12
"""Most frames a second of a GIF: more only makes it large."""


def find_encoder() -> str:
    """The video encoder's program.

    Raises
    ------
    RenderError : there is none.
    """
    try:
        import imageio_ffmpeg

        return str(imageio_ffmpeg.get_ffmpeg_exe())
    except (ImportError, RuntimeError) as error:
        raise RenderError(
            "no video encoder (ffmpeg) was found; run: .venv/bin/python -m pip install imageio-ffmpeg"
        ) from error


def _raw(size: tuple[int, int], rate: int) -> list[str]:
    return ["-f", "rawvideo", "-pix_fmt", "rgb24", "-s", f"{size[0]}x{size[1]}", "-r", str(rate), "-i", "pipe:0"]


@dataclass(frozen=True)
class VoiceTrack:
    """A sound file, and for how many seconds it is laid under: silence follows where it is shorter."""

    path: Path
    seconds: float


def encode_mp4(
    pictures: Iterator[Pixels], size: tuple[int, int], rate: int, path: Path, chapters: Path, captions: Path | None,
    voice: VoiceTrack | None = None, language: str = "eng",
) -> None:  # fmt: skip
    """H.264, yuv420p, constant rate, index first; as :func:`join_mp4`.

    Raises
    ------
    RenderError : the encoder stopped; one line says why. OSError : the disk is full.
    """
    whole = path.with_name(f"{path.stem}-pictures.mp4")
    try:
        encode_video(pictures, size, rate, whole)
        join_mp4([whole], path, chapters, captions, voice, language)
    finally:
        whole.unlink(missing_ok=True)


def encode_video(pictures: Iterator[Pixels], size: tuple[int, int], rate: int, path: Path) -> None:
    """Pictures alone; files of one size and rate can be joined.

    Raises
    ------
    RenderError : the encoder stopped; one line says why. OSError : the disk is full.
    """
    _run(
        [
            *_QUIET, *_raw(size, rate), "-map_metadata:g", "-1", "-c:v", "libx264", "-preset", "veryfast", "-crf", "17",
            "-pix_fmt", "yuv420p", "-color_primaries", "bt709", "-color_trc", "bt709", "-colorspace", "bt709",
            "-vf", "scale=out_color_matrix=bt709", *_SAME, "-f", "mp4", f"file:{path.resolve()}",
        ],
        pictures, path,
    )  # fmt: skip


def join_mp4(
    parts: Sequence[Path], path: Path, chapters: Path, captions: Path | None, voice: VoiceTrack | None = None,
    language: str = "eng",
) -> None:  # fmt: skip
    """Encoded pictures one after the other as they are; chapters, captions as a subtitle track, a voice as AAC.

    Parameters
    ----------
    parts : in one folder, which is written in too. chapters : file in the encoder's own metadata format. captions :
    WebVTT file, None for no track. language : of words and sound, three letters.

    Raises
    ------
    RenderError : the encoder stopped; one line says why. OSError : the disk is full.
    """
    spoken = f"language={language}"
    words = [] if captions is None else ["-i", f"file:{typed_track(captions, _encode_captions).resolve()}"]
    track = [] if captions is None else ["-map", "2:s", "-c:s", "copy", "-metadata:s:s:0", spoken]
    sound: list[str] = []
    if voice is not None:
        place = 2 if captions is None else 3
        words = [*words, *_SOUNDS, "-i", f"file:{voice.path.resolve()}"]
        whole = f"aresample=48000,apad,atrim=end={voice.seconds:.3f}"
        sound = ["-map", f"{place}:a:0", "-af", whole, "-c:a", "aac", "-b:a", "128k", "-metadata:s:a:0", spoken]
    order = parts[0].with_name("order.txt")
    order.write_text("".join(f"file '{part.name}'\n" for part in parts), encoding="utf-8")
    _run(
        [
            *_QUIET, "-f", "concat", "-i", f"file:{order.resolve()}",
            "-f", "ffmetadata", "-i", f"file:{chapters.resolve()}", *words,
            "-map", "0:v", "-c:v", "copy", *sound, *track, "-map_metadata:g", "-1", "-map_chapters", "1",
            "-movflags", "+faststart", *_SAME, "-f", "mp4", f"file:{path.resolve()}",
        ],
        None, path,
    )  # fmt: skip
    order.unlink()


def _encode_captions(words: Path, path: Path) -> None:
    command = [*_QUIET, "-f", "webvtt", "-i", f"file:{words.resolve()}", "-c:s", "mov_text", *_SAME, "-f", "mp4"]
    _run([*command, f"file:{path.resolve()}"], None, path)


def encode_webp(pictures: Iterator[Pixels], size: tuple[int, int], rate: int, path: Path) -> None:
    """An animated WebP that loops."""
    command = [*_QUIET, *_raw(size, rate), "-c:v", "libwebp_anim", "-q:v", "82", "-loop", "0", *_SAME, "-f", "webp"]
    _run([*command, f"file:{path.resolve()}"], pictures, path)


def encode_gif(pictures: Iterator[Pixels], size: tuple[int, int], rate: int, path: Path) -> None:
    """A GIF with a palette of its own, made in two passes so that memory stays flat."""
    whole, colours = (path.with_name(path.name + end) for end in (".mkv", ".png"))
    slower = f"fps={min(rate, GIF_RATE)}"
    try:
        encode_lossless(pictures, size, rate, whole)
        source = ["-i", f"file:{whole.resolve()}"]
        _run([*_QUIET, *source, "-vf", f"{slower},palettegen=stats_mode=diff", f"file:{colours.resolve()}"], None, path)
        use = f"[0:v]{slower}[x];[x][1:v]paletteuse=dither=sierra2_4a:diff_mode=rectangle"
        both = [*source, "-i", f"file:{colours.resolve()}", "-lavfi", use]
        _run([*_QUIET, *both, "-loop", "0", *_SAME, "-f", "gif", f"file:{path.resolve()}"], None, path)
    finally:
        whole.unlink(missing_ok=True)
        colours.unlink(missing_ok=True)


def encode_lossless(pictures: Iterator[Pixels], size: tuple[int, int], rate: int, path: Path) -> None:
    """A file that gives back every pixel."""
    command = [*_QUIET, *_raw(size, rate), "-c:v", "libx264rgb", "-preset", "ultrafast", "-qp", "0", *_SAME]
    _run([*command, "-f", "matroska", f"file:{path.resolve()}"], pictures, path)


def decode_lossless(path: Path, size: tuple[int, int]) -> Iterator[Pixels]:
    """The pictures of such a file, one by one.

    Raises
    ------
    RenderError : the file is damaged.
    """
    command = [find_encoder(), *_QUIET[:-3], *_QUIET[-2:], "-i", f"file:{path.resolve()}", "-f", "rawvideo"]
    length = size[0] * size[1] * 3
    with subprocess.Popen(
        [*command, "-pix_fmt", "rgb24", "pipe:1"],
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL, start_new_session=True,
    ) as process:  # fmt: skip
        if process.stdout is None:
            return
        while data := process.stdout.read(length):
            if len(data) < length:
                raise RenderError(f"{path.name}: a piece of the film is damaged")
            yield np.frombuffer(data, dtype=np.uint8).reshape(size[1], size[0], 3)
    if process.returncode != 0:
        raise RenderError(f"{path.name}: a piece of the film is damaged")


def sound_seconds(path: Path, name: str) -> float:
    """Length of a sound file, by decoding it.

    Raises
    ------
    InputError : it holds no sound that can be read.
    """
    rate = 8000
    command = [find_encoder(), *_QUIET[:4], *_SOUNDS, "-i", f"file:{path.resolve()}", "-map", "0:a:0", "-ac", "1"]
    with subprocess.Popen(
        [*command, "-ar", str(rate), "-f", "s16le", "pipe:1"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL, start_new_session=True,
    ) as process:  # fmt: skip
        count = 0
        while process.stdout is not None and (data := process.stdout.read(1 << 16)):
            count += len(data)
        process.communicate()
    if process.returncode != 0 or count == 0:
        raise InputError(
            f"film.voice: {name} holds no sound that can be read; allowed: WAV, MP3, M4A, AAC, FLAC, OGG, AIFF"
        )
    return count / 2 / rate


def _run(options: list[str], pictures: Iterator[Pixels] | None, path: Path) -> None:
    command = [find_encoder(), *options]
    try:
        process = subprocess.Popen(command, stdin=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True)
    except OSError as error:
        raise RenderError(f"the video encoder cannot be started: {error.strerror}") from error
    with process:
        fed = False
        try:
            _feed(process, pictures or iter(()))
            fed = True
        finally:
            if not fed:
                process.kill()
        message = process.stderr.read().decode(errors="replace").strip() if process.stderr else ""
    if process.returncode != 0:
        if "No space left" in message:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))
        raise RenderError(f"the video encoder stopped: {message.splitlines()[-1] if message else 'no message'}")


def _feed(process: subprocess.Popen[bytes], pictures: Iterator[Pixels]) -> None:
    """Write every picture to the encoder; when it gives up early, its message says why."""
    if process.stdin is None:
        return
    with contextlib.suppress(BrokenPipeError):
        for picture in pictures:
            process.stdin.write(np.ascontiguousarray(picture).data)
        process.stdin.close()
