"""Exercises on what people do: which hand for the cane, how far to lean, what a bag does.

Question answered: do students see that a push helps by its lever arm, that leaning brings the weight nearer, and that
the side on which something is carried decides?
"""

from __future__ import annotations

import math

import numpy as np

from viz3d.body.names import SIDES, other_side
from viz3d.scene.schema import Scene
from viz3d.teach.exercises.balance import (
    cane_case,
    given,
    numbers,
    person_line,
    pull_angle,
    solved_case,
    sum_of_vectors,
)
from viz3d.teach.exercises.exercise import Exercise, choices_of, refuse
from viz3d.teach.exercises.people import case
from viz3d.teach.explanation import Fact
from viz3d.teach.facts import Taught
from viz3d.words.message import (
    Amount,
    Message,
    Said,
    fraction,
    length,
    mass,
    message,
    moment,
    newtons,
)

_LEANS = (4, 6, 8, 10, 12)
"""Leans asked for, whole degrees; twice as much is still within what a scene may ask."""
_BAGS = (6, 8, 10, 12)
"""Bags, kg."""


def hand(person: Scene, rng: np.random.Generator) -> Exercise:
    """In which hand does a cane belong, and what does the joint then carry?

    Raises
    ------
    NoExercise : no such exercise for this person.
    """
    stance = person.posture.stance
    best = other_side(stance)
    scene, share = cane_case(person, rng, best)
    before, at = solved_case("hand", scene, 0), solved_case("hand", scene, 1)
    if at.joint_force > before.joint_force:
        raise refuse("hand", "a push this hard unloads the hip no further")
    push, plain = at.size(at.above[1]), before.joint_force - at.size(at.above[1])
    choices = [
        (_hand_choice(stance, at.joint_force), "wrong_hand"), (_hand_choice(best, plain), "weight_only"),
        (_hand_choice(stance, plain), "wrong_hand_weight_only"),
    ]  # fmt: skip
    told = (person_line(scene), message("exercise.case.cane", share=fraction(share), push=newtons(push)))
    givens = (
        given("joint_before", before.joint_force),
        *_givens(at),
        given("cane_lever", at.arm(at.above[1]), "length"),
    )
    return Exercise(
        "hand", 0, scene, 1, told, givens, message("exercise.ask.hand"),
        choices_of("hand", _hand_choice(best, at.joint_force), _mistaken(choices), rng),
        (*_two_moments(at), *sum_of_vectors(at, pull_angle(at))), at.joint_force,
    )  # fmt: skip


def lean(person: Scene, rng: np.random.Generator) -> Exercise:
    """How far must the trunk lean for the abductors to pull no harder than a given force?

    Raises
    ------
    NoExercise : no such exercise for this person.
    """
    degrees = int(rng.choice(_LEANS))
    scene = case(person, None, [{}, {"posture.lean": f"{degrees} deg"}])
    upright, at = solved_case("lean", scene, 0), solved_case("lean", scene, 1)
    far, near = upright.arm(upright.above[0]), at.arm(at.above[0])
    rate = (far - near) / degrees
    choices = [
        (_lean_choice("away", degrees), "lean_away"), (_lean_choice("over", degrees / 2), "lean_half"),
        (_lean_choice("over", 2 * degrees), "lean_twice"),
    ]  # fmt: skip
    givens = (
        given("weight_above", at.size(at.above[0])), given("lever_upright", far, "length"),
        given("muscle_lever", at.muscle_arm, "length"), given("wanted_pull", at.muscle_force),
    )  # fmt: skip
    needed = at.muscle_force * at.muscle_arm
    working = (
        message(
            "exercise.work.allowed", force=newtons(at.muscle_force), lever=length(at.muscle_arm), moment=moment(needed)
        ),
        message("exercise.work.lever", moment=moment(needed), force=newtons(at.size(at.above[0])), lever=length(near)),
        message(
            "exercise.work.lean", far=length(far), near=length(near), rate=_rate(rate), angle=_whole(degrees),
        ),
    )  # fmt: skip
    return Exercise(
        "lean", 0, scene, 1, (person_line(scene), message("exercise.case.lean", rate=_rate(rate))), givens,
        message("exercise.ask.lean"), choices_of("lean", _lean_choice("over", degrees), _mistaken(choices), rng),
        working, math.radians(degrees),
    )  # fmt: skip


