"""The page over panels: title, headings, joint forces on one axis, the difference, cautions.

Question answered: what changes between these situations, and by how much?
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterable

import numpy as np

from viz3d.scene.picture import LAYERS
from viz3d.stage import drawing as d
from viz3d.stage.alt import alt_text
from viz3d.stage.compared_band import LETTERS, band_marks, band_top, comparable, phases_of
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words, closed
from viz3d.stage.frame import scale_bars
from viz3d.stage.page import Page, Part
from viz3d.stage.panel_key import heading_height, panel_unit
from viz3d.stage.panels import RESULT, Situation, lay_panels
from viz3d.stage.plan import Plan
from viz3d.stage.result import result_marks
from viz3d.stage.theme import Theme
from viz3d.stage.type import shortened, text_width, wrap
from viz3d.words.change import change_of
from viz3d.words.message import Message, fraction, joined, message

_ONE_MORE = 30.0
"""What the results of narrow panels need more, u."""
_FIRST_LINE = 124.0
"""Baseline of the highest line of a heading, u."""
_NAMED = 38.0
"""Size of type down to which a title names the situation that loads the hip least, u."""
_SCALES = 84.0
"""Height of the bars of scale, u."""


def compare_page(
    situations: list[Situation], size: tuple[int, int], view: str, theme: Theme, layers: Iterable[str] = LAYERS
) -> Page:
    """Two to four situations on one page.

    Raises
    ------
    InputError : as :func:`lay_panels`.
    """
    plans, frames = [s.plan for s in situations], [[s.index] for s in situations]
    parts = lay_compared(plans, frames, size, view, theme, layers)
    return page_of(situations, parts, size, theme, max(s.joint for s in situations))


def lay_compared(
    plans: list[Plan], frames: list[list[int]], size: tuple[int, int], view: str, theme: Theme, layers: Iterable[str]
) -> list[Part]:
    """The panels of a comparison, above results and words; ``frames``: what their places hold for.

    Raises
    ------
    InputError : as :func:`lay_panels`.
    """
    told = [[Situation(p, i) for i in f] for p, f in zip(plans, frames, strict=True)]
    top = band_top(told, size, theme)
    return lay_panels(
        plans, frames, size, view, theme, layers, top - result_height(size, len(plans)) - scale_height(size, len(plans))
    )


def result_height(size: tuple[int, int], count: int) -> float:
    """Height of the results under the panels, pixels: narrow ones need a line more for the pressure."""
    return (RESULT + (_ONE_MORE if size[0] <= size[1] else 0.0)) * panel_unit(size, count)


def scale_height(size: tuple[int, int], count: int) -> float:
    """Height of the bars of scale above the results, pixels, where the title leaves them no room."""
    return (_SCALES if size[0] < size[1] else 0.0) * panel_unit(size, count)


def page_of(
    situations: list[Situation], parts: list[Part], size: tuple[int, int], theme: Theme, longest: float
) -> Page:
    """The page over laid-out panels; ``longest``: joint force, body weights, of a bar that fills its panel."""
    plans = [s.plan for s in situations]
    one = len({p.title for p in plans}) == 1
    title = plans[0].title if one and comparable(situations) else _verdict(situations, size, theme)
    page = _Compared(situations, parts, size, theme, title, longest)
    shown = [Part(p.sheet, s.index, p.x) for p, s in zip(parts, situations, strict=True)]
    return Page(size, theme, title, shown, page.alt(), page.marks())


def _verdict(situations: list[Situation], size: tuple[int, int], theme: Theme) -> str:
    """Which situation loads the hip least, by its name where that fits, else by letters, of the numbers as they are
    written; not of walks, where it changes within a step."""
    say = theme.voice.say
    if any(s.plan.gait is not None for s in situations):
        return say(_moments(situations))
    forces = [round(s.joint, 2) for s in situations]
    least, most = forces.index(min(forces)), forces.index(max(forces))
    if least == most or forces[least] == forces[most]:
        return say(message("compare.title"))
    several, shown = len(forces) > 2, situations[least]
    key = "compare.named_several" if several else "compare.named_two"
    named = say(message(key, least=LETTERS[least], step=shown.called))
    u = panel_unit(size, len(forces))
    if text_width(named, _NAMED * u * theme.text, "Bold", theme.face) <= title_room(size, u):
        return named
    key = "compare.title_several" if several else "compare.title_two"
    return say(message(key, least=LETTERS[least], most=LETTERS[most]))


def _moments(situations: list[Situation]) -> Message:
    """Of walks the title says whether they are shown at one moment of their cycle."""
    phases = phases_of(situations)
    if len(phases) < 2:
        return message("compare.title")
    if not all(s.still for s in situations):
        return message("compare.title" if comparable(situations) else "compare.moments")
    shown = {letter: fraction(phase) for letter, phase in phases.items()}
    if comparable(situations):
        return message("compare.same_moment", phase=next(iter(shown.values())))
    every = [message("compare.moment", letter=letter, phase=phase) for letter, phase in shown.items()]
    return message("compare.other_moments", all=joined("join.comma", every))


def title_room(size: tuple[int, int], u: float) -> float:
    """Width of a comparison's title, pixels: beside the bars of scale on a wide page."""
    return size[0] - (96 if size[0] < size[1] else 500) * u


