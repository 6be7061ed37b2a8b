"""Varying a scene's inputs: one step of a scene, solved for many values at once.

Question answered: what would this situation be with another lean, cane force, body mass or lever arm?

Any posing input and any number of the person can vary, alone or together, as arrays of one length. A force
given in percent of body weight follows the body mass. Called by target, sweep and spread.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from viz3d.body.person import LEFT, RIGHT, Array
from viz3d.errors import InputError
from viz3d.scene.inputs import POSING_KEYS
from viz3d.scene.schema import AIDS, Hand, Scene
from viz3d.scene.timeline import Timeline, step_values
from viz3d.solution.inputs import HIP_MEASURES, body_of, model_of, posture_of
from viz3d.solution.solve import Solved, solve_batch

SHAPING_KEYS = (
    "person.mass",
    "person.stature",
    "person.hip_spacing",
    *(f"person.{side}_hip.{name}" for side in (LEFT, RIGHT) for name in HIP_MEASURES),
)


@dataclass(frozen=True)
class Input:
    """One input that can be varied: its scene key, unit family and sensible range in SI."""

    word: str
    key: str
    dimension: str
    low: float
    high: float


def other_side(side: str) -> str:
    """The other side of the body."""
    return LEFT if side == RIGHT else RIGHT


def named_input(scene: Scene, word: str) -> tuple[Scene, Input]:
    """An input by its plain word, and the scene it belongs to (a hand may be given a cane or bag).

    Words: lean, drop, cane, bag, mass, lever.

    Raises
    ------
    InputError : no such word.
    """
    stance = scene.posture.stance
    simple = {
        "lean": ("posture.lean", "angle", 0.0, np.radians(30.0)),
        "drop": ("posture.obliquity", "angle", np.radians(-15.0), np.radians(20.0)),
        "mass": ("person.mass", "mass", 30.0, 200.0),
        "lever": (f"person.{stance}_hip.abductor_lever", "length", 0.010, 0.100),
    }
    if word in simple:
        key, dimension, low, high = simple[word]
        return scene, Input(word, key, dimension, low, high)
    if word in ("cane", "bag"):
        scene, side = _holding(scene, word)
        weight = float(body_of(scene).weight[0])
        if word == "cane":
            return scene, Input(word, f"hands.{side}.force", "force", 0.0, 0.6 * weight)
        return scene, Input(word, f"hands.{side}.mass", "mass", 0.0, 0.4 * scene.person.mass)
    raise InputError(f"--by or --over: found {word!r}; allowed: lean, drop, cane, bag, mass, lever")


def _holding(scene: Scene, thing: str) -> tuple[Scene, str]:
    """A hand that holds a cane or bag: the scene's own, else given to the opposite (cane) or same (bag) hand."""
    stance = scene.posture.stance
    for side in (other_side(stance), stance):
        if getattr(scene.hands, side).holds in (AIDS if thing == "cane" else (thing,)):
            return scene, side
    side = other_side(stance) if thing == "cane" else stance
    empty = {"holds": "cane", "force": "0 %BW"} if thing == "cane" else {"holds": "bag", "mass": "0 kg"}
    hand = Hand.model_validate(empty)
    return scene.model_copy(update={"hands": scene.hands.model_copy(update={side: hand})}), side


def solve_varied(scene: Scene, step: int, values: Mapping[str, Array]) -> Solved:
    """Solve one step of a scene with inputs replaced by arrays.

    Parameters
    ----------
    step : index of the step whose end is varied.
    values : dotted key -> (N,) SI values, all of one length.

    Raises
    ------
    InputError : a key that cannot vary, or arrays of different lengths.
    """
    sizes = {len(v) for v in values.values()}
    if len(sizes) != 1:
        raise InputError("varied inputs must have one length")
    count = sizes.pop()
    for key in values:
        if key not in POSING_KEYS and key not in SHAPING_KEYS:
            raise InputError(f"{key} cannot be varied; allowed: {', '.join((*POSING_KEYS, *SHAPING_KEYS))}")
    shaping = {k: v for k, v in values.items() if not k.startswith(("posture.", "hands."))}
    body = body_of(scene, shaping)
    weight = np.broadcast_to(body.weight, (count,))
    one, two = step_values(scene, 1.0), step_values(scene, 2.0)
    inputs = {k: one[k][step] + (two[k][step] - one[k][step]) * (weight - 1.0) for k in one}
    inputs |= {k: np.asarray(v, dtype=float) for k, v in values.items() if k in inputs}
    timeline = Timeline(np.zeros(count), np.full(count, step), inputs)
    posture = posture_of(scene, timeline)
    return solve_batch(body, posture, timeline.times, timeline.step, model_of(scene), scene.model.pressure)


def reachable(solved: Solved) -> Array:
    """True where hands reach their canes and the body does not fall, (N,)."""
    return np.asarray((solved.stance.reach_short.max(axis=1) <= 1e-6) & ~solved.stance.falls)
