"""The bare floor of a socket: bone between the arms of the cartilage, which carries nothing.

Question answered: which part of a hip bone is it, and how is it drawn so that none takes it for a pressure?

Where a picture shows pressure, darkness means load; there the floor is as light as the bone around it, and hatched.
Metres.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.shapes.build import Shape
from viz3d.shapes.level_lines import level_lines
from viz3d.shapes.lunate import faces_of, inner_edge
from viz3d.shapes.surface import Surface

PITCH = 2.8e-3
"""Hatching lines stand so far apart, m."""
_LIFT = 3e-4
"""They are drawn this far off the floor, m."""
_UNDER = 1.12
"""The floor reaches on under the cartilage's edge: its outline is drawn so many times larger."""
_OUT = 0.06
"""How far the floor goes on past the cartilage's horns, rad."""
_DEEP = 0.010
"""Most that the floor lies beyond the cartilage's face, m."""
_LIGHT, _KEPT = 1.15, 0.15
"""Tone of the floor, and the part of its own that is kept."""


def bare_floor(hip: Surface, lunate: Surface) -> tuple[NDArray[np.bool_], Array]:
    """Which vertices (V,) of a hip bone are its socket's floor; how far all lie across its hatching (V,), m."""
    face, normals = faces_of(lunate)
    square = np.eye(3)[None] - normals[:, :, None] * normals[:, None, :]
    centre = np.linalg.solve(square.sum(axis=0), np.einsum("nij,nj->i", square, face))
    radius = float(np.linalg.norm(face - centre, axis=1).mean())
    edge = _unit(inner_edge(lunate) - centre)
    middle = _unit(edge.mean(axis=0))
    out = _unit(edge[0] + edge[-1] - (edge[0] + edge[-1]) @ middle * middle)
    aside = np.cross(middle, out)
    frame = np.stack([out, aside * np.sign((edge[-1] - edge[0]) @ aside)])  # mirrored bones: mirrored hatching
    border, way = _flat(edge, middle, frame), hip.points - centre
    heart = border.mean(axis=0)
    border = heart + _UNDER * (border - heart)
    beyond = np.array([[_OUT, 0.0]])
    border = np.concatenate([border[:1] + beyond, border, border[-1:] + beyond])
    far = np.linalg.norm(way, axis=1)
    way /= np.maximum(far, 1e-9)[:, None]
    at = _flat(way, middle, frame)
    faces = np.einsum("ij,ij->i", hip.normals, way) < -0.35
    near = (far > radius - 0.001) & (far < radius + _DEEP)
    return faces & near & _inside(at, border), radius * at.sum(axis=1) / np.sqrt(2.0)


def with_bare_floors(shapes: dict[str, Shape]) -> tuple[dict[str, Shape], dict[str, Array]]:
    """The shapes with their sockets' floors as light as bone; of each side the hatching (S, 2, 3) of its hip bone."""
    out, hatching = dict(shapes), {}
    sockets = {s.side: s.surface for s in shapes.values() if s.name == "lunate"}
    for key, shape in shapes.items():
        if shape.name == "hip" and shape.side in sockets:
            surface = shape.surface
            floor, across = bare_floor(surface, sockets[shape.side])
            shade = np.where(floor, _LIGHT + _KEPT * (surface.shade - 0.5), surface.shade)
            out[key] = replace(shape, surface=replace(surface, shade=shade))
            hatching[shape.side] = _hatching(surface, floor, across)
    return out, hatching


def _hatching(surface: Surface, floor: NDArray[np.bool_], across: Array) -> Array:
    """Slanting lines on the floor as pieces (S, 2, 3)."""
    low, high = (float(f(across[floor])) for f in (np.min, np.max)) if floor.any() else (0.0, 0.0)
    levels = np.arange(np.ceil(low / PITCH), high / PITCH) * PITCH
    triangles = surface.triangles[floor[surface.triangles].all(axis=1)]
    return level_lines(surface.points + _LIFT * surface.normals, triangles, across, levels)[0]


def _unit(some: Array) -> Array:
    return np.asarray(some / np.linalg.norm(some, axis=-1, keepdims=True))


def _flat(way: Array, middle: Array, frame: Array) -> Array:
    """Directions (N, 3) laid out about a middle one, true to their angle from it, (N, 2) rad."""
    aside = way @ frame.T
    far = np.linalg.norm(aside, axis=1)
    angle = np.arctan2(far, way @ middle)
    return np.asarray(aside * (angle / np.maximum(far, 1e-9))[:, None])


def _inside(points: Array, border: Array) -> NDArray[np.bool_]:
    """Which points (N, 2) lie within a closed outline (P, 2), by the even-odd rule."""
    a, b = border, np.roll(border, -1, axis=0)
    y, rise = points[:, 1, None], b[:, 1] - a[:, 1]
    spans = (a[:, 1] > y) != (b[:, 1] > y)
    x = a[:, 0] + (y - a[:, 1]) * (b[:, 0] - a[:, 0]) / np.where(rise == 0.0, 1.0, rise)
    return np.asarray((spans & (points[:, 0, None] < x)).sum(axis=1) % 2 == 1)
