"""Measuring bones on their surfaces: the sphere of a head, the axes of neck and shaft, the rim of a socket.

Question answered: which head radius, offset, neck-shaft angle, version, centre-edge angle does this mesh have?

The same measures serve our own bones (they must return what shaped them) and bones that users bring. A femur is
measured in any frame; a socket in the pelvis frame (x forward, y up, z right), right side. SI: metres, radians.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.body.limits import limits
from viz3d.body.person import geometry_rows
from viz3d.body.socket import rim_angle, socket_angles, turn_beside
from viz3d.errors import MeshError
from viz3d.shapes.surface import Surface

_ROUND = 0.985
"""Cosine between a vertex normal and the ray from a sphere's centre above which the vertex counts as on it."""

_EDGE = 0.0012
"""A socket's rim is where its surface leaves the sphere by this much, m."""
_SHAFT = (0.24, 0.28, 0.32, 0.36)
"""Levels of the upper shaft, as shares of the way from the head to the knee."""


@dataclass(frozen=True)
class FemurMeasures:
    """What a femur's surface says; lengths m, angles rad."""

    head: Array
    head_radius: float
    offset: float
    neck_shaft_angle: float
    version: float
    shaft_axis: Array
    """Unit vector up along the upper shaft."""
    neck_axis: Array
    """Unit vector from the neck towards the head."""
    condyle_axis: Array
    """Unit vector along the backs of the condyles, outward."""


@dataclass(frozen=True)
class SocketMeasures:
    """What a socket's surface says; ``centre`` (3,) m, ``axis`` out of the socket."""

    centre: Array
    radius: float
    axis: Array
    inclination: float
    version: float
    centre_edge_angle: float


def fit_sphere(points: Array) -> tuple[Array, float]:
    """Centre (3,) and radius of the sphere nearest to points (P, 3), least squares."""
    a = np.column_stack([2.0 * points, np.ones(len(points))])
    solution, *_ = np.linalg.lstsq(a, (points**2).sum(axis=1), rcond=None)
    return solution[:3], float(np.sqrt(solution[3] + (solution[:3] ** 2).sum()))


def fit_ball(surface: Surface, near: Array, inward: bool = False) -> tuple[Array, float]:
    """The sphere that a surface follows around a place: a femoral head, or a socket with ``inward`` normals.

    Parameters
    ----------
    near : (3,) a guess of its centre, within a radius of it.

    Raises
    ------
    MeshError : nothing round there.
    """
    inner = -1.0 if inward else 1.0
    offset = surface.points - np.asarray(near, dtype=float)
    distance = np.linalg.norm(offset, axis=1)
    facing = inner * np.einsum("ij,ij->i", offset, surface.normals) / np.maximum(distance, 1e-9)
    close = (distance < limits()["brought.ball_radius"][1]) & (distance > 0.008) & (facing > 0.6)
    points, out = surface.points[close], inner * surface.normals[close]
    if len(points) < 40:
        raise MeshError("no round surface near the point given for the head's centre")
    centre, radius = _voted_sphere(points, out)
    for within in (0.0015, 0.001, 0.0008, 0.0008):
        away = points - centre
        far = np.linalg.norm(away, axis=1)
        chosen = (np.abs(far - radius) < within) & (np.einsum("ij,ij->i", away, out) > _ROUND * far)
        if chosen.sum() < 40:
            raise MeshError("no round surface near the point given for the head's centre")
        centre, radius = fit_sphere(points[chosen])
    low, high = limits()["brought.ball_radius"]
    if not low < radius < high:
        usual = " to ".join(f"{end * 1e3:g}" for end in geometry_rows()["head_radius.male"].range)
        raise MeshError(f"the round surface there has a radius of {radius * 1000:.0f} mm; a hip's is {usual} mm")
    return centre, radius


def _voted_sphere(points: Array, out: Array) -> tuple[Array, float]:
    """The sphere that most points agree on: each point and its direction (P, 3) away from the centre name a centre."""
    best, found = -1, (points.mean(axis=0), 0.025)
    for radius in np.arange(0.012, 0.038, 0.0005):
        centres = points - radius * out
        middle = np.median(centres, axis=0)
        for _ in range(3):
            near = np.linalg.norm(centres - middle, axis=1) < 0.003
            if near.sum() < 10:
                break
            middle = centres[near].mean(axis=0)
        count = int((np.linalg.norm(centres - middle, axis=1) < 0.0015).sum())
        if count > best:
            best, found = count, (middle, float(radius))
    return found


