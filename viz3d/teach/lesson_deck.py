"""A lesson's deck: its own title, plan and misunderstandings round the slides of its scenes.

Question answered: in which order does a lecture of a lesson go?
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from viz3d.teach.deck import Deck, Slide, limits, opening, scene_slides
from viz3d.teach.lesson import OpenedLesson
from viz3d.words.message import Said, message


def lesson_deck(opened: OpenedLesson) -> Deck:
    """The deck of a lesson.

    Raises
    ------
    SceneError : a step asks for what nobody could do.
    """
    return Deck(
        opened.lesson.title, opened.first.picture.voice, tuple(_slides(opened)), tuple(c.scene for c in opened.chosen)
    )


def _slides(opened: OpenedLesson) -> Iterator[Slide]:
    lesson, first = opened.lesson, opened.chosen[0]
    named = first.scene.model_copy(update={"title": lesson.title, "aim": lesson.aim})
    notes: list[Said] = [lesson.aim, *(message("pack.minutes", minutes=p.minutes, what=p.what) for p in lesson.plan)]
    yield replace(opening(named, first.file), notes=tuple(notes))
    for used, chosen in zip(lesson.scenes, opened.chosen, strict=True):
        yield from scene_slides(chosen, used.builds, opened=False)
    if lesson.misunderstandings:
        told = tuple(message("pack.answered", says=m.says, answer=m.answer) for m in lesson.misunderstandings)
        yield Slide("listed", message("pack.misunderstandings"), lines=told, notes=told, file=opened.file)
    if lesson.summary:
        said = tuple[Said, ...](lesson.summary)
        yield Slide("listed", message("pack.summary"), lines=said, notes=said, file=opened.file, where="summary")
    yield limits(opened.chosen)
