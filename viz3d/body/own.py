"""A bone folder: a person's own pelvis and femur, measured.

Question answered: which sizes and points were measured on this person's own bones?

The folder is written by ``viz3d bring`` (:mod:`viz3d.shapes.intake`): ``bones.toml`` with measures and points, and the
aligned meshes beside it. Only the text is read here; the meshes by :mod:`viz3d.shapes.own`. SI, angles in radians once
read; points on the right side, in the frames of :mod:`viz3d.body.landmarks`.
"""

from __future__ import annotations

import hashlib
import math
import tomllib
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from viz3d.errors import InputError

FILE, FORMAT = "bones.toml", 1
PELVIS, FEMUR = "pelvis.ply", "femur.ply"
PERSON_MEASURES = ("hip_spacing", "pelvic_width", "thigh_length")
HIP_MEASURES = (
    "head_radius", "offset", "neck_shaft_angle", "version", "trochanter_height", "centre_edge_angle",
    "socket_inclination", "socket_version",
)  # fmt: skip
_ANGLES = ("neck_shaft_angle", "version", "centre_edge_angle", "socket_inclination", "socket_version")
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
    where = f"{folder.name}/{FILE}"
    try:
        if path.stat().st_size > _LARGEST_TEXT:
            raise InputError(f"{where}: larger than {_LARGEST_TEXT // 1000} kB; not a bone folder's file")
        data = path.read_bytes()
        table = tomllib.loads(data.decode("utf-8"))
    except OSError as error:
        raise InputError(f"{where}: {error.strerror}; 'viz3d bring' makes bone folders") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputError(f"{where}: not readable as TOML: {error}") from error
    if table.get("format") != FORMAT:
        raise InputError(f"{where}: format: found {table.get('format')!r}; this viz3d reads {FORMAT}")
    hips = {s: _numbers(table, where, f"{s}_hip", HIP_MEASURES) for s in ("left", "right")}
    points = {
        frame: {name: _point(value, f"{where}: points.{frame}.{name}") for name, value in some.items()}
        for frame, some in table.get("points", {}).items()
    }
    radii = {s: float(table[f"{s}_hip"]["socket_radius"]) for s in hips}
    digest = hashlib.sha256(data)
    for name in (PELVIS, FEMUR):
        if not (folder / name).is_file():
            raise InputError(f"{folder.name}/{name}: missing; make the bone folder again with 'viz3d bring'")
        digest.update((folder / name).read_bytes())
    return OwnBones(
        folder, _numbers(table, where, "person", PERSON_MEASURES), hips, points, radii, digest.hexdigest()[:24]
    )


def _numbers(table: dict[str, Any], where: str, section: str, names: tuple[str, ...]) -> dict[str, float]:
    rows = table.get(section, {})
    out = {}
    for name in names:
        value = rows.get(name)
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
            raise InputError(f"{where}: {section}.{name}: found {value!r}; allowed: a number")
        out[name] = math.radians(value) if name in _ANGLES else float(value)
    return out


def _point(value: Any, where: str) -> tuple[float, float, float]:
    if not (isinstance(value, list) and len(value) == 3 and all(isinstance(v, (int, float)) for v in value)):
        raise InputError(f"{where}: found {value!r}; allowed: three numbers")
    x, y, z = (float(v) for v in value)
    return x, y, z