def measure_femur(surface: Surface, near_head: Array, near_knee: Array, right: bool = True) -> FemurMeasures:
    """Measure a femur.

    Parameters
    ----------
    near_head : (3,) guess of the head's centre. near_knee : (3,) guess of the middle between the condyles.
    right : False for a left femur; version is positive forward on both sides.

    Notes
    -----
    Offset and neck-shaft angle are taken in the plane of the neck, as on a radiograph with the neck turned into it.

    Raises
    ------
    MeshError : no head, shaft or neck is found there.
    """
    head, radius = fit_ball(surface, near_head)
    length = float(np.linalg.norm(near_knee - head))
    up = (head - near_knee) / length
    middles = np.array([_shaft_centre(surface, head - share * length * up, up) for share in _SHAFT])
    shaft_at, shaft = _line(middles, up)
    neck = _neck_axis(surface, head, radius, shaft_at, shaft)
    aside = np.cross(neck, up)
    aside /= np.linalg.norm(aside)
    in_plane = shaft - (shaft @ aside) * aside
    in_plane /= np.linalg.norm(in_plane)
    away = head - shaft_at
    away -= (away @ aside) * aside
    offset = float(np.linalg.norm(away - (away @ in_plane) * in_plane))
    angle = float(np.pi - np.arccos(np.clip(neck @ in_plane, -1.0, 1.0)))
    across, version = _condyles(surface, neck, up, near_knee, right)
    return FemurMeasures(head, radius, offset, angle, version, shaft, neck, -across)


def _shaft_centre(surface: Surface, at: Array, up: Array) -> Array:
    """Middle of the shaft at one level, found from the line between head and knee."""
    for _ in range(5):
        found = _slice_centre(surface, at, up, 0.06)
        if found is None:
            raise MeshError("no shaft is found between the femoral head and the knee")
        at = found
    return at


def _slice(surface: Surface, at: Array, axis: Array) -> Array:
    """Segments (S, 2, 3) in which a plane through ``at`` across ``axis`` cuts the surface."""
    height = (surface.points - at) @ axis
    corner = height[surface.triangles]
    cut = (corner.min(axis=1) < 0.0) & (corner.max(axis=1) >= 0.0)
    triangles, h = surface.triangles[cut], corner[cut]
    ends = []
    for i, j in ((0, 1), (1, 2), (2, 0)):
        crossing = (h[:, i] < 0.0) != (h[:, j] < 0.0)
        share = np.where(crossing, h[:, i] / np.where(crossing, h[:, i] - h[:, j], 1.0), np.nan)[:, None]
        ends.append(surface.points[triangles[:, i]] * (1.0 - share) + surface.points[triangles[:, j]] * share)
    found = np.stack(ends, axis=1)
    return np.asarray(found[np.isfinite(found)].reshape(-1, 2, 3))


def _slice_centre(surface: Surface, at: Array, axis: Array, within: float) -> Array | None:
    """Area centroid of the slice through ``at`` across ``axis``, of what lies within a distance of it; else None."""
    found = _slice(surface, at, axis)
    found = found[(np.linalg.norm(found - at, axis=2) < within).all(axis=1)]
    if len(found) < 8:
        return None
    first, second = found[:, 0] - at, found[:, 1] - at
    area = np.abs(np.cross(first, second) @ axis)
    return np.asarray(at + (area[:, None] * (first + second)).sum(axis=0) / (3.0 * area.sum()))


def _line(points: Array, up: Array) -> tuple[Array, Array]:
    """Point on, and unit direction of, the line nearest to points, pointing along ``up``."""
    middle = points.mean(axis=0)
    axis = np.linalg.svd(points - middle)[2][0]
    return middle, np.asarray(axis * np.sign(axis @ up))


def _neck_axis(surface: Surface, head: Array, radius: float, shaft_at: Array, shaft: Array) -> Array:
    """Unit vector from the neck's middle to the head's centre."""
    away = head - shaft_at
    side = away - (away @ shaft) * shaft
    axis = side / np.linalg.norm(side) + 0.7 * shaft
    axis /= np.linalg.norm(axis)
    for shares, within in [((0.9, 1.0, 1.1), 1.0)] * 6 + [((0.72, 0.78, 0.84), 0.9)] * 6:
        found = [_slice_centre(surface, head - share * radius * axis, axis, within * radius) for share in shares]
        centres = [c for c in found if c is not None]
        if not centres:
            raise MeshError("no neck is found below the femoral head")
        new = head - np.mean(centres, axis=0)
        axis = new / np.linalg.norm(new)
    return np.asarray(axis)


