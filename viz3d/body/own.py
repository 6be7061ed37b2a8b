"""A bone folder: a person's own pelvis and femur, measured.

Question answered: which sizes and points were measured on this person's own bones?

The folder is written by ``viz3d bring`` (:mod:`viz3d.shapes.intake`): ``bones.toml`` with measures and points, and the
aligned meshes beside it. Only the text is read here; the meshes by :mod:`viz3d.shapes.own`. SI, angles in radians once
read; points on the right side, in the frames of :mod:`viz3d.body.landmarks`.
"""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeGuard

from viz3d.echo import plain, shown
from viz3d.errors import InputError, Unreadable
from viz3d.given import file_bytes, toml_tables

FILE, FORMAT = "bones.toml", 1
PELVIS, FEMUR = "pelvis.ply", "femur.ply"
PERSON_MEASURES = ("hip_spacing", "pelvic_width", "thigh_length")
HIP_MEASURES = (
    "head_radius", "offset", "neck_shaft_angle", "version", "trochanter_height", "centre_edge_angle",
    "socket_inclination", "socket_version",
)  # fmt: skip
_ANGLES = ("neck_shaft_angle", "version", "centre_edge_angle", "socket_inclination", "socket_version")
_SOCKET = "socket_radius"
_LARGEST_TEXT = 200_000


@dataclass(frozen=True)
class OwnBones:
    """A bone folder as read.

    ``person``: hip spacing, pelvic width, hip to knee, m. ``hips``: side -> measures, SI. ``points``: frame -> landmark
    -> place, m. ``digest`` names the content.
    """

    folder: Path
    person: dict[str, float]
    hips: dict[str, dict[str, float]]
    points: dict[str, dict[str, tuple[float, float, float]]] = field(default_factory=dict)
    socket_radius: dict[str, float] = field(default_factory=dict)
    digest: str = ""

    def line(self, stature: float) -> str:
        """What is said with every result of these bones, for a person of a stature, m."""
        given = sum(len(some) for some in self.points.values())
        length = f"{self.person['thigh_length'] * 1e3:.0f} mm"
        return (
            f"bones (measured): from the bone folder {self.folder.name}, {given} points; attachments that were not"
            f" given follow the drawn bones shaped to its measures; the femur is {length} long"
            f" from hip to knee, while the figure's leg follows stature ({stature:.2f} m)"
        )


def read_own(folder: Path) -> OwnBones:
    """Read a bone folder.

    Raises
    ------
    InputError : no such folder, or its ``bones.toml`` is not one that ``viz3d bring`` wrote.
    """
    files = [folder / name for name in (FILE, PELVIS, FEMUR)]
    return _read(folder, tuple(f.stat().st_mtime_ns if f.is_file() else 0 for f in files))


@lru_cache(maxsize=8)
def _read(folder: Path, stamps: tuple[int, ...]) -> OwnBones:
    """Read once for every state of the files."""
    del stamps
    path = folder / FILE
    where = f"{plain(folder.name)}/{FILE}"
    try:
        data = file_bytes(path, _LARGEST_TEXT)
        table = toml_tables(data)
    except Unreadable as error:
        raise InputError(f"{where}: {error}; 'viz3d bring' makes bone folders") from error
    if table.get("format") != FORMAT:
        raise InputError(f"{where}: format: found {shown(table.get('format'))}; this viz3d reads {FORMAT}")
    measured = {s: _numbers(table, where, f"{s}_hip", (*HIP_MEASURES, _SOCKET)) for s in ("left", "right")}
    radii = {s: some.pop(_SOCKET) for s, some in measured.items()}
    points = _points(table.get("points", {}), f"{where}: points")
    digest = hashlib.sha256(data)
    for name in (PELVIS, FEMUR):
        if not (folder / name).is_file():
            raise InputError(f"{folder.name}/{name}: missing; make the bone folder again with 'viz3d bring'")
        digest.update((folder / name).read_bytes())
    return OwnBones(
        folder, _numbers(table, where, "person", PERSON_MEASURES), measured, points, radii, digest.hexdigest()[:24]
    )


def _numbers(table: dict[str, Any], where: str, section: str, names: tuple[str, ...]) -> dict[str, float]:
    rows = _table(table.get(section, {}), f"{where}: {section}")
    out = {}
    for name in names:
        value = rows.get(name)
        if not _number(value):
            raise InputError(f"{where}: {section}.{name}: found {shown(value)}; allowed: a number")
        out[name] = math.radians(value) if name in _ANGLES else float(value)
    return out


def _points(given: Any, where: str) -> dict[str, dict[str, tuple[float, float, float]]]:
    """Frame -> landmark -> place."""
    out: dict[str, dict[str, tuple[float, float, float]]] = {}
    for frame, some in _table(given, where).items():
        for name, value in _table(some, f"{where}.{plain(frame)}").items():
            if not three_numbers(value):
                at = f"{where}.{plain(frame)}.{plain(name)}"
                raise InputError(f"{at}: found {shown(value)}; allowed: three numbers")
            x, y, z = (float(v) for v in value)
            out.setdefault(frame, {})[name] = (x, y, z)
    return out


def _table(given: Any, where: str) -> dict[str, Any]:
    if not isinstance(given, dict):
        raise InputError(f"{where}: found {shown(given)}; allowed: a table")
    return given


def _number(value: Any) -> TypeGuard[float]:
    """True for a finite number; whatever passed the guard fits a float."""
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def three_numbers(value: Any) -> bool:
    """True for a list of three finite numbers."""
    return isinstance(value, list) and len(value) == 3 and all(map(_number, value))
