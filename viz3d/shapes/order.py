"""The order file of ``viz3d bring``: which meshes, in which units, with which points.

Question answered: did the person state everything that must not be guessed?
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from viz3d.body.names import LEFT, RIGHT
from viz3d.body.own import FORMAT, three_numbers
from viz3d.echo import plain, shown
from viz3d.errors import InputError, Unreadable
from viz3d.given import file_bytes, inside, toml_tables

UNITS = {"mm": 1e-3, "cm": 1e-2, "m": 1.0}
PELVIS_POINTS = (
    "right_anterior_spine", "left_anterior_spine", "right_pubic_tubercle", "left_pubic_tubercle", "hip_centre",
)  # fmt: skip
FEMUR_POINTS = ("head", "knee", "trochanter_tip")
EXAMPLE = """\
# What 'viz3d bring' needs: two mesh files and a few points on them, in one system of coordinates and one unit each.
format = 1
units = "mm"        # of both files and of every point: "mm", "cm" or "m"
side = "right"      # the side of the femur, and of the hip centre named below
mirrored = false    # true where the files show the other side of the body and are to be flipped

[pelvis]
file = "pelvis.stl"                     # the whole pelvis as one closed surface: STL, PLY or OBJ
right_anterior_spine = [0.0, 0.0, 0.0]  # anterior superior iliac spines
left_anterior_spine = [0.0, 0.0, 0.0]
right_pubic_tubercle = [0.0, 0.0, 0.0]
left_pubic_tubercle = [0.0, 0.0, 0.0]
hip_centre = [0.0, 0.0, 0.0]            # about the middle of the socket, within 1 cm

[femur]
file = "femur.stl"
head = [0.0, 0.0, 0.0]                  # about the middle of the head, within 1 cm
knee = [0.0, 0.0, 0.0]                  # midway between the condyles
trochanter_tip = [0.0, 0.0, 0.0]        # tip of the greater trochanter
"""
_LARGEST_TEXT = 200_000


def read_order(path: Path) -> dict[str, Any]:
    """The order file as a table, everything in it checked but the meshes.

    Raises
    ------
    InputError : missing, unreadable, or a key that is absent or not allowed.
    """
    where = plain(path.name)
    try:
        table = toml_tables(file_bytes(path, _LARGEST_TEXT))
    except Unreadable as error:
        raise InputError(f"{where}: {error}; 'viz3d bring --example' shows what an order holds") from error
    for key, allowed in _STATED.items():
        if key not in table:
            raise InputError(f"{where}: {key}: missing; allowed: {_listed(allowed)} (stated by you, never guessed)")
        if not any(type(table[key]) is type(one) and table[key] == one for one in allowed):
            raise InputError(f"{where}: {key}: found {shown(table[key])}; allowed: {_listed(allowed)}")
    for bone, wanted in (("pelvis", PELVIS_POINTS), ("femur", FEMUR_POINTS)):
        section = table.get(bone)
        if not isinstance(section, dict) or not isinstance(section.get("file"), str):
            raise InputError(f"{where}: {bone}.file: missing; allowed: an STL, PLY or OBJ file beside it")
        for name in wanted:
            value = section.get(name)
            if not three_numbers(value) or max(abs(float(v)) for v in value or ()) > _FARTHEST:
                may = f"allowed: three numbers, of at most {_FARTHEST:.0f}"
                raise InputError(f"{where}: {bone}.{name}: found {shown(value)}; {may}")
    return table


_FARTHEST = 1e6
"""Farther from a scan's origin lies nothing, in millimetres either."""
_STATED: dict[str, tuple[Any, ...]] = {
    "format": (FORMAT,), "units": tuple(UNITS), "side": (LEFT, RIGHT), "mirrored": (True, False),
}  # fmt: skip


def _listed(allowed: tuple[Any, ...]) -> str:
    return ", ".join("true" if v is True else "false" if v is False else str(v) for v in allowed)


def mesh_file(order: Path, name: str, bone: str) -> Path:
    """A mesh file inside the order file's folder."""
    path = inside(order.parent, name)
    if path is None:
        found = f"{plain(order.name)}: {bone}.file: found {shown(name)}"
        raise InputError(f"{found}; allowed: a file inside the order file's folder")
    return path
