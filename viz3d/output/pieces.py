"""Pieces of films kept between runs: which pictures of the solid things were drawn before?

A piece is some frames of one setup, kept losslessly under a key of everything its pixels depend on. Damaged pieces
count as absent (:mod:`viz3d.kept`); a disk that is full or can only be read costs only time.
"""

from __future__ import annotations

import contextlib
import hashlib
import shutil
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from viz3d.atomic import scratch
from viz3d.errors import RenderError
from viz3d.kept import drop, keep, kept
from viz3d.output import gl
from viz3d.output.encode import decode_lossless, encode_lossless
from viz3d.output.views import sheet_views
from viz3d.output.window import Pixels
from viz3d.shapes.body_shell import Shell
from viz3d.shapes.skeleton import Figure
from viz3d.stage.canvas import Canvas

DRAWING = 4
"""Raised whenever the drawing code changes how solid things look."""
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


class Pieces:
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
            digest.update(np.ascontiguousarray(muscle.activation[frames]).tobytes())
        digest.update(repr([sorted(plan.held_at(i).items()) for i in frames]).encode())
        moving = [self.setup.sheet.cameras.get(i) for i in frames]
        if any(moving):
            digest.update(repr(moving).encode())
        p = plan.pressure
        for some in (p.pole, p.pole_pressure, p.edge, p.peak, p.displacement, plan.hip):
            digest.update(b"-" if some is None else np.ascontiguousarray(some[frames]).tobytes())
        return self.folder / f"{digest.hexdigest()[:40]}.mkv"

    def has(self, frames: list[int]) -> bool:
        """True where a piece lies; whether it can be believed is seen when it is read."""
        return self.path(frames).is_file()

    def read(self, frames: list[int]) -> list[Pixels] | None:
        """The pictures of a kept piece; None where there is none that is whole."""
        path = self.path(frames)
        if kept(path) is None:
            return None
        with contextlib.suppress(RenderError):
            pictures = list(decode_lossless(path, self.setup.sheet.size))
            if len(pictures) == len(frames):
                return pictures
        drop(path)
        return None

    def keep(self, frames: list[int], pictures: list[Pixels]) -> None:
        """Keep drawn pictures; a full disk is no reason to stop a film."""
        with contextlib.suppress(OSError, RenderError):
            if self._has_room():
                with scratch(self.folder) as folder:
                    encode_lossless(iter(pictures), self.setup.sheet.size, 30, folder / "piece.mkv")
                    self.keep_bytes(frames, (folder / "piece.mkv").read_bytes())

    def keep_bytes(self, frames: list[int], data: bytes) -> None:
        """Keep a piece that was encoded already."""
        keep_within(self.path(frames), data, LARGEST_BYTES)

    def _has_room(self) -> bool:
        return has_room(self.folder)


def has_room(folder: Path) -> bool:
    """Whether the disk of a folder, made where it is absent, has some to spare."""
    folder.mkdir(parents=True, exist_ok=True)
    return shutil.disk_usage(folder).free > SPARE_BYTES


def keep_within(path: Path, data: bytes, most: int) -> None:
    """Keep a file among its like, of at most so many bytes in all; a disk that cannot costs only time."""
    with contextlib.suppress(OSError):
        if has_room(path.parent):
            keep(path, data)
            _trim(path.parent, path.suffix, most)


def _trim(folder: Path, suffix: str, most: int) -> None:
    """Drop the files used longest ago; the newest one stays."""
    there = sorted((p.stat().st_mtime, p.stat().st_size, p) for p in folder.glob(f"*{suffix}"))
    total = sum(size for _, size, _ in there)
    for _, size, path in there[:-1]:
        if total <= most:
            return
        drop(path)
        total -= size


def _fixed_part(setup: Setup) -> hashlib._Hash:
    """Digest of everything that holds for all frames of a setup."""
    sheet, figure = setup.sheet, setup.figure
    told = [
        DRAWING, gl.renderer(), sheet.size, sheet.view, sorted(sheet.layers), sheet.theme.backdrop,
        sorted(sheet.colours.items()), sorted(sheet.plan.aids.items()), sheet.plan.sign, sheet.fades,
        [(v.name, v.box, v.camera, v.skin) for v in sheet_views(sheet)], sheet.drawing(0).under,
        sheet.plan.dress, sheet.plan.pressure.surface, [(m.name, m.rests) for m in sheet.plan.muscles],
        sheet.plan.middle_hip.mean(axis=0).tolist(),
    ]  # fmt: skip
    digest = hashlib.sha256(repr(told).encode())
    for name, shape in sorted(figure.shapes.items()):
        surface = shape.surface
        digest.update(f"{name} {shape.link} {shape.side} {shape.material}".encode())
        for values in (surface.points, surface.triangles, surface.normals, surface.shade, surface.warm):
            digest.update(b"" if values is None else np.ascontiguousarray(values).tobytes())
    for name, muscle in sorted(figure.muscles.items()):
        digest.update(f"{name} {muscle.tendon} {muscle.root} {muscle.hip}".encode())
        for values in (muscle.points, muscle.triangles, muscle.thigh, muscle.along, muscle.across, muscle.swell):
            digest.update(np.ascontiguousarray(values).tobytes())
    _add_shell(digest, figure.shell)
    if figure.clothed is not None:
        for name, worn in figure.clothed.surfaces.items():
            digest.update(name.encode())
            _add_shell(digest, worn)
            digest.update(np.ascontiguousarray(figure.clothed.shade[name]).tobytes())
    if setup.behind is not None:
        digest.update(setup.behind.tobytes())
    return digest


def _add_shell(digest: hashlib._Hash, shell: Shell) -> None:
    digest.update(repr(shell.links).encode())
    for values in (shell.points, shell.normals, shell.triangles, shell.weights, shell.rest):
        digest.update(np.ascontiguousarray(values).tobytes())
