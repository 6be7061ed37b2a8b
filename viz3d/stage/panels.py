"""Situations side by side: one camera, one force scale, one pressure range, and the difference called out.

Question answered: what changes between these situations, and by how much?

Each panel is a narrow sheet: the same arrows and levers, with short names beside them. Under it stands its joint force
on one axis for all panels, with a mark where the first one's is. Rises and falls are in ink, never in a role's colour.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from functools import cached_property
from typing import Self

import numpy as np

from viz3d.arrays import Array
from viz3d.errors import InputError
from viz3d.stage import drawing as d
from viz3d.stage.canvas import Canvas, Framing, Measures
from viz3d.stage.card_boxes import CardBoxes
from viz3d.stage.crop import WHOLE, body_on, bones_on
from viz3d.stage.drawing import Box, Drawing, Mark, Shape2D, Stroke, Words, closed, moved
from viz3d.stage.effort import names_shown
from viz3d.stage.frame import letter, lift_boxes
from viz3d.stage.gait import ground_walls
from viz3d.stage.label_marks import label_colour, leader_dot
from viz3d.stage.page import Part
from viz3d.stage.panel_key import PANEL_GAP, head_height, key_marks, key_of, panel_unit
from viz3d.stage.panel_views import LONGEST, aligned, panel_camera, panel_scale
from viz3d.stage.plan import Arrow, Dimension, Named, Plan, Spot
from viz3d.stage.spaces import Space, compared_space
from viz3d.stage.tags import ON_BODY, Tag, leader_to, line_sizes, place_tags
from viz3d.stage.theme import Theme
from viz3d.words.message import Amount, Message, Said, force, joined, message

FEWEST, MOST = 2, 4
RESULT = 198.0
"""Height of a panel's result, below its figure, u."""
_NUMBER = 110.0
"""Room beside the ground's arrow for its number, u of type."""
_HIGH = 0.42
"""A panel shows at least so much of the person's height, m."""


Tagged = Arrow | Dimension | Named | Spot
"""What has a short name."""


_SAME = 0.06
"""Lever arms that differ by less, as a share, are nearly the same."""


