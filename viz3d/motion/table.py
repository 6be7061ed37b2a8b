"""A motion: one whole cycle as a table in time.

Question answered: which angles and places does somebody's movement have over one cycle, and where does it come from?

A motion is measured on one person and knows nothing of the body that it is put on. Times rise evenly from 0 to the end
of the cycle, which is the beginning of the next. Angles in radians, places in metres, forces in body weights, moments
in N m/kg, names and senses as in :mod:`viz3d.motion.columns`. Where only one side was measured, the other one is the
same half a cycle later, and what has no side is made to repeat, mirrored, after half a cycle
(:mod:`viz3d.motion.cycle`).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.body.names import SIDES

SAME = 1e-9
"""Shares that differ by less are one, so that both sides have the same samples."""


@dataclass(frozen=True)
class Motion:
    """One cycle of M rows."""

    title: str
    source: str
    licence: str
    times: Array
    """(M,) from 0 to the whole cycle, s."""
    values: dict[str, Array]
    """Key -> (M,)."""
    spread: dict[str, Array]
    """Key -> (M,) standard deviation, where the source has one."""
    strike: dict[str, float]
    """Side -> heel strike, share of the cycle, 0 to 1."""
    toe_off: dict[str, float]
    """Side -> toe off, share of the cycle, 0 to 1."""
    leg: float
    """The measured person's leg, hip to ankle, m."""
    step_width: float
    """Between the feet's midlines, m."""
    notes: tuple[str, ...] = field(default=())
    """How the table came about."""

    @property
    def period(self) -> float:
        """The cycle's time, s."""
        return float(self.times[-1])

    @property
    def stride(self) -> float:
        """How far the body gets in one cycle, m."""
        root = self.values["root_forward"]
        return float(root[-1] - root[0])

    @property
    def speed(self) -> float:
        """Mean speed, m/s."""
        return self.stride / self.period

    @property
    def sides(self) -> tuple[str, ...]:
        """The sides that were measured."""
        return tuple(side for side in SIDES if f"hip_flexion_{side}" in self.values)

    @property
    def one_sided(self) -> bool:
        """True where the other side is taken from the measured one, half a cycle later."""
        return len(self.sides) == 1

    def stands(self, side: str, share: Array) -> Flags:
        """Where a side's foot is on the ground, at shares (...) of the cycle."""
        since = np.mod(np.asarray(share) - self.strike[side], 1.0)
        length = np.mod(self.toe_off[side] - self.strike[side], 1.0)
        return np.asarray((since < length - SAME) | (since > 1.0 - SAME))
