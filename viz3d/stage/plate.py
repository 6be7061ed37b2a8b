"""Plates: named bones side by side in several views, true to one scale, with labels.

Question answered: where on the page does each view go, and where does each bone's or point's name stand?

Every view of a plate has the same scale, printed as a bar. Labels stand in the margins of their view, spread so that
none meets another, and lead to their point; points that the bone hides in a view are left out there. Pure data.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.echo import shown
from viz3d.errors import InputError
from viz3d.stage import drawing as d
from viz3d.stage.camera import TOWARD, Camera
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words, closed
from viz3d.stage.margins import placed_names
from viz3d.stage.palette import palette
from viz3d.stage.plate_angles import PlateAngle
from viz3d.stage.type import INTER, shortened, text_width, wrap
from viz3d.tables import read_toml
from viz3d.units import UNITS
from viz3d.words.catalogue import SOURCE, catalogue
from viz3d.words.message import Amount, Message, Said, message
from viz3d.words.voice import USUAL, Voice

PLATE_TOWARD = {
    **TOWARD,
    "inside": (0.0, 0.0, -1.0),
    "top": (1e-4, 1.0, 0.0),
    "below": (1e-4, -1.0, 0.0),
    "socket": (0.55, -0.30, 0.78),
    "back-quarter": (-0.78, 0.25, 0.57),
}
"""Direction from a right-hand bone to the viewer."""
_MORE_ROWS = 1.25
"""Another row of views must make them this much larger."""
NAME_WIDTH = 8.2
"""Usual room for a name beside a bone, in heights of a label."""
_TEXT = 0.0222
"""Height of a label as a share of the page's height."""


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
    angles: tuple[str, ...] = ()
    only: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """View -> the points that it names; all of the plate's where it is not there."""

    @property
    def title(self) -> Message:
        """What the plate is called."""
        return message(f"plate.{self.name}")

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


@dataclass(frozen=True)
class Point:
    """A labelled point: its word and place (3,) m; ``views``: where it is seen."""

    word: Said
    at: Array
    views: frozenset[str]


@dataclass(frozen=True)
class Panel:
    """One view on the page."""

    view: str
    box: Box
    camera: Camera


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
    angles: dict[str, list[PlateAngle]] = field(default_factory=dict)
    """View -> angles drawn in it."""

    def solid_box(self, panel: Panel) -> Box:
        """The part of a panel in which bones are drawn: above its name."""
        return dataclasses.replace(panel.box, bottom=panel.box.bottom - 1.9 * _TEXT * self.size[1]).whole()

    def marks(self) -> list[Mark]:
        """Title, R and L, names with their leaders, scale bar and foot line."""
        c, (width, height) = palette(self.backdrop), self.size
        text = _TEXT * height
        title, room = self.voice.say(self.title), width - 4 * text
        told = wrap(self.voice.say(self.subtitle), room, 1.05 * text)
        if len(told) > 2:
            told = [told[0], shortened(told[1:], room, 1.05 * text, "Regular", INTER)]
        marks: list[Mark] = [Words(2 * text, 3.0 * text, title, 1.9 * text, c["ink"], "Bold")]
        for k, line in enumerate(told):
            marks.append(Words(2 * text, (4.7 + 1.3 * k) * text, line, 1.05 * text, c["soft"]))
        for panel in self.panels:
            marks += self._panel(panel, text)
        marks += self._scale(text)
        lines = wrap(self.voice.say(self.foot), room, text)
        for k, line in enumerate(lines):
            up = 2.2 * text + 1.25 * text * max(0, len(lines) - 2)
            marks.append(Words(2 * text, height - up + k * 1.25 * text, line, text, c["soft"]))
        return marks

    def _panel(self, panel: Panel, text: float) -> list[Mark]:
        c = palette(self.backdrop)
        middle = (panel.box.left + panel.box.right) / 2
        across = panel.camera.right[2]
        sides = 2 * 3.1 * text if abs(across) > 0.9 else 0.0
        room = max(panel.box.right - panel.box.left - sides, 4.0 * text)
        told = self.voice.say(message(f"plate.view.{panel.view}"))
        lines = wrap(told, room, 1.1 * text, "SemiBold")
        if len(lines) > 1:
            lines = wrap(told, room, text, "SemiBold")
        size = 1.1 * text if len(lines) == 1 else text
        marks: list[Mark] = []
        for k, line in enumerate(reversed(lines)):
            y = panel.box.bottom - 0.2 * text - 1.15 * size * k
            marks.append(Words(middle, y, line, size, c["ink"], "SemiBold", "middle"))
        if sides:
            wide = max(text_width(line, size, "SemiBold") for line in lines) / 2 + 2.2 * text
            for sign, side in ((1.0, "right"), (-1.0, "left")):
                letter = self.voice.say(message(f"frame.{side}_letter"))
                x, y = middle + sign * np.sign(across) * wide, panel.box.bottom - 0.55 * text
                ring = d.disc(np.array([x, y]), 0.85 * text)
                marks += [Shape2D(ring, c["card"]), Stroke(closed(ring), c["card_line"], 0.06 * text)]
                marks.append(Words(x, y + 0.36 * text, letter, text, c["ink"], "Bold", "middle"))
        for angle in self.angles.get(panel.view, []):
            marks += angle.marks(panel.camera, text, c)
        return marks + self._names(panel, text)

    def _names(self, panel: Panel, text: float) -> list[Mark]:
        c = palette(self.backdrop)
        seen = [p for p in self.labels if panel.view in p.views]
        if not seen:
            return []
        places = panel.camera.project(np.array([p.at for p in seen]))
        middle = float(np.median(places[:, 0])) if len(seen) > 2 else (panel.box.left + panel.box.right) / 2
        marks: list[Mark] = []
        for left in (True, False):
            rows = self._fitting([k for k in range(len(seen)) if (places[k, 0] < middle) == left], seen, panel, text)
            x = panel.box.left + 0.4 * text if left else panel.box.right - 0.4 * text
            for k, box, lines in self._spread(rows, seen, places, x, left, panel.box, text):
                at = places[rows[k]]
                for j, line in enumerate(lines):
                    y = box.top + 0.88 * text + 1.15 * text * j
                    marks.append(Words(box.left, y, line, text, c["ink"], "Medium", halo=0.15 * text))
                self.label_boxes[f"{panel.view}: {self.voice.say(seen[rows[k]].word)}"] = box
                near = np.array([box.right + 0.3 * text if left else box.left - 0.3 * text, (box.top + box.bottom) / 2])
                marks += [
                    Stroke(np.array([near, at]), c["ink"], 0.075 * text, halo=0.05 * text),
                    Shape2D(d.disc(at, 0.17 * text), c["ink"], halo=0.06 * text),
                ]
        return marks

    def _lines(self, point: Point, text: float) -> list[str]:
        """A point's name on as many lines as its margin needs."""
        return wrap(self.voice.say(point.word), self.wide * text, text, "Medium")

    def _spread(
        self, rows: list[int], seen: list[Point], places: Array, x: float, left: bool, box: Box, text: float
    ) -> list[tuple[int, Box, list[str]]]:
        """One margin's labels where they stand."""
        return placed_names([self._lines(seen[k], text) for k in rows], places[rows], x, left, box, text)

    def _fitting(self, rows: list[int], seen: list[Point], panel: Panel, text: float) -> list[int]:
        """As many of one margin's labels as its height holds; the rest are noted as left out."""
        room = panel.box.bottom - panel.box.top - 2 * text
        kept, used = [], 0.0
        for k in rows:
            used += 1.15 * text * len(self._lines(seen[k], text)) + 0.45 * text
            if used > room:
                self.left_out.append(f"{self.voice.say(seen[k].word)} ({panel.view})")
            else:
                kept.append(k)
        return kept

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


