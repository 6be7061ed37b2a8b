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
HIDING, _NEAR = ("shirt", "shirt_hem", "shorts", "shorts_hem"), 0.30
"""What may hide an arm, and how far above and below the hip joints it is asked, m."""


def arm_vertices(skin: Shell) -> NDArray[np.bool_]:
    """The vertices (V,) of a skin that are its arms'."""
    links = [k for k, link in enumerate(skin.links) if link.endswith(_ARM)]
    return np.asarray(skin.weights[:, links].sum(axis=1) > _MINE)


class Arms:
    """The arms of one person near one window; close it when done.

    Parameters
    ----------
    worn : material -> surface. size : (width, height) of the largest window on a hip, pixels.
    """

    def __init__(self, worn: dict[str, Shell], size: tuple[int, int]) -> None:
        self.size, skin = size, worn["skin"]
        camera = Camera(np.array([1.0, 0.0, 0.0]), np.zeros(3), (0.0, 0.0), 1.0)
        self.window = Window(size, [View("arms", Box(0, 0, *size), camera)])
        hip = skin.rest[skin.links.index("pelvis"), 1, 3]
        self._parts = [self._part("skin", skin, arm_vertices(skin), 255)]
        for name in HIDING:
            near = np.abs(worn[name].points[:, 1] - hip) < _NEAR
            self._parts.append(self._part(name, worn[name], near, 0))

    def _part(
        self, name: str, shell: Shell, mine: NDArray[np.bool_], grey: int
    ) -> tuple[str, NDArray[np.signedinteger], Any]:
        """A part of a surface, unlit: its name, its vertices, and its mesh."""
        used, faces = np.unique(shell.triangles[mine[shell.triangles].all(axis=1)], return_inverse=True)
        triangles = faces.reshape(-1, 3).astype(np.int32)
        surface = Surface(shell.points[used], triangles, shell.normals[used], np.ones(len(used)))
        actor, mesh = self.window.add_surface(0, surface, np.full((len(used), 3), grey, dtype=np.uint8))
        unlight(actor)
        return name, used, mesh

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
        page = camera.project(posed["skin"][self._parts[0][1]]) - low
        if not ((page > -1.0) & (page < np.array(shape[::-1]) + 1.0)).all(axis=1).any():
            return None
        for name, used, mesh in self._parts:
            mesh.points[:] = posed[name][used]
            mesh.GetPoints().Modified()
        self.window.aim(0, dataclasses.replace(camera, at=(camera.at[0] - low[0], camera.at[1] - low[1])))
        self.window.draw()
        return self.window.part(0)[: shape[0], : shape[1], 0] * np.float32(1 / 255)