def _condyles(surface: Surface, neck: Array, up: Array, knee: Array, right: bool) -> tuple[Array, float]:
    """Direction (3,) inward along the backs of the condyles, and the neck's forward turn against it."""
    offset = surface.points - knee
    low = offset[np.abs(offset @ up) < 0.03]
    across = np.cross(up, np.cross(neck, up))
    across /= np.linalg.norm(across)
    for _ in range(6):
        back = np.cross(across, up) * (-1.0 if right else 1.0)
        side = low @ across
        ends = []
        for part in (low[side > 0.008], low[side < -0.008]):
            if len(part) == 0:
                raise MeshError("no pair of condyles is found near the knee")
            ends.append(part[np.argmax(part @ back)])
        line = ends[0] - ends[1]
        line -= (line @ up) * up
        across = line / np.linalg.norm(line)
    flat = neck - (neck @ up) * up
    flat /= np.linalg.norm(flat)
    turn = np.arctan2(np.cross(across, flat) @ up, across @ flat)
    return across, float(-turn if right else turn)


def measure_socket(surface: Surface, near: Array) -> SocketMeasures:
    """Measure a right socket from the surface of its cartilage, or of a bone around ``near`` (3,).

    Raises
    ------
    MeshError : no round hollow there, or no rim.
    """
    centre, radius = fit_ball(surface, near, inward=True)
    offset = surface.points - centre
    distance = np.linalg.norm(offset, axis=1)
    inner = (np.abs(distance - radius) < 0.0008) & (np.einsum("ij,ij->i", offset, surface.normals) < -0.8 * distance)
    out = offset[inner] / distance[inner, None]
    axis = -out.mean(axis=0)
    axis /= np.linalg.norm(axis)
    edge = _edge_angle(surface, centre, radius)
    for _ in range(8):
        axis = _rim_normal(out, axis, edge)
    return SocketMeasures(centre, radius, axis, *socket_angles(axis), edge)


def _rim_normal(out: Array, axis: Array, edge: float) -> Array:
    """A better axis: the one about which the rim rises evenly at the front and back; the notch is left out."""
    first = np.cross(axis, [0.0, 1.0, 0.0])
    first /= np.linalg.norm(first)
    up = np.cross(first, axis)
    turn = np.arctan2(out @ first, out @ up)
    rim = []
    for k in range(48):
        low = -np.pi + k * np.pi / 24
        if abs(low + np.pi / 48) > np.radians(125):
            continue
        part = out[(turn >= low) & (turn < low + np.pi / 24)]
        if len(part):
            rim.append(part[np.argmax(part @ axis)])
    if len(rim) < 12:
        raise MeshError("the socket's rim is not found")
    points = np.array(rim)
    angle = np.arccos(np.clip(-(points @ axis), -1.0, 1.0))
    beside = turn_beside(points, axis, edge)
    roof = float(np.median(angle[beside < 0.2])) if (beside < 0.2).any() else float(angle.min())
    over = angle - rim_angle(roof, beside)
    where = np.arctan2(points @ first, points @ up)
    fit = np.linalg.lstsq(np.column_stack([np.ones(len(where)), np.cos(where), np.sin(where)]), over, rcond=None)[0]
    new = axis - fit[1] * up - fit[2] * first
    return np.asarray(new / np.linalg.norm(new))


def _edge_angle(surface: Surface, centre: Array, radius: float) -> float:
    """Angle from the vertical to where the roof, cut by the frontal plane, leaves the socket's sphere."""
    place = _slice(surface, centre, np.array([1.0, 0.0, 0.0])).reshape(-1, 3) - centre
    on_sphere = np.abs(np.linalg.norm(place, axis=1) - radius) < _EDGE
    roof = place[on_sphere & (place[:, 1] > 0.005)]
    if len(roof) == 0:
        raise MeshError("the socket has no roof in the frontal plane")
    return float(np.arctan2(roof[:, 2], roof[:, 1]).max())
