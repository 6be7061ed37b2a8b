"""Plates: named bones side by side in several views, true to one scale, with labels.

Question answered: where on the page does each view go, and where does each bone's or point's name stand?

Every view of a plate has the same scale, printed as a bar. Labels stand in the margins of their view, spread so that
none meets another, and lead to their point; points that the bone hides in a view are left out there. Pure data.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.echo import shown
from viz3d.errors import InputError
from viz3d.stage import drawing as d
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words, closed
from viz3d.stage.margins import GAP, LINE, Margins
from viz3d.stage.palette import palette
from viz3d.stage.plate_angles import PlateAngle
from viz3d.stage.plate_panels import NAME_WIDTH, PLATE_TOWARD, TEXT, Panel, Point
from viz3d.stage.type import INTER, shortened, text_width, wrap
from viz3d.tables import read_toml
from viz3d.units import UNITS
from viz3d.words.catalogue import SOURCE, catalogue
from viz3d.words.message import Amount, Message, Said, message
from viz3d.words.voice import USUAL, Voice


@dataclass(frozen=True)
class PlateKind:
    """One row of ``plates.toml``."""

    name: str
    show: tuple[str, ...]
    views: tuple[str, ...]
    labels: str
    behind: tuple[str, ...] = ()
    one_side: bool = False
    points: tuple[str, ...] = ()
    above: float | None = None
    """Framed is what lies above this height in the shapes' own links, m; all where it is None."""
    angles: tuple[str, ...] = ()
    only: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """View -> the points that it names; all of the plate's where it is not there."""

    @property
    def title(self) -> Message:
        """What the plate is called."""
        return message(f"plate.{self.name}")

    def view_word(self, view: str) -> Message:
        """What a view of this plate is called: into the socket only where there is one."""
        other = {"socket": "oblique", "joint": "oblique_below"} if "pelvis/hip" not in self.show else {}
        return message(f"plate.view.{other.get(view, view)}")

    def shows(self, key: str) -> bool:
        """True where the picture is framed on this shape, either side."""
        return _named(key, self.show)

    def has(self, key: str, side: str) -> bool:
        """True where the plate draws this shape, framed on or not."""
        return _named(key, (*self.show, *self.behind)) and not (self.one_side and side == "left")


def _named(key: str, names: tuple[str, ...]) -> bool:
    bare = key.removeprefix("left ").removeprefix("right ")
    return bare in names or bare.split("/", maxsplit=1)[0] + "/*" in names


def plate_kind(name: str) -> PlateKind:
    """A plate by name.

    Raises
    ------
    InputError : no such plate.
    """
    rows = read_toml("viz3d.stage", "plates.toml")
    if name not in plate_names():
        raise InputError(f"--of: found {shown(name)}; allowed: {', '.join(plate_names())}")
    row: dict[str, Any] = {k: tuple(v) if isinstance(v, list) else v for k, v in rows[name].items()}
    only = {view: tuple(points) for view, points in row.pop("only", {}).items()}
    return PlateKind(name, **row, only=only)


def plate_names() -> list[str]:
    """Every plate there is."""
    return list(read_toml("viz3d.stage", "plates.toml"))


def bone_word(name: str) -> Message | None:
    """What a bone is called on plates, None for what has no label."""
    return message(f"bone.{name}") if f"bone.{name}" in catalogue(SOURCE) else None


def check_views(views: list[str]) -> None:
    """Refuse views that do not exist, or more than a page holds.

    Raises
    ------
    InputError : names what is allowed.
    """
    for view in views:
        if view not in PLATE_TOWARD:
            raise InputError(f"--view: found {shown(view)}; allowed: {', '.join(PLATE_TOWARD)}")
    if len(views) > 8:
        raise InputError(f"--view: found {len(views)} views; allowed: up to 8")


