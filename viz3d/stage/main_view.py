"""The main view of a wide picture: its camera and its force scale.

Question answered: from where, and at how many pixels per newton, is the figure seen between its two columns of labels?

Pixels; ``u`` is 1/1080 of the picture's height. Pure data.
"""

from __future__ import annotations

import dataclasses

import numpy as np

from viz3d.arrays import Array
from viz3d.stage.camera import Camera, view_direction
from viz3d.stage.crop import PELVIS, WHOLE, centre_of, near_scale, whole_scale
from viz3d.stage.drawing import Box
from viz3d.stage.plan import Plan

_SCALES = (168.0, 156.0, 144.0, 132.0, 120.0, 108.0, 96.0, 84.0, 72.0, 60.0, 48.0, 36.0)
"""Pixels (u) per body weight, the largest that fits is used."""
LABELS = 388.0
"""What belongs to the figure lies so far to both sides of its middle; labels begin beyond, u."""
_CLOSE = 3500.0
"""Pixels (u) per metre of the joint view."""
_TALL = 1080.0
"""A picture's height, u."""
PELVIS_ARROWS = 0.65
"""Length of arrows in space round a pelvis seen from near by, over that elsewhere: about as in pictures."""
_UNDER = 0.015
"""Room under an arrow's tail, m."""
_TOP = 104.0
"""Where a whole figure begins, u; below the title's words where they reach over it."""


def main_camera(plan: Plan, view: str, u: float, bottom: float, across: float, centre: Array, frame: str) -> Camera:
    """The main view's camera; ``across``: the figure's middle on the page."""
    toward, middle = view_direction(view, plan.sign), 0.5 * bottom
    if view == "joint":
        return Camera(toward, plan.hip.mean(axis=0), (0.92 * across, 0.84 * middle), _CLOSE * u)
    if frame == WHOLE:
        low = bottom - 22 * u
        camera = Camera(toward, centre, (across, (_TOP * u + low) / 2), 1.0)
        area = Box(across - LABELS * u, _TOP * u, across + LABELS * u, low)
        return dataclasses.replace(camera, scale=whole_scale(plan, camera, area))
    camera = Camera(toward, centre, (across, middle), 1.0)
    return dataclasses.replace(camera, scale=near_scale(plan, camera, LABELS * u, u, frame))


def pelvis_seen(plan: Plan, reach: float) -> tuple[Array, float]:
    """Middle of a pelvis's picture from the front, world, (3,), and half the height that a wide one shows, m.

    ``reach``: length of an arrow of one body weight in that picture, m; the joint force is seen whole.
    """
    centre = centre_of([plan], PELVIS)
    camera = main_camera(plan, "front", 1.0, _TALL, 0.0, centre, PELVIS)
    return centre, max(0.5 * _TALL / camera.scale, below(plan, centre, reach))


def below(plan: Plan, centre: Array, reach: float) -> float:
    """How far below a point (3,) the joint force's arrow begins, m, with a little room."""
    joint = plan.arrow("joint")
    tails = joint.point[:, 1] - joint.force[:, 1] * (reach / plan.body_weight)
    return float(centre[1] - np.nanmin(tails)) + _UNDER


def force_scale(plan: Plan, camera: Camera, u: float, bottom: float) -> float:
    """Pixels per newton: the largest scale at which the joint force ends above the band in every frame."""
    longest = float(np.linalg.norm(plan.arrow("joint").force, axis=1).max()) / plan.body_weight
    tail = bottom - 26 * u - float(camera.project(plan.hip)[:, 1].max())
    fits = [s for s in _SCALES if longest * s * u * 0.985 <= tail]
    scale = fits[0] if fits else tail / u / 0.985 / longest
    return scale * u / plan.body_weight
