"""Situations side by side: one camera, one force scale, one pressure range, and the difference called out.

Question answered: what changes between these situations, and by how much?

Each panel is a narrow sheet: the same arrows and levers, with short names beside them. Under it stands its joint force
on one axis for all panels, with a mark where the first one's is. Rises and falls are in ink, never in a role's colour.
Called by the output room.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterable

import numpy as np

from viz3d import units
from viz3d.errors import InputError
from viz3d.scene.picture import LAYERS
from viz3d.stage import drawing as d
from viz3d.stage.alt import alt_text
from viz3d.stage.camera import Camera, view_direction
from viz3d.stage.drawing import Array, Box, Drawing, Mark, Shape2D, Stroke, Words, closed
from viz3d.stage.frame import scale_bars, shortened
from viz3d.stage.labels import Placed
from viz3d.stage.layout import Sheet
from viz3d.stage.page import Page, Part
from viz3d.stage.plan import Plan
from viz3d.stage.tags import Tag, place_tags
from viz3d.stage.theme import Theme
from viz3d.stage.type import wrap

FEWEST, MOST = 2, 4
LETTERS = "ABCD"
_FIGURE = 0.615
"""Share of the height that holds the figures."""
_HEAD = 196.0
"""Height of title and headings, u."""
_GAP = 24.0


class PanelSheet(Sheet):
    """One situation of a comparison: a narrow sheet without cards or caption band.

    Parameters
    ----------
    scale : pixels per metre. per_newton : pixels per newton; None for the largest that fits this panel.
    """

    def __init__(
        self, plan: Plan, index: int, size: tuple[int, int], view: str, theme: Theme, layers: Iterable[str],
        scale: float, per_newton: float | None = None,
    ) -> None:  # fmt: skip
        self.index, self._scale, self._per_newton = index, scale, per_newton
        super().__init__(plan, size, view, theme, layers, ())
        self.band = Box(0, self._bottom(), self.width, self.height)
        self.figure = dataclasses.replace(self.figure, size=float(np.clip(scale / self.u / 1110.0, 0.66, 1.0)))
        self.tags = self._place_tags()

    def _bottom(self) -> float:
        return _FIGURE * self.height

    @property
    def fades(self) -> tuple[float, float, bool]:
        """Below the heading, and above the result."""
        return 172 * self.u, 290 * self.u, True

    def _camera(self) -> Camera:
        toward = view_direction(self.view, self.plan.sign)
        aids = [a for a in self.plan.arrows if a.role == "hand"]
        across = [float(a.point[self.index, 2]) for a in aids] + [float(self.plan.hip[self.index, 2])]
        middle = 0.5 * (max(across) + min(across)) if len(aids) == 1 else float(self.plan.middle_hip[self.index, 2])
        middle = 0.5 * (middle + float(self.plan.middle_hip[self.index, 2]))
        centre = np.array([0.0, float(self.plan.hip[self.index, 1]), middle])
        return Camera(toward, centre, (self.width / 2, 0.56 * _HEAD * self.u + 0.44 * self._bottom()), self._scale)

    def _force_scale(self) -> float:
        if self._per_newton is not None:
            return self._per_newton
        room = self._bottom() - 14 * self.u - float(self.camera.project(self.plan.hip[self.index])[1])
        most = float(np.linalg.norm(self.plan.arrow("joint").force[self.index]))
        return min(room / most, 0.168 * self._scale / self.plan.body_weight)

    def _place(self) -> dict[str, Placed]:
        return {}

    def _place_tags(self) -> dict[str, Tag]:
        i, figure = self.index, self.figure
        lines: dict[str, tuple[list[str], str]] = {}
        spans: dict[str, tuple[Array, Array]] = {}
        for arrow in figure.arrows():
            if not figure.is_idle(arrow.key, i):
                lines[arrow.key] = ([arrow.short, arrow.values[i][0]], self.colours[arrow.role])
                spans[arrow.key] = self.figure.arrow_ends(arrow, i)
        for dimension in figure.dimensions():
            if not figure.is_idle(dimension.key, i):
                lines[dimension.key] = ([dimension.values[i][0]], self.colours["ink"])
                spans[dimension.key] = self.dimension_ends(dimension, i)
        if "numbers" not in self.layers:
            lines = {k: (words[:1], tone) for k, (words, tone) in lines.items() if k not in self._lever_keys()}
        room = Box(6 * self.u, _HEAD * self.u, self.width - 6 * self.u, self._bottom() - 4 * self.u)
        return place_tags(lines, spans, self._walls(), room, self.u, self.t, self.theme.face)

    def _walls(self) -> list[Box]:
        """The joint, the arcs and the centre of mass."""
        u, i = self.u, self.index
        hip, centre = (self.camera.project(p) for p in (self.plan.hip[i], self.plan.arrow("weight").point[i]))
        boxes = [Box(*(hip - 22 * u), *(hip + 22 * u)), Box(*(centre - 20 * u), *(centre + 20 * u))]
        for arc in self.figure.arcs(i):
            if isinstance(arc, Shape2D):
                for piece in np.array_split(arc.points, 10):
                    boxes.append(Box(*(piece.min(axis=0) - 2 * u), *(piece.max(axis=0) + 2 * u)))
        return boxes

    def _lever_keys(self) -> set[str]:
        return {x.key for x in self.plan.dimensions}

    def drawing(self, i: int) -> Drawing:
        """The marks of this panel's situation."""
        marks = [*self.figure.lines_of_action(i)]
        for tag in self.tags.values():
            if tag.leader is not None:
                marks.append(Stroke(tag.leader, tag.colour, 2 * self.u, halo=2.2 * self.u, role="leader"))
        marks += self.figure.forces(i)
        for key, tag in self.tags.items():
            y = tag.box.top
            for k, line in enumerate(tag.lines):
                last = k == len(tag.lines) - 1
                size = (28 if last and len(tag.lines) > 1 else 24) * self.t
                y += 1.2 * size
                tone, weight = (tag.colour, "Bold") if last else (self.colours["ink"], "Medium")
                x = (tag.box.left + tag.box.right) / 2
                marks.append(Words(x, y - 0.25 * size, line, size, tone, weight, "middle", 3 * self.u, key))
        return Drawing(self.size, [], marks, {k: t.box for k, t in self.tags.items()}, self.figure.ends(i))


