"""Layout: a plan becomes a drawing, and label places hold still through a whole film.

Question answered: where on the page do arrows, dimension lines, arcs and words go?

One camera, one force scale, one set of label places for all frames and for every build-up of layers. Frontal marks
(levers, arcs) appear in front and back views only; in turned views arrows are projections, with a scale for each axis.
Pixels; u is 1/1080 of the picture's height. Pure data, no drawing.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterable
from functools import cached_property
from typing import Self

import numpy as np

from viz3d.arrays import Array
from viz3d.scene.picture import LAYERS
from viz3d.stage import drawing as d
from viz3d.stage.band import band_marks, wide_band
from viz3d.stage.camera import Camera
from viz3d.stage.canvas import DRAWN_OUT, Canvas, Framing, Measures
from viz3d.stage.card_boxes import CARDS, FIGURE, CardBoxes
from viz3d.stage.cards import Insets, card_rules
from viz3d.stage.crop import HIP, WHOLE, centre_of, half_reach
from viz3d.stage.drawing import Box, Drawing, Mark, Shape2D, Stroke
from viz3d.stage.effort import best_place, effort_key, key_box, names_shown
from viz3d.stage.figure import FULL, LAYER_OF, FigureOnPage
from viz3d.stage.frame import floor_marks, lifted_marks, scale_marks, side_boxes, side_marks, title_marks
from viz3d.stage.gait import ground_marks
from viz3d.stage.label_marks import label_words, leader_dot, leader_line, leader_marks, leader_starts
from viz3d.stage.labels import Column, Placed, Wanted, place_labels
from viz3d.stage.leaders import Led, Pointing, lead, path
from viz3d.stage.main_view import LABELS, force_scale, main_camera
from viz3d.stage.passed import passed_floor, passed_line
from viz3d.stage.plan import Arrow, Dimension, Item, Named, Plan, Spot
from viz3d.stage.reach import Aim
from viz3d.stage.scales import axis_box
from viz3d.stage.theme import Theme

_SAMPLES, _LED, _REACHED = 41, 9, 3
"""Frames that label places are solved over, spread evenly, and about so many that leaders are found over, and tried."""
_FIRST: dict[type, float] = {Dimension: 30.0, Named: 26.0}
"""Size of the first value of some labels, u."""
_ABOVE_LEVER, _OVER_TAIL = 62.0, 30.0
"""A lever arm's label wants to stand so far above it, and above the muscle's tail, u: its leader then comes down."""
_ALONG = {"joint": 0.45, "muscle": 0.66, "weight": 0.35}
"""Where along its arrow a leader ends best, 0 at its tail."""


class Sheet(Canvas):
    """A plan laid out for one size and view: ``drawing(i)`` gives frame i.

    Parameters
    ----------
    plan : what to show. size : (width, height) pixels. view : its name. theme : colours, font, size of words.
    layers : what is shown of it; places do not depend on them. insets : cards beside the figure, from the top.
    framing : what it shares with other sheets. frame : how much of the person is shown.
    """

    def __init__(
        self, plan: Plan, size: tuple[int, int], view: str, theme: Theme, layers: Iterable[str] = LAYERS,
        insets: Iterable[str] = CARDS, framing: Framing | None = None, frame: str = HIP,
    ) -> None:  # fmt: skip
        framing, u = framing or Framing(), size[1] / 1080.0
        bottom = size[1] - wide_band(plan, size, theme)
        whole = frame == WHOLE and view != "joint"
        cards = CardBoxes(size, bottom, tuple(x for x in insets if not (whole and x == FIGURE)))
        centre = centre_of([plan], frame) if framing.centre is None else framing.centre
        across = 0.515 * cards.left if cards.shown else 0.5 * size[0]
        camera = main_camera(plan, view, u, bottom, across, centre, frame)
        if framing.scale is not None and view != "joint":
            camera = dataclasses.replace(camera, scale=framing.scale)
        per_newton = framing.per_newton or force_scale(plan, camera, u, bottom)
        fades = (0.0, 1.0, False) if whole else (118 * u, 268 * u, False)
        super().__init__(
            plan,
            size,
            view,
            theme,
            layers,
            Measures(u, bottom, cards, fades, frame),
            camera,
            per_newton,
            0.7 if whole else 1.0,
        )
        ends = sorted(column.x for column in self._columns().values())
        self.figure = dataclasses.replace(self.figure, words=(ends[0], ends[1]))
        self.insets = Insets(self)

    def scale_about(self, centre: Array) -> float:
        """Pixels per metre with another world point in the middle."""
        return main_camera(
            self.plan, self.view, self.u, self.band.top, self.camera.at[0], centre, self.measures.frame
        ).scale

    @cached_property
    def labels(self) -> dict[str, Placed]:
        """Label places by key, found when first asked for."""
        return self._place()

    @cached_property
    def leaders(self) -> dict[str, Led]:
        """How the leaders run by key, found when first asked for."""
        return self._lead()

    @cached_property
    def names(self) -> dict[str, tuple[Named, int]]:
        """Named muscles on the side of their names, and which of its places each name points at."""
        frames, out = self._few(), {}
        lines = list(self._spans(frames).values())
        for one in names_shown(self):
            seen = one.places[self.view]
            places = np.array([[self.figure.project(p[i], i) for i in frames] for p in seen])
            side, k = best_place(places, lines, self._columns(), self.u)
            out[one.key] = dataclasses.replace(one, side=side), k
        return out

    def place(self) -> None:
        """Find the label places now."""
        _ = self.leaders

    def showing(self, layers: Iterable[str], only: int | None = None) -> Self:
        """The same sheet with other layers: everything stays in its place."""
        other = super().showing(layers, only)
        other.insets = Insets(other)
        return other

    def inset_views(self) -> dict[str, tuple[Box, Camera]]:
        """The cards' mesh views."""
        return self.insets.views if self.cards.shown else {}

    # ---- label places ---------------------------------------------------------------------------------

    def _columns(self) -> dict[str, Column]:
        """Margins for "stance" and "swing" labels."""
        middle, away = self.camera.at[0], (LABELS + 8) * self.u
        if self.whole:
            away = max(190 * self.u, 62 * self.u + half_reach(self.plan, self.camera)[0] * self.camera.scale)
        right = self.cards.left - 26 * self.u if self.cards.shown else self.width - 30 * self.u
        top, low, bars = (
            182 * self.u,
            self.band.top - 16 * self.u,
            (84 if self.camera.foreshortening >= FULL else 0) * self.u,
        )
        sides = [
            Column(middle - away, 40 * self.u, "end", top, low - bars), Column(middle + away, right, "start", top, low)
        ]  # fmt: skip
        if (self.camera.right @ np.array([0.0, 0.0, self.plan.sign])) >= 0:
            sides.reverse()
        return dict(zip(("stance", "swing"), sides, strict=True))

    def _labelled(self) -> list[Item]:
        whole = dataclasses.replace(self.figure, layers=frozenset(LAYERS))
        if self.view == "joint":
            return [self.plan.arrow("joint"), *self.plan.spots]
        arrows = whole.arrows()
        if not self.frontal:  # the axes' cross stands where the other foot's label would
            arrows = [dataclasses.replace(a, side="stance") if a.role == "ground" else a for a in arrows]
        angle = whole.angle()
        return [*arrows, *whole.dimensions(), *([angle] if angle else []), *(one for one, _ in self.names.values())]

    def _placed_items(self) -> list[Item]:
        """What has a label that found a place."""
        return [item for item in self._labelled() if item.key in self.labels]

    def _place(self) -> dict[str, Placed]:
        frames, wanted = self._sampled(), []
        lines = self._spans(few := frames[:: max(1, len(frames) // _REACHED)])
        for item in self._labelled():
            targets = np.array([self._target(item, int(i)) for i in frames])
            first = 46.0 if item.key == "joint" else _FIRST.get(type(item), 34.0)
            name, short = self.say(item.label), "" if isinstance(item, Spot) else self.say(item.short)
            values = [self.lines(item, n) for n in range(len(self.plan))]
            if isinstance(item, Arrow) and item.idle:
                values.append(["", self.say(item.idle)])
            firm, spare = 8.0 if item.key == "muscle_lever" else 1.0, isinstance(item, Named)
            aim, level = self._aim(item, lines, few), isinstance(item, Dimension) and np.isfinite(item.drop)
            below = 2.0 * _ABOVE_LEVER * self.u if level else 0.0
            wanted.append(
                Wanted(
                    item.key, item.role, name, values, item.side, targets, first, short, firm, spare, below, aim,
                )
            )  # fmt: skip
        joint = np.array([self.figure.project(self.plan.hip[i], i) for i in frames])
        return place_labels(
            wanted, self._columns(), self._obstacles(frames), joint, self.u, self.theme.text, self.theme.face
        )

    def _aim(self, item: Item, lines: dict[str, Array], frames: Array) -> Aim:
        """What a label's leader ends on and may not meet, in some frames."""
        own = lines[item.key] if item.key in lines else np.array([self._span(item, int(i)) for i in frames])
        others = np.array([line for key, line in lines.items() if key != item.key]).reshape(-1, *own.shape)
        joint = np.array([self.figure.project(self.plan.hip[i], i) for i in frames])
        return Aim(own, others, joint, _ALONG.get(item.key, 0.5), isinstance(item, Dimension))

    def _obstacles(self, frames: Array) -> list[Box]:
        """What no label may touch: every arrow and lever in every frame, the joint, and the side signs."""
        boxes = [
            *side_boxes(self),
            *([] if self.frontal or self.view == "joint" else [axis_box(self)]),
            key_box(self, self._columns()["swing"]),
        ]
        whole = dataclasses.replace(self.figure, layers=frozenset(LAYERS))
        for i in frames:
            ends = [*whole.ends(i).values(), *(self.dimension_ends(x, i) for x in whole.dimensions())]
            for tail, tip in ends:
                cuts = np.linspace(tail, tip, 5)
                for a, b in itertools.pairwise(cuts):
                    low, high = np.minimum(a, b) - 11 * self.u, np.maximum(a, b) + 11 * self.u
                    boxes.append(Box(low[0], low[1], high[0], high[1]))
            at = self.figure.project(self.plan.hip[i], i)
            boxes.append(Box(at[0] - 40 * self.u, at[1] - 40 * self.u, at[0] + 40 * self.u, at[1] + 40 * self.u))
        return boxes

    def _span(self, item: Item, i: int) -> tuple[Array, Array]:
        """Tail and tip of what a label names in frame i; both the same for a place."""
        if isinstance(item, Spot | Named):
            point = item.places[self.view][self.names[item.key][1]] if isinstance(item, Named) else item.point
            at = self.figure.project(point[i], i)
            return at, at
        return self.figure.arrow_ends(item, i) if isinstance(item, Arrow) else self.dimension_ends(item, i)

    def _target(self, item: Item, i: int) -> Array:
        """What a label wants to stand beside in frame i."""
        tail, tip = self._span(item, i)
        if isinstance(item, Dimension):
            column = self._columns()[item.side].x
            outer = tail if abs(tail[0] - column) < abs(tip[0] - column) else tip
            high = outer[1] - _ABOVE_LEVER * self.u
            if item.key == "muscle_lever":  # over the muscle's arrow, so that the leader comes down behind it
                high = min(self.arrow_ends("muscle", i)[0][1] - _OVER_TAIL * self.u, high)
            return np.array([outer[0], high])
        return np.asarray(tail + _ALONG.get(item.key, 0.5) * (tip - tail))

    def _lead(self) -> dict[str, Led]:
        """Ends and bends of all leaders, those of the nearest labels first."""
        spans = self._spans(frames := self._few())
        wanted = {}
        for item in sorted(self._placed_items(), key=lambda x: self.labels[x.key].box.top):
            starts = leader_starts(self, self.labels[item.key])
            lever, share = isinstance(item, Dimension), _ALONG.get(item.key, 0.5)
            ends = spans[item.key] if item.key in spans else np.array([self._span(item, int(i)) for i in frames])
            wanted[item.key] = Pointing(starts, ends, lever, share)
        joint = np.array([self.figure.project(self.plan.hip[i], i) for i in frames])
        words = [*(p.box for p in self.labels.values()), *side_boxes(self)]
        return lead(wanted, spans, words, joint, self.u, self.thickness)

    def _spans(self, frames: Array) -> dict[str, Array]:
        """Arrows, lever arms and pieces of arcs that no leader should meet, key -> (F, 2, 2) pixels."""
        if self.view == "joint":
            return {"joint": np.array([self._span(self.plan.arrow("joint"), int(i)) for i in frames])}
        whole = dataclasses.replace(self.figure, layers=frozenset(LAYERS))
        drawn: list[Item] = [*whole.arrows(), *whole.dimensions()]
        out = {x.key: np.array([self._span(x, int(i)) for i in frames]) for x in drawn}
        chords = [whole.arc_chords(int(i)) for i in frames]
        for key in chords[0]:
            for n, piece in enumerate(np.stack([some[key] for some in chords], axis=1)):
                out[f"{key} {n}"] = piece
        return out

    def _few(self) -> Array:
        return self._sampled()[:: max(1, len(self._sampled()) // _LED)]

    def _sampled(self) -> Array:
        return np.unique(np.linspace(0, len(self.plan) - 1, _SAMPLES).astype(int))

    # ---- drawing --------------------------------------------------------------------------------------

    def drawing(self, i: int, bare: bool = False) -> Drawing:
        """The marks of frame i; ``bare``: without arrows, levers and labels, for the time that the camera moves."""
        marks = [*title_marks(self, i, bare), *side_marks(self)]
        boxes: dict[str, Box] = {}
        if not bare:
            forces: list[Mark] = []
            boxes = self._forces_and_labels(forces, i)
            ground = [*floor_marks(self, i), *passed_line(self), *ground_marks(self, i, forces)] if self.whole else []
            marks += [*ground, *forces, *scale_marks(self), *lifted_marks(self, i)]
            named = any(isinstance(item, Named) for item in self._placed_items())
            marks += effort_key(self, self._columns()["swing"]) if named else []
        marks += band_marks(self, i)
        under: list[Mark] = passed_floor(self) if self.whole and not bare else []
        if self.cards.shown:
            under += card_rules(self)
            marks += self.insets.marks(i, still=bare, told="rest" not in self.hushed)
        return Drawing(self.size, under, marks, boxes, {} if bare else self._drawn_figure().ends(i))

    def _drawn_figure(self) -> FigureOnPage:
        """The figure with the forces that this view draws."""
        if self.view != "joint":
            return self.figure
        return dataclasses.replace(self.figure, layers=self.layers & {"joint"})

    def _forces_and_labels(self, marks: list[Mark], i: int) -> dict[str, Box]:
        """Add lines of action, leaders, forces and words; the labels' boxes."""
        marks += self.figure.lines_of_action(i)
        labels, boxes = self._labels(i)
        marks += [m for m in labels if isinstance(m, Stroke)]
        if self.view == "joint":
            marks += self._drawn_out(i)
        marks += self._drawn_figure().forces(i)
        marks += [m for m in labels if not isinstance(m, Stroke)]
        return boxes

    def _drawn_out(self, i: int) -> list[Mark]:
        """Where the drawn-out head belongs: a dashed line from its centre to the socket's."""
        hip = self.plan.hip[i]
        ends = self.figure.project(np.stack([hip + np.array(DRAWN_OUT) * (1.0, 1.0, self.plan.sign), hip]), i)
        u, ink = self.u, self.colours["ink"]
        return [
            Stroke(ends, ink, 2.2 * u, (7 * u, 6 * u), 2 * u),
            Shape2D(d.disc(ends[0], 5 * u), ink, 2 * u),
        ]

    def _labels(self, i: int) -> tuple[list[Mark], dict[str, Box]]:
        marks: list[Mark] = []
        boxes: dict[str, Box] = {}
        for item in self._placed_items():
            if not self._has_layer(item) or item.role in self.hushed:
                continue
            place = self.labels[item.key]
            boxes[item.key] = place.box
            idle = self.figure.is_idle(item.key, i)
            if idle and (isinstance(item, Dimension) or item.role in ("load", "ground")):
                continue  # a bag is not there before it is carried, nor the ground under a foot that is lifted
            led = self.leaders[item.key]
            if "numbers" not in self.layers:
                x, y = leader_starts(self, place)[0]
                led = dataclasses.replace(led, start=(float(x), float(y)))
            points = path(led, *self._span(item, i))
            if (not idle or item.role == "muscle") and 0 < points[-1, 1] < self.band.top:
                rests = [leader_line(self, points), leader_dot(self, points[-1])]
                marks += rests if idle else leader_marks(self, item, points, self._span(item, i))
            marks += label_words(self, item, place, i, idle)
        return marks, boxes

    def _has_layer(self, item: Item) -> bool:
        if LAYER_OF.get(item.role, item.role) not in self.layers:
            return False
        return not isinstance(item, Dimension) or "lever" in self.layers
