"""A solved batch as plain columns of numbers: what the page draws, adds and interpolates, and nothing else.

Question answered: which numbers does a browser need to show this situation, smooth enough to interpolate?

Where the load passes from the abductors to the adductors the joint force has a kink. Both muscles' signed pull is
given, each smooth through that point; the page takes the one that pulls and adds the vectors. Metres, newtons, pascals;
world axes as in :mod:`viz3d.kinematics.chain`, frontal vectors as (lateral, up). Called by the page and the server.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.spatial.transform import Rotation

from viz3d.contact.lune import lune_pressure
from viz3d.kinematics.frontal import cane_line_distance
from viz3d.solution.solve import WOULD_FALL, Solved
from viz3d.stage.drawing import Array
from viz3d.stage.plan import Plan
from viz3d.statics.hip import ABDUCTOR, ADDUCTOR, MuscleLine, muscle_line, torque_margin
from viz3d.statics.model import EQUIVALENT
from viz3d.units import GRAVITY

_LUNE_RANGE, _LUNE_ROWS = (0.02, 2.2), 400


def state_columns(solved: Solved, plan: Plan) -> dict[str, Array]:
    """Column name -> (N, width); see the comments for what each holds."""
    posture, stance, load = solved.posture, solved.stance, solved.load
    joints = solved.posed.joints
    count = len(posture)
    one = np.ones(count)
    weight = plan.arrow("weight")
    columns = {
        # place and turn of every link, in the order of ``plan.frames``
        "links": _places_and_turns(np.stack([plan.frames[n] for n in plan.frames], axis=1)),
        "hip": plan.hip,
        # where the weight above the hip acts, its size, its lever arm
        "weight": np.column_stack([weight.point, solved.own_weight * one, solved.own_lever * one]),
        # force on the body above the hip from outside, and its moment about the hip
        "external": _flat(load.external_force) * one[:, None],
        "moment": load.external_moment * one,
        "edge": solved.pressure.edge * one,
        "radius": solved.hip.cartilage_radius * one,
        # moment that the abductors could still add; 1 where the body would fall
        "margin": np.clip(np.nan_to_num(torque_margin(solved.hip, load), posinf=1e6), -1e6, 1e6) * one,
        "falls": (solved.status == WOULD_FALL).astype(float),
        # 1 where no muscle force balances the pose, so that there is no joint force to show
        "lost": (~np.isfinite(load.joint_magnitude)).astype(float),
        # joint force forward, of a muscle set about three axes
        "forward": load.joint_force[:, 0] * one,
    }
    for name in ("abductor", "adductor"):
        columns[name] = _pull(solved, name)
    for k, where in enumerate(("stance", "swing")):
        handle = stance.handle[:, k]
        at = np.column_stack([np.zeros(count), handle[:, 1], plan.sign * handle[:, 0]])
        has = posture.has_cane[:, k : k + 1]
        distance = np.abs(cane_line_distance(stance)[:, k : k + 1])
        push = np.where(has, stance.hand_force[:, k], 0.0)
        # where the aid pushes the hand, the push (lateral, up), its lever arm
        columns[f"hand_{where}"] = np.column_stack([np.where(has, at, 0.0), push, np.where(has, distance, 0.0)])
        # where a bag hangs, and its weight
        columns[f"bag_{where}"] = np.column_stack([joints[f"{where}_wrist"], posture.bag_mass[:, k] * GRAVITY])
    columns["backpack"] = np.column_stack([joints["backpack"], posture.backpack * GRAVITY])
    other = np.broadcast_to(stance.other_foot_lateral, (count,))
    lever = np.abs(other - stance.hip_lateral) * one
    # where the ground carries the other foot, how much, and its lever arm
    columns["foot"] = np.column_stack([0.0 * one, 0.0 * one, plan.sign * other, stance.other_foot_force * one, lever])
    if solved.socket is not None:
        columns["displacement"] = solved.socket.displacement
        columns["facet_peak"] = solved.socket.peak
    return {k: _wide(np.nan_to_num(v)) for k, v in columns.items()}


def _pull(solved: Solved, name: str) -> Array:
    """Signed pull, origin and direction (lateral, up from the hip), lever."""
    load = solved.load
    if solved.model.kind == EQUIVALENT:
        line: MuscleLine = muscle_line(
            solved.body, solved.hip, solved.stance, ABDUCTOR if name == "abductor" else ADDUCTOR
        )
        pull = load.external_moment / line.lever
    else:
        line = load.muscle
        pull = load.muscle_force * np.sqrt(1.0 - line.direction[:, 0] ** 2)
    return np.column_stack([pull, _flat(line.origin), _flat(line.direction), line.lever])


def _flat(vectors: Array) -> Array:
    """The frontal part (N, 2) of vectors of the hip frame: lateral, up."""
    return np.stack([vectors[:, 2], vectors[:, 1]], axis=-1)


def lune_rows() -> dict[str, Any]:
    """The loaded lune for a force of 1 N on a radius of 1 m, over the force's inclination plus the edge's angle (rad).

    ``gap``: from the pole to the edge; ``size``: pressure at the pole. Everything else about the lune follows from
    these two and the edge, so pages look them up instead of interpolating pressures across the change of muscle.
    """
    x = np.linspace(*_LUNE_RANGE, _LUNE_ROWS)
    found = lune_pressure(1.0, x, 1.0, 0.0)
    step = (_LUNE_RANGE[1] - _LUNE_RANGE[0]) / (_LUNE_ROWS - 1)
    return {"from": _LUNE_RANGE[0], "step": step, "gap": (-found.pole).tolist(), "size": found.pole_pressure.tolist()}


def _places_and_turns(frames: Array) -> Array:
    """(N, 7 L) of rigid frames (N, L, 4, 4); turns on the half of all quaternions where w is not negative."""
    count, links = frames.shape[:2]
    turn = Rotation.from_matrix(frames[..., :3, :3].reshape(-1, 3, 3)).as_quat().reshape(count, links, 4)
    turn = turn * np.where(turn[..., 3:] < 0.0, -1.0, 1.0)
    return np.concatenate([frames[..., :3, 3], turn], axis=-1).reshape(count, -1)


def _wide(values: Array) -> Array:
    return np.asarray(values, dtype=float).reshape(len(values), -1)
