"""What the trunk or the pelvis carries: one row a thing.

Question answered: which things hang on the body besides bags in the hands, how heavy is each, and where is its centre?

A new thing is a row here, a column of :class:`viz3d.kinematics.posture.Posture` with its mass, and its words; balance,
the list of loads, the posed chain and the other free body take it from here. Each acts in the body's midline at its
height.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from viz3d.arrays import Array
from viz3d.body.segments import Lengths
from viz3d.kinematics.posture import Posture, posture_rows


@dataclass(frozen=True)
class Carried:
    """A thing on the body: its column, what carries it, and its height above the floor, standing upright."""

    key: str
    on_pelvis: bool
    height: Callable[[Lengths], Array]

    def mass(self, posture: Posture) -> Array:
        """(N,) kg."""
        found: Array = getattr(posture, self.key)
        return found


def backpack_height(size: Lengths) -> Array:
    """Height of a backpack's centre, (N,) m."""
    part = float(posture_rows()["backpack_height"].value)
    return size.xiphion + part * (size.shoulder - size.xiphion)


THINGS = (Carried("backpack", False, backpack_height),)


def carried_mass(posture: Posture) -> Array:
    """Everything carried, bags included, (N,) kg."""
    total: Array = posture.bag_mass.sum(axis=1)
    for thing in THINGS:
        total = total + thing.mass(posture)
    return total
