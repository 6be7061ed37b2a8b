"""Which muscles a picture shows, and how hard they work.

Question answered: which of the stance hip's muscles are drawn, and how active is each in every frame?

With one equivalent muscle the abductors that stand for it are drawn, all at the same share of their strength; with a
muscle set every muscle of the stance hip at its own. Those that rest all the time are left out, but for the few whose
table row says that they are drawn faintly, and those that share a tendon with one that works. The hardest-working of a
set have names, with their share of all force.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.body.muscle_bodies import BodyLines, body_lines, muscle_bodies
from viz3d.body.muscle_places import seen_from
from viz3d.body.muscles import cross_sections, muscle_lines
from viz3d.body.names import LEFT, RIGHT
from viz3d.scene.schema import Scene
from viz3d.solution.solved import Solved
from viz3d.stage.plan import Muscle, Named
from viz3d.words.message import Said, fraction, message

EQUIVALENT_BODIES = ("gluteus_medius", "gluteus_minimus")
"""Bodies that stand for one equivalent abductor."""
WORTH_A_NAME = 0.08
"""Least share of all muscle force, on the whole, for which a muscle is named."""


def drawn_muscles(scene: Scene, solved: Solved) -> list[Muscle]:
    """The muscles of a solved scene's pictures; none where the scene asks for none."""
    if scene.picture.muscles == "none":
        return []
    able = [one for one in body_lines() if solved.load.muscles is not None or one.name in EQUIVALENT_BODIES]
    muscles = {one: Muscle(one.name, _activation(solved, one)) for one in able}
    parted = [set(one.lines) for one, muscle in muscles.items() if one.common and not muscle.rests]
    return [
        muscle
        for one, muscle in muscles.items()
        if one.faint
        or one.name in EQUIVALENT_BODIES
        or not muscle.rests
        or any(set(one.lines) <= lines for lines in parted)
    ]


def named_muscles(scene: Scene, solved: Solved) -> tuple[Named, ...]:
    """The muscles of a set that do most, the first of them first; none for one muscle, or for a clothed person."""
    muscles = solved.load.muscles
    if muscles is None or scene.picture.muscles == "none" or scene.picture.dress == "patient":
        return ()
    side = RIGHT if solved.posture.on_right[0] else LEFT
    force = np.nan_to_num(muscles.shared.force)
    total = np.maximum(force.sum(axis=1), 1e-9)
    pelvis, thigh = (solved.posed.frames[link] for link in ("pelvis", f"{side}_thigh"))
    flip = np.array([1.0, 1.0, float(solved.sign[0])])
    found = []
    for one in muscle_bodies(solved.body, solved.body.hip(side)):
        if one.common:
            continue
        share = force[:, list(one.lines)].sum(axis=1) / total
        if share.mean() >= WORTH_A_NAME:
            places = seen_from(one, solved.body, pelvis, thigh, flip)
            values: list[list[Said]] = [[fraction(float(x))] for x in share]
            name = message(f"muscle_name.{one.name}")
            found.append((float(share.mean()), Named(one.name, name, values, places, short=name)))
    return tuple(named for _, named in sorted(found, key=lambda x: -x[0]))


def _activation(solved: Solved, one: BodyLines) -> Array:
    """Force over strength of a body, 0 to 1, (N,)."""
    lines = list(one.lines)
    if solved.load.muscles is not None:
        shares = np.nan_to_num(solved.load.muscles.shared.activation[:, lines])
        weight = cross_sections()[lines]
        mean = shares.max(axis=1) if one.common else shares @ weight / weight.sum()
        return np.asarray(np.clip(mean, 0.0, 1.0))
    abducts = any(muscle_lines()[k].group == "abductor" for k in lines)
    hip = solved.body.hip(RIGHT if solved.posture.on_right[0] else LEFT)
    share = solved.load.external_moment / np.maximum(np.atleast_1d(hip.abductor_torque), 1e-9)
    return np.clip(np.broadcast_to(share if abducts else -share, solved.times.shape), 0.0, 1.0)
