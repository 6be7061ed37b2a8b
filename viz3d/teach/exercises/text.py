"""Exercises as plain text: questions, then the answers with their working.

Question answered: how are exercises handed to a system that takes plain text?
"""

from __future__ import annotations

from collections.abc import Sequence

from viz3d.teach.exercises.exercise import Exercise, letter
from viz3d.words.message import message
from viz3d.words.voice import Voice


def question_lines(exercise: Exercise, voice: Voice) -> list[str]:
    """What is told, given and asked, and the choices by letter."""
    out = [" ".join(voice.lines(list(exercise.told)))]
    lines = (message("exercise.given_line", name=f.name, value=f.said(voice)) for f in exercise.givens)
    out += [f"- {voice.say(line)}" for line in lines]
    out.append(voice.say(exercise.question))
    return [*out, *(f"{letter(n)}) {voice.say(c.said)}" for n, c in enumerate(exercise.choices))]


def answer_lines(exercise: Exercise, number: int, voice: Voice) -> list[str]:
    """The right letter, the working, and what is wrong with each other choice."""
    right = exercise.choices[exercise.right]
    told = message("exercise.answer", number=str(number), letter=exercise.letter, said=right.said)
    out = [voice.say(told), *(f"   {line}" for line in voice.lines(list(exercise.working)))]
    for n, choice in enumerate(exercise.choices):
        if choice.mistake is not None:
            out.append(f"   {letter(n)}) {voice.say(choice.mistake)}")
    return out


def as_text(exercises: Sequence[Exercise], voice: Voice, answers: bool = True) -> str:
    """All exercises, then all answers."""
    lines: list[str] = []
    for number, exercise in enumerate(exercises, 1):
        lines += [voice.say(message("exercise.title", number=str(number))), *question_lines(exercise, voice), ""]
    lines += [voice.say(message("exercise.rounded")), voice.say(message("exercise.caution"))]
    if answers:
        lines += ["", voice.say(message("exercise.answers"))]
        for number, exercise in enumerate(exercises, 1):
            lines += answer_lines(exercise, number, voice)
    return "\n".join(lines) + "\n"
