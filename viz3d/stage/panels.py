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
from functools import cached_property

import numpy as np

from viz3d.errors import InputError
from viz3d.scene.picture import LAYERS
from viz3d.stage import drawing as d
from viz3d.stage.alt import alt_text
from viz3d.stage.camera import Camera, view_direction
from viz3d.stage.drawing import Array, Box, Drawing, Mark, Shape2D, Stroke, Words, closed
from viz3d.stage.frame import letter, scale_bars, shortened
from viz3d.stage.labels import Placed
from viz3d.stage.layout import Framing, Sheet
from viz3d.stage.page import Page, Part
from viz3d.stage.plan import Arrow, Dimension, Plan
from viz3d.stage.scales import weight_words
from viz3d.stage.tags import Tag, leader_to, place_tags
from viz3d.stage.theme import Theme
from viz3d.stage.type import text_width, wrap
from viz3d.words.message import Message, Quantity, Said, force, fraction, joined, message

FEWEST, MOST = 2, 4
LETTERS = "ABCD"
_FIGURE = 0.615
"""Share of the height that holds the figures."""
_HEAD = 196.0
"""Height of title and headings, u."""
_GAP = 24.0


class PanelSheet(Sheet):
    """A narrow sheet: short names beside the arrows, no cards, no caption band.

    Parameters
    ----------
    frames : the frames that its places are found for. scale : pixels per metre. foot : share of the height that holds
    the figure. framing : what it shares with others; its force scale is the largest that fits where none is given.
    """

    def __init__(
        self, plan: Plan, frames: Iterable[int], size: tuple[int, int], view: str, theme: Theme, layers: Iterable[str],
        scale: float, framing: Framing | None = None, foot: float = _FIGURE,
    ) -> None:  # fmt: skip
        self.frames, self.foot, self._scale = list(frames), foot, scale
        super().__init__(plan, size, view, theme, layers, (), framing)
        self.figure = dataclasses.replace(self.figure, size=float(np.clip(scale / self.u / 1110.0, 0.66, 1.0)))

    @cached_property
    def tags(self) -> dict[str, Tag]:
        """Places of the short names by key, found when first asked for."""
        return self._place_tags()

    def place(self) -> None:
        """Find the tags' places now."""
        _ = self.tags

    def _bottom(self) -> float:
        return self.foot * self.height

    @property
    def fades(self) -> tuple[float, float, bool]:
        """Below the heading, and above the result."""
        return 172 * self.u, 290 * self.u, True

    def _camera(self) -> Camera:
        plan, frames = self.plan, self.frames
        aids = [a for a in plan.arrows if a.role == "hand"]
        across = [float(a.point[frames, 2].mean()) for a in aids] + [float(plan.hip[frames, 2].mean())]
        middle = float(plan.middle_hip[frames, 2].mean())
        if len(aids) == 1:
            middle = 0.5 * (middle + 0.5 * (max(across) + min(across)))
        centre = np.array([0.0, float(plan.hip[frames, 1].mean()), middle])
        if self.framing.centre is not None:
            centre = self.framing.centre
        at = (self.width / 2, 0.56 * _HEAD * self.u + 0.44 * self._bottom())
        return Camera(view_direction(self.view, plan.sign), centre, at, self._scale)

    def _force_scale(self) -> float:
        low = float(self.camera.project(self.plan.hip[self.frames])[:, 1].max())
        most = float(np.linalg.norm(self.plan.arrow("joint").force[self.frames], axis=1).max())
        return min((self._bottom() - 14 * self.u - low) / most, 0.168 * self._scale / self.plan.body_weight)

    def _place(self) -> dict[str, Placed]:
        return {}

    def _tagged(self) -> dict[str, Arrow | Dimension]:
        """What has a tag: all forces and levers that any frame shows."""
        items: list[Arrow | Dimension] = [*self.figure.arrows(), *self.figure.dimensions()]
        if "numbers" not in self.layers:
            items = list(self.figure.arrows())
        return {x.key: x for x in items if not all(self.figure.is_idle(x.key, i) for i in self.frames)}

    def _tag_words(self, item: Arrow | Dimension, i: int) -> list[str]:
        told = [item.short] if isinstance(item, Arrow) else []
        return self.theme.voice.lines([*told, *(item.values[i][:1] if "numbers" in self.layers else [])])

    def _ends(self, item: Arrow | Dimension, i: int) -> tuple[Array, Array]:
        return self.figure.arrow_ends(item, i) if isinstance(item, Arrow) else self.dimension_ends(item, i)

    def _place_tags(self) -> dict[str, Tag]:
        lines: dict[str, tuple[list[str], str]] = {}
        spans: dict[str, Array] = {}
        for key, item in self._tagged().items():
            shown = [self._tag_words(item, i) for i in self.frames]
            lines[key] = (max(shown, key=lambda w: len(w[-1])), self._colour(item))
            spans[key] = np.array([self._ends(item, i) for i in self.frames])
        room = Box(6 * self.u, _HEAD * self.u, self.width - 6 * self.u, self._bottom() - 4 * self.u)
        return place_tags(lines, spans, self._walls(), room, self.u, self.t, self.theme.face)

    def _letters(self) -> list[tuple[Array, str]]:
        """Where R and L stand, in views that show both sides."""
        across = float(self.camera.right[2])
        if abs(across) < 0.3 or self.view == "joint":
            return []
        away, y = 0.5 * self.width - 34 * self.t, (_HEAD + 24) * self.u
        places = self.width / 2 + np.array([1.0, -1.0]) * np.sign(across) * away
        return [(np.array([x, y]), letter(self, side)) for x, side in zip(places, ("right", "left"), strict=True)]

    def _walls(self) -> list[Box]:
        """The joint, the arcs and the centre of mass, in every frame."""
        u = self.u
        boxes = [Box(*(at - 24 * self.t), *(at + 24 * self.t)) for at, _ in self._letters()]
        for i in self.frames:
            hip, centre = (self.camera.project(p) for p in (self.plan.hip[i], self.plan.arrow("weight").point[i]))
            boxes += [Box(*(hip - 22 * u), *(hip + 22 * u)), Box(*(centre - 20 * u), *(centre + 20 * u))]
            for arc in self.figure.arcs(i):
                if isinstance(arc, Shape2D):
                    for piece in np.array_split(arc.points, 10):
                        boxes.append(Box(*(piece.min(axis=0) - 2 * u), *(piece.max(axis=0) + 2 * u)))
        return boxes

    def drawing(self, i: int, bare: bool = False) -> Drawing:
        """The marks of one frame; ``bare``: only R and L."""
        marks: list[Mark] = [] if bare else [*self.figure.lines_of_action(i)]
        for at, sign in self._letters():
            circle = d.disc(at, 20 * self.t)
            marks += [
                Shape2D(circle, self.colours["card"], role="side"),
                Stroke(closed(circle), self.colours["card_line"], 1.6 * self.u),
            ]
            marks.append(Words(at[0], at[1] + 8.5 * self.t, sign, 24 * self.t, self.colours["ink"], "Bold", "middle"))
        if bare:
            return Drawing(self.size, [], marks, {}, {})
        live = {k: x for k, x in self._tagged().items() if not self.figure.is_idle(k, i)}
        for key, item in live.items():
            leader = leader_to(self.tags[key].box, *self._ends(item, i), self.u)
            if leader is not None:
                marks.append(Stroke(leader, self.tags[key].colour, 2 * self.u, halo=2.2 * self.u, role="leader"))
        marks += self.figure.forces(i)
        for key, item in live.items():
            tag, words = self.tags[key], self._tag_words(item, i)
            y = tag.box.top
            for k, line in enumerate(words):
                last = k == len(words) - 1
                size = (28 if last and len(words) > 1 else 24) * self.t
                y += 1.2 * size
                tone, weight = (tag.colour, "Bold") if last else (self.colours["ink"], "Medium")
                x = (tag.box.left + tag.box.right) / 2
                marks.append(Words(x, y - 0.25 * size, line, size, tone, weight, "middle", 3 * self.u, key))
        return Drawing(self.size, [], marks, {k: self.tags[k].box for k in live}, self.figure.ends(i))


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
    def force(self) -> Quantity:
        """Joint force."""
        return force(float(self.plan.joint_force[self.index]), self.plan.body_weight)


