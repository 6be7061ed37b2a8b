"""From bodies and postures to one solved batch.

Question answered: for every situation, what does the hip carry, is it held, and what does the cane relieve?

Balance (:mod:`viz3d.kinematics.frontal`), the free body above the hip (:mod:`viz3d.statics.hip`), its
check from below (:mod:`viz3d.statics.limb`) and the socket's pressure (:mod:`viz3d.contact.lune`) for N
situations at once. SI; hip frame: x forward, y up, l outward.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.body.muscles import MUSCLE_LINES, unsure_muscle_rows
from viz3d.body.names import LEFT, RIGHT
from viz3d.body.person import ABDUCTOR_LINE, Body, stance_hip
from viz3d.body.segment_tables import LEG, SEGMENTS
from viz3d.body.segments import mass_fractions
from viz3d.body.socket import roof_edge
from viz3d.contact.lune import lune_pressure
from viz3d.kinematics.chain import Pose, segment_centres
from viz3d.kinematics.frontal import Stance, stand
from viz3d.kinematics.posture import Posture, posture_rows
from viz3d.kinematics.standing import standing_pose
from viz3d.solution.beside import Beside
from viz3d.solution.solved import HELD, HORSESHOE, LUNE, TOO_WEAK, WOULD_FALL, Solved
from viz3d.statics.hip import ONE_MUSCLE, hip_load, too_weak, torque_margin
from viz3d.statics.limb import limb_free_body
from viz3d.statics.model import EQUIVALENT, SPATIAL_SET, MuscleModel
from viz3d.tables import UNSURE, load_rows


def solve_batch(
    body: Body,
    posture: Posture,
    times: Array | None = None,
    step: NDArray[np.intp] | None = None,
    model: MuscleModel = ONE_MUSCLE,
    surface: str = LUNE,
) -> Solved:
    """Solve N situations.

    Parameters
    ----------
    body : batch of N or 1. posture : N postures.
    times, step : labels to carry along.
    model : what stands for the muscles.
    surface : loaded surface of the socket, "lune" or "horseshoe".
    """
    asked, stance = posture, stand(body, posture)
    posture = stance.posture
    hip = stance_hip(body, posture.on_right)
    posed = standing_pose(body, stance)
    centres = segment_centres(body, posed)
    load = hip_load(body, hip, stance, model, _own_height(body, stance, posed, centres))
    below = limb_free_body(body, stance, posed, centres, load)
    joint = load.joint_magnitude
    edge = roof_edge(hip.centre_edge_angle, posture.obliquity)
    pulled = ~(load.joint_force[:, 1] > 0.0) & np.isfinite(joint)
    radius = np.where(pulled, np.nan, hip.cartilage_radius)
    pressure = lune_pressure(joint, load.joint_angle, radius, edge)
    margin = torque_margin(hip, load)
    falls = stance.falls | pulled
    status = np.where(falls, WOULD_FALL, np.where(too_weak(body, margin), TOO_WEAK, HELD))
    shortfall = np.where(falls, stance.fall_miss, np.where(status == TOO_WEAK, -margin, np.nan))
    count = len(posture)
    return Solved(
        body, hip, asked, posture, model, stance, load, pressure,
        Beside(body, hip, stance, load, model, surface == HORSESHOE), status, shortfall,
        np.linalg.norm(below.head_force + load.joint_force, axis=1),
        np.abs(below.moment_left).max(axis=1),
        posed, centres, below, _assumed(body, posture, model),
        np.zeros(count) if times is None else times,
        np.arange(count) if step is None else np.asarray(step, dtype=np.intp),
    )  # fmt: skip


def _own_height(body: Body, stance: Stance, posed: Pose, centres: Array) -> Array:
    """Height of the free body's own centre of mass above the hip, (N,) m."""
    kilograms = mass_fractions(body) * body.mass[:, None] * np.ones((len(centres), 1))
    right = stance.posture.on_right
    for name in LEG:
        for side, on in ((RIGHT, right), (LEFT, ~right)):
            kilograms[on, SEGMENTS.index(f"{side}_{name}")] = 0.0
    height = (kilograms * centres[..., 1]).sum(axis=1) / kilograms.sum(axis=1)
    return np.asarray(height - posed.joints["stance_hip"][:, 1])


def _assumed(body: Body, posture: Posture, model: MuscleModel) -> tuple[str, ...]:
    rows = posture_rows()
    names = ["lean_pivot", "centre_of_pressure"]
    if bool(((posture.lifted > 0) & (posture.clearance == rows["swing_clearance"].value)).any()):
        names.append("swing_clearance")
    if bool(posture.has_cane.any()):
        names += ["palm_on_handle", "shoulder_glide"]
    lines = [rows[n].line() for n in names if rows[n].status in UNSURE]
    if model.kind == EQUIVALENT:
        return (ABDUCTOR_LINE, *body.assumed, *lines)
    shared = load_rows("viz3d.statics", "model.toml")
    tilted = ["largest_sagittal_tilt"] if model.kind == SPATIAL_SET else []
    used = ["sharing_power", *tilted] if model.power == shared["sharing_power"].value else tilted
    return (
        MUSCLE_LINES,
        *body.assumed,
        *lines,
        *(row.line() for row in (*unsure_muscle_rows(), *(shared[n] for n in used))),
    )
