"""Reading a motion from a C3D file that stores joint angles.

Question answered: which motion do these points and ground forces of a C3D file make?

C3D (the open format of motion laboratories; c3d.org) stores points, which may be markers or a laboratory's joint angles
and moments, and what force plates measure. Which label is which angle differs from laboratory to laboratory, and the
format has no place for a licence; so a TOML file of the same name beside it says what there is: title, source, licence,
leg_length_m, step_width_m, events, ``frames`` (first and last of one whole cycle, from 1), ``mass_kg`` where plates are
used, and under ``[columns]`` for each column of :mod:`viz3d.motion.columns` the label and the axis, with a minus sign
where it counts the other way:

    hip_flexion_right_deg = "RHIP x"
    knee_flexion_right_deg = "-RKNEE x"
    root_up_mm = "PELVIS z"
    ground_up_right_N = "plate 1 z"

Markers alone are refused: angles need a model of the person's bones, which the laboratory has. The file is read by
ezc3d (MIT), which takes a file that is cut short for a shorter one; so its length is checked against its head first.
"""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.echo import shown
from viz3d.errors import MotionError, Unreadable
from viz3d.given import file_bytes, is_file, toml_tables
from viz3d.motion.assemble import HEADS, assembled, check_count, check_said, columns_of
from viz3d.motion.table import Motion
from viz3d.units import GRAVITY

MOST_BYTES = 200_000_000
AXES = ("x", "y", "z")
_BLOCK, _KEY, _HEAD = 512, 0x50, 24
_EXTRA = ("columns", "frames", "mass_kg")


def read_c3d(path: Path) -> Motion:
    """The motion of a C3D file and the TOML file beside it.

    Raises
    ------
    MotionError : either file cannot be read, holds markers alone, or is no whole cycle.
    """
    name, beside = path.name, path.with_suffix(".toml")
    _whole(path)
    if not is_file(beside):
        needed = f"{beside.name} beside it says which labels are joint angles; markers alone cannot be used"
        raise MotionError(name, f"holds {_labels(path)}", needed)
    said, extra = _told(beside)
    recorded = _recorded(path)
    first, last = _window(beside.name, extra, recorded)
    columns = extra.get("columns", {})
    if not isinstance(columns, dict) or not columns:
        raise MotionError(beside.name, "[columns]: missing", "markers alone cannot be used: name the joint angles")
    # C3D has no column of time
    heads = ["time_s", *(head.replace("_N", "_BW") if head.endswith("_N") else head for head in columns)]
    scales = columns_of(beside.name, heads)
    check_count(name, last - first)
    rate = float(recorded["parameters"]["POINT"]["RATE"]["value"][0])
    table = [np.arange(last - first) / rate]
    table += [_column(beside.name, head, text, recorded, extra)[first:last] for head, text in columns.items()]
    rows = np.stack(table, axis=1)
    gap = np.argwhere(~np.isfinite(rows))
    if len(gap):
        where = f"frame {first + 1 + gap[0][0]}: {heads[gap[0][1]]}"
        raise MotionError(name, f"{where}: a gap", "allowed: a number in every frame; fill gaps first")
    return assembled(name, said, scales, rows, [f"frame {k + 1}" for k in range(first, last)])


def _whole(path: Path) -> None:
    """Refuse what is no C3D file, and one that is shorter than its own head says."""
    try:
        size = path.stat().st_size
        with path.open("rb") as file:
            head = file.read(_HEAD)
    except OSError as error:
        raise MotionError(path.name, f"cannot be read: {error.strerror}") from error
    if size > MOST_BYTES:
        raise MotionError(path.name, f"is {size / 1e6:.0f} MB", f"allowed: at most {MOST_BYTES / 1e6:.0f} MB")
    if len(head) < _HEAD or head[1] != _KEY:
        raise MotionError(path.name, "is no C3D file, or is cut short in its head")
    points, analog, first, last = struct.unpack_from("<4H", head, 2)
    (scale,) = struct.unpack_from("<f", head, 12)
    (start,) = struct.unpack_from("<H", head, 16)
    each = 4 if scale < 0 else 2
    needed = (start - 1) * _BLOCK + (last - first + 1) * (4 * points + analog) * each
    if size < needed:
        raise MotionError(path.name, f"is cut short: {size} bytes", f"its head asks for {needed}")


