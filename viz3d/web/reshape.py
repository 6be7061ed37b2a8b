"""A person's figure moved to other measures: at once, and which of its bones then have to be built anew.

Question answered: what stands there the moment a measure changes, and what of it is not yet as it will be?

Bones of limbs, trunk and skull only follow a length: scaled, they are the ones that would be built (within the grid of
the mesher). Pelvis and thigh are warped by their named points; where those move, true ones are built. Skin is scaled
with the stature, and muscles stay as they are, until both are grown anew.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from viz3d.arrays import Array
from viz3d.body.person import Body
from viz3d.shapes.body_shell import Shell
from viz3d.shapes.preview import control_points, preview_group
from viz3d.shapes.skeleton import Figure

WARPED = ("pelvis", "thigh")
"""Groups of bones that follow more than a length."""
_SAME = 1e-7
"""Named points nearer than this are the same, m."""


def moved(figure: Figure, before: Body, after: Body) -> Figure:
    """A figure at other measures, every part of it, so that nothing comes apart."""
    groups: dict[str, list[str]] = {}
    for key in figure.shapes:
        groups.setdefault(key.split("/", maxsplit=1)[0].rsplit(maxsplit=1)[-1], []).append(key)
    shapes = dict(figure.shapes)
    for group, keys in groups.items():
        some = preview_group(group, [figure.shapes[k] for k in keys], before, after)
        shapes |= dict(zip(keys, some, strict=True))
    ratio = float(after.stature[0] / before.stature[0])
    return replace(
        figure, shapes=shapes, shell=_scaled(figure.shell, ratio),
        skins={key: _scaled(shell, ratio) for key, shell in figure.skins.items()},
        clothed=None if figure.clothed is None else replace(
            figure.clothed, surfaces={key: _scaled(one, ratio) for key, one in figure.clothed.surfaces.items()}
        ),
    )  # fmt: skip


def unlike(before: Body, after: Body) -> list[str]:
    """Groups whose bones are others at the new measures, beside their scale."""
    return [name for name in WARPED if not _alike(name, before, after)]


def _alike(name: str, before: Body, after: Body) -> bool:
    pairs: list[tuple[Array, Array]] = [control_points(name, side, before, after) for side in ("left", "right")]
    return all(float(np.abs(a - b).max()) < _SAME for a, b in pairs)


def _scaled(shell: Shell, ratio: float) -> Shell:
    rest = shell.rest.copy()
    rest[:, :3, 3] *= ratio
    return replace(shell, points=shell.points * ratio, rest=rest)
