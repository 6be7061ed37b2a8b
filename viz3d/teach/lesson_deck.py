"""A lesson's deck: its own title, plan and misunderstandings round the slides of its scenes.

Question answered: in which order does a lecture of a lesson go?
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from viz3d.teach.deck import Chosen, Deck, Slide, SlidePicture, limits, opening, scene_slides, told_once
from viz3d.teach.lesson import OpenedLesson
from viz3d.words.message import Said, joined, message


def lesson_deck(opened: OpenedLesson, films: Mapping[str, Path] | None = None) -> Deck:
    """The deck of a lesson; ``films``: scene's name -> its film, to be embedded.

    Raises
    ------
    SceneError : a step asks for what nobody could do.
    """
    slides, scenes = tuple(_slides(opened, films or {})), tuple(chosen.scene for chosen in opened.chosen)
    return Deck(opened.lesson.title, opened.first.picture.voice, slides, scenes)


def _slides(opened: OpenedLesson, films: Mapping[str, Path]) -> Iterator[Slide]:
    lesson, first = opened.lesson, opened.chosen[0]
    named = first.scene.model_copy(update={"title": lesson.title, "aim": lesson.aim})
    notes: list[Said] = [lesson.aim, *(message("pack.minutes", minutes=p.minutes, what=p.what) for p in lesson.plan)]
    yield replace(opening(named, first.file), notes=tuple(notes))
    measured: set[Said] = set()
    for used, chosen, name in zip(lesson.scenes, opened.chosen, opened.names, strict=True):
        yield from told_once(scene_slides(chosen, used.builds, opened=False), measured)
        if name in films:
            poster = SlidePicture(chosen.scene, chosen.file, (chosen.shown[0],))
            title = message("deck.watch", title=chosen.scene.title)
            yield Slide("film", title, picture=poster, notes=(narration_of(chosen),), film=films[name])
    if lesson.misunderstandings:
        told = tuple(message("pack.answered", says=m.says, answer=m.answer) for m in lesson.misunderstandings)
        yield Slide("listed", message("pack.misunderstandings"), lines=told, notes=told, file=opened.file)
    if lesson.summary:
        said = tuple[Said, ...](lesson.summary)
        yield Slide("listed", message("pack.summary"), lines=said, notes=said, file=opened.file, where="summary")
    yield limits(opened.chosen)


def narration_of(chosen: Chosen) -> Said:
    """What is said to a film: the steps' narration, or else their captions."""
    return joined("join.lines", [step.narration or step.caption for step in chosen.scene.steps])
