"""What is changed about a measured walk: a lean, a drop, another speed.

Question answered: which angle of the pelvis or the thorax is different, by how much, at which part of the cycle?

A change is a row of named, sourced courses: each an angle in the frontal plane, in space, as a function of the phase.
Published is how far an angle goes; its shape over the cycle is the measured one, made larger or smaller, or the
slowest rise and fall there is, one a cycle: any faster one would ask for more moment. What the rest of the body does to
stay balanced is found elsewhere (:mod:`viz3d.solution.changed`). Angles as :mod:`viz3d.kinematics.angles`: top to the
right positive. SI.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import RIGHT
from viz3d.kinematics.angles import JointAngles, angles_of, between, rotation
from viz3d.motion.table import Motion
from viz3d.tables import Row, load_rows

ASIDE = 1
"""The axis of an angle in the frontal plane."""
_HALVINGS = 40
_MOST = np.radians(30.0)
"""The largest lean that is looked for, rad."""


def change_rows() -> dict[str, Row]:
    """The sourced sizes of changes."""
    return load_rows("viz3d.motion", "changes.toml")


@dataclass(frozen=True)
class Course:
    """How one part's frontal angle changes over the cycle.

    ``part``: "pelvis" or "thorax". ``row``: key of its size. ``shape``: "scaled", the measured course about its mean,
    or "once", one rise and fall
    a cycle, greatest in the middle of the changed leg's stance, towards it (``way`` 1) or away from it (-1).
    ``ranged``: the size is the part's whole range, else what is added at most.
    """

    part: str
    row: str
    shape: str
    way: float = 1.0
    ranged: bool = True

    @property
    def size(self) -> float:
        """Rad."""
        return float(np.radians(change_rows()[self.row].value))


ONCE, SCALED = "once", "scaled"
CHANGES: dict[str, tuple[Course, ...]] = {
    "compensated limp": (
        Course("pelvis", "compensated_limp.pelvis", SCALED), Course("thorax", "compensated_limp.thorax", ONCE),
    ),
    "no sway": (Course("pelvis", "no_sway.pelvis", SCALED), Course("thorax", "no_sway.thorax", SCALED)),
    "drop": (Course("pelvis", "drop.pelvis", ONCE, way=-1.0, ranged=False),),
}  # fmt: skip
"""Name of a change -> its courses; the thorax keeps its own course in space where only the pelvis changes."""
Reach = Callable[[JointAngles], JointAngles]


@dataclass(frozen=True)
class Variation:
    """How a walk differs from the measured one; nothing by default."""

    change: str = ""
    """A key of :data:`CHANGES`, or none."""
    side: str = RIGHT
    """The changed leg."""
    faster: float = 1.0
    """Speed over the measured dimensionless one."""
    sway: Array | None = None
    """(F,) how far the root moves to the right, m: what balance asks for."""
    lean: float = 0.0
    """How far the trunk leans back the whole time, rad: the same, forward and back."""
    forward: Array | None = None
    """(F,) how far the root moves forward, m, where that is known; None to let the measured force ask for it."""
    legs: dict[str, Array] | None = None
    """Side -> (F, 7) leg angles of the unchanged walk with its feet on the floor, which the changed one keeps to; None
    to keep to the measured ones."""
    reach: Reach | None = None
    """What hands that hold something do to the arms' angles."""

    @property
    def same_sides(self) -> bool:
        """True where both sides still do the same, half a cycle apart."""
        return not self.change and self.sway is None

    @property
    def longer(self) -> float:
        """Step length over the measured one."""
        return float(self.faster ** change_rows()["walk_ratio"].value)

    @property
    def sooner(self) -> float:
        """Cadence over the measured one."""
        return self.faster / self.longer


USUAL = Variation()


def rise(share: Array, middle: float) -> Array:
    """The slowest rise and fall (F,) from 0 to 1 and back, greatest at one share of the cycle.

    Examples
    --------
    >>> rise(np.array([0.0, 0.3, 0.8]), 0.3).round(2)
    array([0.35, 1.  , 0.  ])
    """
    return np.asarray(0.5 + 0.5 * np.cos(2.0 * np.pi * (share - middle)))


def changed_middle(motion: Motion, varied: Variation, share: Array, pelvis: Array, trunk: Array) -> tuple[Array, Array]:
    """Pelvis' and trunk's angles with a change.

    Parameters
    ----------
    share : (F,) of the cycle. pelvis : (F, 3) in space, rad. trunk : (F, 3) against the pelvis.

    Returns
    -------
    The same two.
    """
    back = np.array([0.0, 0.0, 0.0]) if not varied.lean else np.array([varied.lean, 0.0, 0.0])
    trunk = trunk + back
    if not varied.change:
        return pelvis, trunk
    side = varied.side
    long = float(np.mod(motion.toe_off[side] - motion.strike[side], 1.0))
    most = float(change_rows()["most_at"].value)
    way = rise(share, motion.strike[side] + most * long) * (1.0 if side == RIGHT else -1.0)
    parts = {"pelvis": pelvis, "thorax": angles_of(rotation(pelvis) @ rotation(trunk))}
    for course in CHANGES[varied.change]:
        parts[course.part] = _changed(course, parts[course.part], way)
    return parts["pelvis"], between(rotation(parts["pelvis"]), rotation(parts["thorax"]))


def _changed(course: Course, angles: Array, towards: Array) -> Array:
    """A part's angles (F, 3) in space after a course; ``towards`` (F,) the changed leg."""
    mean = angles[:, ASIDE].mean()
    shape = course.way * towards if course.shape == ONCE else angles[:, ASIDE] - mean
    start = angles.copy()
    if course.shape == SCALED:
        start[:, ASIDE] = mean

    def added(much: float) -> Array:
        out = start.copy()
        out[:, ASIDE] += much * shape
        return out

    if not course.ranged:
        return added(course.size)
    low, high = 0.0, _MOST if course.shape == ONCE else 5.0
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if frontal_range(rotation(added(middle))) < course.size else (low, middle)
    return added(0.5 * (low + high))


def frontal_range(turned: Array) -> float:
    """Range of a part's lean in the frontal plane, rad, from its turns (F, 3, 3) in space."""
    return float(np.ptp(np.arctan2(turned[:, 2, 1], turned[:, 1, 1])))


def slow(values: Array, harmonics: int) -> Array:
    """Samples of a cycle (F, ...) without what is faster than some harmonics."""
    found = np.fft.rfft(values, axis=0)
    found[harmonics + 1 :] = 0.0
    return np.asarray(np.fft.irfft(found, n=len(values), axis=0))