@dataclasses.dataclass(frozen=True)
class Situation:
    """What a panel shows: frame ``index`` of a plan."""

    plan: Plan
    index: int

    @property
    def joint(self) -> float:
        """Joint force in body weights."""
        return float(self.plan.joint_force[self.index]) / self.plan.body_weight

    @property
    def said(self) -> str:
        """Joint force as the pictures write it."""
        return self.plan.arrow("joint").values[self.index][0]


def compare_page(
    situations: list[Situation], size: tuple[int, int], view: str, theme: Theme, layers: Iterable[str] = LAYERS
) -> Page:
    """Two to four situations on one page.

    Raises
    ------
    InputError : too few or too many, or a view in which lengths cannot be compared.
    """
    count = len(situations)
    if not FEWEST <= count <= MOST:
        raise InputError(f"found {count} situations; allowed: {FEWEST} to {MOST} side by side")
    if view not in ("front", "back"):
        raise InputError(f"picture.view: found {view!r}; situations are compared from the front or the back")
    u = size[1] / 1080.0
    wide = (size[0] - 2 * 40 * u - (count - 1) * _GAP * u) / count
    scale = min(1000.0, wide / u / 0.74) * u
    panel = (int(wide), size[1])
    sheets = [PanelSheet(s.plan, s.index, panel, view, theme, layers, scale) for s in situations]
    bodyweights = [s.per_weight * s.plan.body_weight for s in sheets]
    sheets = [
        PanelSheet(s.plan, s.index, panel, view, theme, layers, scale, min(bodyweights) / s.plan.body_weight)
        for s in sheets
    ]
    lefts = [40 * u + k * (wide + _GAP * u) for k in range(count)]
    parts = [Part(sheet, sheet.index, round(x)) for sheet, x in zip(sheets, lefts, strict=True)]
    plans = [s.plan for s in situations]
    title = plans[0].title if len({p.title for p in plans}) == 1 else "Side by side"
    page = _Compared(situations, parts, size, theme, title)
    return Page(size, theme, title, parts, page.alt(), page.marks())


