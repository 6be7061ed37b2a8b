"""Varying a scene's inputs: one step of a scene, solved for many values at once.

Question answered: what would this situation be with another lean, cane force, body mass or lever arm?

Any posing input and any number of the person can vary, alone or together, as arrays of one length. A force given in
percent of body weight follows the body mass. Everything else is as at the step: its strength, its hands, its model; and
what a scene may not ask for is no answer here either.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.body.names import SIDES, other_side
from viz3d.body.person import Body
from viz3d.echo import shown
from viz3d.errors import InputError
from viz3d.scene.posture import AIDS, Hand
from viz3d.scene.quantities import SHAPING
from viz3d.scene.rows import InputRow, rows
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import step_values
from viz3d.solution.refuse import refusal, refused
from viz3d.solution.script import Script
from viz3d.solution.solved import Solved


@dataclass(frozen=True)
class Input:
    """One input that can be varied: its scene key, unit family and sensible range in SI."""

    word: str
    key: str
    dimension: str
    low: float
    high: float
    aid: str = ""
    """What the hand holds, where the input is its force."""


@dataclass(frozen=True)
class Case:
    """One step of a script, to be varied; ``scene``: in force there, perhaps with a cane or bag in a free hand."""

    script: Script
    step: int
    scene: Scene

    @property
    def body(self) -> Body:
        """Who stands there."""
        return self.script.body(self.scene)

    @property
    def weight(self) -> float:
        """Body weight, N."""
        return float(self.body.weight[0])

    def value(self, key: str) -> float:
        """A posing input at the step, SI."""
        return float(step_values(self.scene, self.weight)[key][self.step])

    def solved(self, values: Mapping[str, Array] | None = None) -> Solved:
        """The step, with inputs replaced by arrays.

        Parameters
        ----------
        values : dotted key -> (N,) SI values, all of one length; none for the step as it is.

        Raises
        ------
        InputError : a key that cannot vary, or arrays of different lengths.
        """
        values = values or {}
        if len({len(v) for v in values.values()}) > 1:
            raise InputError("varied inputs must have one length")
        for key in values:
            if key not in variable():
                raise InputError(f"{key} cannot be varied; allowed: {', '.join(variable())}")
        return self.script.varied(self.step, values, self.scene)

    def allowed(self, solved: Solved) -> Flags:
        """True where the scene may be asked for that, and the body does not fall, (N,)."""
        return np.asarray(~refused(self.scene, solved) & ~solved.stance.falls)

    def refuse(self, solved: Solved, at: int = 0) -> None:
        """Raise where a situation may not be asked for.

        Raises
        ------
        SceneError : as a scene that asks for it.
        """
        found = refusal(self.scene, solved, at, self.script.file)
        if found is not None:
            raise found


def case_of(scene: Scene, step: int, file: str = "scene") -> Case:
    """A scene's step, with the scene that is in force there."""
    script = Script(scene, file)
    return Case(script, step, script.at(step))


def variable() -> list[str]:
    """Keys that a question may vary: what a step may ease, and the person's sizes and hip measures."""
    sized = ("person.mass", "person.stature", "person.hip_spacing", "person.left_hip.", "person.right_hip.")
    return [key for key, row in rows().items() if row.eased or (row.of.kind == SHAPING and key.startswith(sized))]


def words_asked() -> dict[str, list[InputRow]]:
    """Plain words for inputs, and the rows they may mean: one a side where there are two."""
    out: dict[str, list[InputRow]] = {}
    for row in rows().values():
        if row.asked is not None:
            out.setdefault(row.asked.word, []).append(row)
    return out


def named_input(case: Case, word: str) -> tuple[Case, Input]:
    """An input by its plain word, and the case it belongs to (a free hand may be given a cane or bag).

    Raises
    ------
    InputError : no such word, or no hand is free.
    """
    known = words_asked()
    if word not in known:
        raise InputError(f"--by or --over: found {shown(word)}; allowed: {', '.join(known)}")
    side: str = case.scene.posture.stance
    if word in ("cane", "bag"):
        scene, side = _holding(case.scene, word)
        case = replace(case, scene=scene)
    row = next(r for r in known[word] if r.side in ("", side))
    asked = row.asked
    assert asked is not None  # words_asked lists no other rows
    whole = 1.0 if not asked.relative else case.weight if row.of.dimension == "force" else case.scene.person.mass
    aid = getattr(case.scene.hands, side).holds if word == "cane" else ""
    return case, Input(word, row.key, row.of.dimension, asked.low * whole, asked.high * whole, aid)


def _holding(scene: Scene, thing: str) -> tuple[Scene, str]:
    """A hand that holds a cane or bag: the scene's own, else a free one, the opposite (cane) or same (bag) first.

    Raises
    ------
    InputError : both hands hold something else.
    """
    stance = scene.posture.stance
    sides = (other_side(stance), stance) if thing == "cane" else (stance, other_side(stance))
    held = {side: getattr(scene.hands, side).holds for side in sides}
    for side in (other_side(stance), stance):
        if held[side] in (AIDS if thing == "cane" else (thing,)):
            return scene, side
    free = [side for side in sides if held[side] == "nothing"]
    if not free:
        told = ", ".join(f"{side} {held[side]}" for side in SIDES)
        raise InputError(f"no hand is free for a {thing}: {told}; choose another input, or empty a hand")
    empty = {"holds": "cane", "force": "0 %BW"} if thing == "cane" else {"holds": "bag", "mass": "0 kg"}
    hand = Hand.model_validate(empty)
    return scene.model_copy(update={"hands": scene.hands.model_copy(update={free[0]: hand})}), free[0]
