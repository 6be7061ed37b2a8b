"""Lines of action of the muscle set in a posture: where each muscle pulls on the pelvis, and with which levers.

Question answered: with the pelvis tilted and the leg inclined like this, along which line does each muscle pull,
and how large are its lever arms about the three axes of the hip?

Frame: at the stance hip centre, x forward, y up, l outward; mirrored for a left hip, so one code serves both
sides. Lever arms are metres of moment per newton: *abduction*, *flexion*, *internal rotation* of the thigh against
the pelvis, positive in the direction named. Only the stretch of path that crosses from one bone to the other
matters: a surface on the thigh is left towards the pelvis, one on the pelvis towards the thigh. Where an abductor lever
arm was measured, the abductors' lines are moved sideways with what they wrap, all as far, until their mean arm in
neutral stance, weighted by cross-section, is the measured one. Left out: muscles that touch two surfaces at once.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.body.muscles import ABDUCTORS, WrapSurface, cross_sections, muscle_lines, muscle_points, wrap_surfaces
from viz3d.body.person import Body, Hip
from viz3d.body.segments import lengths
from viz3d.kinematics.wrapping import BARE, Bend, round_cylinder, round_ellipsoid

AXES = ("abduction", "flexion", "internal_rotation")
"""The hip's axes, in the order of every lever and moment."""


@dataclass(frozen=True)
class MusclePaths:
    """N situations, K muscles; hip frame, metres."""

    origin: Array
    """(N, K, 3) on the pelvis (or sacrum)."""
    insertion: Array
    """(N, K, 3) on the thigh or shin."""
    point: Array
    """(N, K, 3) a point of the line of action."""
    direction: Array
    """(N, K, 3) unit vector of the pull on the pelvis."""
    moment_arm: Array
    """(N, K, 3) moment per newton: abduction, flexion, internal rotation."""
    length: Array
    """(N, K) of the whole path."""
    wraps: NDArray[np.bool_]
    """(N, K) whether the path bends round its surface."""
    course: Array
    """(N, K, P, 3) the whole path: origin, points along it, insertion."""


@dataclass(frozen=True)
class HipBones:
    """How the bones at the hip are turned in space, N or 1 situations; hip frame (mirrored for a left hip)."""

    pelvis: Array
    """(N, 3, 3)."""
    thigh: Array
    """(N, 3, 3)."""
    knee: Array | None = None
    """(N, 3, 3) of the shin against the thigh; None for a straight knee."""


def hip_moment_arms(point: Array, direction: Array) -> Array:
    """Lever arms (..., 3) of a pull on the pelvis along ``direction`` through ``point``.

    Notes
    -----
    r × e in (x, y, l); a moment on the thigh is the opposite of the one on the pelvis.
    """
    return axis_moments(np.cross(point, direction))


def axis_moments(turn: Array) -> Array:
    """Moments (..., 3) of the thigh about the hip's axes from the pelvis' r x F: abduction, flexion, rotation."""
    return np.stack([turn[..., 0], -turn[..., 2], -turn[..., 1]], axis=-1)


def pelvis_rotation(obliquity: Array) -> Array:
    """Rotation (N, 3, 3) of the pelvis: its swing side ``obliquity`` lower."""
    return _outward(-obliquity)


def thigh_rotation(inclination: Array, forward: Array) -> Array:
    """Rotation (N, 3, 3) of the stance leg: upper end outward by ``inclination`` and forward by ``forward``, rad."""
    c, s = np.cos(forward), np.sin(forward)
    lean = np.zeros((len(c), 3, 3))
    lean[:, 0, 0], lean[:, 0, 1] = c, s
    lean[:, 1, 0], lean[:, 1, 1] = -s, c
    lean[:, 2, 2] = 1.0
    return np.asarray(_outward(inclination) @ lean)


def _outward(angle: Array) -> Array:
    c, s = np.cos(angle), np.sin(angle)
    turn = np.zeros((len(c), 3, 3))
    turn[:, 0, 0] = 1.0
    turn[:, 1, 1], turn[:, 1, 2] = c, -s
    turn[:, 2, 1], turn[:, 2, 2] = s, c
    return turn


def muscle_paths(
    body: Body, hip: Hip, obliquity: Array, inclination: Array, forward: Array, points: int = BARE
) -> MusclePaths:
    """Paths and lever arms of the whole set.

    Parameters
    ----------
    body, hip : people and their stance hips, batch N or 1.
    obliquity, inclination, forward : (N,) pelvic obliquity; stance leg's inclination outward and forward, rad.
    points : of each path between its ends, 2 or more; more for drawing.

    Raises
    ------
    Nothing of its own: any posture has paths; points inside a surface leave the line straight.
    """
    count = np.broadcast_shapes(obliquity.shape, inclination.shape, forward.shape)
    obliquity, inclination, forward = (np.broadcast_to(a, count) for a in (obliquity, inclination, forward))
    bones = HipBones(pelvis_rotation(obliquity), thigh_rotation(inclination, forward))
    return paths_between(body, hip, bones, points)


