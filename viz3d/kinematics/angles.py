"""Joint angles: how each part of the body is turned against the one that carries it.

Question answered: which angles describe a pose, in which order and sense, and which angles does a given turn have?

A pose is a root place, the pelvis' turn in space, and the angles of hips, knees, ankles, toes, lumbar levels, head,
shoulders, elbows and wrists; both sides alike. Balance in the frontal plane is one way to find them
(:mod:`viz3d.kinematics.standing`); a measured motion is another. Angles are Cardan angles about the carrying part's z,
then x, then y axis (ISB axes: x forward, y up, z to the person's right), in radians.

* Limbs: *flexion* (positive forward; of the knee positive backward, of ankle and elbow forward), *adduction* (positive
  towards the midline) and *internal rotation*, positive in the direction named on either side.
* Pelvis, lumbar levels and head: turn about z (positive: top backward), x (top to the right), y (front to the left).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import RIGHT

LEVELS = 5
"""Lumbar levels, from the sacrum up."""


@dataclass(frozen=True)
class JointAngles:
    """Angles of N poses, rad; over sides in the order of :data:`SIDES`."""

    root: Array
    """(N, 3) middle of the usual hip centres in the world, m."""
    pelvis: Array
    """(N, 3) turn in space."""
    hips: Array
    """(N, 2, 3) of each thigh against the pelvis."""
    knees: Array
    """(N, 2, 3) of each shank against its thigh."""
    ankles: Array
    """(N, 2, 3) of each foot against its shank."""
    lumbar: Array
    """(N, LEVELS, 3) of each lumbar level against the one below."""
    head: Array
    """(N, 3) against the trunk."""
    shoulders: Array
    """(N, 2, 3) of each upper arm against the trunk."""
    elbows: Array
    """(N, 2, 3) of each forearm against its upper arm."""
    wrists: Array
    """(N, 2, 3) of each hand against its forearm."""
    trunk_slide: Array
    """(N, 3) how far the trunk stands off at the lumbosacral joint, pelvis frame, m."""
    shoulder_slide: Array
    """(N, 2, 3) how far each shoulder glides, trunk frame, m."""
    toes: Array
    """(N, 2) how far each foot's toes are bent up against it."""

    def __len__(self) -> int:
        return len(self.root)


def at_rest(count: int) -> JointAngles:
    """Angles of a body that hangs straight with its hips at the origin, ``count`` times over."""
    sides = {name: np.zeros((count, 2, 3)) for name in ("hips", "knees", "ankles", "shoulders", "elbows", "wrists")}
    middle = {name: np.zeros((count, 3)) for name in ("root", "pelvis", "head", "trunk_slide")}
    return JointAngles(
        lumbar=np.zeros((count, LEVELS, 3)), shoulder_slide=np.zeros((count, 2, 3)), toes=np.zeros((count, 2)),
        **sides, **middle,
    )  # fmt: skip


def rotation(angles: Array) -> Array:
    """Rotation (..., 3, 3) of Cardan angles (..., 3) about z, then x, then y: Rz Rx Ry."""
    (cz, cx, cy), (sz, sx, sy) = (np.moveaxis(f(angles), -1, 0) for f in (np.cos, np.sin))
    out = np.empty((*angles.shape, 3))
    out[..., 0, 0], out[..., 0, 1], out[..., 0, 2] = cz * cy - sz * sx * sy, -sz * cx, cz * sy + sz * sx * cy
    out[..., 1, 0], out[..., 1, 1], out[..., 1, 2] = sz * cy + cz * sx * sy, cz * cx, sz * sy - cz * sx * cy
    out[..., 2, 0], out[..., 2, 1], out[..., 2, 2] = -cx * sy, sx, cx * cy
    return out


def angles_of(turned: Array) -> Array:
    """Cardan angles (..., 3) of rotations (..., 3, 3); the middle one within a quarter turn either way."""
    about_x = np.arcsin(np.clip(turned[..., 2, 1], -1.0, 1.0))
    about_z = np.arctan2(-turned[..., 0, 1], turned[..., 1, 1])
    about_y = np.arctan2(-turned[..., 2, 0], turned[..., 2, 2])
    return np.stack([about_z, about_x, about_y], axis=-1)


def between(carrying: Array, carried: Array) -> Array:
    """Angles (N, 3) of one part against another, from their turns (N, 3, 3) in space."""
    return angles_of(np.einsum("nji,njk->nik", carrying, carried))


def sensed(angles: Array, side: str, bends: float = 1.0) -> Array:
    """Limb angles in the senses named above from Cardan angles, and back; ``bends``: -1 for a knee."""
    mirror = 1.0 if side == RIGHT else -1.0
    return np.asarray(angles * np.array([bends, mirror, mirror]))
