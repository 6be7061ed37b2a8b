"""Muscle bodies of a plan as meshes in a window, reshaped frame by frame.

Question answered: what do the muscles look like in frame i, and in which colour?

Bodies swell and darken with activation; tendons stay pale; faint stripes run along the fibres. Called by the mesh
layer; outlines of the same bodies by the vector writer.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.output.window import Window
from viz3d.shapes.muscle_body import muscle_points, muscle_shade, muscle_triangles
from viz3d.shapes.surface import Surface, vertex_normals
from viz3d.stage.palette import rgb
from viz3d.stage.plan import Muscle

_HIDES = 0.72
"""How much muscles hide of what is behind them: the joint stays visible through them."""


def body_points(muscle: Muscle, index: int) -> Array:
    """Vertices (V, 3) of a muscle's body in one frame, world, m."""
    return muscle_points(
        muscle.path[index], muscle.start[index], muscle.end[index], muscle.belly, float(muscle.activation[index]),
        muscle.tendon, muscle.bulge[index],
    )  # fmt: skip


def body_colour(muscle: Muscle, index: int, colours: dict[str, str]) -> Array:
    """Colour (3,) fractions of a muscle's belly in one frame: darker the more active."""
    slack, taut = (np.array(rgb(colours[f"muscle_{n}"])) for n in ("slack", "taut"))
    share = float(muscle.activation[index]) ** 0.55
    return np.asarray(slack + share * (taut - slack))


class Flesh:
    """The muscles of one view of a window; empty where the plan has none."""

    def __init__(self, window: Window, view: int, muscles: list[Muscle], colours: dict[str, str]) -> None:
        self._muscles, self._colours, self._meshes = muscles, colours, []
        for muscle in muscles:
            points = body_points(muscle, 0)
            triangles = muscle_triangles(muscle.start.shape[1])
            surface = Surface(points, triangles, vertex_normals(points, triangles), np.ones(len(points)))
            actor, mesh = window.add_surface(view, surface, np.zeros((len(points), 3), dtype=np.uint8))
            actor.GetProperty().SetOpacity(_HIDES)
            actor.GetProperty().BackfaceCullingOn()
            self._meshes.append(mesh)

    def pose(self, index: int) -> None:
        """Reshape and recolour every body for one frame."""
        for muscle, mesh in zip(self._muscles, self._meshes, strict=True):
            points = body_points(muscle, index)
            mesh.points[:] = points
            mesh.point_data["Normals"][:] = vertex_normals(points, muscle_triangles(muscle.start.shape[1]))
            mesh.point_data["colour"][:] = self._vertex_colours(muscle, index)
            for array in (mesh.GetPoints(), *(mesh.GetPointData().GetArray(n) for n in ("Normals", "colour"))):
                array.Modified()

    def _vertex_colours(self, muscle: Muscle, index: int) -> Any:
        tendon, stripe = muscle_shade(muscle.start.shape[1], muscle.tendon)
        belly = body_colour(muscle, index, self._colours) * stripe[:, None]
        pale = np.array(rgb(self._colours["tendon"]))
        return np.clip(255 * (belly + tendon[:, None] * (pale - belly)), 0, 255).astype(np.uint8)