def name_width(labels: list[Point], voice: Voice) -> float:
    """Room that a margin's names need so that no word is broken, in heights of a label."""
    words = (w for p in labels for w in voice.say(p.word).split())
    return max([NAME_WIDTH, *(text_width(w, 1.0, "Medium") + 0.1 for w in words)])


def lay_out(
    views: list[str], points: Array, size: tuple[int, int], labelled: set[str], wide: float = NAME_WIDTH
) -> list[Panel]:
    """Panels for the views, at one scale, as large as the page allows.

    Parameters
    ----------
    points : (P, 3) m, what every panel must hold. labelled : views that need margins for names. wide : room for a name
    there, in heights of a label.
    """
    width, height = size
    text = _TEXT * height
    centre = (points.min(axis=0) + points.max(axis=0)) / 2
    cameras = [Camera(_unit(PLATE_TOWARD[v]), centre, (0.0, 0.0), 1.0) for v in views]
    flat = [c.project(points) for c in cameras]
    spans = np.array([f.max(axis=0) - f.min(axis=0) for f in flat])
    margin = np.array([(wide + 1.4) * text if v in labelled else 1.0 * text for v in views])
    area = Box(2 * text, 6.2 * text, width - 2 * text, height - 4.2 * text)
    best = (0.0, 1)
    for columns in range(len(views), 0, -1):
        rows = -(-len(views) // columns)
        tall = (area.bottom - area.top) / rows - 3.2 * text
        groups = [range(r * columns, min((r + 1) * columns, len(views))) for r in range(rows)]
        wide = min((area.right - area.left - 2 * margin[list(g)].sum()) / spans[list(g), 0].sum() for g in groups)
        scale = min(wide, tall / spans[:, 1].max())
        if scale > _MORE_ROWS * best[0]:
            best = (scale, columns)
    scale, columns = best
    if scale <= 0.0:
        raise InputError("picture.size: too small for these views and labels; give fewer views or a larger size")
    rows = -(-len(views) // columns)
    panels = []
    for r in range(rows):
        group = list(range(r * columns, min((r + 1) * columns, len(views))))
        spare = (area.right - area.left) - sum(spans[k, 0] * scale + 2 * margin[k] for k in group)
        x = area.left
        top = area.top + r * (area.bottom - area.top) / rows
        bottom = area.top + (r + 1) * (area.bottom - area.top) / rows
        for k in group:
            wide = spans[k, 0] * scale + 2 * margin[k] + spare / len(group)
            box = Box(x, top, x + wide, bottom)
            low, high = flat[k].min(axis=0) * scale, flat[k].max(axis=0) * scale
            middle = np.array([x + wide / 2, (top + bottom - 2.2 * text) / 2]) - (low + high) / 2
            panels.append(
                Panel(views[k], box, Camera(cameras[k].toward, centre, (float(middle[0]), float(middle[1])), scale))
            )
            x += wide
    return panels


def _unit(toward: tuple[float, float, float]) -> Array:
    vector = np.array(toward)
    return np.asarray(vector / np.linalg.norm(vector))
