"""Pressure on the stance socket's cartilage: its values, colours and lines of equal pressure.

Question answered: which pressure does the solution put at each point of the drawn horseshoe, and how is it shown?

Drawn is the lune's closed-form field where there is cartilage, or, where the scene asks for the horseshoe, the field
of the head's solved move; nothing is spread anew. Loaded cartilage has the legend's colour, whatever the light; only
where nothing presses does its form show by a fixed soft shade. Isobars stand 0.5 MPa apart.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.contact.lune import pressure_at
from viz3d.output.window import baked_colours
from viz3d.shapes.build import Shape
from viz3d.shapes.level_lines import level_lines
from viz3d.shapes.skeleton import Figure
from viz3d.stage.palette import ISOBAR, PRESSURE_RANGE, isobar_colours, rgb
from viz3d.stage.plan import Plan
from viz3d.stage.theme import Theme

RIM = np.radians(2.0)
"""The cartilage's rounded rim is coloured this far beyond the model's edge."""
_LIFT = 2e-4
"""Isobars are drawn this far off the surface, m."""
_HATCH = 0.42
"""How bright hatching is beside bone."""
_SOFT = (0.35, -0.55, 0.75)
"""Where the fixed shade of bare cartilage is lightest, in the pelvis (outward last)."""


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


def cartilage_colours(shape: Shape, pascals: Array, theme: Theme, sign: float) -> Array:
    """Colours (V, 3), fractions, to be drawn without light: the legend's where there is pressure, else bare and soft.

    Parameters
    ----------
    pascals : (V,). sign : +1 for a right hip, -1 for a left one.
    """
    light = np.array(_SOFT) * (1.0, 1.0, sign) / np.linalg.norm(_SOFT)
    soft = 0.80 + 0.20 * (shape.surface.normals @ light)
    bare = baked_colours(shape.surface, theme.colours[shape.material]) * soft[:, None]
    return np.where(pascals[:, None] > 0.0, theme.pressure(pascals), bare)


def isobars(shape: Shape, pascals: Array, theme: Theme) -> tuple[Array, Array]:
    """Lines of equal pressure, each ``ISOBAR`` from the next.

    Returns
    -------
    ends (S, 2, 3) of their pieces in the shape's frame, m, a little off the surface; their colours (S, 3), fractions.
    """
    surface = shape.surface
    loaded = surface.triangles[(pascals[surface.triangles] > 0.0).all(axis=1)]
    levels = np.arange(ISOBAR, max(float(pascals.max(initial=0.0)), PRESSURE_RANGE[1]) + 1.0, ISOBAR)
    ends, which = level_lines(surface.points + _LIFT * surface.normals, loaded, pascals, levels)
    return ends, isobar_colours(levels, theme.colours, theme.backdrop == "print")[which]


def hatching_colour(bone: str) -> Array:
    """Colour (3,) of the lines on a socket's bare floor: bone in half light, grey on paper."""
    return np.asarray(_HATCH * np.array(rgb(bone)))


def hatching(figure: Figure, side: str, theme: Theme) -> tuple[Array, Array]:
    """Lines on the bare floor of a socket: ends (S, 2, 3) in the pelvis, m, and their colours (S, 3)."""
    ends = figure.hatching.get(side, np.zeros((0, 2, 3)))
    return ends, np.tile(hatching_colour(theme.colours["bone"]), (len(ends), 1))
