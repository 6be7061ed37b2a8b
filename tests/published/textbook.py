"""Textbook free bodies typed in as bare numbers, for the planar solver."""

from __future__ import annotations

import numpy as np

from viz3d.statics.planar import PlanarSolution, solve_planar


def leg_free_body(
    leg_weight: float, angle_deg: float, insertion: float, leg_at: float, foot_at: float, ground: float = 1.0
) -> PlanarSolution:
    """The stance leg with hip centre at the origin, x lateral: ground force up, leg weight down, abductor up and in.

    Distances in any one unit; forces in body weights. ``leg_at`` and ``foot_at`` are medial distances.
    """
    theta = np.radians(angle_deg)
    return solve_planar(
        points=[[-foot_at, -90.0], [-leg_at, -40.0]],
        forces=[[0.0, ground], [0.0, -leg_weight]],
        muscle_point=[insertion, 0.0],
        muscle_direction=[-np.cos(theta), np.sin(theta)],
    )


def supported_body(
    weight: float, weight_at: float, lever: float, angle_deg: float, loads: list[tuple[float, float]]
) -> PlanarSolution:
    """The body above the hip: weight medial, the muscle's line at ``lever`` from the joint, pulling down and out.

    ``loads``: extra weights and their medial distances.
    """
    theta = np.radians(angle_deg)
    down = np.array([np.cos(theta), -np.sin(theta)])
    perpendicular = np.array([np.sin(theta), np.cos(theta)])
    points = [[-weight_at, 0.0]] + [[-at, 0.0] for _, at in loads]
    forces = [[0.0, -weight]] + [[0.0, -w] for w, _ in loads]
    return solve_planar(points, forces, lever * perpendicular, down)
