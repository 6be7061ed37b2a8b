"""What a walk demands of the hip's muscles at each moment of its cycle, against what they can give.

Question answered: can these muscles make every moment that this walk demands; if not, how much is missing and when is
it hardest?

A walk is held as a whole: one moment of its cycle for which the muscles are too weak, and nobody walks like this. So
every moment shown of it has the status of its hardest one. As for standing, the equivalent adductor's strength is not
modelled, and muscles are as strong at any length and speed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.body.person import Body, Hip
from viz3d.statics.hip import HipLoad, effort, too_weak, torque_margin


@dataclass(frozen=True)
class Strain:
    """Demand against strength over the frames of a walk."""

    effort: Array
    """(N,) share of the strength that each moment takes; infinite where there is none, NaN where a muscle set cannot
    make it."""
    weak: Flags
    """(N,) True where the muscles cannot make it."""
    missing: Array
    """(N,) N m that they lack, 0 where they suffice."""

    @property
    def held(self) -> bool:
        """True where the muscles suffice at every moment."""
        return not bool(self.weak.any())

    @property
    def hardest(self) -> int:
        """The frame that most is missing in; where nothing is, the one that takes most of the strength."""
        return int(np.argmax(self.effort if self.held else np.where(self.weak, self.missing, -1.0)))


@dataclass(frozen=True)
class Hardest:
    """The hardest moment of a walk's cycle, and whether the muscles suffice at it, and so at every other."""

    held: bool
    phase: float
    """Share of the cycle since the studied side's heel strike."""
    effort: float
    """Share of the strength that it takes, as in :class:`Strain`."""
    missing: float
    """N m that the muscles lack then; 0 where they suffice."""


def strain(body: Body, hip: Hip, load: HipLoad) -> Strain:
    """What every frame of a walk demands."""
    margin = torque_margin(hip, load)
    weak = too_weak(body, margin) | ~np.isfinite(load.joint_magnitude)
    return Strain(effort(hip, load), weak, np.where(weak, np.maximum(-margin, 0.0), 0.0))


def hardest(found: Strain, phase: Array) -> Hardest:
    """The hardest of N frames at these shares of the cycle, (N,)."""
    k = found.hardest
    return Hardest(found.held, float(phase[k]), float(found.effort[k]), float(found.missing[k]))
