"""A patient's handout: two pages at most, in plain words, with whole people, and the cautions in full.

Question answered: what does somebody take home who has asked why the hip hurts less with a cane, or leaning?

No force to press with, no forces at all: the lengths of a cane's fit are its only numbers. Its sentences are the
catalogue's, at or under grade 8 (:mod:`viz3d.teach.readability`).
"""

from __future__ import annotations

from collections.abc import Iterator

from viz3d.scene.schema import Scene
from viz3d.teach.deck import SlidePicture
from viz3d.teach.fitting import caution_box, fit_of
from viz3d.teach.lesson import OpenedLesson
from viz3d.teach.paper import Block, Leaf, Mark, listed, words
from viz3d.words.message import Amount, message
from viz3d.words.voice import Voice

_SAID = {"load": 4, "cane": 4, "lean": 3, "carry": 3, "strength": 3, "replacement": 3}
"""Topic -> how many sentences the catalogue has of it."""
_SHORT = 2
"""So many topics stand beside the person, all on one page, where no cane has to be fitted."""


def handout(opened: OpenedLesson) -> Leaf:
    """The handout of a lesson.

    Raises
    ------
    SceneError : the hand does not reach the cane of the picture.
    """
    scene, file = opened.at_home, opened.chosen[0].file
    voice = scene.picture.voice
    plain = Voice(voice.language, "plain", voice.units)
    topics = opened.lesson.patient or ["load"]
    short = "cane" not in topics and len(topics) <= _SHORT
    right, rest = (topics, []) if short else (topics[:1], topics[1:])
    person = _person(scene, file, "cane" in topics, 38.0 if short else 54.0)
    told = tuple(block for topic in right for block in _topic(topic))
    beside = Block("beside", left=(person,), right=told, share=0.245 if short else 0.36)
    blocks = [words("title", message("handout.title")), beside]
    blocks += [Block("together", left=tuple(_topic(topic))) for topic in rest]
    if "cane" in topics:
        blocks.append(Block("together", left=_fitted(scene, file)))
    asks = listed("list", [message(f"handout.ask_{n}") for n in (1, 2, 3)])
    blocks.append(Block("together", left=(words("heading", message("handout.ask")), asks, caution_box())))
    return Leaf(message("handout.title"), message("handout.subject"), tuple(blocks), plain, letters=14.0)


def _person(scene: Scene, file: str, cane: bool, wide: float) -> Block:
    """The person from head to floor, in clothes, ``wide`` mm; with the cane where it is told of."""
    fit = fit_of(scene, file)
    layers = ("bones", "cane") if cane else ("bones",)
    shown = fit.scene if cane else fit.scene.model_copy(update={"hands": type(scene.hands)()})
    return Block("picture", picture=SlidePicture(shown, file, (0,), layers, whole=True), wide=wide)


def _topic(topic: str) -> Iterator[Block]:
    yield words("heading", message(f"handout.{topic}.head"))
    yield listed("list", [message(f"handout.{topic}.says_{n}") for n in range(1, _SAID[topic] + 1)])


def _fitted(scene: Scene, file: str) -> tuple[Block, ...]:
    """How a cane is held and fitted."""
    fit = fit_of(scene, file)
    low, high = (Amount(v, "whole_angle") for v in fit.elbow_usual)
    told = [
        message(f"fitting.hand_{fit.side}"), message("fitting.stand"), message("handout.handle"),
        message("handout.elbow", low=low, high=high), message("fitting.tip", tip=Amount(fit.tip, "whole_length")),
    ]  # fmt: skip
    marks = (Mark("handle", message("handout.mark_handle")), Mark("tip", message("handout.mark_tip")))
    standing = SlidePicture(fit.scene, file, (0,), ("bones", "cane"), whole=True)
    picture = Block("picture", picture=standing, wide=44.0, marks=marks)
    beside = Block("beside", left=(picture,), right=(listed("steps", told),), share=0.42)
    return words("heading", message("fitting.title")), beside