def lay_panels(
    plans: list[Plan], frames: list[list[int]], size: tuple[int, int], view: str, theme: Theme, layers: Iterable[str]
) -> list[Part]:
    """Two to four panels of one camera and one force scale (in body weights); ``frames``: what their places hold for.

    Raises
    ------
    InputError : too few or too many, or a view in which lengths cannot be compared.
    """
    count = len(plans)
    if not FEWEST <= count <= MOST:
        raise InputError(f"found {count} situations; allowed: {FEWEST} to {MOST} side by side")
    if view not in ("front", "back"):
        raise InputError(f"picture.view: found {view!r}; situations are compared from the front or the back")
    u = size[1] / 1080.0
    wide = (size[0] - 2 * 40 * u - (count - 1) * _GAP * u) / count
    scale = min(1000.0, wide / u / 0.74) * u
    panel = (int(wide), size[1])

    def panels(framings: list[Framing]) -> list[PanelSheet]:
        return [
            PanelSheet(p, f, panel, view, theme, layers, scale, framing)
            for p, f, framing in zip(plans, frames, framings, strict=True)
        ]

    least = min(s.per_weight * s.plan.body_weight for s in panels([Framing()] * count))
    sheets = panels([Framing(None, least / p.body_weight) for p in plans])
    lefts = [40 * u + k * (wide + _GAP * u) for k in range(count)]
    return [Part(sheet, sheet.frames[0], round(x)) for sheet, x in zip(sheets, lefts, strict=True)]


