"""The ground's force under each foot of a moving body.

Question answered: which force, where, does the ground make under each foot, from Newton's law alone?

For the whole body, force = Σ m (a + g) and moment = Σ r x m (a + g) + Σ dH/dt, less what else acts on it from outside
(canes, bags). While one foot is down, all of it is
that foot's: the centre of pressure and the twist about the vertical follow. While both are down Newton's law leaves
open how they share, and one of two rules is taken:

* *smooth*: the trailing foot's upward force is the whole one times s = 1 - 3u² + 2u³, u the share of the double stance
  gone; its aim (force over its upward part) keeps to the body: what it was when the other heel struck, plus how the
  line from its centre of pressure to the body's centre of mass has turned since. Its centre of pressure stays on the
  floor where it was then, and its twist fades with s. The leading foot has the rest, moments included.
* *measured*: the trailing foot's share s of the upward force, and its forward and sideways force as parts of that, are
  the measured ones.

World frame that moves along with the walker (x forward, y up, z right); N = C F frames of C cycles. SI.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import SIDES
from viz3d.errors import InputError
from viz3d.motion.cycle import Cycle
from viz3d.motion.momenta import Momenta
from viz3d.motion.swing import measured_ground
from viz3d.statics.loads import Load, cross, total
from viz3d.units import GRAVITY

SMOOTH, MEASURED = "smooth", "measured"
RULES = (SMOOTH, MEASURED)
_UP = np.array([0.0, GRAVITY, 0.0])


@dataclass(frozen=True)
class Ground:
    """N frames, two feet in the order of SIDES; world frame."""

    force: Array
    """(N, 2, 3) on each foot, N; zero in the air."""
    place: Array
    """(N, 2, 3) centre of pressure on the floor, m; zero in the air."""
    twist: Array
    """(N, 2) moment about the vertical there, N m."""
    whole_force: Array
    """(N, 3) of both feet."""
    whole_moment: Array
    """(N, 3) about the origin."""
    share: Array
    """(N, 2) of the upward force."""

    def moment(self, k: int) -> Array:
        """Moment of one foot's force about the origin, (N, 3)."""
        out = cross(self.place[:, k], self.force[:, k])
        out[:, 1] += self.twist[:, k]
        return out


def whole_wrench(moving: Momenta) -> tuple[Array, Array]:
    """Force (N, 3) and moment about the origin (N, 3) that the whole body needs from outside but its weight."""
    force = moving.mass[..., None] * (moving.acceleration + _UP)
    moment = cross(moving.centre, force) + moving.angular_rate
    return force.sum(axis=1), moment.sum(axis=1)


def centre_of_mass(moving: Momenta) -> Array:
    """Of the whole body, (N, 3)."""
    return np.asarray((moving.mass[..., None] * moving.centre).sum(axis=1) / moving.mass.sum(axis=1)[:, None])


def feet_wrench(moving: Momenta, outside: tuple[Load, ...] = ()) -> tuple[Array, Array]:
    """What of that the feet give, where other loads (world frame) act on the body too."""
    force, moment = whole_wrench(moving)
    others, turn = total(outside, len(force))
    return force - others, moment - turn


def pressure_centre(force: Array, moment: Array) -> Array:
    """Centre of pressure (N, 3) on the floor of a force (N, 3) and its moment (N, 3) about the origin."""
    return _centres(force[:, None], moment[:, None])[0][:, 0]


def ground(moving: Momenta, cycle: Cycle, rule: str = SMOOTH, outside: tuple[Load, ...] = ()) -> Ground:
    """The ground's force under each foot; ``outside``: what else acts on the body, world frame.

    Raises
    ------
    InputError : no such rule, or the motion has no measured ground forces.
    """
    if rule not in RULES:
        raise InputError(f"rule {rule!r}; allowed: {', '.join(RULES)}")
    force, moment = feet_wrench(moving, outside)
    centre = centre_of_mass(moving)
    split = _Split(cycle, force, moment, centre, rule)
    parts = [np.zeros((len(force), 2, 3)), np.zeros((len(force), 2, 3))]
    for k in range(len(SIDES)):
        for part, whole in zip(parts, (force, moment), strict=True):
            part[:, k] = np.where(cycle.stands[:, k, None], whole, 0.0)
    both = cycle.stands.all(axis=1)
    for k in range(len(SIDES)):
        own, turn, rows = split.trailing(k)
        rows &= both
        for part, whole, trailing in zip(parts, (force, moment), (own, turn), strict=True):
            part[rows, k] = trailing[rows]
            part[rows, 1 - k] = (whole - trailing)[rows]
    place, twist = _centres(parts[0], parts[1])
    up = force[:, 1:2]
    return Ground(parts[0], place, twist, force, moment, parts[0][..., 1] / up)


