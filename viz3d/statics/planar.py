"""A planar free body from bare numbers, as a textbook prints it.

Question answered: given the forces on a free body, one muscle's line and the joint centre, how hard does
the muscle pull and what does the joint carry?

Axes: any right-handed plane (x, y); a moment is positive counter-clockwise. Units: whatever the forces and
lengths are given in. Called by people with a textbook, by the tests, and by nobody inside: the solver's
own path is :mod:`viz3d.statics.hip`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from viz3d.arrays import Array
from viz3d.errors import NoEquilibrium


@dataclass(frozen=True)
class PlanarSolution:
    """Muscle tension and joint force of a planar free body; batch axes first.

    ``joint_force`` acts on the free body at the joint centre, shape (..., 2).
    """

    muscle_force: Array
    muscle_lever: Array
    external_moment: Array
    joint_force: Array

    @property
    def joint_magnitude(self) -> Array:
        """Size of the joint force, (...,)."""
        return np.asarray(np.hypot(self.joint_force[..., 0], self.joint_force[..., 1]))

    @property
    def joint_angle_to_horizontal(self) -> Array:
        """Steepness of the joint force, radians between 0 and pi/2, (...,)."""
        return np.asarray(np.arctan2(np.abs(self.joint_force[..., 1]), np.abs(self.joint_force[..., 0])))


def solve_planar(
    points: ArrayLike, forces: ArrayLike, muscle_point: ArrayLike, muscle_direction: ArrayLike,
    joint: ArrayLike = (0.0, 0.0),
) -> PlanarSolution:  # fmt: skip
    """Balance a planar free body with one muscle and one joint.

    Parameters
    ----------
    points : (..., K, 2) where the K external forces act.
    forces : (..., K, 2) those forces, weight and carried loads included.
    muscle_point : (..., 2) where the muscle acts on the free body.
    muscle_direction : (..., 2) the way it pulls; any length.
    joint : (..., 2) joint centre.

    Returns
    -------
    PlanarSolution, batch shape (...). A negative muscle force means it would have to push.

    Raises
    ------
    NoEquilibrium : the muscle's line passes through the joint although a moment must be balanced.

    Notes
    -----
    M = Σ (r × F); a = r_m × u; T = −M / a; R = −(Σ F + T u).

    Examples
    --------
    Two newtons 0.3 m out, a muscle 0.1 m out on the other side pulling down:

    >>> s = solve_planar([[0.3, 0]], [[0, -2.0]], [-0.1, 0], [0, -1])
    >>> float(s.muscle_force.round(9)), [float(abs(v)) for v in s.joint_force.round(9)]
    (6.0, [0.0, 8.0])
    """
    at, force = np.asarray(points, dtype=float), np.asarray(forces, dtype=float)
    centre = np.asarray(joint, dtype=float)
    pull = np.asarray(muscle_direction, dtype=float)
    unit = pull / np.linalg.norm(pull, axis=-1, keepdims=True)
    moment = _cross(at - centre[..., None, :], force).sum(axis=-1)
    arm = np.asarray(muscle_point, dtype=float) - centre
    lever = _cross(arm, unit)
    if bool(np.any((np.abs(lever) < 1e-12 * np.linalg.norm(arm, axis=-1)) & (moment != 0.0))):
        raise NoEquilibrium("the muscle's line passes through the joint centre: its lever arm is zero")
    tension = -moment / lever
    joint_force = -(force.sum(axis=-2) + tension[..., None] * unit)
    return PlanarSolution(np.asarray(tension), np.abs(lever), np.asarray(moment), joint_force)


def _cross(a: Array, b: Array) -> Array:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])