def bag(person: Scene, rng: np.random.Generator) -> Exercise:
    """What does a bag in one hand do to the joint force?

    Raises
    ------
    NoExercise : no such exercise for this person.
    """
    kilograms, side = int(rng.choice(_BAGS)), str(rng.choice(SIDES))
    scene, at = _carrying(person, kilograms, side)
    _, other = _carrying(person, kilograms, other_side(side))
    before = solved_case("bag", case(person))
    bag_weight, slope = at.size(at.above[1]), pull_angle(at)
    wrong = [
        (before.joint_force + bag_weight, "bag_no_lever"), (other.joint_force, "bag_wrong_side"),
        (before.joint_force, "bag_ignored"), (at.size(at.above[0]) + bag_weight, "muscle_left_out"),
        (before.joint_force + 2 * bag_weight, "bag_doubled"),
    ]  # fmt: skip
    told = (person_line(scene), message(f"exercise.case.bag_{side}", mass=mass(kilograms), force=newtons(bag_weight)))
    lever = given("bag_lever", at.arm(at.above[1]), "length")
    givens = (given("joint_before", before.joint_force), *_givens(at), lever)
    return Exercise(
        "bag", 0, scene, 0, told, givens, message("exercise.ask.bag"), numbers("bag", at.joint_force, wrong, rng),
        (*_two_moments(at), *sum_of_vectors(at, slope)), at.joint_force,
    )  # fmt: skip


def _carrying(person: Scene, kilograms: int, side: str) -> tuple[Scene, Taught]:
    scene = case(person, {side: {"holds": "bag", "mass": f"{kilograms} kg"}})
    return scene, solved_case("bag", scene)


def _givens(at: Taught) -> tuple[Fact, ...]:
    """Weight, levers and the muscle's slope in the posture asked for."""
    own = at.above[0]
    return (
        given("weight_above", at.size(own)), given("weight_lever", at.arm(own), "length"),
        given("muscle_lever", at.muscle_arm, "length"), given("slope", pull_angle(at), "angle"),
    )  # fmt: skip


def _two_moments(at: Taught) -> tuple[Message, ...]:
    """Moment of the weight and of the other force, their sum, and the muscle's force."""
    own, other = at.above
    total = float(at.solved.load.external_moment[at.row])
    sign = "minus" if at.adducts(other) < 0.0 else "plus"
    return (
        message(
            f"exercise.work.moments_{sign}", force=newtons(at.size(own)), lever=length(at.arm(own)),
            other=newtons(at.size(other)), other_lever=length(at.arm(other)), moment=moment(total),
        ),
        message(
            "exercise.work.muscle", moment=moment(total), lever=length(at.muscle_arm), force=newtons(at.muscle_force)
        ),
    )  # fmt: skip


def _mistaken(choices: list[tuple[Message, str]]) -> list[tuple[Said, Message]]:
    return [(said, message(f"exercise.mistake.{key}")) for said, key in choices]


def _hand_choice(side: str, joint_force: float) -> Message:
    return message(f"exercise.choice.hand_{side}", force=newtons(joint_force))


def _lean_choice(way: str, degrees: float) -> Message:
    return message(f"exercise.choice.lean_{way}", angle=_whole(degrees))


def _whole(degrees: float) -> Amount:
    return Amount(math.radians(degrees), "whole_angle")


def _rate(metres: float) -> Amount:
    """How much nearer the weight comes with a degree."""
    return Amount(metres, "fine_length")