def paths_between(body: Body, hip: Hip, bones: HipBones, points: int = BARE) -> MusclePaths:
    """Paths and lever arms of the whole set between bones turned any way.

    Parameters
    ----------
    body, hip : people and the hips studied, batch N or 1. points : of each path between its ends, 2 or more.

    Notes
    -----
    With a bent knee the ends on the shin, and the kneecap's, turn about the knee's centre.
    """
    moved = measured_shift(body, hip)
    start, end = (points + moved for points in muscle_points(body, hip))
    if bones.knee is not None:
        end = _bent(body, bones.knee, end)
    count = max(len(start), len(end), len(bones.pelvis), len(bones.thigh))
    pelvis, thigh = (np.broadcast_to(turn, (count, 3, 3)) for turn in (bones.pelvis, bones.thigh))
    from_hip = start - hip_centre(body, hip)[:, None, :]
    origin = np.einsum("nij,nkj->nki", pelvis, from_hip)
    insertion = np.einsum("nij,nkj->nki", thigh, end)
    origin, insertion = np.broadcast_arrays(origin, insertion)
    span = insertion - origin
    length = np.linalg.norm(span, axis=-1)
    direction = span / length[..., None]
    point = origin.copy()
    wraps = np.zeros(length.shape, dtype=bool)
    share = np.linspace(0.0, 1.0, points + 2)[:, None]
    course = origin[:, :, None] * (1.0 - share) + insertion[:, :, None] * share
    for name, surface in wrap_surfaces(body, hip).items():
        turn = pelvis if surface.frame == "pelvis" else thigh
        base = surface.centre - (hip_centre(body, hip) if surface.frame == "pelvis" else 0.0)
        for k, line in enumerate(muscle_lines()):
            if line.wrap != name:
                continue
            bend = _bend(surface, turn, base + moved[:, k], origin[:, k], insertion[:, k], points)
            on_pelvis = surface.frame == "pelvis"
            a = bend.last if on_pelvis else origin[:, k]
            b = insertion[:, k] if on_pelvis else bend.first
            pull = b - a
            pull = pull / np.linalg.norm(pull, axis=-1, keepdims=True)
            keep = bend.wraps[:, None]
            point[:, k] = np.where(keep, a, origin[:, k])
            direction[:, k] = np.where(keep, pull, direction[:, k])
            length[:, k], wraps[:, k], course[:, k, 1:-1] = bend.length, bend.wraps, bend.arc
    return MusclePaths(origin, insertion, point, direction, hip_moment_arms(point, direction), length, wraps, course)


def _bent(body: Body, knee: Array, end: Array) -> Array:
    """Insertions (N, K, 3) in the thigh frame with the knee bent."""
    centre = np.zeros((len(body.stature), 1, 3))
    centre[:, 0, 1] = -lengths(body).thigh
    turned = np.einsum("nij,nkj->nki", knee, np.broadcast_to(end - centre, (len(knee), *end.shape[1:]))) + centre
    on_shin = np.array([line.to != "femur" for line in muscle_lines()])[:, None]
    return np.asarray(np.where(on_shin, turned, end))


def mean_abduction_arm(body: Body, hip: Hip) -> Array:
    """Abduction arm of the abductors' lines in neutral stance, weighted by cross-section, (N,) m."""
    zero = np.zeros(1)
    arm = muscle_paths(body, hip, zero, zero, zero).moment_arm[..., 0]
    weight = cross_sections() * np.array([line.group == ABDUCTORS for line in muscle_lines()])
    return np.asarray(arm @ weight / weight.sum())


def measured_shift(body: Body, hip: Hip) -> Array:
    """How far each line is moved so that the mean abduction arm is the measured one, (N, K, 3) m; 0 where none was."""
    names = muscle_lines()
    if np.all(np.isnan(hip.abductor_lever)):
        return np.zeros((1, len(names), 3))
    usual = dataclasses.replace(hip, abductor_lever=np.full(1, np.nan))
    zero = np.zeros(1)
    way = muscle_paths(body, usual, zero, zero, zero).direction
    flat = way[..., 1] ** 2 + way[..., 2] ** 2
    aside = np.stack([np.zeros_like(flat), way[..., 2] / flat, -way[..., 1] / flat], axis=-1)
    missing = np.nan_to_num(hip.abductor_lever - mean_abduction_arm(body, usual))
    counted = np.array([line.group == ABDUCTORS for line in names])
    return np.asarray(missing[:, None, None] * counted[:, None] * aside)


def hip_centre(body: Body, hip: Hip) -> Array:
    """The stance hip centre in the pelvis frame, right side, (N, 3) metres."""
    out, up = np.broadcast_arrays(body.hip_spacing / 2 + hip.socket_out, hip.socket_up)
    return np.stack([np.zeros_like(out), up, out], axis=-1)


def _bend(surface: WrapSurface, turn: Array, base: Array, start: Array, end: Array, points: int) -> Bend:
    centre = np.einsum("nij,nj->ni", turn, np.broadcast_to(base, (len(turn), 3)))
    axes = np.einsum("nij,njk->nik", turn, np.broadcast_to(surface.axes, turn.shape))
    radii = np.broadcast_to(surface.radii, (len(turn), 3))
    if surface.kind == "cylinder":
        return round_cylinder(start, end, centre, axes[..., 0], radii[:, 0], axes[..., 1], points)
    return round_ellipsoid(start, end, centre, axes, radii, points)