class PanelSheet(Canvas):
    """A narrow sheet: short names beside the arrows, no cards, no caption band.

    Parameters
    ----------
    frames : the frames that its places are found for. framing : what it shares with others; its force scale is the
    largest that fits where none is given. space : the part of the page that holds the figure.
    """

    def __init__(
        self, plan: Plan, frames: Iterable[int], size: tuple[int, int], view: str, theme: Theme, layers: Iterable[str],
        framing: Framing | None, space: Space,
    ) -> None:  # fmt: skip
        self.frames, framing, self.space = list(frames), framing or Framing(), space
        u, bottom = self.space.u, self.space.bottom
        at = (size[0] / 2, 0.56 * self.space.head + 0.44 * bottom)
        camera = self.space.camera or panel_camera(plan, self.frames, view, at, self.space.scale, framing)
        per_newton = framing.per_newton or panel_scale(
            plan, self.frames, camera, bottom - 14 * u, LONGEST[self.space.frame]
        )
        cards = CardBoxes(size, bottom, ())
        measures = Measures(u, bottom, cards, self.space.fades, self.space.frame)
        thickness = float(np.clip(camera.scale / u / 1110.0, 0.66, 1.0)) if self.space.frame != WHOLE else 0.68
        super().__init__(plan, size, view, theme, layers, measures, camera, per_newton, thickness)
        self.named: int | None = None
        """So many muscles found a place for their names; None before places are looked for."""
        self._from_close_by()

    @property
    def foot(self) -> float:
        """Where the figure and its key end, pixels."""
        return self.band.top + (self.space.key.height if self.space.key else 0.0)

    @cached_property
    def tags(self) -> dict[str, Tag]:
        """Places of the short names by key, found when first asked for; none where they stand in a key."""
        if self.space.key is not None:
            return {}
        for count in range(self.space.names, 0, -1):
            self.named = count
            try:
                return self._place_tags()
            except InputError:  # no room for so many names
                continue
        self.named = 0
        return self._place_tags()

    def place(self) -> None:
        """Find the tags' places now."""
        _ = self.tags

    def scale_about(self, centre: Array) -> float:
        """Pixels per metre with another world point in the middle: as given."""
        return self.camera.scale

    def showing(self, layers: Iterable[str], only: int | None = None) -> Self:
        """The same sheet with other layers: everything stays in its place."""
        other = super().showing(layers, only)
        other._from_close_by()
        return other

    def _from_close_by(self) -> None:
        """The view into the socket shows the joint force alone."""
        if self.view == "joint":
            self.figure = dataclasses.replace(self.figure, layers=self.layers & {"joint"})

    def _tagged(self) -> dict[str, Tagged]:
        """What has a tag: all forces and levers that any frame shows."""
        items: list[Tagged] = [*self.figure.arrows(), *self.figure.dimensions(), *self.names()]
        if "numbers" not in self.layers:
            items = list(self.figure.arrows())
        angle = self.figure.angle()
        items += [*self._hidden_hands(), *([angle] if angle else [])]
        items = [x for x in items if x.key not in self.space.quiet]
        return {x.key: x for x in items if not all(self.figure.is_idle(x.key, i) for i in self.frames)}

    def names(self) -> list[Named]:
        """Muscles that have names here: those that found a place, once places are found."""
        if "muscle" not in self.layers or "numbers" not in self.layers:
            return []
        return names_shown(self)[: self.space.names if self.named is None else self.named]

    @cached_property
    def _freest(self) -> dict[str, int]:
        """Which place of each named muscle lies farthest from what is drawn."""
        i, out = self.frames[-1], {}
        drawn: list[Tagged] = [*self.figure.arrows(), *self.figure.dimensions()]
        lines = np.array([np.linspace(*self._ends(x, i), 20) for x in drawn]).reshape(-1, 2)
        for one in names_shown(self):
            at = self.camera.project(one.places[self.view][:, i])
            away = np.hypot(*np.moveaxis(at[:, None] - lines, -1, 0)).min(axis=1) if len(lines) else np.zeros(len(at))
            out[one.key] = int(np.argmax(np.minimum(away, 40 * self.u)))
        return out

    def _hidden_hands(self) -> list[Arrow]:
        """Hands that press, where the view has no room for their arrows but a clothed person's aid is named."""
        if self.plan.dress != "patient" or "cane" not in self.layers or self.view == "joint":
            return []
        shown = {a.key for a in self.figure.arrows()}
        return [a for a in self.plan.arrows if a.role == "hand" and a.key not in shown]

    def _aid_ends(self, arrow: Arrow, i: int) -> tuple[Array, Array]:
        """Lower end and handle of the aid that a hand presses on, on the page."""
        side = "right" if arrow.point[i, 2] > self.plan.middle_hip[i, 2] else "left"
        tip, hand = self.plan.frames[f"{side}_cane"][i, :3, 3], arrow.point[i]
        return self.camera.project(tip), self.camera.project(hand)

    def _tag_words(self, item: Tagged, i: int) -> list[str]:
        if isinstance(item, Named):
            part = message("effort.part", share=item.values[i][0])
            return self.theme.voice.lines([item.label, part])
        told = [item.short] if isinstance(item, Arrow | Spot) else []
        return self.theme.voice.lines([*told, *(item.values[i][:1] if "numbers" in self.layers else [])])

    def _ends(self, item: Tagged, i: int) -> tuple[Array, Array]:
        if isinstance(item, Named):
            at = self.camera.project(item.places[self.view][self._freest[item.key], i])
            return at, at
        if isinstance(item, Spot):
            at = self.camera.project(item.point[i])
            return at, at
        if isinstance(item, Dimension):
            return self.dimension_ends(item, i)
        return (
            self._aid_ends(item, i)
            if item.key in {a.key for a in self._hidden_hands()}
            else self.figure.arrow_ends(item, i)
        )

    def _place_tags(self) -> dict[str, Tag]:
        lines: dict[str, tuple[list[str], str]] = {}
        spans: dict[str, Array] = {}
        for key, item in self._tagged().items():
            shown = [self._tag_words(item, i) for i in self.frames]
            lines[key] = (max(shown, key=lambda w: len(w[-1])), label_colour(self, item))
            spans[key] = np.array([self._ends(item, i) - self.along(i) for i in self.frames])
        ahead = np.array([self.along(i)[0] for i in range(len(self.plan))])
        left, right = 6 * self.u - ahead.min(), self.width - 6 * self.u - ahead.max()
        room = Box(float(left), self.space.head, float(right), self.band.top - 4 * self.u)
        dressed, last = self.plan.dress == "patient", self.frames[-1]
        soft = body_on(self.plan, self.camera, last) if dressed else bones_on(self.plan, self.camera, last)
        soft = [moved(box, -self.along(last)) for box in soft]
        apart = ON_BODY if dressed else self.space.apart
        face, least = self.theme.face, self.space.least
        pointed = frozenset(one.key for one in self.names())
        return place_tags(lines, spans, self._walls(), room, self.u, self.t, face, soft, least, apart, pointed)

    def _letters(self) -> list[tuple[Array, str]]:
        """Where R and L stand, in views that show both sides."""
        across = float(self.camera.right[2])
        if abs(across) < 0.3 or self.view == "joint":
            return []
        away, y = 0.5 * self.width - 34 * self.t, self.space.head + 24 * self.u
        places = self.width / 2 + np.array([1.0, -1.0]) * np.sign(across) * away
        return [(np.array([x, y]), letter(self, side)) for x, side in zip(places, ("right", "left"), strict=True)]

    def _walls(self) -> list[Box]:
        """The joint, the arcs and the centre of mass, in every frame."""
        u = self.u
        boxes = [Box(*(at - 24 * self.t), *(at + 24 * self.t)) for at, _ in self._letters()]
        boxes += self.space.taken
        if self.whole and "cane" in self.layers:
            boxes += ground_walls(self.plan, self.camera, self.per_weight, self.frames, _NUMBER * self.t)
        for i in self.frames:
            points = (self.plan.hip[i], self.plan.arrow("weight").point[i])
            hip, centre = (self.camera.project(p) - self.along(i) for p in points)
            boxes += [Box(*(hip - 22 * u), *(hip + 22 * u)), Box(*(centre - 20 * u), *(centre + 20 * u))]
            for lift in lift_boxes(self.plan, self.camera, i).values() if self.whole else ():
                boxes.append(dataclasses.replace(lift, top=lift.top - 0.08 * self.camera.scale))  # and the foot on it
            for line in self.figure.lines_of_action(i):
                if isinstance(line, Stroke) and line.dash:
                    boxes.append(Box(*(line.points.min(axis=0) - 2 * u), *(line.points.max(axis=0) + 2 * u)))
            for arc in self.figure.arcs(i):
                if isinstance(arc, Shape2D):
                    for piece in np.array_split(arc.points - self.along(i), 10):
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
        if self.space.key is not None:
            told, boxes = key_marks(self, self.space.key, i)
            return Drawing(self.size, [], [*marks, *self.figure.forces(i), *told], boxes, self.figure.ends(i))
        shown = {k: x for k, x in self._tagged().items() if x.role not in self.hushed}
        live = {k: x for k, x in shown.items() if not self.figure.is_idle(k, i)}
        boxes = {k: moved(self.tags[k].box, self.along(i)) for k in live}
        for key, item in live.items():
            near = 0.0 if isinstance(item, Named) else None
            leader = leader_to(boxes[key], *self._ends(item, i), self.u, near)
            if leader is not None and leader[:, 1].max() <= self.foot:  # what is cut off is named, not pointed at
                marks.append(Stroke(leader, self.tags[key].colour, 2 * self.u, halo=2.2 * self.u, role="leader"))
            if isinstance(item, Named):
                marks.append(leader_dot(self, self._ends(item, i)[1]))
        marks += self.figure.forces(i)
        for key, item in live.items():
            tag, words = self.tags[key], self._tag_words(item, i)
            box, y = boxes[key], boxes[key].top
            for k, (line, size) in enumerate(zip(words, line_sizes(len(words), tag.size), strict=True)):
                last = k == len(words) - 1
                y += 1.2 * size
                tone, weight = (tag.colour, "Bold") if last else (self.colours["ink"], "Medium")
                x = (box.left + box.right) / 2
                marks.append(Words(x, y - 0.25 * size, line, size, tone, weight, "middle", 3 * self.u, key))
        return Drawing(self.size, [], marks, boxes, self.figure.ends(i))


