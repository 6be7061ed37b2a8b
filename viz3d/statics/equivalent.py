"""The equivalent muscles: one line that stands for all abductors, one for all adductors.

Question answered: along which line does the one muscle pull in these postures, and with which moment arm?

From the middle of the outer ilium to the greater trochanter, or from the pubis to the shaft, in the frontal plane
through the hip. Hip frame: x forward, y up, l outward from the stance hip; SI.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.body.landmarks import femur_landmark, pelvis_landmark
from viz3d.body.person import Body, Hip
from viz3d.kinematics.frontal import Stance
from viz3d.kinematics.muscle_paths import HipBones, hip_centre
from viz3d.statics.loads import in_space

ABDUCTOR, ADDUCTOR = "abductor", "adductor"


@dataclass(frozen=True)
class MuscleLine:
    """One straight muscle from pelvis to femur, hip frame."""

    origin: Array
    """(N, 3) on the pelvis."""
    insertion: Array
    """(N, 3) on the femur."""
    direction: Array
    """(N, 3) unit vector of its pull on the pelvis."""
    moment_arm: Array
    """(N,) moment arm as the frontal plane shows it, signed: positive when it abducts, m."""


def turned(points: Array, angle: Array) -> Array:
    """Points (N, 3) of a segment whose up-axis leans by ``angle`` outward."""
    c, s = np.cos(angle), np.sin(angle)
    up, out = points[:, 1], points[:, 2]
    return np.stack(np.broadcast_arrays(points[:, 0], up * c - out * s, out * c + up * s), axis=-1)


def muscle_line(body: Body, hip: Hip, stance: Stance, name: str) -> MuscleLine:
    """The equivalent abductor's or adductor's line in these postures.

    A measured abductor lever arm moves the line sideways so that it has that lever in neutral stance; from
    there it changes with the posture like any other line.
    """
    count = len(stance.sine)
    tilt = (np.broadcast_to(a, (count,)) for a in (stance.posture.obliquity, stance.inclination))
    return posed_line(body, hip, name, *tilt)


def posed_line(body: Body, hip: Hip, name: str, obliquity: Array, inclination: Array) -> MuscleLine:
    """The same line from pelvic obliquity and the leg's inclination (negative: abducted), (N,) rad each.

    It lies in the frontal plane through the hip.
    """
    start, end = _ends(body, hip, name)
    origin, insertion = np.broadcast_arrays(turned(start, -obliquity), turned(end, inclination))
    direction, lever = _line(origin, insertion)
    return MuscleLine(origin, insertion, direction, lever)


def line_between(body: Body, hip: Hip, name: str, bones: HipBones) -> MuscleLine:
    """The same line between bones turned any way: its ends move with them, out of the frontal plane too."""
    start, end = _ends(body, hip, name)
    origin = (bones.pelvis * start[:, None]).sum(axis=-1)
    insertion = (bones.thigh * end[:, None]).sum(axis=-1)
    direction, lever = _line(origin, insertion)
    return MuscleLine(origin, insertion, direction, lever)


def _ends(body: Body, hip: Hip, name: str) -> tuple[Array, Array]:
    """Where the line starts on an upright pelvis and ends on a hanging thigh, (N, 3) m from the hip centre."""
    flat = np.array([0.0, 1.0, 1.0])
    start = (pelvis_landmark(f"{name}_origin", body) - hip_centre(body, hip)) * flat
    end = femur_landmark(f"{name}_insertion", body, hip) * flat
    start, end = np.broadcast_arrays(start, end)
    if name == ABDUCTOR and not np.all(np.isnan(hip.abductor_lever)):
        direction, lever = _line(start, end)
        shift = np.where(np.isnan(hip.abductor_lever), 0.0, hip.abductor_lever - lever)
        aside = in_space(0.0, direction[:, 2], -direction[:, 1], len(direction)) * shift[:, None]
        start, end = start + aside, end + aside
    return start, end


def _line(origin: Array, insertion: Array) -> tuple[Array, Array]:
    """Unit direction of the pull on the pelvis and its signed moment arm about the hip centre."""
    span = insertion - origin
    direction = span / np.sqrt((span**2).sum(axis=-1, keepdims=True))
    return direction, origin[:, 1] * direction[:, 2] - origin[:, 2] * direction[:, 1]
