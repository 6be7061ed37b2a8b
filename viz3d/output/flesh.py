"""Muscle bodies of a plan as meshes in a window, bent and swollen frame by frame.

Question answered: what do the muscles look like in frame i, and in which colour?

Bellies darken with activation, tendons stay pale, and a fine grain runs along the fibres. Of muscles that rest
through the whole plan those that a plan still shows are see-through.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from scipy.ndimage import gaussian_filter

from viz3d.arrays import Array
from viz3d.output.window import Window, shaded
from viz3d.shapes.muscle_mesh import MuscleMesh
from viz3d.shapes.skeleton import Figure
from viz3d.shapes.surface import Surface
from viz3d.stage.effort import effort_colour
from viz3d.stage.palette import rgb
from viz3d.stage.plan import Muscle, Plan

FAINT = 0.38
"""Opacity of muscles that rest all the time."""
WIDE = 0.16
"""Width of the grain's image, m: no muscle is wider."""
_GRAIN = (64, 1024)
"""Pixels of the grain along and across the fibres."""


def body_points(plan: Plan, figure: Figure, muscle: Muscle, index: int) -> tuple[Array, Array]:
    """Vertices and unit normals of a muscle in one frame, (V, 3) each, world, m."""
    pelvis, thigh = plan.frames["pelvis"][index], plan.frames[f"{plan.side}_thigh"][index]
    return figure.muscles[muscle.name].posed(pelvis, thigh, float(muscle.activation[index]))


def body_colour(muscle: Muscle, index: int, colours: dict[str, str]) -> Array:
    """Colour (3,) fractions of a muscle's belly in one frame: darker the more active."""
    return effort_colour(float(muscle.activation[index]), colours)


@lru_cache(maxsize=1)
def fibre_grain() -> Any:
    """Brightness of fibres, (along, across, 3) bytes: streaks that run along them, the same in every run."""
    rng = np.random.default_rng(7)
    streaks = gaussian_filter(rng.standard_normal(_GRAIN), (14.0, 1.2), mode="wrap")
    bundles = gaussian_filter(rng.standard_normal(_GRAIN), (30.0, 7.0), mode="wrap")
    mixed = streaks / streaks.std() + 0.8 * bundles / bundles.std()
    value = np.clip(0.90 + 0.055 * mixed, 0.70, 1.0)
    return np.repeat(np.round(255 * value).astype(np.uint8)[..., None], 3, axis=2)


class Flesh:
    """The muscles of one view of a window; empty where the plan has none."""

    def __init__(
        self, window: Window, view: int, plan: Plan, colours: dict[str, str], figure: Figure, muscles: list[Muscle]
    ) -> None:
        self._plan, self._colours, self._figure, self._meshes = plan, colours, figure, []
        self.actors: list[Any] = []
        for muscle in sorted(muscles, key=lambda m: m.rests):
            body = figure.muscles[muscle.name]
            surface = Surface(body.points, body.triangles, body.normals, body.shade)
            grain = (np.column_stack([body.across / WIDE, body.along]), fibre_grain())
            actor, mesh = window.add_surface(view, surface, np.zeros((len(body.points), 3), dtype=np.uint8), grain)
            if muscle.rests:
                actor.GetProperty().SetOpacity(FAINT)
                actor.GetProperty().BackfaceCullingOn()
            self._meshes.append((muscle, mesh))
            self.actors.append(actor)

    def pose(self, index: int) -> None:
        """Reshape and recolour every body for one frame."""
        for muscle, mesh in self._meshes:
            mesh.points[:], mesh.point_data["Normals"][:] = body_points(self._plan, self._figure, muscle, index)
            body = self._figure.muscles[muscle.name]
            mesh.point_data["colour"][:] = vertex_colours(body, muscle, index, self._colours)
            for array in (mesh.GetPoints(), *(mesh.GetPointData().GetArray(n) for n in ("Normals", "colour"))):
                array.Modified()


def vertex_colours(body: MuscleMesh, muscle: Muscle, index: int, colours: dict[str, str]) -> Any:
    """Colours of a muscle's vertices in one frame, (V, 3) bytes, grain left out."""
    pale, tendon = np.array(rgb(colours["tendon"])), body.tendinous()[:, None]
    belly = body_colour(muscle, index, colours)
    return np.clip(255 * shaded(belly + tendon * (pale - belly), body.shade), 0, 255).astype(np.uint8)
