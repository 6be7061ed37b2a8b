"""A worksheet and its answer key: a free body to complete, sums to fill in, questions; then everything worked out.

Question answered: what do students work on after the lecture, and how is it marked?

Both sheets are made of the same solved step and the same exercises, so that neither can hold another number.
"""

from __future__ import annotations

from viz3d.solution.script import Script
from viz3d.teach.deck import table_of
from viz3d.teach.exercises.draw import draw_exercises
from viz3d.teach.exercises.exercise import Exercise, letter
from viz3d.teach.explain import explain
from viz3d.teach.explanation import Explanation
from viz3d.teach.facts import Taught, taught
from viz3d.teach.lesson import OpenedLesson
from viz3d.teach.paper import Block, Leaf, listed, words
from viz3d.teach.sketch import free_body
from viz3d.words.cautions import SHORT, moving, short
from viz3d.words.message import Said, joined, message
from viz3d.words.voice import Voice, vanishes

_GIVEN = ("weight_force", "weight_lever", "cane_swing_force", "cane_swing_lever", "cane_stance_force",
          "cane_stance_lever", "bag_stance_force", "bag_stance_lever", "bag_swing_force", "bag_swing_lever",
          "backpack_force", "backpack_lever", "other_foot_force", "other_foot_lever", "muscle_lever")  # fmt: skip
"""Quantities that students are given; the others are asked for."""
_WORKED = ("pushes", "turns", "muscle", "joint")
_SENTENCE = 40
"""Letters of a choice that is a sentence."""
_LINES = 1
"""Lines to write on below what is asked, at the least; there are as many as the page has room for."""


def exercises_of(opened: OpenedLesson) -> list[Exercise]:
    """A lesson's exercises, people drawn by its seed.

    Raises
    ------
    NoExercise : nobody that was drawn has such an exercise.
    """
    kinds = opened.lesson.exercises
    return draw_exercises(opened.lesson.seed, len(kinds), kinds) if kinds else []


def worksheet(opened: OpenedLesson) -> Leaf:
    """What students work on.

    Raises
    ------
    SceneError : a step asks for what nobody could do.
    """
    told, at = _chosen_step(opened)
    title, voice = message("worksheet.title", title=opened.lesson.title), opened.first.picture.voice
    given = tuple(
        (fact.name, fact.said(voice)) for fact in told.facts if fact.key in _GIVEN and not vanishes(fact.value)
    )
    head = (message("worksheet.quantity"), message("worksheet.value"))
    first = [
        words("title", title), words("small", message("worksheet.name")),
        *([words("text", opened.lesson.aim)] if opened.lesson.aim else []),
        words("small", joined("join.space", [message("exercise.rounded"), SHORT])),
        words("heading", message("worksheet.complete")),
        words("text", message("worksheet.draw", step=told.step, person=told.person)),
        Block("beside", left=(Block("sketch", sketch=free_body(at), forces=False),),
              right=(Block("table", rows=(head, *given)),), share=0.0),
        *(block for n in (1, 2, 3) for block in (_line(n), Block("room"))),
    ]  # fmt: skip
    asked = [block for n, one in enumerate(exercises_of(opened), 1) for block in (_asked(one, n, voice), Block("room"))]
    return Leaf(title, message("worksheet.subject"), (*first, *asked), voice, 10.5)


def answer_key(opened: OpenedLesson) -> Leaf:
    """The same, worked out.

    Raises
    ------
    SceneError : a step asks for what nobody could do.
    """
    told, at = _chosen_step(opened)
    title, what = message("worksheet.key", title=opened.lesson.title), moving([at.scene.walk is not None])
    worked = [
        Block("together", left=(words("strong", part.heading), listed("list", tuple(dict.fromkeys(part.told)))))
        for part in told.parts if part.key in _WORKED
    ]  # fmt: skip
    blocks: list[Block] = [
        words("title", title), words("small", joined("join.space", [message("explain.rounded"), short(what)])),
        words("heading", message("worksheet.complete")),
        words("text", message("worksheet.of", step=told.step, person=told.person)),
        Block("beside", left=(Block("sketch", sketch=free_body(at)),), right=tuple(worked[:2]), share=0.0), *worked[2:],
    ]  # fmt: skip
    for one in opened.chosen:
        rows = table_of(Script(one.scene, one.file), one.shown)
        blocks.append(Block("together", left=(words("heading", one.scene.title), Block("table", rows=rows))))
    blocks += [_answered(one, n) for n, one in enumerate(exercises_of(opened), 1)]
    return Leaf(title, message("worksheet.key_subject"), tuple(blocks), opened.first.picture.voice, 10.0)


def _chosen_step(opened: OpenedLesson) -> tuple[Explanation, Taught]:
    """The step whose free body is completed: the last one of the first scene."""
    one = opened.chosen[0]
    step = one.shown[-1]
    return explain(one.scene, step, one.file), taught(Script(one.scene, one.file), step)


def _line(number: int) -> Block:
    """One sum to do, with room for it."""
    asked = words("strong", message(f"worksheet.ask_{number}"))
    return Block("together", left=(asked, Block("ruled", count=2 * _LINES)))


def _picture(exercise: Exercise) -> list[Block]:
    if not exercise.picture:
        return []
    return [Block("sketch", sketch=free_body(taught(Script(exercise.scene, "exercise"), exercise.step)))]


def _asked(exercise: Exercise, number: int, voice: Voice) -> Block:
    """One exercise: what is known on the left, what is asked on the right, wider where choices are sentences."""
    givens = listed("list", [message("exercise.given_line", name=f.name, value=f.value) for f in exercise.givens])
    asked = (words("strong", exercise.question), listed("choices", [c.said for c in exercise.choices]))
    seen = tuple(_picture(exercise))
    sides = (seen, (givens, *asked)) if seen else ((givens,), asked)
    known = 0.0 if seen else 0.36 if max(len(voice.say(c.said)) for c in exercise.choices) > _SENTENCE else 0.5
    return Block(
        "together",
        left=(
            words("heading", message("exercise.title", number=str(number))),
            *(words("text", line) for line in exercise.told),
            Block("beside", left=sides[0], right=sides[1], share=known),
            Block("ruled", count=_LINES),
        ),
    )


def _answered(exercise: Exercise, number: int) -> Block:
    right = exercise.choices[exercise.right].said
    told = message("exercise.answer", number=str(number), letter=exercise.letter, said=right)
    why = list(dict.fromkeys(choice.mistake for choice in exercise.choices if choice.mistake is not None))
    wrong = [message("exercise.given_line", name=_letters(exercise, mistake), value=mistake) for mistake in why]
    return Block(
        "together",
        left=(
            words("heading", message("exercise.title", number=str(number))), words("strong", told),
            listed("list", exercise.working), listed("remarks", wrong),
        ),
    )  # fmt: skip


def _letters(exercise: Exercise, mistake: Said) -> str:
    """The letters of the choices of which one thing is to be said: "A, C"."""
    return ", ".join(letter(n) for n, choice in enumerate(exercise.choices) if choice.mistake == mistake)
