"""The same situations held by the equivalent abductor, or by the equivalent adductor, whichever of them pulls.

Question answered: what do muscle and joint force come to if this muscle alone balances the moment?

Where the load passes from one muscle to the other the joint force has a kink; held by one of them it has none, so that
it can be interpolated. The muscle that really pulls is the one whose pull is not negative: the other one's numbers only
carry its curve past the kink. Muscle sets share the moment themselves and are left as they
are, as is what passive tissue or antagonists take part in. SI, hip frame.
"""

from __future__ import annotations

import dataclasses

import numpy as np

from viz3d.solution.solved import Solved
from viz3d.statics.equivalent import ABDUCTOR, ADDUCTOR, muscle_line

MUSCLES = (ABDUCTOR, ADDUCTOR)


def held_by(solved: Solved, name: str) -> Solved:
    """The situations with all of the moment on one muscle, "abductor" or "adductor".

    Notes
    -----
    F = M / a, signed; R = −(Σ F_ext + F e), as in :func:`viz3d.statics.hip.hip_load`.
    """
    load = solved.load
    if load.muscles is not None or bool(load.passive.any() or load.against.any()):
        return solved
    line = muscle_line(solved.body, solved.hip, solved.stance, name)
    pull = load.external_moment / line.moment_arm
    joint = -(load.external_force + pull[:, None] * line.direction)
    abducts = np.full(len(pull), name == ABDUCTOR)
    held = dataclasses.replace(load, muscle=line, puller=line, muscle_force=pull, joint_force=joint, abducts=abducts)
    return dataclasses.replace(solved, load=held)