@dataclasses.dataclass(frozen=True)
class Situation:
    """What a panel shows: frame ``index`` of a plan. ``named``: its step's name says what it is, wherever seen from."""

    plan: Plan
    index: int
    named: bool = True
    still: bool = True
    """False for a frame of a film, in which nothing may be called otherwise than in the frame before."""

    @property
    def called(self) -> Said:
        """What it is called: as its step, or how the person stands or walks; of a walk, at which moment, too."""
        name = self.plan.steps[self.index]
        if self.named and not (self.still and self.plan.gait is not None):
            return name
        values = self.plan.subtitles[self.index].values[1:]  # the first says the view
        told = [part for _, part in values if isinstance(part, Message)]
        return joined("join.dot", [name, *told] if self.named else told)

    @property
    def joint(self) -> float:
        """Joint force in body weights."""
        return float(self.plan.joint_force[self.index]) / self.plan.body_weight

    @property
    def force(self) -> Amount:
        """Joint force."""
        return force(float(self.plan.joint_force[self.index]), self.plan.body_weight)


def _alike(plans: list[Plan], frames: list[list[int]]) -> frozenset[str]:
    """The muscle's lever arm where all panels have nearly the same: its size would only cover bones."""
    levers = [next(x for x in p.dimensions if x.key == "muscle_lever") for p in plans]
    sizes = [np.linalg.norm((x.end - x.start)[f, 1:], axis=1) for x, f in zip(levers, frames, strict=True)]
    every = np.concatenate(sizes)
    return frozenset({"muscle_lever"} if np.ptp(every) < _SAME * every.max() else ())


