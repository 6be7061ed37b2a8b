"""How a change is said: percent below twice as much, times from there on, in every medium and language."""

from __future__ import annotations

import re

import pytest

from viz3d.scene.reader import load_scene
from viz3d.solution.script import Script
from viz3d.teach.deck import Chosen, deck_of, table_of
from viz3d.teach.explain import explain
from viz3d.words.change import change_of
from viz3d.words.message import message
from viz3d.words.voice import Voice


@pytest.mark.parametrize(
    ("ratio", "said"),
    [
        (0.12, "88 % less"), (0.5, "50 % less"), (1.34, "34 % more"), (1.994, "99 % more"),
        (2.0, "about 2 times as much"), (2.44, "about 2.4 times as much"), (4.96, "about 5 times as much"),
        (8.65, "about 9 times as much"), (12.4, "about 12 times as much"),
    ],
)  # fmt: skip
def test_growth_is_said_in_times_from_twice_on(ratio: float, said: str) -> None:
    change = change_of(200.0, 200.0 * ratio)
    assert Voice().say(message(f"page.question.{change.way}", **change.hole)) == said


def test_other_languages_say_times_with_their_own_sign() -> None:
    change = change_of(1.0, 2.44)
    assert Voice("es").say(message("page.question.times", **change.hole)) == "unas 2,4 veces lo de antes"
    assert Voice("en").say(message(f"deck.change.{change_of(1.0, 1.004).way}", share="0 %")) == "= (0 %)"


@pytest.mark.parametrize(("language", "times"), [("en", "9 times"), ("es", "9 veces")])
def test_nothing_told_from_two_legs_to_one_rises_by_hundreds_of_percent(language: str, times: str) -> None:
    """Deck, table and explanation of the scene with the largest change there is."""
    scene = load_scene("weight-shift", [f"picture.language={language}"])
    voice, last = scene.picture.voice, len(scene.steps) - 1
    rows = [voice.say(cell) for row in table_of(Script(scene, "weight-shift"), range(last + 1)) for cell in row]
    told = explain(scene, last, "weight-shift").lines(voice)
    slides = deck_of([Chosen(scene, "weight-shift")]).slides
    titles = [voice.say(slide.title) for slide in slides]
    for lines in (rows, told, titles):
        assert any(times in line for line in lines), lines
        assert not any(re.search(r"\d{3,} %", line) for line in lines), lines
