"""The columns of a motion: what a table in time may hold, in which unit, and where it goes.

Question answered: which columns does a motion have, which must be there, and which way is positive?

A column's name in a file is its name here with its side, where it has one, and its unit:
``hip_flexion_right_deg``, ``root_up_m``, ``ground_up_left_BW``; with ``_sd`` behind it, its standard deviation. Senses
are those of :mod:`viz3d.kinematics.angles`; places and forces go forward (the way walked), up, and to the right.
"""

from __future__ import annotations

from dataclasses import dataclass

from viz3d.body.names import SIDES

UNITS: dict[str, dict[str, float]] = {
    "angle": {"deg": 0.017453292519943295, "rad": 1.0},
    "length": {"m": 1.0, "cm": 0.01, "mm": 0.001},
    "force": {"BW": 1.0, "percent_BW": 0.01},
    "moment": {"Nm_per_kg": 1.0},
}
"""Units by dimension: what one of them is in radians, metres, body weights, newton metres a kilogram."""
MOST: dict[str, float] = {"angle": 3.5, "length": 1000.0, "force": 10.0, "moment": 50.0}
"""What no walking body shows, in the same units: beyond it a column's unit is not the one it names."""


@dataclass(frozen=True)
class MotionColumn:
    """One kind of column; ``field`` and ``axis`` say where in a pose it goes, ``field`` empty for what is compared."""

    name: str
    dimension: str
    field: str = ""
    axis: int = 0
    sided: bool = False
    needed: bool = False
    mirrored: bool = False
    """Of columns without a side: the other half of the cycle has it with the other sign."""


COLUMNS = (
    MotionColumn("root_forward", "length", "root", 0, needed=True),
    MotionColumn("root_up", "length", "root", 1, needed=True),
    MotionColumn("root_right", "length", "root", 2, needed=True, mirrored=True),
    MotionColumn("pelvis_back", "angle", "pelvis", 0, needed=True),
    MotionColumn("pelvis_right", "angle", "pelvis", 1, needed=True, mirrored=True),
    MotionColumn("pelvis_left", "angle", "pelvis", 2, needed=True, mirrored=True),
    MotionColumn("trunk_back", "angle", "lumbar", 0),
    MotionColumn("trunk_right", "angle", "lumbar", 1, mirrored=True),
    MotionColumn("trunk_left", "angle", "lumbar", 2, mirrored=True),
    MotionColumn("hip_flexion", "angle", "hips", 0, sided=True, needed=True),
    MotionColumn("hip_adduction", "angle", "hips", 1, sided=True, needed=True),
    MotionColumn("hip_rotation", "angle", "hips", 2, sided=True),
    MotionColumn("knee_flexion", "angle", "knees", 0, sided=True, needed=True),
    MotionColumn("ankle_flexion", "angle", "ankles", 0, sided=True, needed=True),
    MotionColumn("shoulder_flexion", "angle", "shoulders", 0, sided=True),
    MotionColumn("shoulder_adduction", "angle", "shoulders", 1, sided=True),
    MotionColumn("shoulder_rotation", "angle", "shoulders", 2, sided=True),
    MotionColumn("elbow_flexion", "angle", "elbows", 0, sided=True),
    MotionColumn("ground_forward", "force", sided=True),
    MotionColumn("ground_up", "force", sided=True),
    MotionColumn("ground_right", "force", sided=True),
    MotionColumn("hip_flexion_moment", "moment", sided=True),
    MotionColumn("hip_abduction_moment", "moment", sided=True),
    MotionColumn("hip_rotation_moment", "moment", sided=True),
)
"""All columns. Of the pelvis and the trunk against it: top backward, top to the right, front to the left. Moments are
those that the body's own tissue makes, positive in the direction named."""


def sided_names(column: MotionColumn) -> tuple[str, ...]:
    """The keys of a column in a motion: one, or one a side.

    Examples
    --------
    >>> sided_names(COLUMNS[9])
    ('hip_flexion_left', 'hip_flexion_right')
    """
    return tuple(f"{column.name}_{side}" for side in SIDES) if column.sided else (column.name,)


def known_keys() -> dict[str, MotionColumn]:
    """Every key that a motion may hold."""
    return {key: column for column in COLUMNS for key in sided_names(column)}


def written(key: str, unit: str) -> str:
    """A key as it heads a column of a file.

    Examples
    --------
    >>> written("root_up", "m")
    'root_up_m'
    """
    return f"{key}_{unit}"
