"""The body's swing forward and back, from the measured ground force.

Question answered: how far does the whole body's centre run ahead of even walking, and behind it, so that the ground
force measured forward is what Newton's law asks for?

Markers on the skin leave the centre of mass open to some millimetres; twice differentiated, three millimetres forward
at twice the cycle's rhythm are half of the braking force, and the centre of pressure leaves the foot. Where there are
ground forces, their forward part, twice integrated, says how the centre moves; the root is moved by what is missing.
Only forward: upward and sideways forces stay a result. SI.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import SIDES
from viz3d.body.person import Body
from viz3d.body.segments import mass_fractions
from viz3d.kinematics.angles import JointAngles
from viz3d.kinematics.chain import pose, segment_centres
from viz3d.motion.table import Motion
from viz3d.units import GRAVITY

ROUNDS = 5
"""How often root and feet are fitted in turn; each leaves about a tenth of what was missing."""
CARRIED = 0.8
"""Part of a move of the root that the body's centre follows, its feet standing."""


def closed(motion: Motion, key: str) -> Array:
    """A column without its drift from beginning to end, (M - 1,): the closing row is the first one again."""
    values = motion.values[key]
    drift = (values[-1] - values[0]) * motion.times / motion.period
    return np.asarray((values - drift)[:-1])


def measured_ground(motion: Motion, share: Array, side: str) -> Array | None:
    """The measured ground force under a foot at shares (F,) of the cycle, (F, 3) body weights; None without one.

    Of a side that was not measured: the other's half a cycle later, mirrored.
    """
    sides = [s for s in (side, *SIDES) if all(f"ground_{n}_{s}" in motion.values for n in ("forward", "up", "right"))]
    if not sides:
        return None
    known, at = sides[0], motion.times[:-1] / motion.period
    later, out = (0.0 if known == side else 0.5), []
    for name in ("forward", "up", "right"):
        sign = -1.0 if later and name == "right" else 1.0
        values = closed(motion, f"ground_{name}_{known}")
        out.append(sign * np.interp(np.mod(share + later, 1.0), at, values, period=1.0))
    return np.stack(out, axis=-1)


def asked_swing(motion: Motion, share: Array, period: float, harmonics: int) -> Array | None:
    """Where the forward ground force asks the body's centre to be, (F,) m about its mean; None without forces."""
    feet = [measured_ground(motion, share, side) for side in SIDES]
    known = [foot for foot in feet if foot is not None]
    if len(known) < len(SIDES):
        return None
    forward = GRAVITY * sum(foot[:, 0] for foot in known)
    found = np.fft.rfft(forward)
    turn = 2.0 * np.pi * np.arange(len(found)) / period
    found[0], found[harmonics + 1 :] = 0.0, 0.0
    found[1:] /= -(turn[1:] ** 2)
    return np.asarray(np.fft.irfft(found, n=len(share)))


def missing_swing(body: Body, angles: JointAngles, asked: Array, harmonics: int) -> Array:
    """How far the root must still move forward, (F,) m, for the body's centre to swing as asked."""
    posed = pose(body, angles, np.ones(len(asked), dtype=bool))
    centre = segment_centres(body, posed)[..., 0] @ mass_fractions(body)[0]
    lack = np.fft.rfft(asked - centre)
    lack[0], lack[harmonics + 1 :] = 0.0, 0.0
    return np.asarray(np.fft.irfft(lack, n=len(asked)) / CARRIED)
