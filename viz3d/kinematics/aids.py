"""Where walking aids stand: tips on the floor and handles above them.

Question answered: where is each cane planted, and where is its handle?

A tip's place is chosen in the unloaded, upright, level posture and stays there while the body shifts: a planted cane
does not follow. Lateral coordinate outward from the stance side, origin under the stance foot's midline; per hand
(N, 2), the stance side first. SI.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.body.person import Body
from viz3d.body.segments import Lengths
from viz3d.kinematics.masses import LegPair, Masses
from viz3d.kinematics.posture import STANCE_HAND, SWING_HAND, Posture, posture_rows

INWARD = np.array([-1.0, 1.0])
"""Sign of the lateral direction from each hand towards the midline: stance hand, swing hand."""


def planted_tips(body: Body, posture: Posture, size: Lengths, masses: Masses, leg: LegPair) -> Array:
    """(N, 2) cane tips: chosen in the unloaded, upright, level posture, then left where they are.

    That posture stands on one leg, or on both where the situation says the tip was placed so. A frame's feet stand
    beside the body's midline instead of beside the toes.
    """
    if not posture.has_cane.any():
        return np.zeros(posture.cane_tip.shape)
    default = float(posture_rows()["tip_beside_toe"].value)
    beside = np.where(np.isnan(posture.cane_tip), default, posture.cane_tip) + size.foot_breadth[:, None] / 2
    swing = masses.swing_leg.sum(axis=1)
    middle = -leg.stance_hip[:, 0]
    across = (leg.swing_hip - leg.stance_hip)[:, 0]
    upright = (masses.above - swing) * middle + swing * across
    sine = -upright / (masses.above * leg.stance_length + masses.leg_moment)
    sine = np.where(posture.placed_on_two, 0.0, sine)
    hip = leg.stance_length * sine
    width = posture.feet_apart(-across)
    swing_foot = np.where(posture.placed_on_two, -width, hip + across)
    own = np.stack([beside[:, STANCE_HAND], swing_foot - beside[:, SWING_HAND]], axis=-1)
    framed = (hip + middle)[:, None] - INWARD * posture.grip_from_middle
    return np.where(np.isnan(posture.grip_from_middle), own, framed)


def handles(posture: Posture, tip: Array, size: Lengths) -> Array:
    """(N, 2, 2) cane handles: lateral and height; at the wrist crease of the hanging arm."""
    height = np.broadcast_to(size.wrist_crease[:, None], tip.shape)
    lateral = tip + INWARD * height * np.tan(posture.cane_tilt)
    return np.stack([lateral, height], axis=-1)
