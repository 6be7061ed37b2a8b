"""How every segment moves: velocities, accelerations, linear and angular momentum and their rates.

Question answered: with which momentum does each part of the body move, and how fast does that change?

A segment's place is its centre of mass; its turn is that of the link that carries it. Both are differentiated over the
cycle's frames (:func:`viz3d.motion.series.rate`): the body's whole motion needs no formula of its own, whatever found
the angles. Spin is the vector of (dR/dt) R^T; angular momentum is R I R^T spin with the principal moments of
:mod:`viz3d.body.inertia`. World frame that moves along with the walker (x forward, y up, z right), which changes no
acceleration. Left out: soft tissue that moves against the bones; the foot's mass is taken at its ankle, as in the
statics. SI.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.body.inertia import inertias
from viz3d.body.person import Body
from viz3d.body.segment_tables import SEGMENTS
from viz3d.body.segments import mass_fractions
from viz3d.kinematics.chain import Pose, segment_centres
from viz3d.motion.series import rate

LINKS = {"lower_trunk": "pelvis", "mid_trunk": "trunk", "upper_trunk": "trunk", "head_arms_trunk": "trunk"}
"""Links of segments that are no links of their own name."""


@dataclass(frozen=True)
class Momenta:
    """N frames, S segments; world frame."""

    mass: Array
    """(N, S) kg."""
    centre: Array
    """(N, S, 3) m."""
    velocity: Array
    """(N, S, 3) m/s, the walking speed counted."""
    acceleration: Array
    """(N, S, 3) m/s²."""
    turn: Array
    """(N, S, 3, 3) of each segment's link in space."""
    moments: Array
    """(N, S, 3) principal moments of inertia, kg m²."""
    spin: Array
    """(N, S, 3) rad/s."""
    angular: Array
    """(N, S, 3) angular momentum about the segment's own centre, N m s."""
    angular_rate: Array
    """(N, S, 3) its rate of change, N m."""

    @property
    def linear(self) -> Array:
        """Linear momentum (N, S, 3), N s."""
        return self.mass[..., None] * self.velocity

    @property
    def energy(self) -> Array:
        """Kinetic energy (N,), J."""
        moving = (self.mass[..., None] * self.velocity**2).sum(axis=(1, 2))
        return np.asarray(0.5 * (moving + (self.spin * self.angular).sum(axis=(1, 2))))


def momenta(body: Body, posed: Pose, frames: int, period: Array, speed: float) -> Momenta:
    """Momenta of whole cycles.

    Parameters
    ----------
    body : one person, or N. posed : N = C frames poses of C cycles. period : (C,) s. speed : of the walk, m/s.

    Examples
    --------
    >>> from viz3d.body.person import make_body
    >>> from viz3d.kinematics.chain import pose
    >>> from viz3d.kinematics.angles import at_rest
    >>> still = momenta(b := make_body("female", 64.0, 1.66), pose(b, at_rest(8), np.ones(8, bool)), 8, np.ones(1), 1.5)
    >>> float(np.abs(still.acceleration).max()), still.energy[0].round(6)
    (0.0, np.float64(72.0))
    """
    centre = segment_centres(body, posed)
    shape = centre.shape[:2]
    mass = np.broadcast_to(mass_fractions(body) * body.mass[:, None], shape)
    velocity = rate(centre, frames, period)
    turns = {link: posed.frames[link][:, :3, :3] for link in dict.fromkeys(LINKS.get(n, n) for n in SEGMENTS)}
    spins = {link: spin_of(turn, rate(turn, frames, period)) for link, turn in turns.items()}
    turn = np.stack([turns[LINKS.get(n, n)] for n in SEGMENTS], axis=1)
    spin = np.stack([spins[LINKS.get(n, n)] for n in SEGMENTS], axis=1)
    moments = np.broadcast_to(inertias(body), (*shape, 3))
    own = (turn * spin[..., :, None]).sum(axis=-2)
    angular = (turn * (moments * own)[..., None, :]).sum(axis=-1)
    acceleration = rate(velocity, frames, period)
    along = velocity + np.array([speed, 0.0, 0.0])
    return Momenta(mass, centre, along, acceleration, turn, moments, spin, angular, rate(angular, frames, period))


def spin_of(turn: Array, change: Array) -> Array:
    """Spin (..., 3) of turns (..., 3, 3) that change at a rate (..., 3, 3) a second.

    Notes
    -----
    The skew part of (dR/dt) R^T.
    """
    skew = np.matmul(change, np.swapaxes(turn, -1, -2))
    skew = 0.5 * (skew - np.swapaxes(skew, -1, -2))
    return np.stack([skew[..., 2, 1], skew[..., 0, 2], skew[..., 1, 0]], axis=-1)
