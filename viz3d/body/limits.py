"""What is refused: sizes that nobody has, bones that cannot be.

Question answered: may a body have this mass, this stature, these heads in this pelvis?

The limits are rows of ``tables/limits.toml``. They stop a mistake; no result is made from them. Metres, radians, kg.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.errors import InputError, OutOfRange
from viz3d.tables import load_values


def limits() -> dict[str, Any]:
    """Every limit by name; a pair where both ends are limited."""
    return load_values("viz3d.body.tables", "limits.toml")


def check_size(name: str, value: Array, ends: Sequence[float], unit: str) -> None:
    """Refuse a size outside the least and the largest allowed.

    Raises
    ------
    OutOfRange : the first value that is, or one that is no number.
    """
    low, high = ends
    ok = (value >= low) & (value <= high)
    if not bool(np.all(ok)):
        raise OutOfRange(name, f"{value[~ok][0]:g} {unit}", f"{low:g} to {high:g} {unit}")


def check_room(head_radius: Array, offset: Array, neck_shaft_angle: Array, spacing: Array) -> None:
    """Refuse bones that cannot be: a head too large for its pelvis or for its neck; all (N,) or (1,).

    Raises
    ------
    InputError : what was found, and what must be left.
    """
    gap, wall = spacing / 2 - head_radius, limits()["socket_wall"]
    if bool(np.any(gap < wall)):
        worst = float(np.broadcast_to(head_radius, gap.shape)[np.argmin(gap)])
        raise InputError(
            f"head radius: found {worst * 1e3:g} mm with hip centres {float(np.min(spacing)) * 1e3:g} mm apart; the"
            f" sockets would meet: at least {wall * 1e3:g} mm of pelvis must be left on either side of the midline"
        )
    neck = offset / np.cos(neck_shaft_angle - np.pi / 2)
    if bool(np.any(neck < limits()["neck_beyond_head"] * head_radius)):
        raise InputError(
            f"offset: found {float(np.min(offset)) * 1e3:g} mm with a head radius of"
            f" {float(np.max(head_radius)) * 1e3:g} mm; no neck would be left between head and shaft"
        )
