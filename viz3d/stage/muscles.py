"""Which muscles a picture shows, along which lines, how hard they work.

Question answered: where is each muscle's body in every frame, and how active is it?

With one equivalent muscle the abductors that stand for it are drawn, all at the same share of their strength; with a
muscle set every muscle of the stance hip at its own.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.body.muscle_bodies import MuscleBody, muscle_bodies
from viz3d.body.muscles import cross_sections, muscle_lines
from viz3d.body.names import LEFT, RIGHT
from viz3d.kinematics.muscle_paths import muscle_paths
from viz3d.scene.schema import Scene
from viz3d.solution.solved import Solved
from viz3d.stage.plan import Muscle

EQUIVALENT_BODIES = ("gluteus_medius", "gluteus_minimus")
"""Bodies that stand for one equivalent abductor."""
_POINTS = 7


def drawn_muscles(scene: Scene, solved: Solved) -> list[Muscle]:
    """The muscles of a solved scene's pictures; none where the scene asks for none."""
    if scene.picture.muscles == "none":
        return []
    side = RIGHT if solved.posture.on_right[0] else LEFT
    sign = 1.0 if side == RIGHT else -1.0
    hip, posture = solved.body.hip(side), solved.stance.posture
    zero = np.zeros(len(posture))
    paths = muscle_paths(
        solved.body, hip, np.asarray(posture.obliquity), np.asarray(solved.stance.inclination), zero, _POINTS
    )
    flip = np.array([1.0, 1.0, sign])
    course = solved.posed.joints["stance_hip"][:, None, None] + paths.course * flip
    out = []
    for one in muscle_bodies(solved.body, hip):
        if solved.load.muscles is None and one.name not in EQUIVALENT_BODIES:
            continue
        lines = list(one.lines)
        out.append(
            Muscle(
                one.name, course[:, lines].mean(axis=1), _placed(one.start * flip, solved.posed.frames["pelvis"]),
                _placed(one.end * flip, solved.posed.frames[f"{side}_thigh"]), one.belly, one.tendon,
                solved.posed.frames["pelvis"][:, :3, :3] @ (one.bulge * flip),
                _activation(solved, one),
            )
        )  # fmt: skip
    return out


def _placed(ring: Array, frames: Array) -> Array:
    """A ring (K, 3) of a link in the world, (N, K, 3)."""
    return np.asarray(np.einsum("nij,kj->nki", frames[:, :3, :3], ring) + frames[:, None, :3, 3])


def _activation(solved: Solved, one: MuscleBody) -> Array:
    """Force over strength of a body, 0 to 1, (N,)."""
    lines = list(one.lines)
    if solved.load.muscles is not None:
        weight = cross_sections()[lines]
        mean = np.nan_to_num(solved.load.muscles.shared.activation[:, lines]) @ weight / weight.sum()
        return np.asarray(np.clip(mean, 0.0, 1.0))
    abducts = any(muscle_lines()[k].group == "abductor" for k in lines)
    hip = solved.body.hip(RIGHT if solved.posture.on_right[0] else LEFT)
    share = solved.load.external_moment / np.maximum(np.atleast_1d(hip.abductor_torque), 1e-9)
    return np.clip(np.broadcast_to(share if abducts else -share, solved.times.shape), 0.0, 1.0)
