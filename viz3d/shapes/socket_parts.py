"""Rows of a pelvis' table that are made about its socket: bowl, mouth, fossa, and curves in the socket's own frame.

Question answered: which solid does such a row become for this person? Called by :mod:`viz3d.shapes.build`. Millimetres.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.body.landmarks import drawn
from viz3d.body.person import geometry_rows
from viz3d.errors import TableError
from viz3d.shapes import bowl, fields
from viz3d.shapes.fields import Solid
from viz3d.shapes.stain import mottling
from viz3d.shapes.warp import Warp, row_centre, row_radius


def cup_axis(warp: Warp) -> Array:
    """Unit vector out of the socket, (3,)."""
    if warp.cup_axis is None:
        raise TableError("a cup part needs a [cup] table")
    return warp.cup_axis


def rim(warp: Warp) -> Callable[[Array], Array]:
    """The rule for the socket's rim."""
    if warp.rim is None:
        raise TableError("cups and mouths belong to a pelvis")
    return warp.rim


def cup(row: dict[str, Any], warp: Warp) -> Solid:
    """The bowl of bone round the socket."""
    centre = row_centre(row, warp) + np.array(row.get("shift", [0, 0, 0])) * warp.scale
    return bowl.cup(centre, row_radius(row, warp), cup_axis(warp), rim(warp), row.get("beyond_rim", 0.0))


def mouth(row: dict[str, Any], warp: Warp) -> Solid:
    """What stands open before the socket."""
    beyond = row.get("beyond_rim", 0.0)
    return bowl.mouth(row_centre(row, warp), row_radius(row, warp), cup_axis(warp), rim(warp), beyond)


def cupcurve(row: dict[str, Any], warp: Warp) -> Solid:
    """Curve given in the cup's frame: out along its axis, towards the notch, aside."""
    axis, notch = cup_axis(warp), _to_notch(warp)
    frame = np.stack([axis, notch, np.cross(axis, notch)])
    table = np.array(row["pts"], dtype=float)
    size = warp.head_radius / drawn()["head_radius"]
    points = row_centre(row, warp) + (table[:, :3] * size) @ frame
    return fields.tube(np.column_stack([points, table[:, 3:] * size]))


def _to_notch(warp: Warp) -> Array:
    """Unit vector from the socket's floor to its notch, square to its axis."""
    axis = cup_axis(warp)
    notch = np.array([0.0, -1.0, 0.0])
    notch = notch - axis * (notch @ axis)
    return np.asarray(notch / np.linalg.norm(notch))


def hollow(row: dict[str, Any], warp: Warp) -> Solid:
    """The fossa; as wide as the horseshoe's gap and so much wider under its edge, uneven by ``rough`` mm."""
    width = np.radians(geometry_rows()["notch_half_width"].value + row["under_deg"])
    radii = (row_radius(row, warp), row_radius(row, warp, "out"))
    centre, axis, notch = row_centre(row, warp), cup_axis(warp), _to_notch(warp)
    return bowl.hollow(centre, axis, notch, radii, float(width), lambda p: row["rough"] * mottling(p))