def _centres(force: Array, moment: Array) -> tuple[Array, Array]:
    """Centres of pressure (N, 2, 3) on the floor and twists (N, 2) of forces and their moments about the origin."""
    up = force[..., 1]
    safe = np.where(np.abs(up) > 1e-9, up, np.inf)
    place = np.zeros_like(force)
    place[..., 0], place[..., 2] = moment[..., 2] / safe, -moment[..., 0] / safe
    twist = moment[..., 1] - (place[..., 2] * force[..., 0] - place[..., 0] * force[..., 2])
    return place, np.where(np.isfinite(safe), twist, 0.0)


class _Split:
    """What the trailing foot has while both are down."""

    def __init__(self, cycle: Cycle, force: Array, moment: Array, centre: Array, rule: str) -> None:
        self.cycle, self.force, self.moment, self.centre, self.rule = cycle, force, moment, centre, rule

    def trailing(self, k: int) -> tuple[Array, Array, np.ndarray]:
        """Force and moment about the origin of foot ``k`` as the trailing one, (N, 3) each, and where it trails."""
        motion, side, other = self.cycle.motion, SIDES[k], SIDES[1 - k]
        start, length = motion.strike[other], np.mod(motion.toe_off[side] - motion.strike[other], 1.0)
        since = np.mod(self.cycle.share - start, 1.0)
        gone = np.clip(since / length, 0.0, 1.0)
        fade = 1.0 - 3.0 * gone**2 + 2.0 * gone**3
        back = self._going(since)
        force0, moment0, centre0 = (self._at(v, start) for v in (self.force, self.moment, self.centre))
        place0, twist0 = _centres(force0[:, None], moment0[:, None])
        place = place0[:, 0] - back
        if self.rule == MEASURED:
            force, fade = self._measured(side, other)
        else:
            aim = force0 / force0[:, 1:2] + self._line(self.centre, place) - self._line(centre0, place0[:, 0])
            force = (fade * self.force[:, 1])[:, None] * aim
        turn = cross(place, force)
        turn[:, 1] += fade * twist0[:, 0]
        return force, turn, since < length

    @staticmethod
    def _line(centre: Array, place: Array) -> Array:
        """Direction from places on the floor to the body's centre, over its upward part."""
        line = centre - place
        return np.asarray(line / line[:, 1:2])

    def _going(self, since: Array) -> Array:
        """How far the floor has gone back, (N, 3) m, since some share of the cycle."""
        out = np.zeros((len(since), 3))
        out[:, 0] = self.cycle.speed * since * np.repeat(self.cycle.period, self.cycle.frames)
        return out

    def _at(self, values: Array, share: float) -> Array:
        """Values (N, 3) of each cycle's own series at one share, spread over its frames."""
        frames = self.cycle.frames
        found = np.fft.rfft(values.reshape(-1, frames, 3), axis=1)
        order = np.arange(found.shape[1])
        weight = np.where((order == 0) | (2 * order == frames), 1.0, 2.0) / frames
        turn = weight * np.exp(2j * np.pi * order * share)
        return np.repeat((found * turn[:, None]).real.sum(axis=1), frames, axis=0)

    def _measured(self, side: str, other: str) -> tuple[Array, Array]:
        """The trailing foot's force from the measured parts, (N, 3), and its share of the upward force, (N,)."""
        trail, lead = (measured_ground(self.cycle.motion, self.cycle.share, one) for one in (side, other))
        if trail is None or lead is None:
            raise InputError("the motion holds no ground forces; choose the smooth rule")
        up = trail[:, 1] + lead[:, 1]
        share = np.clip(trail[:, 1] / np.where(up > 0.05, up, np.inf), 0.0, 1.0)
        aim = trail / np.where(trail[:, 1] > 0.02, trail[:, 1], np.inf)[:, None]
        aim[:, 1] = 1.0
        return np.asarray((share * self.force[:, 1])[:, None] * aim), share
