"""What a muscle set did, as records: its lines, passive tissue, what it leaves to others, and balance fore and aft.

Question answered: which fields does the answer of a muscle set have beside those of one muscle?

Null where one equivalent muscle stands for all. Units in the keys, as in :mod:`viz3d.solution.records`.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from viz3d.body.muscles import muscle_lines
from viz3d.kinematics.muscle_paths import AXES
from viz3d.solution.solved import Solved


def muscle_record(solved: Solved, i: int) -> dict[str, Any]:
    """The fields of a situation that tell of its muscle set."""
    return {
        "specific_tension_N_cm2": _tension(solved, i),
        "muscles": _muscles(solved, i),
        "passive_tissue": _passive(solved, i),
        "moments_left_Nm": _left_over(solved, i),
        "sagittal": _sagittal(solved, i),
    }


def plain(value: Any) -> Any:
    """A number as JSON has it: null where there is none."""
    if isinstance(value, (float, np.floating)):
        return float(value) if math.isfinite(value) else None
    return value


def vector(values: Any) -> dict[str, float | None]:
    """A place or force in the world: x forward, y up, z to the person's right."""
    return {name: plain(float(v) + 0.0) for name, v in zip(("forward", "up", "right"), values, strict=True)}


def _muscles(solved: Solved, i: int) -> list[dict[str, Any]] | None:
    """Every line's force, stress, activation, share of the abduction moment and lever arms."""
    found = solved.load.muscles
    if found is None:
        return None
    shared, lever = found.shared, found.paths.moment_arm
    flip = np.array([1.0, 1.0, float(solved.sign[i])])
    return [
        {
            "name": line.name,
            "force_N": plain(float(shared.force[i, k])),
            "stress_N_cm2": plain(float(shared.stress[i, k]) * 1e-4),
            "activation": plain(float(shared.activation[i, k])),
            "share": plain(float(shared.share[i, k])),
            "lever_m": {axis: float(lever[i, k, a]) for a, axis in enumerate(AXES)},
            "point_m": vector(solved.hip_centre[i] + flip * found.paths.point[i, k]),
            "force_on_pelvis_N": vector(flip * found.paths.direction[i, k] * shared.force[i, k]),
        }
        for k, line in enumerate(muscle_lines())
    ]


def _passive(solved: Solved, i: int) -> dict[str, Any] | None:
    """Passive tissue's own pull beside a muscle set, along the equivalent abductor's line."""
    found = solved.load.muscles
    if found is None:
        return None
    flip = np.array([1.0, 1.0, float(solved.sign[i])])
    force = float(found.passive[i])
    return {
        "force_N": plain(force),
        "point_m": vector(solved.hip_centre[i] + flip * found.band.origin[i]),
        "force_on_pelvis_N": vector(flip * found.band.direction[i] * force),
    }


def _left_over(solved: Solved, i: int) -> dict[str, float | None] | None:
    """Moments that the set makes beyond what it was asked for: muscles that are not asked have to balance them."""
    found = solved.load.muscles
    if found is None:
        return None
    return {axis: plain(float(found.unasked[i, a]) + 0.0) for a, axis in enumerate(AXES) if a}


def _tension(solved: Solved, i: int) -> float | None:
    found = solved.load.muscles
    return None if found is None else float(np.broadcast_to(found.tension, solved.times.shape)[i]) * 1e-4


def _sagittal(solved: Solved, i: int) -> dict[str, Any] | None:
    found = solved.sagittal
    if found is None:
        return None
    weight = float(np.broadcast_to(solved.body.weight, solved.times.shape)[i])
    return {
        "gravity_line_m": found.gravity_line,
        "leg_forward_deg": math.degrees(found.forward[i]),
        "flexion_moment_Nm": float(found.flexion_demand[i]),
        "line_moved_m": found.deviation,
        "joint_force_bw_line_ahead": plain(float(found.joint_ahead[i]) / weight),
        "joint_force_bw_line_behind": plain(float(found.joint_behind[i]) / weight),
    }
