"""Exercises on the balance itself: how hard the abductors pull, and what the joint carries with a cane.

Question answered: do students weigh what is above the hip, take lever arms square to the force, and add vectors?
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from viz3d.body.names import other_side
from viz3d.scene.schema import Scene
from viz3d.solution.script import Script
from viz3d.solution.solved import HELD
from viz3d.stage.tell import person_words
from viz3d.teach.exercises.exercise import Choice, Exercise, choices_of, numbers_apart, refuse
from viz3d.teach.exercises.people import Holds, case
from viz3d.teach.explanation import Fact, signed
from viz3d.teach.facts import Taught, taught
from viz3d.words.message import Message, Said, angle, fraction, joined, length, message, moment, newtons, small_length

_PUSHES = (5, 8, 10, 12, 15)
"""Pushes on a cane, percent of body weight."""


def solved_case(kind: str, scene: Scene, step: int = 0) -> Taught:
    """A case's step, solved.

    Raises
    ------
    NoExercise : it cannot be held. SceneError : nobody could do it.
    """
    at = taught(Script(scene, "exercise"), step)
    if str(at.solved.status[at.row]) != HELD or not at.solved.load.abducts[at.row]:
        raise refuse(kind, "the abductors could not hold this posture")
    return at


_MAKERS = {"newtons": newtons, "length": length, "small_length": small_length, "angle": angle}


def given(key: str, value: float, of: str = "newtons") -> Fact:
    """A number handed to the student; ``of``: newtons, length, small_length or angle."""
    return Fact(key, message(f"exercise.given.{key}"), _MAKERS[of](value))


def person_line(scene: Scene) -> Message:
    """Who stands there on which leg."""
    return message(
        "exercise.person", person=message(f"person.on_leg.{scene.posture.stance}", person=person_words(scene))
    )


def pull_angle(at: Taught) -> float:
    """The muscle line's slope from the vertical, rad."""
    pull = at.solved.load.muscle.direction[at.row]
    return math.atan2(abs(float(pull[2])), abs(float(pull[1])))


def numbers(
    kind: str, right: float, wrong: Sequence[tuple[float, str]], rng: np.random.Generator
) -> tuple[Choice, ...]:  # fmt: skip
    """Choices of forces in newtons; each wrong one with the key of its mistake.

    Raises
    ------
    NoExercise : too few of them can be told apart.
    """
    told = numbers_apart(right, [(value, message(f"exercise.mistake.{key}")) for value, key in wrong])
    return choices_of(kind, newtons(right), [(newtons(value), mistake) for value, mistake in told], rng)


def cane_case(person: Scene, rng: np.random.Generator, hand: str) -> tuple[Scene, float]:
    """The person with a cane in a hand, pressed at its second step, and the push as a share of body weight."""
    push = int(rng.choice(_PUSHES))
    hands: Holds = {hand: {"holds": "cane", "force": "0 %BW"}}
    return case(person, hands, [{}, {f"hands.{hand}.force": f"{push} %BW"}]), push / 100


def abductor(person: Scene, rng: np.random.Generator) -> Exercise:
    """How hard must the abductors pull?

    Raises
    ------
    NoExercise : no such exercise for this person.
    """
    scene = case(person)
    at = solved_case("abductor", scene)
    weight = at.above[0]
    above, lever, arm = at.size(weight), at.arm(weight), at.muscle_arm
    insertion = at.solved.load.muscle.insertion[at.row]
    along = float(np.hypot(insertion[1], insertion[2]))
    right = at.muscle_force
    wrong = [
        (at.weight * lever / arm, "whole_weight"), (above * lever / along, "along_bone"), (above, "no_levers"),
        (above * arm / lever, "levers_swapped"),
    ]  # fmt: skip
    givens = (
        given("body_weight", at.weight), given("weight_above", above), given("weight_lever", lever, "length"),
        given("muscle_lever", arm, "length"), given("along_bone", along, "length"),
    )  # fmt: skip
    working = (
        message("exercise.work.moment", force=newtons(above), lever=length(lever), moment=moment(above * lever)),
        message("exercise.work.muscle", moment=moment(above * lever), lever=length(arm), force=newtons(right)),
    )
    return Exercise(
        "abductor", 0, scene, 0, (person_line(scene),), givens, message("exercise.ask.abductor"),
        numbers("abductor", right, wrong, rng), working, right,
    )  # fmt: skip


def joint(person: Scene, rng: np.random.Generator) -> Exercise:
    """What does the joint carry while a cane is pressed?

    Raises
    ------
    NoExercise : no such exercise for this person.
    """
    hand = other_side(person.posture.stance)
    scene, _ = cane_case(person, rng, hand)
    at = solved_case("joint", scene, 1)
    weight, cane = at.above
    above, push, pull, slope = at.size(weight), at.size(cane), at.muscle_force, pull_angle(at)
    up, side = above - push + pull * math.cos(slope), pull * math.sin(slope)
    right = at.joint_force
    wrong = [
        (above + push + pull, "as_numbers"), (abs(above - push), "muscle_left_out"),
        (math.hypot(up + at.weight - above, side), "whole_weight"), (math.hypot(up + 2 * push, side), "cane_down"),
        (pull, "only_muscle"),
    ]  # fmt: skip
    givens = (
        given("body_weight", at.weight), given("weight_above", above), given("push", push), given("pull", pull),
        given("slope", slope, "angle"),
    )  # fmt: skip
    working = sum_of_vectors(at, slope)
    told = (person_line(scene), message(f"exercise.case.cane_{hand}", share=fraction(push / at.weight)))
    return Exercise(
        "joint", 0, scene, 1, told, givens, message("exercise.ask.joint"), numbers("joint", right, wrong, rng),
        working, right,
    )  # fmt: skip


def sum_of_vectors(at: Taught, slope: float) -> tuple[Message, ...]:
    """The last steps of a worked answer: parts up and sideways, then the joint force."""
    pull, joint_force = at.muscle_force, at.solved.load.joint_force[at.row]
    up, side = float(joint_force[1]), abs(float(joint_force[2]))
    terms = joined("join.space", [signed(newtons(abs(v)), v) for v in (-float(x.force[at.row, 1]) for x in at.above)])
    turned: dict[str, Said] = {"pull": newtons(pull), "slope": angle(slope)}
    return (
        message("exercise.work.up", terms=terms, up=newtons(up), **turned),
        message("exercise.work.side", side=newtons(side), **turned),
        message("exercise.work.joint", up=newtons(up), side=newtons(side), force=newtons(at.joint_force)),
    )
