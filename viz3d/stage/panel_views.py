"""Where a panel's figure is seen from, and how long its forces are.

Question answered: through which camera, and at how many pixels per newton, does a panel show its person?

Pixels. Pure data.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.stage.camera import Camera, view_direction
from viz3d.stage.canvas import Framing
from viz3d.stage.crop import HIP, PELVIS, WHOLE
from viz3d.stage.plan import Plan

LONGEST = {PELVIS: 0.11, HIP: 0.168, WHOLE: 0.23}
"""Length of a body weight's arrow at most, m of the figure."""


def panel_camera(
    plan: Plan, frames: list[int], view: str, at: tuple[float, float], scale: float, framing: Framing
) -> Camera:
    """A panel's camera: on the hips, moved a little towards a single aid."""
    aids = [a for a in plan.arrows if a.role == "hand"]
    across = [float(a.point[frames, 2].mean()) for a in aids] + [float(plan.hip[frames, 2].mean())]
    middle = float(plan.middle_hip[frames, 2].mean())
    if len(aids) == 1:
        middle = 0.5 * (middle + 0.5 * (max(across) + min(across)))
    centre = np.array([0.0, float(plan.hip[frames, 1].mean()), middle])
    centre = centre if framing.centre is None else framing.centre
    return Camera(view_direction(view, plan.sign), centre, at, scale)


def aligned(centres: list[Array], plans: list[Plan], frames: list[list[int]]) -> list[Array]:
    """Centres that put every stance hip at one place of its panel, where all stand on the same leg."""
    if len({p.sign for p in plans}) > 1:
        return centres
    hips = [p.hip[f].mean(axis=0) for p, f in zip(plans, frames, strict=True)]
    away = np.mean([c - h for c, h in zip(centres, hips, strict=True)], axis=0)
    return [np.asarray(h + away) for h in hips]


def panel_scale(plan: Plan, frames: list[int], camera: Camera, bottom: float, longest: float) -> float:
    """Pixels per newton: so much that the joint force ends above ``bottom``; a body weight at most ``longest`` m."""
    low = float(camera.project(plan.hip[frames])[:, 1].max())
    most = float(np.linalg.norm(plan.arrow("joint").force[frames], axis=1).max())
    return min((bottom - low) / most, longest * camera.scale / plan.body_weight)
