"""A changed walk in balance: what the body does when one thing is changed about it.

Question answered: somebody leans, drops the pelvis, walks at another speed, presses on a cane or carries a bag; how
does the whole body sway then, so that its motion and the ground's force still obey Newton's law?

The feet stay where they are, and so does the pressure under them sideways: the whole body is moved aside over them, as
far as it takes for the centre of pressure that Newton's law asks for to be the unchanged walk's at every instant. With
something held the trunk also leans forward or back, the whole time alike, until the pressure lies as far ahead of the
ankles as usual on average. What is left of the difference is told. Where nothing is changed, the walk is the measured
one, to the last digit. Left out: wider or shorter steps, arms that balance, another rhythm.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.body.names import RIGHT, SIDES
from viz3d.body.person import Body
from viz3d.motion.change import Variation, slow
from viz3d.motion.check import check_feet
from viz3d.motion.cycle import FITTED, FRAMES, Cycle, cycle_of, cycle_pace
from viz3d.motion.hands import EMPTY, Held, Holding, holding, stick_of
from viz3d.motion.momenta import Momenta, momenta
from viz3d.motion.series import harmonics_below
from viz3d.motion.swing import CARRIED
from viz3d.motion.table import Motion
from viz3d.statics.ground import centre_of_mass, feet_wrench, pressure_centre
from viz3d.statics.held import held_loads
from viz3d.units import GRAVITY

Spectrum = NDArray[np.complex128]
"""A cycle by its harmonics."""
ROUNDS = 6
"""How often sway and feet are found in turn."""
_ENOUGH, _TRUSTED = 0.02, (0.4, 1.6)
"""Sway (m, summed over the samples) from which its answer is looked at, and by how much that may differ a round."""
_TRUNK = -0.25
"""How far the pressure goes forward for a radian of the trunk's leaning back, m: only how fast the rounds close in."""
MOST_LEAN = np.radians(25.0)


@dataclass(frozen=True)
class AskedWalk:
    """What is changed about a walk."""

    change: str = ""
    side: str = RIGHT
    """The leg that limps and that canes help."""
    faster: float = 1.0
    held: Held = field(default_factory=Held)

    @property
    def nothing(self) -> bool:
        """True where the walk is the measured one."""
        return not self.change and self.faster == 1.0 and self.held.nothing


@dataclass(frozen=True)
class Balance:
    """How a changed walk keeps its balance."""

    sway: float = 0.0
    """Farthest that the body is moved aside, m."""
    lean: float = 0.0
    """How far the trunk leans back the whole time, rad."""
    aside: float = 0.0
    """Farthest that the centre of pressure is left beside the unchanged walk's, m."""
    ahead: float = 0.0
    """How far it is left ahead of the unchanged walk's on average, m."""


@dataclass(frozen=True)
class ChangedWalk:
    """The cycle, what was asked for, what is held, and how it is balanced."""

    cycle: Cycle
    asked: AskedWalk
    holds: Holding
    balance: Balance


def changed_walk(
    body: Body, motion: Motion, asked: AskedWalk, frames: int = FRAMES, pace: float = 1.0, cutoff: float | None = None,
    by_force: bool = True,
) -> ChangedWalk:  # fmt: skip
    """A motion put on a body, with what is changed about it, in balance.

    Parameters
    ----------
    body : one person. frames, pace, cutoff, by_force : as :func:`viz3d.motion.cycle.cycle_of`.

    Raises
    ------
    MotionError : the feet cannot stand so. InputError : a hand cannot reach its cane.
    """
    how: dict[str, Any] = {"pace": pace, "cutoff": cutoff, "by_force": by_force}
    if asked.nothing:
        cycle = cycle_of(body, motion, frames, **how)
        check_feet(motion.title, cycle.planted)
        return ChangedWalk(cycle, asked, EMPTY, Balance())
    search = _Search(body, motion, asked, how)
    varied, balance = search.found()
    cycle = cycle_of(body, motion, frames, varied=varied, **how)
    check_feet(motion.title, cycle.planted)
    return ChangedWalk(cycle, asked, search.holds, balance)