def compare_page(
    situations: list[Situation], size: tuple[int, int], view: str, theme: Theme, layers: Iterable[str] = LAYERS
) -> Page:
    """Two to four situations on one page.

    Raises
    ------
    InputError : as :func:`lay_panels`.
    """
    parts = lay_panels([s.plan for s in situations], [[s.index] for s in situations], size, view, theme, layers)
    return page_of(situations, parts, size, theme, max(s.joint for s in situations))


def page_of(
    situations: list[Situation], parts: list[Part], size: tuple[int, int], theme: Theme, longest: float
) -> Page:
    """The page over laid-out panels; ``longest``: joint force, body weights, of a bar that fills its panel."""
    plans = [s.plan for s in situations]
    one = len({p.title for p in plans}) == 1
    title = plans[0].title if one else theme.voice.say(message("compare.title"))
    page = _Compared(situations, parts, size, theme, title, longest)
    shown = [Part(p.sheet, s.index, p.x) for p, s in zip(parts, situations, strict=True)]
    return Page(size, theme, title, shown, page.alt(), page.marks())


def result_marks(
    area: Box, said: str, share: float, mark: float, beside: str, peak: Said, theme: Theme, u: float, role: str = "bar"
) -> list[Mark]:
    """Joint force as a number and as a bar, a mark to compare it with, words beside it, and the highest pressure.

    Parameters
    ----------
    share, mark : lengths of the bar and of what it is compared with, 0 to 1 of the area's width.
    """
    c, t, left, room = theme.colours, u * theme.text, area.left, area.right - area.left
    y = area.top + 108 * u
    wide, low = left + room * share, y + 18 * u
    bar = np.array([[left, y], [wide, y], [wide, low], [left, low]])
    at = left + room * mark
    free = room - (text_width(beside, 26 * t, "SemiBold", theme.face) + 16 * u if beside else 0.0)
    sizes = [z * t for z in (46, 40, 36) if text_width(said, z * t, "Bold", theme.face) <= free]
    size = sizes[0] if sizes else 36 * t
    marks: list[Mark] = [
        Words(left, area.top + 34 * u, theme.voice.say(message("result.joint")), 24 * t, c["ink"], "Medium"),
        Words(left, area.top + 88 * u, said, size, c["joint"], "Bold", role="result"),
        Stroke(np.array([[left, y + 18 * u], [area.right, y + 18 * u]]), c["card_line"], 2 * u),
        *d.filled(bar, np.array([1.0, 0.0]), c["joint"], c["card"], theme.pattern("joint"), 2.0 * u, role),
        Stroke(np.array([[at, y - 9 * u], [at, y + 27 * u]]), c["ink"], 3 * u, halo=2 * u),
        *_peak_words(theme, message("result.peak", pressure=peak), left, y + 60 * u, room, t),
    ]
    if beside:
        at_right = (area.right, area.top + (88 if sizes else 34) * u)
        marks.append(Words(*at_right, beside, 26 * t, c["ink"], "SemiBold", "end", role="difference"))
    return marks


def _peak_words(theme: Theme, told: Said, left: float, y: float, room: float, t: float) -> list[Mark]:
    """The highest pressure under its bar, on two lines where one is too short."""
    lines = wrap(theme.voice.say(told), room, 24 * t, face=theme.face)
    return [Words(left, y + k * 30 * t, line, 24 * t, theme.colours["soft"]) for k, line in enumerate(lines[:2])]


