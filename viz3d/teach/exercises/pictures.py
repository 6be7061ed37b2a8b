"""Exercises on pictures: read a force off a free body drawn to scale, find what is wrong in a free body.

Question answered: do students read an arrow by its scale, and see which way and how far from the hip a force must act?
"""

from __future__ import annotations

import numpy as np

from viz3d.body.names import other_side
from viz3d.scene.schema import Scene
from viz3d.teach.exercises.balance import cane_case, given, numbers, person_line, solved_case
from viz3d.teach.exercises.exercise import Exercise, choices_of
from viz3d.teach.exercises.people import case
from viz3d.teach.explanation import Fact
from viz3d.teach.facts import Taught
from viz3d.teach.sketch import NEWTONS_PER_MM, SCALE_BAR
from viz3d.words.message import Amount, Message, Said, fraction, length, message, newtons

_LOADS = {"weight": "down", "muscle": "down_out", "joint": "up_in", "cane": "up"}
_TURNED = {"down": "up", "down_out": "up_in", "up_in": "down_out", "up": "down"}


def reading(person: Scene, rng: np.random.Generator) -> Exercise:
    """How large is a force that is drawn to scale?

    Raises
    ------
    NoExercise : no such exercise for this person.
    """
    scene = case(person)
    at = solved_case("reading", scene)
    sizes = {"muscle": at.muscle_force, "joint": at.joint_force}
    asked = str(rng.choice(list(sizes)))
    right = sizes[asked]
    drawn, bar = right / NEWTONS_PER_MM / 1000, SCALE_BAR / NEWTONS_PER_MM / 1000
    wrong = [
        (right * at.weight / SCALE_BAR, "bar_is_weight"), (drawn * 1000 * 10, "ten_a_millimetre"),
        (sizes["joint" if asked == "muscle" else "muscle"], "other_arrow"), (right * 2, "bar_twice"),
        (right / 2, "bar_half"),
    ]  # fmt: skip
    givens = (
        given("body_weight", at.weight), _drawn(f"drawn_{asked}", drawn), _drawn("drawn_bar", bar),
    )  # fmt: skip
    working = (
        message(
            "exercise.work.reading", arrow=Amount(drawn, "small_length"), bar=Amount(bar, "small_length"),
            stands=newtons(SCALE_BAR), force=newtons(right),
        ),
    )  # fmt: skip
    told = (person_line(scene), message("exercise.case.drawn", bar=newtons(SCALE_BAR)))
    return Exercise(
        "reading", 0, scene, 0, told, givens, message(f"exercise.ask.reading_{asked}"),
        numbers("reading", right, wrong, rng), working, right, picture=True,
    )  # fmt: skip


def _drawn(key: str, metres: float) -> Fact:
    return given(key, metres, "small_length")


def error(person: Scene, rng: np.random.Generator) -> Exercise:
    """Which statement of a free body is wrong?

    Raises
    ------
    NoExercise : no such exercise for this person.
    """
    scene, share = cane_case(person, rng, other_side(person.posture.stance))
    at = solved_case("error", scene, 1)
    flawed = str(rng.choice([*_LOADS, "whole_weight", "along_bone"]))
    where = {"whole_weight": "weight", "along_bone": "muscle"}.get(flawed, flawed)
    statements = {key: statement(at, key) for key in _LOADS}
    wrong = [(s, message("exercise.mistake.stands")) for key, s in statements.items() if key != where]
    told = (person_line(scene), message("exercise.case.free_body", share=fraction(share)))
    givens = (given("body_weight", at.weight), given("weight_above", at.size(at.above[0])),
              given("muscle_lever", at.muscle_arm, "length"))  # fmt: skip
    working: tuple[Said, ...] = (message(f"exercise.work.flaw_{flawed}"), statements[where])
    return Exercise(
        "error", 0, scene, 1, told, givens, message("exercise.ask.error"),
        choices_of("error", statement(at, where, flawed), wrong, rng), working, float("nan"),
    )  # fmt: skip


def statement(at: Taught, key: str, flaw: str = "") -> Message:
    """What a free body says of one force; ``flaw``: what is wrong with it."""
    way = _TURNED[_LOADS[key]] if flaw == key else _LOADS[key]
    own, cane = at.above
    sizes = {"weight": at.size(own), "muscle": at.muscle_force, "joint": at.joint_force, "cane": at.size(cane)}
    size = at.weight if flaw == "whole_weight" else sizes[key]
    values: dict[str, Said] = {"force": newtons(size), "way": message(f"exercise.way.{way}")}
    levers = {"weight": at.arm(own), "muscle": at.muscle_arm, "cane": at.arm(cane)}
    if key in levers:
        insertion = at.solved.load.muscle.insertion[at.row]
        along = float(np.hypot(insertion[1], insertion[2]))
        values["lever"] = length(along if flaw == "along_bone" else levers[key])
    return message(f"exercise.statement.{key}", **values)
