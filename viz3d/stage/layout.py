"""Layout: a plan becomes a drawing, and label places hold still through a whole film.

Question answered: where on the page do arrows, dimension lines, arcs and words go?

One camera, one force scale, one set of label places for all frames and for every build-up of layers. Frontal marks
(levers, arcs) appear in front and back views only; in turned views arrows are projections, with a scale for each axis.
Pixels; u is 1/1080 of the picture's height. Pure data, no drawing. Called by the output room.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from viz3d.scene.picture import LAYERS
from viz3d.stage import drawing as d
from viz3d.stage.camera import Camera, view_direction
from viz3d.stage.cards import CARDS, Cards, Insets
from viz3d.stage.drawing import Array, Box, Drawing, Mark, Shape2D, Stroke, Words
from viz3d.stage.figure import FULL, LAYER_OF, FigureOnPage
from viz3d.stage.frame import band_marks, least_band, scale_marks, side_boxes, side_marks, title_marks
from viz3d.stage.label_marks import label_words, leader_marks
from viz3d.stage.labels import Column, Placed, Wanted, place_labels
from viz3d.stage.plan import Arrow, Dimension, Item, Plan, Spot
from viz3d.stage.scales import axis_box
from viz3d.stage.theme import Theme
from viz3d.words.message import Said

_SCALES = (168.0, 156.0, 144.0, 132.0, 120.0, 108.0, 96.0, 84.0, 72.0, 60.0, 48.0, 36.0)
"""Pixels (u) per body weight, the largest that fits is used."""
_SAMPLES = 41
"""Frames that label places are solved over, spread evenly."""
DRAWN_OUT = (0.0, -0.058, 0.030)
"""How far the thigh is moved out of its socket in the joint view: forward, up, outward, m."""
_CLOSE = 3500.0
_USUAL = 1110.0
"""Pixels (u) per metre of the joint view, and of all others."""


@dataclass(frozen=True)
class Framing:
    """What several sheets of one film share; None for what each would choose.

    ``centre`` (3,): world point in the middle of the figure. ``per_newton``: pixels per newton.
    """

    centre: Array | None = None
    per_newton: float | None = None


class Sheet:
    """A plan laid out for one size and view: ``drawing(i)`` gives frame i.

    Parameters
    ----------
    plan : what to show. size : (width, height) pixels. view : its name. theme : colours, font, size of words.
    layers : what is shown of it; places do not depend on them. insets : cards beside the figure, from the top.
    framing : what it shares with other sheets.
    """

    def __init__(
        self, plan: Plan, size: tuple[int, int], view: str, theme: Theme, layers: Iterable[str] = LAYERS,
        insets: Iterable[str] = CARDS, framing: Framing | None = None,
    ) -> None:  # fmt: skip
        self.plan, self.size, self.view, self.theme = plan, size, view, theme
        self.framing = framing or Framing()
        self.cameras: dict[int, Camera] = {}
        """Frame -> camera of the main view where it moves; elsewhere ``camera``."""
        self.width, self.height = size
        self.u = self._unit()
        self.t = self.u * theme.text
        self.colours = theme.colours
        self.layers = frozenset(layers)
        self.band = Box(0, self._bottom(), self.width, self.height)
        self.cards = Cards(size, self.band.top, tuple(insets))
        self.camera = self._camera()
        self.figure = FigureOnPage(
            plan, self.camera, self.framing.per_newton or self._force_scale(), theme, self.u, self.layers,
            follows=view == "joint", window=(178 * self.u, self.band.top - 10 * self.u),
        )  # fmt: skip
        self.insets = Insets(self)

    @cached_property
    def labels(self) -> dict[str, Placed]:
        """Label places by key, found when first asked for."""
        return self._place()

    def _unit(self) -> float:
        return self.height / 1080.0

    def _bottom(self) -> float:
        """Where the figure ends, pixels."""
        usual = (0.8 if self.theme.text == 1.0 else 0.745) * self.height
        return min(usual, self.height - least_band(self.plan, self.size, self.theme))

    @property
    def per_weight(self) -> float:
        """Pixels per newton, one for the whole film."""
        return self.figure.per_newton

    @property
    def fades(self) -> tuple[float, float, bool]:
        """Between which heights (pixels) the figure fades in, and whether it fades out above the band."""
        return 118 * self.u, 268 * self.u, False

    @property
    def frontal(self) -> bool:
        """True where lengths across are true to scale."""
        return self.figure.frontal

    def showing(self, layers: Iterable[str]) -> Sheet:
        """The same sheet with other layers: everything stays in its place."""
        self.place()
        other = object.__new__(type(self))
        other.__dict__.update(self.__dict__)
        other.layers = frozenset(layers)
        other.figure = dataclasses.replace(self.figure, layers=other.layers)
        other.insets = Insets(other)
        return other

    def say(self, told: Said) -> str:
        """A message as this picture says it."""
        return self.theme.voice.say(told)

    def place(self) -> None:
        """Find the label places now."""
        _ = self.labels

    def moving(self, cameras: dict[int, Camera]) -> Sheet:
        """The same sheet with the main view's camera moved in some frames."""
        other = self.showing(self.layers)
        other.cameras = cameras
        return other

    def frame(self, link: str, i: int) -> Array:
        """World transform (4, 4) of a link in frame i; the joint view draws the stance leg out of its socket."""
        frame = self.plan.frames[link][i]
        if self.view == "joint" and link.removeprefix(self.stance_side) in ("_thigh", "_shank", "_foot"):
            frame = frame.copy()
            frame[:3, 3] += np.array(DRAWN_OUT) * (1.0, 1.0, self.plan.sign)
        return np.asarray(frame)

    @property
    def stance_side(self) -> str:
        """ "left" or "right"."""
        return "right" if self.plan.sign > 0 else "left"

    # ---- geometry -------------------------------------------------------------------------------------

    def _camera(self) -> Camera:
        toward = view_direction(self.view, self.plan.sign)
        right_edge = self.cards.left if self.cards.shown else self.width
        across = 0.515 * right_edge if self.cards.shown else 0.5 * self.width
        middle = 0.5 * self.band.top
        if self.view == "joint":
            return Camera(toward, self.plan.hip.mean(axis=0), (0.92 * across, 0.84 * middle), _CLOSE * self.u)
        return Camera(toward, self._centre(), (across, middle), _USUAL * self.u)

    def _centre(self) -> Array:
        """World point in the middle of the figure."""
        return middle_of([self.plan]) if self.framing.centre is None else self.framing.centre

    def _force_scale(self) -> float:
        joint = self.plan.arrow("joint")
        longest = float(np.linalg.norm(joint.force, axis=1).max()) / self.plan.body_weight
        tail = self.band.top - 26 * self.u - float(self.camera.project(self.plan.hip)[:, 1].max())
        fits = [s for s in _SCALES if longest * s * self.u * 0.985 <= tail]
        scale = fits[0] if fits else tail / self.u / 0.985 / longest
        return scale * self.u / self.plan.body_weight

    def arrow_ends(self, key: str, i: int) -> tuple[Array, Array]:
        """Tail and tip of an arrow in pixels."""
        return self.figure.arrow_ends(self.plan.arrow(key), i)

    def dimension_ends(self, dimension: Dimension, i: int) -> tuple[Array, Array]:
        """Ends of a dimension line in pixels."""
        return self.figure.dimension_ends(dimension, i)

    # ---- label places ---------------------------------------------------------------------------------

    def _columns(self) -> dict[str, Column]:
        """Margins for "stance" and "swing" labels."""
        middle, away = self.camera.at[0], 396 * self.u
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
        return [*whole.arrows(), *whole.dimensions()]

    def _place(self) -> dict[str, Placed]:
        frames = np.unique(np.linspace(0, len(self.plan) - 1, _SAMPLES).astype(int))
        wanted = []
        for item in self._labelled():
            targets = np.array([self._target(item, int(i)) for i in frames])
            first = 46.0 if item.key == "joint" else 30.0 if isinstance(item, Dimension) else 34.0
            name, short = self.say(item.label), "" if isinstance(item, Spot) else self.say(item.short)
            values = [self.lines(item, n) for n in range(len(self.plan))]
            if isinstance(item, Arrow) and item.idle:
                values.append(["", self.say(item.idle)])
            wanted.append(Wanted(item.key, item.role, name, values, item.side, targets, first, short))
        joint = np.array([self.figure.project(self.plan.hip[i], i) for i in frames])
        return place_labels(
            wanted, self._columns(), self._obstacles(frames), joint, self.u, self.theme.text, self.theme.face
        )

    def lines(self, item: Item, i: int) -> list[str]:
        """A label's value lines in frame i."""
        return self.theme.voice.lines(item.values[i])

    def _obstacles(self, frames: Array) -> list[Box]:
        """What no label may touch: every arrow and lever in every frame, the joint, and the side signs."""
        boxes = [*side_boxes(self), *([] if self.frontal or self.view == "joint" else [axis_box(self)])]
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

    def _target(self, item: Item, i: int) -> Array:
        """Where a label's leader points in frame i."""
        if isinstance(item, Spot):
            return self.figure.project(item.point[i], i)
        if isinstance(item, Arrow):
            tail, tip = self.figure.arrow_ends(item, i)
            if np.hypot(*(tip - tail)) < 2 * self.u:
                return tail
            share = {"joint": 0.45, "muscle": 0.66, "weight": 0.35}.get(item.key, 0.5)
            return np.asarray(tail + share * (tip - tail))
        start, end = self.dimension_ends(item, i)
        if not np.isfinite(item.drop):
            away = (end - start) / max(float(np.hypot(*(end - start))), 1.0)
            return np.asarray(end + 11 * self.u * away)
        column = self._columns()[item.side].x
        outer = start if abs(start[0] - column) < abs(end[0] - column) else end
        return np.asarray(outer + np.array([13 * self.u * np.sign(column - outer[0]), 0.0]))

    # ---- drawing --------------------------------------------------------------------------------------

    def drawing(self, i: int, bare: bool = False) -> Drawing:
        """The marks of frame i; ``bare``: without arrows, levers and labels, for the time that the camera moves."""
        marks = [*title_marks(self, i), *side_marks(self)]
        boxes: dict[str, Box] = {}
        if not bare:
            boxes = self._forces_and_labels(marks, i)
            marks += scale_marks(self)
        marks += band_marks(self, i)
        under: list[Mark] = []
        if self.cards.shown:
            under = self.cards.rules(self)
            marks += self.insets.marks(i)
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
        marks += [m for m in labels if not isinstance(m, Words)]
        if self.view == "joint":
            marks += self._drawn_out(i)
        marks += self._drawn_figure().forces(i)
        marks += [m for m in labels if isinstance(m, Words)]
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
        for item in self._labelled():
            if not self._has_layer(item):
                continue
            place = self.labels[item.key]
            boxes[item.key] = place.box
            idle = self.figure.is_idle(item.key, i)
            if idle and isinstance(item, Dimension):
                continue
            target = self._target(item, i)
            if not idle and 0 < target[1] < self.band.top:
                marks += leader_marks(self, item, place, target)
            marks += label_words(self, item, place, i, idle)
        return marks, boxes

    def _has_layer(self, item: Item) -> bool:
        if LAYER_OF.get(item.role, item.role) not in self.layers:
            return False
        return not isinstance(item, Dimension) or "lever" in self.layers


def middle_of(plans: list[Plan]) -> Array:
    """World point, (3,), that the figures of plans are centred on: the stance hip's height, midway between the hips."""
    hip, middle = (np.concatenate([getattr(p, name) for p in plans]) for name in ("hip", "middle_hip"))
    return np.array([0.0, float(hip[:, 1].mean()), float(middle[:, 2].mean())])
