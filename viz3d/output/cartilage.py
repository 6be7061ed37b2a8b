"""Pressure at the vertices of the stance socket's cartilage, for shading it.

Question answered: which pressure does the solution put at each point of the drawn horseshoe?

Drawn is the lune's closed-form field where there is cartilage, or, where the scene asks for the horseshoe, the field
of the head's solved move; nothing is spread anew. Called by the mesh layer and the vector writer.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.contact.lune import pressure_at
from viz3d.shapes.build import Shape
from viz3d.stage.plan import Plan

RIM = np.radians(2.0)
"""The cartilage's rounded rim is coloured this far beyond the model's edge."""


def cartilage_pressure(shape: Shape, plan: Plan, index: int) -> Array:
    """Pascals (V,) on the side that faces the head, zero elsewhere and where nothing carries the load."""
    frame, pressure = plan.frames["pelvis"][index], plan.pressure
    if not np.isfinite(pressure.peak[index]):
        return np.zeros(len(shape.surface.points))
    turn = frame[:3, :3]
    out = shape.surface.points @ turn.T + frame[:3, 3] - plan.hip[index]
    out /= np.linalg.norm(out, axis=1, keepdims=True)
    faces_head = np.einsum("ij,ij->i", shape.surface.normals @ turn.T, out) < -0.35
    if pressure.displacement is not None:
        on_pelvis = (out @ turn) * np.array([1.0, 1.0, plan.sign])
        values = np.maximum(on_pelvis @ pressure.displacement[index], 0.0)
    else:
        normals = np.stack([plan.sign * out[:, 2], out[:, 1]], axis=-1)
        edge = float(pressure.edge[index]) + RIM
        values = pressure_at(normals, float(pressure.pole[index]), float(pressure.pole_pressure[index]), edge)
    return np.where(faces_head, values, 0.0)
