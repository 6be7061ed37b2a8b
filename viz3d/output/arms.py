"""Arms beside the window on a hip: seen from the front or the back, the window lies behind them.

Question answered: how much of each pixel of the window is an arm that nothing hides?

An arm beside the hips belongs to who stands there, not to what is opened. It is drawn white, and the clothes that may
hide it black, on the very grid that the person is drawn on, so that the window ends where the arm is seen to begin. In
turned views, where an arm may hide the whole hip, nothing is kept out. Pixels of a view; world points in metres.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.output.window import View, Window, unlight
from viz3d.shapes.body_shell import Shell
from viz3d.shapes.surface import Surface
from viz3d.stage.camera import Camera
from viz3d.stage.drawing import Box

_MINE = 0.5
"""What follows an arm by so much is the arm."""
_ARM = ("_upper_arm", "_forearm", "_hand")
HIDING = ("shirt", "shirt_hem", "shorts", "shorts_hem")
"""What may hide an arm."""


class Arms:
    """The arms of one person near one window; close it when done.

    Parameters
    ----------
    worn : material -> surface. size : (width, height) of the largest window on a hip, pixels.
    """

    def __init__(self, worn: dict[str, Shell], size: tuple[int, int]) -> None:
        self.size, skin = size, worn["skin"]
        links = [k for k, link in enumerate(skin.links) if link.endswith(_ARM)]
        mine = skin.weights[:, links].sum(axis=1) > _MINE
        self._arms = np.flatnonzero(mine)
        camera = Camera(np.array([1.0, 0.0, 0.0]), np.zeros(3), (0.0, 0.0), 1.0)
        view = View("arms", Box(0, 0, *size), camera)
        self.window = Window(size, [view])
        self._meshes: dict[str, Any] = {}
        arms = np.asarray(skin.triangles[mine[skin.triangles].all(axis=1)])
        shells = {"skin": dataclasses.replace(skin, triangles=arms), **{n: worn[n] for n in HIDING if n in worn}}
        for name, shell in shells.items():
            colours = np.full((len(shell.points), 3), 255 * (name == "skin"), dtype=np.uint8)
            surface = Surface(shell.points, shell.triangles, shell.normals, np.ones(len(shell.points)))
            actor, self._meshes[name] = self.window.add_surface(0, surface, colours)
            unlight(actor)

    def close(self) -> None:
        """Free the window."""
        self.window.close()

    def cover(
        self, posed: dict[str, Array], camera: Camera, low: tuple[int, int], shape: tuple[int, int]
    ) -> NDArray[np.float32] | None:
        """Share of each pixel that arms cover, ``shape`` (rows, columns), 0 to 1; None where none is, or none fits.

        ``posed``: material -> points (V, 3). ``low`` (column, row): the page's place of the first pixel's corner.
        """
        if shape[0] > self.size[1] or shape[1] > self.size[0]:
            return None
        page = camera.project(posed["skin"][self._arms]) - low
        if not ((page > -1.0) & (page < np.array(shape[::-1]) + 1.0)).all(axis=1).any():
            return None
        for name, mesh in self._meshes.items():
            mesh.points[:] = posed[name]
            mesh.GetPoints().Modified()
        self.window.aim(0, dataclasses.replace(camera, at=(camera.at[0] - low[0], camera.at[1] - low[1])))
        self.window.draw()
        return self.window.part(0)[: shape[0], : shape[1], 0] * np.float32(1 / 255)
