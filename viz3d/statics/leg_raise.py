"""Raising the leg sideways, lying on the side or standing: what the hip muscle must pull and the joint carries.

Question answered: with the straight leg held out at this angle, perhaps with a weight at the ankle, how large are the
moment, the muscle force and the joint force at its own hip?

The free body is the raised leg alone; one equivalent abductor holds it. Lying on the other side, gravity points from
the raised leg towards the other one; standing, along the body. The trunk is at rest; nothing is said of the other hip
(``posture.swing_abduction`` is for that). Frontal plane; SI.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from viz3d.arrays import Array, Flags
from viz3d.body.person import Body, Hip, as_batch
from viz3d.body.segment_tables import SEGMENTS
from viz3d.body.segments import com_fractions, lengths, mass_fractions
from viz3d.echo import shown
from viz3d.errors import InputError
from viz3d.statics.equivalent import ABDUCTOR, posed_line
from viz3d.units import GRAVITY

LYING, STANDING = "lying", "standing"


@dataclass(frozen=True)
class LegRaise:
    """N situations, SI."""

    moment: Array
    """Abduction moment that holds the leg, N m."""
    muscle_force: Array
    moment_arm: Array
    joint_force: Array
    """(N, 3) on the socket: forward, towards the head, outward, in the body's own axes."""

    @property
    def hangs(self) -> Flags:
        """True where the leg's weight pulls the joint apart: nothing presses it, and what holds it is not modelled."""
        return np.asarray(self.joint_force[:, 1] < 0.0)

    @property
    def joint_magnitude(self) -> Array:
        """Size of the joint force, (N,)."""
        return np.asarray(np.sqrt((self.joint_force**2).sum(axis=1)))


def leg_raise(
    body: Body, hip: Hip, side: str, angle: ArrayLike, position: str = LYING, ankle_mass: ArrayLike = 0.0
) -> LegRaise:
    """Hold one straight leg out sideways.

    Parameters
    ----------
    side : "left" or "right", the raised leg. angle : (N,) rad from the body's long axis.
    position : "lying" on the other side, or "standing". ankle_mass : kg at the ankle.

    Raises
    ------
    InputError : an unknown position.

    Notes
    -----
    M = g Σ m r cos a lying, g Σ m r sin a standing; F = M / lever; R = weight − F e, on the socket.

    Examples
    --------
    >>> from viz3d.body.person import make_body
    >>> b = make_body("female", 64.0, 1.66)
    >>> leg_raise(b, b.right, "right", 0.0, "standing").moment.round(9).tolist()
    [0.0]
    """
    if position not in (LYING, STANDING):
        raise InputError(f"position: found {shown(position)}; allowed: {LYING}, {STANDING}")
    out, extra = as_batch(angle), as_batch(ankle_mass)
    size, com = lengths(body), com_fractions(body)
    index = [SEGMENTS.index(f"{side}_{name}") for name in ("thigh", "shank", "foot")]
    kg = (mass_fractions(body) * body.mass[:, None])[:, index]
    length = size.thigh + size.shank - hip.shortening
    along = kg[:, 0] * com[:, index[0]] * size.thigh + kg[:, 2] * length + extra * length
    along = along + kg[:, 1] * (size.thigh + com[:, index[1]] * (length - size.thigh))
    turn = np.cos(out) if position == LYING else np.sin(out)
    moment = GRAVITY * along * turn
    line = posed_line(body, hip, ABDUCTOR, np.zeros_like(moment), np.broadcast_to(-out, moment.shape))
    pull = moment / line.moment_arm
    weight = GRAVITY * (kg.sum(axis=1) + extra)
    down = np.array([0.0, 0.0, -1.0] if position == LYING else [0.0, -1.0, 0.0])
    joint = np.broadcast_to(weight, moment.shape)[:, None] * down - pull[:, None] * line.direction
    return LegRaise(moment, pull, line.moment_arm, joint)
