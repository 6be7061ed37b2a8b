"""A walker who passes by: the floor stays, and the body goes over it.

Question answered: where on the floor is the body at each moment of a walk, and which footprints are seen there?

A walk is solved in a frame that goes along with the walker. For pictures in which the person passes, every place of the
solved batch is moved forward by the way gone since the studied side's heel strike; nothing else changes, for no force
depends on it. World frame: x the way walked, y up, z right, the origin under the middle of the hips at that heel strike
but for its swing; m.
"""

from __future__ import annotations

import dataclasses

import numpy as np

from viz3d.arrays import Array
from viz3d.kinematics.chain import Pose
from viz3d.solution.gait import Footprint, Gait
from viz3d.solution.solved import Solved


def passing(solved: Solved, cycles: Array, whole: int) -> Solved:
    """A walk whose body passes over the floor, again and again from the edge where it begins.

    Parameters
    ----------
    cycles : (N,) gone since the scene's first heel strike. whole : cycles from edge to edge.
    """
    return moved_along(solved, np.mod(cycles, whole), whole)


def moved_along(solved: Solved, cycles: Array, whole: int) -> Solved:
    """The same moments with the body so many cycles (N,) further on the floor, wherever it was.

    Parameters
    ----------
    whole : cycles from edge to edge of the floor that is seen.
    """
    gait = solved.gait
    assert gait is not None
    gone = gait.stride * np.asarray(cycles, dtype=float)
    ahead = np.stack([gone - gait.gone, np.zeros_like(gone), np.zeros_like(gone)], axis=-1)
    return dataclasses.replace(
        solved,
        posed=_moved(solved.posed, ahead),
        centres=solved.centres + ahead[:, None],
        gait=dataclasses.replace(gait, place=gait.place + ahead, gone=gone, passes=whole),
    )


def _moved(posed: Pose, ahead: Array) -> Pose:
    """A posed chain moved by (N, 3) in the world."""

    def carried(frames: Array) -> Array:
        out = np.array(frames)
        out[..., :3, 3] += ahead.reshape(len(ahead), *([1] * (out.ndim - 3)), 3)
        return out

    joints = {name: place + ahead for name, place in posed.joints.items()}
    return dataclasses.replace(
        posed,
        joints=joints,
        frames={name: carried(frames) for name, frames in posed.frames.items()},
        levels=carried(posed.levels),
    )


def prints_passed(gait: Gait) -> list[Footprint]:
    """Every footprint of a pass: those stood on while it begins and ends, too; none of a walk on the spot."""
    if not gait.passes:
        return []
    own, after, _ = gait.prints
    found = [_further(own, gait.stride * k) for k in range(gait.passes + 1)]
    return found + [_further(after, gait.stride * (k - 1)) for k in range(gait.passes + 1)]


def tips_passed(gait: Gait) -> Array:
    """Where canes stand during a pass, (T, 2) on the floor."""
    steps = np.arange(gait.passes)[:, None, None] * np.array([gait.stride, 0.0])
    return np.asarray((gait.tips[None] + steps).reshape(-1, 2))


def _further(one: Footprint, way: float) -> Footprint:
    return Footprint(one.side, one.outline + np.array([way, 0.0]))