class _Compared:
    """Marks of a comparison: title, headings, joint forces on one axis, caption."""

    def __init__(
        self, situations: list[Situation], parts: list[Part], size: tuple[int, int], theme: Theme, title: str
    ) -> None:
        self.situations, self.parts, self.size, self.theme, self.title = situations, parts, size, theme, title
        self.u = size[1] / 1080.0
        self.t = self.u * theme.text
        self.one_scene = len({s.plan.title for s in situations}) == 1

    def marks(self) -> list[Mark]:
        c, u = self.theme.colours, self.u
        room = self.size[0] - 500 * u
        lines = wrap(self.title, room, 44 * self.t, "Bold", self.theme.face)
        words = shortened(lines, room, 44 * self.t, "Bold", self.theme.face)
        marks: list[Mark] = [Words(48 * u, 74 * u, words, 44 * self.t, c["ink"], "Bold")]
        for a, b in itertools.pairwise(self.parts):
            x = (a.x + a.sheet.width + b.x) / 2
            marks.append(Stroke(np.array([[x, 108 * u], [x, 850 * u]]), c["card_line"], 1.8 * u))
        for k in range(len(self.parts)):
            marks += [*self._heading(k), *self._result(k)]
        return [*marks, *self._scales(), *self._band()]

    def _heading(self, k: int) -> list[Mark]:
        part, s, c, u = self.parts[k], self.situations[k], self.theme.colours, self.u
        text = s.plan.steps[s.index] if self.one_scene else f"{s.plan.title}: {s.plan.steps[s.index]}"
        at = np.array([part.x + 30 * u, 130 * u])
        ring = d.disc(at, 22 * u)
        lines = wrap(text, part.sheet.width - 76 * u, 27 * self.t, "SemiBold", self.theme.face)
        if len(lines) > 2:
            lines = [
                lines[0],
                shortened(lines[1:], part.sheet.width - 76 * u, 27 * self.t, "SemiBold", self.theme.face),
            ]
        marks: list[Mark] = [
            Shape2D(ring, c["card"]), Stroke(closed(ring), c["ink"], 2 * u),
            Words(at[0], at[1] + 10 * u, LETTERS[k], 28 * u, c["ink"], "Bold", "middle"),
        ]  # fmt: skip
        for n, line in enumerate(lines):
            marks.append(Words(part.x + 64 * u, 140 * u + n * 34 * self.t, line, 27 * self.t, c["ink"], "SemiBold"))
        return marks

    def _result(self, k: int) -> list[Mark]:
        """Joint force as a number and as a bar, how it differs from the first, and the highest pressure."""
        part, s, c, u, t = self.parts[k], self.situations[k], self.theme.colours, self.u, self.t
        top, left, room = _FIGURE * self.size[1], part.x + 12 * u, part.sheet.width - 24 * u
        longest = max(x.joint for x in self.situations)
        wide = room * s.joint / longest
        y = top + 108 * u
        bar = np.array([[left, y], [left + wide, y], [left + wide, y + 18 * u], [left, y + 18 * u]])
        colour, pattern = c["joint"], self.theme.pattern("joint")
        marks: list[Mark] = [
            Words(left, top + 34 * u, "Joint force", 24 * t, c["ink"], "Medium"),
            Words(left, top + 88 * u, s.said, 46 * t, colour, "Bold", role="result"),
            Stroke(np.array([[left, y + 18 * u], [left + room, y + 18 * u]]), c["card_line"], 2 * u),
            *d.filled(bar, np.array([1.0, 0.0]), colour, c["card"], pattern, 2.0 * u, f"bar {k}"),
        ]
        mark = left + room * self.situations[0].joint / longest
        marks.append(Stroke(np.array([[mark, y - 9 * u], [mark, y + 27 * u]]), c["ink"], 3 * u, halo=2 * u))
        if k:
            marks.append(
                Words(
                    left + room,
                    top + 88 * u,
                    self.difference(k),
                    26 * t,
                    c["ink"],
                    "SemiBold",
                    "end",
                    role="difference",
                )
            )
        peak = f"Highest pressure {s.plan.pressure.peak_text[s.index]}"
        marks.append(Words(left, y + 60 * u, peak, 24 * t, c["soft"]))
        return marks

    def difference(self, k: int) -> str:
        """How a panel's joint force differs from the first one's, of the numbers as they are written."""
        first, here = (float(self.situations[n].said.split()[0]) for n in (0, k))
        change = here - first
        if abs(change) < 0.005:
            return "same as A"
        share = units.show_percent(abs(change) / first)
        return f"{'▼' if change < 0 else '▲'} {units.show_bw(abs(change))} ({share})"

    def _scales(self) -> list[Mark]:
        sheet = self.parts[0].sheet
        same = len({round(s.plan.body_weight, 3) for s in self.situations}) == 1
        label = f"1 BW = {units.show_newtons(sheet.plan.body_weight)}" if same else "1 BW"
        return scale_bars((self.size[0] - 420 * self.u, 44 * self.u), sheet, label)

    def _band(self) -> list[Mark]:
        """One line that says the difference, who stands there, and what the model is."""
        c, u, t, face = self.theme.colours, self.u, self.t, self.theme.face
        width, height = self.size
        top = 862 * u
        outline = np.array([[-2.0, top], [width + 2.0, top], [width + 2.0, height + 2.0], [-2.0, height + 2.0]])
        marks: list[Mark] = [Shape2D(outline, c["band"]), Stroke(outline[:2], c["card_line"], 2 * u)]
        said = [s.said.removesuffix(" BW") for s in self.situations]
        if len(said) == 2:
            words = f"Joint force {said[0]} to {said[1]} BW"
        else:
            words = "Joint force " + ", ".join(f"{LETTERS[k]} {v}" for k, v in enumerate(said)) + " BW"
        marks.append(Words(48 * u, top + 62 * u, words, 38 * t, c["ink"], "SemiBold", role="callout"))
        people = list(dict.fromkeys(s.plan.person for s in self.situations))
        if len(people) > 1:
            people = [f"{LETTERS[k]}: {s.plan.person}" for k, s in enumerate(self.situations)]
        small, usable = 24 * t, width - 96 * u
        lines = wrap(f"{'; '.join(people)}. Standing still. All arrows to one scale.", usable, small, face=face)
        ink = len(lines)
        lines += wrap(self.situations[0].plan.model_line, usable, small, face=face)
        y = height - 24 * u - (len(lines) - 1) * 1.3 * small
        for k, line in enumerate(lines):
            marks.append(Words(48 * u, y + k * 1.3 * small, line, small, c["ink" if k < ink else "soft"]))
        return marks

    def alt(self) -> str:
        """The page in words: each panel, then the difference."""
        told = [
            f"{LETTERS[k]}, {s.plan.steps[s.index]}: {alt_text(s.plan, s.index)}" for k, s in enumerate(self.situations)
        ]
        last = [f"{LETTERS[k]} against A: {self.difference(k)}." for k in range(1, len(self.situations))]
        return " ".join([*told, *last])
