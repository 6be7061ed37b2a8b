"""The lumbar spine bent over its levels, for the drawing only.

Question answered: where does each point of the spine lie when the trunk leans and the pelvis does not follow?

The solved pose turns the whole trunk at the lumbosacral joint; drawn so, the lowest disc would take all of it. Here
each point is carried partly by the pelvis, partly by the trunk (:func:`viz3d.shapes.binding.lumbar_share`): the lowest
level takes 40 %, the others the rest, and from the top of the lumbar spine on everything lies where it was solved. Left
out: a vertebra is not kept quite rigid (0.3 degrees of shear in a lean of 10). Trunk frame, metres.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.shapes.binding import lumbar_share
from viz3d.shapes.body_shell import Shell
from viz3d.shapes.build import Shape

BENDING = ("spine", "spine_discs")
"""Shapes of the trunk that bend."""
_LUMBAR = 0.35
"""Height of the lumbar spine over that of the chin, both above the lumbosacral joint."""


def bent_spine(shape: Shape, shell: Shell, frames: dict[str, Array], index: int) -> tuple[Array, Array]:
    """Points and unit normals, (V, 3) each, of a bending shape in the frame of the trunk.

    Parameters
    ----------
    shell : knows where the trunk rests on the pelvis. frames : link -> (N, 4, 4), world.
    """
    share, rest = spine_bound(shape, shell)
    carried = np.linalg.inv(frames["trunk"][index]) @ frames["pelvis"][index] @ np.linalg.inv(rest[1])
    points, normals = shape.surface.points, shape.surface.normals
    left = share[:, None]
    moved = points + left * (points @ carried[:3, :3].T + carried[:3, 3] - points)
    turned = normals + left * (normals @ carried[:3, :3].T - normals)
    return moved, turned / np.linalg.norm(turned, axis=1, keepdims=True)


def spine_bound(shape: Shape, shell: Shell) -> tuple[Array, Array]:
    """Share of the pelvis in each vertex, (V,), and the frames (2, 4, 4) of trunk and pelvis in a straight spine.

    All in the frame of the trunk.
    """
    pelvis, trunk, head = (shell.rest[shell.links.index(name)] for name in ("pelvis", "trunk", "head"))
    rise = shape.surface.points[:, 1] / (_LUMBAR * (head[1, 3] - trunk[1, 3]))
    return 1.0 - lumbar_share(rise), np.stack([np.eye(4), np.linalg.inv(trunk) @ pelvis])