def lay_panels(
    plans: list[Plan], frames: list[list[int]], size: tuple[int, int], view: str, theme: Theme, layers: Iterable[str],
    bottom: float,
) -> list[Part]:  # fmt: skip
    """Two to four panels of one camera and one force scale (in body weights), down to the height ``bottom``.

    ``frames``: what their places hold for.

    Raises
    ------
    InputError : too few or too many, or a view in which lengths cannot be compared.
    """
    count = len(plans)
    if not FEWEST <= count <= MOST:
        raise InputError(f"found {count} situations; allowed: {FEWEST} to {MOST} side by side")
    if view not in ("front", "back"):
        raise InputError(f"picture.view: found {view!r}; situations are compared from the front or the back")
    u = panel_unit(size, count)
    wide = (size[0] - 2 * 40 * u - (count - 1) * PANEL_GAP * u) / count
    panel, head = (int(wide), size[1]), head_height(size, count) * u
    key = key_of(plans, frames, size, panel[0], bottom, theme, frozenset(layers)) if size[0] <= size[1] else None
    low = bottom - (0.0 if key is None else key.height)
    scale = min(1000.0 * u, wide / 0.74, (low - head) / _HIGH)
    space = compared_space(u, head, low, scale, key, _alike(plans, frames))

    def panels(framings: list[Framing]) -> list[PanelSheet]:
        return [
            PanelSheet(p, f, panel, view, theme, layers, framing, space)
            for p, f, framing in zip(plans, frames, framings, strict=True)
        ]

    alone = panels([Framing()] * count)
    least = min(s.per_weight * s.plan.body_weight for s in alone)
    centres = aligned([s.camera.centre for s in alone], plans, frames)
    sheets = panels([Framing(c, least / p.body_weight) for c, p in zip(centres, plans, strict=True)])
    lefts = [40 * u + k * (wide + PANEL_GAP * u) for k in range(count)]
    return [Part(sheet, sheet.frames[0], round(x)) for sheet, x in zip(sheets, lefts, strict=True)]
