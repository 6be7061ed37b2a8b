"""Limbs that follow the body: an arm to its cane's handle, a leg to the floor.

Question answered: where do elbow and knee go, and how far does a hand fall short?

Elbow and knee by the law of cosines, in the plane of shoulder and wrist, or of hip and ankle. Called by
:mod:`viz3d.kinematics.frontal` (for the balance) and :mod:`viz3d.kinematics.chain` (for the picture).
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.body.segments import Lengths
from viz3d.kinematics.posture import Posture, posture_rows


def leg_bend(down: Array, thigh: Array, shank: Array) -> tuple[Array, Array]:
    """How far thigh (forward) and shank (back) swing so that hip and ankle are ``down`` apart, (N,) radians.

    Notes
    -----
    Ankle straight below the hip in the leg's own plane; beyond the straight leg's length the leg is straight.
    """
    span = np.clip(down, np.abs(thigh - shank) + 1e-6, thigh + shank)
    cosine = (thigh**2 + span**2 - shank**2) / (2.0 * thigh * span)
    bend = np.arccos(np.clip(cosine, -1.0, 1.0))
    back = np.arcsin(np.clip(thigh * np.sin(bend) / shank, -1.0, 1.0))
    return bend, back


def swing_span(hip_height: Array, ankle: Array, tilt: Array, posture: Posture) -> Array:
    """Distance from swing hip to swing ankle along the leg's plane so that the lifted foot clears the floor, (N,) m.

    Parameters
    ----------
    hip_height : (N,) of the swing hip. ankle : (N,) height of the ankle on the floor. tilt : (N,) sine of the leg's
        sideways tilt.
    """
    return np.asarray((hip_height - ankle - posture.clearance * posture.lifted) / np.sqrt(1.0 - tilt**2))


def reach(shoulder: Array, wrist: Array, size: Lengths) -> tuple[Array, Array, Array]:
    """How an arm reaches a point: glide of the shoulder, place of the elbow, what is missing.

    Parameters
    ----------
    shoulder, wrist : (N, 2, 2) lateral and height per hand.

    Returns
    -------
    glide : (N, 2) how far the shoulder joint glides towards the wrist, as a fraction of their distance.
    fraction : (N, 2) where the elbow projects on the line from the glided shoulder to the wrist.
    short : (N, 2) how far the wrist is beyond reach, m.

    Notes
    -----
    The arm bends straight back, so that the elbow lies on the shoulder-wrist line in the frontal plane (law of
    cosines). Beyond the straight arm's length the shoulder girdle lets the shoulder glide, up to its limit.
    """
    across, down = (wrist[..., i] - shoulder[..., i] for i in (0, 1))
    distance = np.sqrt(across * across + down * down)
    upper, lower = size.upper_arm[:, None], size.forearm[:, None]
    beyond = np.maximum(distance - (upper + lower), 0.0)
    within = np.clip(distance, np.abs(upper - lower) + 1e-9, upper + lower)
    fraction = 0.5 + (upper**2 - lower**2) / (2.0 * within * within)
    allowed = float(posture_rows()["shoulder_glide"].value)
    return beyond / distance, fraction, np.maximum(beyond - allowed, 0.0)


def free_arm_angle(posture: Posture) -> Array:
    """(N, 2) lean of each free arm in space, outward positive on the stance side.

    A free arm hangs straight down, except on the side away from which the trunk leans: there the body is in
    its way and it stays along the trunk.
    """
    return np.stack([np.minimum(posture.lean, 0.0), np.maximum(posture.lean, 0.0)], axis=-1)