@dataclass
class Plate:
    """A laid-out plate: panels, and the marks over them.

    Parameters
    ----------
    labels : the labelled points; a view shows those whose ``views`` hold its name. wide : room for a name, in heights
    of a label.
    """

    title: Said
    subtitle: Said
    foot: Said
    size: tuple[int, int]
    backdrop: str
    panels: list[Panel]
    labels: list[Point]
    label_boxes: dict[str, Box] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)
    """Labels for which a view has no room."""
    voice: Voice = USUAL
    wide: float = NAME_WIDTH
    kind: PlateKind | None = None
    leaders: list[tuple[str, Array, Array]] = field(default_factory=list)
    """View, where a leader begins at its name, and its dot, pixels."""
    angles: dict[str, list[PlateAngle]] = field(default_factory=dict)
    """View -> angles drawn in it."""

    def solid_box(self, panel: Panel) -> Box:
        """The part of a panel in which bones are drawn: below its name."""
        return panel.solid_box(TEXT * self.size[1])

    def marks(self) -> list[Mark]:
        """Title, R and L, names with their leaders, scale bar and foot line."""
        c, (width, height) = palette(self.backdrop), self.size
        text = TEXT * height
        title, room = self.voice.say(self.title), width - 4 * text
        told = wrap(self.voice.say(self.subtitle), room, 1.05 * text)
        if len(told) > 2:
            told = [told[0], shortened(told[1:], room, 1.05 * text, "Regular", INTER)]
        marks: list[Mark] = [Words(2 * text, 3.0 * text, title, 1.9 * text, c["ink"], "Bold")]
        for k, line in enumerate(told):
            marks.append(Words(2 * text, (4.7 + 1.3 * k) * text, line, 1.05 * text, c["soft"]))
        rows = sorted({(panel.box.top, panel.box.bottom) for panel in self.panels})
        for (_, above), (below, _) in itertools.pairwise(rows):
            rule = np.array([[2 * text, (above + below) / 2], [width - 2 * text, (above + below) / 2]])
            marks.append(Stroke(rule, c["card_line"], 0.07 * text))
        for panel in self.panels:
            marks += self._heading(panel, text)
            for angle in self.angles.get(panel.view, []):
                marks += angle.marks(panel.camera, text, c)
            marks += self._names(panel, text)
        marks += self._scale(text)
        lines = wrap(self.voice.say(self.foot), room, text)
        for k, line in enumerate(lines):
            up = 2.2 * text + 1.25 * text * max(0, len(lines) - 2)
            marks.append(Words(2 * text, height - up + k * 1.25 * text, line, text, c["soft"]))
        return marks

    def _heading(self, panel: Panel, text: float) -> list[Mark]:
        """A view's name above its bones, between R and L; of a bone of one side, after its letter."""
        c, across = palette(self.backdrop), panel.camera.right[2]
        middle = (panel.box.left + panel.box.right) / 2
        sides = [(1.0, "right"), (-1.0, "left")] if abs(across) > 0.9 else []
        if self.kind is not None and self.kind.one_side:
            sides, across, middle = [(-1.0, "right")], 1.0, middle + 1.3 * text
        told = self.voice.say(self.kind.view_word(panel.view) if self.kind else message(f"plate.view.{panel.view}"))
        room = max(panel.box.right - panel.box.left - (0.0, 2.8, 6.2)[len(sides)] * text, 4.0 * text)
        size = 1.1 * text if text_width(told, 1.1 * text, "SemiBold") <= room else text
        lines = wrap(told, room, size, "SemiBold")
        y = panel.box.top + 1.5 * text
        marks: list[Mark] = []
        for k, line in enumerate(lines):
            at = max(y - 0.575 * text * (len(lines) - 1), panel.box.top + 0.9 * text) + 1.15 * text * k
            marks.append(Words(middle, at, line, size, c["ink"], "SemiBold", "middle"))
        wide = max(text_width(line, size, "SemiBold") for line in lines) / 2 + 1.6 * text
        for sign, side in sides:
            letter = self.voice.say(message(f"frame.{side}_letter"))
            x = middle + sign * np.sign(across) * wide
            ring = d.disc(np.array([x, y - 0.36 * text]), 0.85 * text)
            marks += [Shape2D(ring, c["card"]), Stroke(closed(ring), c["card_line"], 0.06 * text)]
            marks.append(Words(x, y, letter, text, c["ink"], "Bold", "middle"))
        return marks

    def _names(self, panel: Panel, text: float) -> list[Mark]:
        c = palette(self.backdrop)
        seen = [p for p in self.labels if panel.view in p.views]
        if not seen:
            return []
        places = panel.camera.project(np.array([p.at for p in seen]))
        marks = list[Mark]()
        lines = [self._lines(p, panel, text) for p in seen]
        margins = Margins(lines, places, panel.names_box(text), text)
        for k, left, box in margins.placed(self._sides(lines, seen, places, panel, text)):
            at, near = places[k], margins.start(box, left)
            for j, line in enumerate(lines[k]):
                y = box.top + 0.88 * text + LINE * text * j
                marks.append(Words(box.left, y, line, text, c["ink"], "Medium", halo=0.15 * text))
            self.label_boxes[f"{panel.view}: {self.voice.say(seen[k].word)}"] = box
            self.leaders.append((panel.view, near, at))
            marks += [
                Stroke(np.array([near, at]), c["ink"], 0.075 * text, halo=0.05 * text),
                Shape2D(d.disc(at, 0.17 * text), c["ink"], halo=0.06 * text),
            ]
        return marks

    def _lines(self, point: Point, panel: Panel, text: float) -> list[str]:
        """A point's name on as many lines as its margin needs."""
        return wrap(self.voice.say(point.word), max(self.wide * text, panel.name_room(text)), text, "Medium")

    def _sides(
        self, lines: list[list[str]], seen: list[Point], places: Array, panel: Panel, text: float
    ) -> tuple[list[int], list[int]]:
        """Which names stand left and right: those of its own half, and what the other margin has no room for.

        Names for which there is no room in either are noted as left out.
        """
        box = panel.names_box(text)
        room = box.bottom - box.top
        tall = [(LINE * len(some) + GAP) * text for some in lines]
        middle = float(np.median(places[:, 0])) if len(seen) > 2 else (panel.box.left + panel.box.right) / 2
        near = sorted(range(len(seen)), key=lambda k: abs(places[k, 0] - middle))
        sides: tuple[list[int], list[int]] = ([], [])
        for k in reversed(near):
            own = int(places[k, 0] >= middle)
            free = [s for s in (own, 1 - own) if sum(tall[n] for n in sides[s]) + tall[k] <= room + GAP * text]
            if free:
                sides[free[0]].append(k)
            else:
                self.left_out.append(f"{self.voice.say(seen[k].word)} ({panel.view})")
        return sorted(sides[0]), sorted(sides[1])

    def _scale(self, text: float) -> list[Mark]:
        c, (width, _) = palette(self.backdrop), self.size
        scale = self.panels[0].camera.scale
        bars = _BARS[self.voice.units.length]
        length = next((v for v in bars if v * scale > 4 * text), bars[-1])
        word = self.voice.number(Amount(length, "whole_length"))
        y, end = 3.0 * text, width - 2 * text - text_width(word, text) - 0.7 * text
        ends = np.array([[end - length * scale, y], [end, y]])
        tick = np.array([[0.0, -0.35 * text], [0.0, 0.35 * text]])
        pen = 0.12 * text
        return [
            Stroke(ends, c["ink"], pen),
            Stroke(ends[0] + tick, c["ink"], pen),
            Stroke(ends[1] + tick, c["ink"], pen),
            Words(end + 0.7 * text, y + 0.36 * text, word, text, c["ink"]),
        ]


_INCH = UNITS["length"]["in"]
_BARS = {"cm": (0.02, 0.05, 0.10, 0.20, 0.50), "in": tuple(n * _INCH for n in (1, 2, 4, 8, 20))}
"""Lengths of the scale bar, m."""