class _Compared:
    """Marks of a comparison: title, headings, joint forces on one axis, caption."""

    def __init__(
        self, situations: list[Situation], parts: list[Part], size: tuple[int, int], theme: Theme, title: str,
        longest: float,
    ) -> None:  # fmt: skip
        self.longest = longest
        self.situations, self.parts, self.size, self.theme, self.title = situations, parts, size, theme, title
        self.u = size[1] / 1080.0
        self.t, self.voice = self.u * theme.text, theme.voice
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
        text = self.voice.say(
            joined("join.colon", [*([] if self.one_scene else [s.plan.title]), s.plan.steps[s.index]])
        )
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
        part, s = self.parts[k], self.situations[k]
        area = Box(part.x + 12 * self.u, _FIGURE * self.size[1], part.x + part.sheet.width - 12 * self.u, self.size[1])
        longest, first = self.longest, self.situations[0].joint
        peak = s.plan.pressure.peak_words[s.index]
        beside = self.difference(k) if k else ""
        return result_marks(
            area,
            self.voice.number(s.force),
            s.joint / longest,
            first / longest,
            beside,
            peak,
            self.theme,
            self.u,
            f"bar {k}",
        )

    def difference(self, k: int) -> str:
        """How a panel's joint force differs from the first one's, of the numbers as they are written."""
        first, here = (self.situations[n].force for n in (0, k))
        change = self.voice.difference(first, here)
        if change.value == 0.0:
            return self.voice.say(message("compare.same", letter=LETTERS[0]))
        size = dataclasses.replace(change, value=abs(change.value))
        share = fraction(abs(self.voice.written(here) / self.voice.written(first) - 1.0))
        return self.voice.say(message("compare.less" if change.value < 0 else "compare.more", force=size, share=share))

    def _scales(self) -> list[Mark]:
        sheet = self.parts[0].sheet
        same = len({round(s.plan.body_weight, 3) for s in self.situations}) == 1
        label = weight_words(self.voice, sheet.plan.body_weight, spelt=same)
        return scale_bars((self.size[0] - 420 * self.u, 44 * self.u), sheet, label)

    def _band(self) -> list[Mark]:
        """One line that says the difference, who stands there, and what the model is."""
        c, u, t, face = self.theme.colours, self.u, self.t, self.theme.face
        width, height = self.size
        top = 862 * u
        outline = np.array([[-2.0, top], [width + 2.0, top], [width + 2.0, height + 2.0], [-2.0, height + 2.0]])
        marks: list[Mark] = [Shape2D(outline, c["band"]), Stroke(outline[:2], c["card_line"], 2 * u)]
        words = self.voice.say(self._callout())
        size = next(
            (z * t for z in (38, 34, 30, 26) if text_width(words, z * t, "SemiBold", face) <= width - 96 * u), 24 * t
        )
        marks.append(Words(48 * u, top + 62 * u, words, size, c["ink"], "SemiBold", role="callout"))
        small, usable = 24 * t, width - 96 * u
        lines = wrap(self.voice.say(message("compare.people", people=self._people())), usable, small, face=face)
        ink = len(lines)
        lines += wrap(self.voice.say(self.situations[0].plan.model_line), usable, small, face=face)
        y = height - 24 * u - (len(lines) - 1) * 1.3 * small
        for k, line in enumerate(lines):
            marks.append(Words(48 * u, y + k * 1.3 * small, line, small, c["ink" if k < ink else "soft"]))
        return marks

    def _people(self) -> Message:
        """Who stands there: once where all are alike."""
        people = list(dict.fromkeys(s.plan.person for s in self.situations))
        if len(people) == 1:
            return joined("join.semicolon", people)
        lettered = zip(LETTERS, self.situations, strict=False)
        return joined(
            "join.semicolon", [message("compare.person", letter=a, person=s.plan.person) for a, s in lettered]
        )

    def _callout(self) -> Message:
        """All joint forces in one line, the unit once, at its end."""
        forces = [s.force for s in self.situations]
        bare = [dataclasses.replace(f, dimension="force_digits") for f in forces[:-1]]
        if len(forces) == 2:
            return message("compare.two", first=bare[0], second=forces[1])
        lettered = zip(LETTERS, [*bare, forces[-1]], strict=False)
        every = [message("compare.one", letter=a, force=f) for a, f in lettered]
        return message("compare.several", all=joined("join.comma", every))

    def alt(self) -> str:
        """The page in words: each panel, then the difference."""
        told = [
            message("compare.told", letter=LETTERS[k], step=s.plan.steps[s.index],
                    told=alt_text(s.plan, s.index, self.voice))
            for k, s in enumerate(self.situations)
        ]  # fmt: skip
        last = [
            message("compare.against", letter=LETTERS[k], first=LETTERS[0], difference=self.difference(k))
            for k in range(1, len(self.situations))
        ]
        return self.voice.say(joined("join.space", [*told, *last]))
