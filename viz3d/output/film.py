"""A film: the whole timeline as MP4, solved once and drawn frame by frame.

H.264, yuv420p, faststart, constant frame rate. Frames that are identical (holds) are drawn once. Drawing
and encoding overlap: the encoder is a process of its own. Called by ``viz3d film``.
"""

from __future__ import annotations

import contextlib
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viz3d.errors import InputError, RenderError
from viz3d.output.files import check_space, write_manifest, written_whole
from viz3d.output.still import Progress, check_size, lay_out, paint_frame, refuse_unheld
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import duration
from viz3d.shapes.skeleton import build_figure
from viz3d.solution.inputs import body_of
from viz3d.solution.solve import Solved, solve_film
from viz3d.stage.alt import alt_text
from viz3d.stage.layout import Sheet

SUFFIXES = (".mp4",)
LONGEST = 30 * 60.0


def draw_film(
    scene: Scene, path: Path, file: str, strict: bool = False, bones: Progress | None = None,
    frames: Progress | None = None,
) -> Path:  # fmt: skip
    """Draw a scene's timeline to an MP4 file, with its manifest.

    Parameters
    ----------
    strict : refuse when a frame could not be held.
    bones, frames : called with (what, done, of).

    Raises
    ------
    RenderError, InputError, SceneError : one line each; no half file is left.
    """
    from viz3d.output import gl

    encoder = find_encoder()
    check_size(scene.picture.pixels)
    if duration(scene) > LONGEST or duration(scene) <= 0:
        raise InputError(f"the film would last {duration(scene):g} s; allowed: more than 0 s, at most {LONGEST:g} s")
    gl.require()
    solved = solve_film(scene, file)
    refuse_unheld(scene, solved, strict)
    check_space(path.parent)
    size = _even(scene.picture.pixels)
    sheet = lay_out(scene, solved, size)
    figure = build_figure(body_of(scene), bones, sheet.plan.aids, "film")
    from viz3d.output.meshes import MeshLayer

    with written_whole(path) as temporary, MeshLayer(sheet, figure) as layer:
        pictures = _pictures(layer, sheet, solved, frames)
        _encode(encoder, pictures, size, scene.picture.frames_per_second, temporary)
    about = {
        "kind": "film",
        "frames": len(solved.times),
        "frames_per_second": scene.picture.frames_per_second,
        "alt_text": alt_text(sheet.plan, len(sheet.plan) - 1),
    }
    write_manifest(path, scene, solved, about)
    return path


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


def _even(size: tuple[int, int]) -> tuple[int, int]:
    return size[0] // 2 * 2, size[1] // 2 * 2


def frame_groups(solved: Solved) -> NDArray[np.intp]:
    """First frame that looks like each frame: holds repeat one picture, (N,)."""
    p, load = solved.posture, solved.load
    rows = np.column_stack(
        [p.lean, p.obliquity, p.share, p.lifted, p.clearance, p.cane_force, p.bag_mass, solved.step,
         load.joint_force, solved.hip.abductor_torque * np.ones(len(p.lean))]
    )  # fmt: skip
    _, first, inverse = np.unique(np.nan_to_num(rows), axis=0, return_index=True, return_inverse=True)
    return np.asarray(first[inverse.ravel()])


def _pictures(layer: Any, sheet: Sheet, solved: Solved, progress: Progress | None) -> Iterator[NDArray[np.uint8]]:
    groups, count = frame_groups(solved), len(solved.times)
    last, pixels = -1, None
    for i in range(count):
        if progress:
            progress("frame", i, count)
        if pixels is None or groups[i] != last:
            last, pixels = int(groups[i]), paint_frame(layer, sheet, i)
        yield pixels
    if progress:
        progress("frame", count, count)


def _encode(program: str, pictures: Iterator[NDArray[np.uint8]], size: tuple[int, int], rate: int, path: Path) -> None:
    command = [
        program, "-hide_banner", "-loglevel", "error", "-nostdin", "-y",
        "-f", "rawvideo", "-pix_fmt", "rgb24", "-s", f"{size[0]}x{size[1]}", "-r", str(rate), "-i", "-",
        "-an", "-c:v", "libx264", "-preset", "veryfast", "-crf", "17", "-pix_fmt", "yuv420p",
        "-color_primaries", "bt709", "-color_trc", "bt709", "-colorspace", "bt709",
        "-vf", "scale=out_color_matrix=bt709", "-movflags", "+faststart", "-flags:v", "+bitexact",
        "-fflags", "+bitexact", "-map_metadata", "-1", "-f", "mp4", str(path),
    ]  # fmt: skip
    try:
        process = subprocess.Popen(command, stdin=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True)
    except OSError as error:
        raise RenderError(f"the video encoder cannot be started: {error.strerror}") from error
    with process:
        fed = False
        try:
            _feed(process, pictures)
            fed = True
        finally:
            if not fed:
                process.kill()
        message = process.stderr.read().decode(errors="replace").strip() if process.stderr else ""
    if process.returncode != 0:
        raise RenderError(_encoder_trouble(path, message))


def _feed(process: subprocess.Popen[bytes], pictures: Iterator[NDArray[np.uint8]]) -> None:
    """Write every picture to the encoder; when it gives up early, its message says why."""
    if process.stdin is None:
        return
    with contextlib.suppress(BrokenPipeError):
        for picture in pictures:
            process.stdin.write(picture.data)
        process.stdin.close()


def _encoder_trouble(path: Path, message: str) -> str:
    if "No space left" in message:
        return f"{path.parent}: the disk is full; free some space or choose another place with --out"
    last = message.splitlines()[-1] if message else "no message"
    return f"the video encoder stopped: {last}"