class _Search:
    """The sway and the lean that leave the pressure where it was."""

    def __init__(self, body: Body, motion: Motion, asked: AskedWalk, how: dict[str, Any]) -> None:
        self.body, self.motion, self.asked, self.how = body, motion, asked, how
        plain = Variation(asked.change, asked.side, asked.faster)
        usual = cycle_of(body, motion, FITTED, **how)
        self.low = harmonics_below(usual.cutoff, motion.period)
        self.wanted = self._pressure(usual, EMPTY)[0]
        pace = cycle_pace(body, motion, plain)
        held = asked.held
        sticks = tuple(stick_of(body, motion, held, side, asked.side, pace) for side in held.push)
        self.holds = Holding(held, sticks)
        reach = None
        if held.push or held.bags:
            share = np.arange(FITTED) / FITTED
            reach = lambda angles: holding(body, self.holds, share, self.low, angles)  # noqa: E731
        own = usual if asked.faster == 1.0 else cycle_of(body, motion, FITTED, varied=plain, **how)
        forward = own.forward if how["by_force"] else None
        self.start = dataclasses.replace(
            plain, reach=reach, sway=np.zeros(FITTED), forward=forward, legs=usual.planted.angles
        )

    def found(self) -> tuple[Variation, Balance]:
        """The variation in balance, and how well it is."""
        varied = self.start
        left: Spectrum | None = None
        tried: Spectrum | None = None
        answer = self._answer()
        for k in range(ROUNDS + 1):
            cycle = cycle_of(self.body, self.motion, FITTED, varied=varied, **self.how)
            place = self._pressure(cycle, self.holds)[0] - self.wanted
            if k == ROUNDS:
                break
            found = np.fft.rfft(place[:, 2])[: self.low + 1]
            if left is not None and tried is not None:
                answer = _seen(answer, found - left, tried)
            left, tried = found, -found / answer
            sway = np.zeros(FITTED // 2 + 1, dtype=complex)
            sway[: self.low + 1] = tried
            assert varied.sway is not None
            lean = varied.lean
            if not self.holds.held.nothing:
                lean = float(np.clip(lean - place[:, 0].mean() / _TRUNK, -MOST_LEAN, MOST_LEAN))
            varied = dataclasses.replace(varied, sway=varied.sway + np.fft.irfft(sway, n=FITTED), lean=lean)
        assert varied.sway is not None
        aside = float(np.abs(slow(place[:, 2], self.low)).max())
        ahead = float(place[:, 0].mean()) if not self.holds.held.nothing else 0.0
        return varied, Balance(float(np.abs(varied.sway).max()), varied.lean, aside, ahead)

    def _answer(self) -> Spectrum:
        """How far the pressure moves for a metre of sway, by harmonic: 1 + ω² h / g, of what follows the root."""
        cycle = cycle_of(self.body, self.motion, FITTED, varied=dataclasses.replace(self.start, reach=None), **self.how)
        _, moving = self._pressure(cycle, EMPTY)
        height = float(centre_of_mass(moving)[:, 1].mean())
        turn = 2.0 * np.pi * np.arange(self.low + 1) / float(cycle.period[0])
        return np.asarray(CARRIED * (1.0 + turn**2 * height / GRAVITY), dtype=complex)

    def _pressure(self, cycle: Cycle, holds: Holding) -> tuple[Array, Momenta]:
        """Sideways place of the feet's pressure, and how far ahead of the ankles that stand, (F, 3) m."""
        posed = cycle.posed(self.body)
        moving = momenta(self.body, posed, cycle.frames, cycle.period, cycle.speed)
        loads = held_loads(holds.held, holds.canes(posed, cycle), posed, cycle, RIGHT)
        place = pressure_centre(*feet_wrench(moving, loads))
        ankles = np.stack([posed.joints[f"{side}_ankle"][:, 0] for side in SIDES], axis=1)
        down = cycle.stands.astype(float)
        place[:, 0] -= (ankles * down).sum(axis=1) / down.sum(axis=1)
        return place, moving


def _seen(answer: Spectrum, moved: Spectrum, tried: Spectrum) -> Spectrum:
    """The answer to a sway as it was seen in the last round, where enough was tried, within limits of the usual one."""
    ratio = moved / np.where(np.abs(tried) > _ENOUGH, tried, np.inf) / answer
    size = np.clip(np.abs(ratio), *_TRUSTED)
    seen = (np.abs(ratio) > 0.0) & (np.abs(np.angle(ratio)) < np.pi / 3)
    return np.where(seen, answer * size * np.exp(1j * np.angle(ratio)), answer)