class _Compared:
    """Marks of a comparison: title, headings, joint forces on one axis, caption."""

    def __init__(
        self, situations: list[Situation], parts: list[Part], size: tuple[int, int], theme: Theme, title: str,
        longest: float,
    ) -> None:  # fmt: skip
        self.longest = longest
        self.situations, self.parts, self.size, self.theme, self.title = situations, parts, size, theme, title
        self.u = panel_unit(size, len(parts))
        self.t, self.voice = self.u * theme.text, theme.voice
        self.narrow, count = size[0] < size[1], len(parts)
        self.high = heading_height(size, count) * self.u
        self.top = parts[0].sheet.foot + result_height(size, count) + scale_height(size, count)
        self.one_scene = len({s.plan.title for s in situations}) == 1

    def marks(self) -> list[Mark]:
        c, u = self.theme.colours, self.u
        room = title_room(self.size, u)
        sizes = (44 * self.t, 38 * self.t, 32 * self.t, 28 * self.t, 28 * u, 24 * u)
        size = next((s for s in sizes if text_width(self.title, s, "Bold", self.theme.face) <= room), sizes[-1])
        words = shortened(wrap(self.title, room, size, "Bold", self.theme.face), room, size, "Bold", self.theme.face)
        marks: list[Mark] = [Words(48 * u, 74 * u, words, size, c["ink"], "Bold")]
        for a, b in itertools.pairwise(self.parts):
            x = (a.x + a.sheet.width + b.x) / 2
            marks.append(Stroke(np.array([[x, 108 * u], [x, self.top - 12 * u]]), c["card_line"], 1.8 * u))
        for k in range(len(self.parts)):
            marks += [*self._heading(k), *self._result(k)]
        return [*marks, *self._scales(), *band_marks(self.situations, self.top, self.size, self.theme)]

    def _heading(self, k: int) -> list[Mark]:
        part, c, u = self.parts[k], self.theme.colours, self.u
        at = np.array([part.x + 30 * u, 130 * u])
        ring = d.disc(at, 22 * u)
        room, face = part.sheet.width - 76 * u, self.theme.face
        size = self._heading_size(room)
        lines = wrap(self._told(k), room, size, "SemiBold", face)
        most = int(self.high / (1.16 * size))
        if len(lines) > most:
            lines = [*lines[: most - 1], shortened(lines[most - 1 :], room, size, "SemiBold", face)]
        first = max(140 * u - 0.5 * max(0.0, 1.16 * size * (len(lines) - 1) - 34 * u), _FIRST_LINE * u)
        marks: list[Mark] = [
            Shape2D(ring, c["card"]), Stroke(closed(ring), c["ink"], 2 * u),
            Words(at[0], at[1] + 10 * u, LETTERS[k], 28 * u, c["ink"], "Bold", "middle"),
        ]  # fmt: skip
        for n, line in enumerate(lines):
            marks.append(Words(part.x + 64 * u, first + n * 1.16 * size, line, size, c["ink"], "SemiBold"))
        return marks

    def _told(self, k: int) -> str:
        """What a panel is called: its scene, where they differ, and its step."""
        s = self.situations[k]
        told = self.voice.say(joined("join.dot", [*([] if self.one_scene else [s.plan.title]), s.called]))
        return told[:1].upper() + told[1:]

    def _heading_size(self, room: float) -> float:
        """The largest size at which every panel's heading is whole."""
        for size in (27 * self.t, 25 * self.t, 24 * self.t, 26 * self.u, 25 * self.u):
            told = [wrap(self._told(k), room, size, "SemiBold", self.theme.face) for k in range(len(self.parts))]
            if max(map(len, told)) * 1.16 * size <= self.high:
                return size
        return 24 * self.u

    def _result(self, k: int) -> list[Mark]:
        part, s = self.parts[k], self.situations[k]
        left, right = part.x + 12 * self.u, part.x + part.sheet.width - 12 * self.u
        area = Box(left, part.sheet.foot + scale_height(self.size, len(self.parts)), right, self.top)
        longest, first = self.longest, self.situations[0].joint
        peak = s.plan.pressure.peak_words[s.index]
        same = comparable(self.situations)
        beside = self.difference(k) if k and same else ""
        return result_marks(
            area, self.voice.number(s.force), s.joint / longest, first / longest if same else None, beside, peak,
            self.theme, self.u, f"bar {k}", s.plan.notices[s.index],
        )  # fmt: skip

    def difference(self, k: int) -> str:
        """How a panel's joint force differs from the first one's, as they are written; the share as tables say it."""
        first, here = (self.situations[n].force for n in (0, k))
        more = self.voice.difference(first, here)
        if more.value == 0.0:
            return self.voice.say(message("compare.same", letter=LETTERS[0]))
        size = dataclasses.replace(more, value=abs(more.value))
        change = change_of(*(f.value / (f.weight if self.voice.in_weights else 1.0) for f in (first, here)))
        way = ("less" if more.value < 0 else "more") if change.way == "same" else change.way
        return self.voice.say(message(f"compare.{way}", force=size, **change.hole))

    def _scales(self) -> list[Mark]:
        sheet = self.parts[0].sheet
        same = len({round(s.plan.body_weight, 3) for s in self.situations}) == 1
        label = self.voice.one_weight(sheet.plan.body_weight, spelt=same)
        at = (48 * self.u, sheet.foot + 24 * self.u) if self.narrow else (self.size[0] - 420 * self.u, 44 * self.u)
        return scale_bars(at, sheet, label)

    def alt(self) -> str:
        """The page in words: each panel, then the difference."""
        told = [
            message("compare.told", letter=LETTERS[k], step=s.called,
                    told=alt_text(s.plan, s.index, self.voice))
            for k, s in enumerate(self.situations)
        ]  # fmt: skip
        last = [
            message("compare.against", letter=LETTERS[k], first=LETTERS[0], difference=self.difference(k))
            for k in range(1, len(self.situations) if comparable(self.situations) else 1)
        ]
        return self.voice.say(joined("join.space", [*told, *last]))