def _recorded(path: Path) -> Any:
    """The file as ezc3d reads it."""
    try:
        import ezc3d
    except ImportError as error:
        raise MotionError(path.name, "C3D files need the library ezc3d", "type: pip install ezc3d") from error
    try:
        return ezc3d.c3d(str(path), extract_forceplat_data=True)
    except (OSError, RuntimeError, ValueError, IndexError, KeyError) as error:
        raise MotionError(path.name, f"cannot be read as C3D: {shown(str(error))}") from error


def _labels(path: Path) -> str:
    """The first labels of its points, for an error."""
    labels = [str(one) for one in _recorded(path)["parameters"]["POINT"]["LABELS"]["value"]]
    return f"points {shown(', '.join(labels[:6]))}{' and more' if len(labels) > 6 else ''}"


def _told(path: Path) -> tuple[dict[str, list[str]], dict[str, Any]]:
    """What the TOML file says about the motion, and which columns, frames and mass it names."""
    try:
        tables = toml_tables(file_bytes(path, 100_000))
    except Unreadable as error:
        raise MotionError(path.name, error.found, error.allowed) from error
    extra = {key: tables.pop(key) for key in _EXTRA if key in tables}
    for key, value in tables.items():
        if key not in HEADS:
            raise MotionError(path.name, f"{shown(key)}: unknown", f"allowed: {', '.join((*HEADS, *_EXTRA))}")
        if not isinstance(value, (str, int, float)):
            raise MotionError(path.name, f"{key}: {shown(value)}", "allowed: a text or a number")
    said = {key: [str(value)] for key, value in tables.items()}
    check_said(path.name, said)
    return said, extra


def _window(name: str, extra: dict[str, Any], recorded: Any) -> tuple[int, int]:
    """First frame of the cycle, from 0, and the one after its last; all of them where none are named."""
    count = int(recorded["data"]["points"].shape[2])
    given = extra.get("frames", [1, count])
    if not (isinstance(given, list) and len(given) == 2 and all(isinstance(v, int) for v in given)):
        raise MotionError(name, f"frames: {shown(given)}", "allowed: [first, last] of one whole cycle")
    if not 1 <= given[0] < given[1] <= count:
        raise MotionError(name, f"frames: {given}", f"allowed: within 1 to {count}")
    return given[0] - 1, given[1]


def _column(name: str, head: str, text: object, recorded: Any, extra: dict[str, Any]) -> Array:
    """One column over all frames, in the unit that its head names."""
    parts = str(text).split()
    if len(parts) < 2 or parts[-1] not in AXES:
        raise MotionError(name, f"{head}: {shown(text)}", 'allowed: a label and an axis, like "RHIP x" or "-RHIP x"')
    sign = -1.0 if parts[0].startswith("-") else 1.0
    label, axis = " ".join(parts[:-1]).removeprefix("-"), AXES.index(parts[-1])
    if label.startswith("plate "):
        return np.asarray(sign * _plate(name, head, label, axis, recorded, extra))
    labels = [str(one) for one in recorded["parameters"]["POINT"]["LABELS"]["value"]]
    if label not in labels:
        raise MotionError(name, f"{head}: no point {shown(label)}", f"there are {shown(', '.join(labels))}")
    return np.asarray(sign * recorded["data"]["points"][axis, labels.index(label)], dtype=float)


def _plate(name: str, head: str, label: str, axis: int, recorded: Any, extra: dict[str, Any]) -> Array:
    """A force plate's force at every frame, body weights: what the ground makes on the foot."""
    mass, plates = extra.get("mass_kg"), recorded["data"]["platform"]
    if not isinstance(mass, (int, float)) or not mass > 0:
        raise MotionError(name, "mass_kg: missing", "allowed: the measured person's, where plates are used")
    number = label.removeprefix("plate ")
    if not number.isdecimal() or not 1 <= int(number) <= len(plates):
        raise MotionError(name, f"{head}: no {shown(label)}", f"allowed: plate 1 to plate {len(plates)}")
    force = np.asarray(plates[int(number) - 1]["force"][axis], dtype=float)
    frames = int(recorded["data"]["points"].shape[2])
    each = max(1, len(force) // frames)
    return np.asarray(force[: frames * each].reshape(frames, each).mean(axis=1) / (mass * GRAVITY))
