"""The band under situations side by side: the difference, who stands there, what the model is.

Question answered: which words stand below the panels, how large, and how high is the band that holds them?

The joint forces come first, in one line; the small print runs on in one paragraph. The band is at most 14 % of a wide
page and 20 % of an upright one, unless its words (large text, cautions, another language) need more. Pure data.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np

from viz3d.solution.gait import same_moment
from viz3d.stage.band import UPRIGHT_SHARE, WIDE_SHARE, run_on
from viz3d.stage.drawing import Mark, Shape2D, Stroke, Words
from viz3d.stage.panel_key import page_unit
from viz3d.stage.panels import Situation
from viz3d.stage.theme import Theme
from viz3d.stage.type import text_width, wrap
from viz3d.words import cautions
from viz3d.words.message import Message, Said, joined, message

LETTERS = "ABCD"
_SIZES = (38.0, 36.0, 34.0, 32.0, 30.0, 28.0, 26.0, 24.0)
"""Sizes of the first line that are tried, u of type."""
_SMALL, _LEADING = 24.0, 1.2
_SIDE, _ABOVE, _BETWEEN, _BELOW = 48.0, 10.0, 8.0, 13.0
"""Margins at the sides, above, between the first line and the small print, and below, u."""

Line = list[tuple[float, str, str]]
"""Pieces of a line: where each begins, pixels, its words, the name of its colour."""


def phases_of(situations: Sequence[Situation]) -> dict[str, float]:
    """Letter -> share of the cycle, of those that walk."""
    walks = [(a, s.plan.gait, s.index) for a, s in zip(LETTERS, situations, strict=False)]
    return {letter: float(gait.phase[i]) for letter, gait, i in walks if gait is not None}


def comparable(situations: Sequence[Situation]) -> bool:
    """False where several walk and not at one moment of the cycle: their forces then differ by when, not by how."""
    return same_moment(phases_of(situations).values())


def band_top(told: Sequence[Sequence[Situation]], size: tuple[int, int], theme: Theme) -> float:
    """Where the band begins, pixels; ``told``: of each panel the situations that it shows in turn."""
    u, share = page_unit(size), WIDE_SHARE if size[0] >= size[1] else UPRIGHT_SHARE
    room = size[0] - 2 * _SIDE * u
    notes = list(dict.fromkeys(s.plan.notes[s.index] for some in told for s in some if s.plan.notes[s.index]))
    lines = len(_small_print([some[0] for some in told], notes, room, theme, u))
    first = max(_first_size([some[k] for some in told], room, theme, u) for k in (0, -1))
    margins = (_ABOVE + _BETWEEN + _BELOW) * u
    least = margins + _SIZES[-1] * u * theme.text + lines * _LEADING * _SMALL * u * theme.text
    needed = least + first - _SIZES[-1] * u * theme.text
    return size[1] - max(min(needed, share * size[1]), least)


def band_marks(situations: Sequence[Situation], top: float, size: tuple[int, int], theme: Theme) -> list[Mark]:
    """The band from ``top`` down to the page's foot."""
    c, u, t = theme.colours, page_unit(size), page_unit(size) * theme.text
    width, height = size
    outline = np.array([[-2.0, top], [width + 2.0, top], [width + 2.0, height + 2.0], [-2.0, height + 2.0]])
    marks: list[Mark] = [Shape2D(outline, c["band"]), Stroke(outline[:2], c["card_line"], 2 * u)]
    room, small = width - 2 * _SIDE * u, _SMALL * t
    notes = list(dict.fromkeys(s.plan.notes[s.index] for s in situations if s.plan.notes[s.index]))
    lines = _small_print(situations, notes, room, theme, u)
    foot = height - _BELOW * u - _LEADING * small * len(lines)
    most = foot - (_BETWEEN + _ABOVE) * u - top
    first = min(_first_size(situations, room, theme, u), max(most, _SIZES[-1] * t))
    y = top + (_ABOVE * u + max(0.0, most - first) / 2) + 0.82 * first
    words = theme.voice.say(_callout(situations))
    marks.append(Words(_SIDE * u, y, words, first, c["ink"], "SemiBold", role="callout"))
    for k, line in enumerate(lines):
        y = foot + (k + 0.85) * _LEADING * small
        marks += [Words(_SIDE * u + x, y, piece, small, c[tone]) for x, piece, tone in line]
    return marks


def _first_size(situations: Sequence[Situation], room: float, theme: Theme, u: float) -> float:
    """The largest size at which the joint forces stand on one line, pixels."""
    words, t = theme.voice.say(_callout(situations)), u * theme.text
    fits = (s * t for s in _SIZES if text_width(words, s * t, "SemiBold", theme.face) <= room)
    return next(fits, _SIZES[-1] * t)


def _small_print(
    situations: Sequence[Situation], notes: Sequence[Said], room: float, theme: Theme, u: float
) -> list[Line]:
    """Cautions of these poses, each on lines of its own, then who stands there and what the model is."""
    small, say, face = _SMALL * u * theme.text, theme.voice.say, theme.face
    lines: list[Line] = []
    for told in notes:
        lines += [[(0.0, line, "ink")] for line in wrap(f"▲ {say(told)}", room, small, face=face)]
    people = say(message("compare.people", people=_people(situations), still=_what_they_do(situations)))
    return lines + run_on([(people, "ink"), (say(_model_line(situations)), "soft")], room, small, face)


def _what_they_do(situations: Sequence[Situation]) -> Message:
    """That they stand still or walk; which of them, where some do either."""
    walks = {a: s.plan.gait is not None for a, s in zip(LETTERS, situations, strict=False)}
    if len(set(walks.values())) == 1:
        return message("figure.walking" if all(walks.values()) else "figure.still")
    walking, standing = (joined("join.comma", [a for a in walks if walks[a] is way]) for way in (True, False))
    return message("compare.walk_and_stand", walking=walking, standing=standing)


def _model_line(situations: Sequence[Situation]) -> Message:
    """What the model is, of every situation shown."""
    lines = list(dict.fromkeys(s.plan.model_line for s in situations))
    both = cautions.moving(s.plan.gait is not None for s in situations) == "both"
    return cautions.BOTH if both else lines[0]


def _people(situations: Sequence[Situation]) -> Message:
    """Who stands there: once where all are alike."""
    people = list(dict.fromkeys(s.plan.person for s in situations))
    if len(people) == 1:
        return joined("join.semicolon", people)
    lettered = zip(LETTERS, situations, strict=False)
    return joined("join.semicolon", [message("compare.person", letter=a, person=s.plan.person) for a, s in lettered])


def _callout(situations: Sequence[Situation]) -> Message:
    """All joint forces in one line, the unit once, at its end."""
    forces = [s.force for s in situations]
    bare = [dataclasses.replace(f, dimension="force_digits") for f in forces[:-1]]
    if len(forces) == 2 and comparable(situations):
        return message("compare.two", first=bare[0], second=forces[1])
    lettered = zip(LETTERS, [*bare, forces[-1]], strict=False)
    every = [message("compare.one", letter=a, force=f) for a, f in lettered]
    return message("compare.several", all=joined("join.numbers", every))
