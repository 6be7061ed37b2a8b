"""Square and upright pictures: the figure, its joint force as a number and a bar, the words below.

Question answered: how does the picture look on a telephone or in a square slot?

A narrow sheet for all frames of a film: places of names hold still. For shapes that leave no room for
columns of labels. A whole person stands beside the result where there is room, so that the page's height is used.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from typing import Self

import numpy as np

from viz3d.arrays import Array
from viz3d.scene.picture import LAYERS
from viz3d.stage.band import SMALL, band_marks, tall_band
from viz3d.stage.camera import Camera, view_direction
from viz3d.stage.canvas import Canvas, Framing
from viz3d.stage.card_boxes import FOOTPRINTS
from viz3d.stage.crop import HIP, WHOLE, centre_of, near_scale, reach_of, whole_scale
from viz3d.stage.drawing import Box, Drawing, Mark, unit_of
from viz3d.stage.effort import effort_line
from viz3d.stage.frame import bars_width, floor_marks, scale_bars, title_height, title_marks
from viz3d.stage.gait import footprint_marks, ground_marks
from viz3d.stage.panels import PanelSheet
from viz3d.stage.passed import SIGNS, passed_floor, passed_line
from viz3d.stage.plan import Plan
from viz3d.stage.result import result_marks
from viz3d.stage.spaces import Space
from viz3d.stage.theme import Theme
from viz3d.stage.type import text_width
from viz3d.words.message import force, message

_SAMPLES = 25
_RESULT = 184.0
"""Height of the result, u."""
_ONE_MORE = 34.0
"""What a narrow result's last words need more, u."""
_OVER_FLOOR, _BARS = 124.0, 300.0
"""How far above a result that stands under the floor the bars of scale stand, and how far they reach, u."""
_CLOSE = 2600.0
"""Pixels (u) per metre of the view into the socket."""
_NAMES = 24.0
"""Least distance of a hand that presses from the page's side, u."""
_NAMED = 3
"""So many muscles have names at most."""
_SAME = 0.005
"""Shares of the largest joint force below this are no change."""
_PART = 0.46
"""Share of its width that a result has beside footprints."""
_CLEAR = 12.0
"""Between the floor and a result beside it, u."""
_LEAST = 168.0
"""Least width of the result, u."""


class TallSheet(Canvas):
    """A plan laid out in a shape too narrow for columns: ``drawing(i)`` gives frame i."""

    def __init__(
        self, plan: Plan, size: tuple[int, int], view: str, theme: Theme, layers: Iterable[str] = LAYERS,
        framing: Framing | None = None, frame: str = HIP, insets: Iterable[str] = (),
    ) -> None:  # fmt: skip
        frames = np.unique(np.linspace(0, len(plan) - 1, _SAMPLES).astype(int)).tolist()
        framing, u = framing or Framing(), unit_of(size)
        whole = frame == WHOLE and view != "joint"
        self.words, head = tall_band(plan, size, theme), title_height(plan, size, theme, view == "side")
        low = size[1] - self.words
        prints = whole and plan.gait is not None and FOOTPRINTS in insets
        top = low - (_RESULT + _ONE_MORE * prints) * u
        self.result = Box(40 * u, top, size[0] - 40 * u, low)
        self.area = Box(0.0, head, size[0], top)
        centre = centre_of([plan], frame) if framing.centre is None else framing.centre
        camera = _camera(plan, view, self.area, u, centre, frame)
        if whole:
            area = Box(0.0, head, size[0], low - 24 * u)
            larger = _camera(plan, view, area, u, centre, frame)
            free = _beside_legs(plan, larger, low, size[0], u, max(_LEAST * u, _least_width(plan, theme, u)))
            if free is not None:
                self.result, self.area, camera = free, area, larger
        if framing.scale is not None and view != "joint":
            camera = dataclasses.replace(camera, scale=framing.scale)
        fades = (0.0, 1.0, False) if whole else (head - 10 * u, head + 84 * u, True)
        beside = self.area.bottom > self.result.top
        self.prints = self._prints_box(plan, camera, low, u) if prints else None
        over, box = (90 if beside else _OVER_FLOOR + 30) * u, self.result
        right = box.right if beside else box.left + _BARS * u
        taken = (Box(box.left, box.top - over, right, low),) if beside or prints else ()
        taken = taken if self.prints is None else (*taken, self.prints)
        space = Space(
            u,
            head,
            self.area.bottom,
            fades,
            camera=camera,
            frame=WHOLE if whole else HIP if frame == WHOLE else frame,
            least=SMALL * min(size) / 24.0,
            taken=taken,
            names=_NAMED,
        )
        self.panel = PanelSheet(plan, frames, size, view, theme, layers, framing, space)
        p = self.panel
        super().__init__(plan, size, view, theme, layers, p.measures, p.camera, p.per_weight, p.thickness)

    def _prints_box(self, plan: Plan, camera: Camera, low: float, u: float) -> Box | None:
        """Where the footprints lie: beside a result that is wide, which gives way, else on the legs' other side."""
        result = self.result
        if self.area.bottom <= result.top:
            middle = result.left + _PART * (result.right - result.left)
            self.result = Box(result.left, result.top, middle, result.bottom)
            return Box(middle + 24 * u, result.top, result.right, result.bottom - 8 * u)
        left, right = _beside(plan, camera, self.area.right, u)
        x = right if result.left < self.area.right / 2 else left
        return Box(x[0], low - _RESULT * u, x[1], low - 8 * u) if x[1] - x[0] >= _LEAST * u else None

    def scale_about(self, centre: Array) -> float:
        """Pixels per metre with another world point in the middle."""
        return _camera(self.plan, self.view, self.area, self.u, centre, self.measures.frame).scale

    def place(self) -> None:
        """Find the tags' places now."""
        self.panel.place()

    def showing(self, layers: Iterable[str], only: int | None = None) -> Self:
        """The same sheet with other layers: everything stays in its place."""
        other = super().showing(layers, only)
        other.panel = self.panel.showing(layers)
        return other

    def saying(self, count: int) -> Self:
        """The same sheet with the words of its first groups."""
        other = super().saying(count)
        other.panel = self.panel.saying(count)
        if other.hushed:  # the joint's number rolls in the result alone
            other.panel.hushed = other.hushed | {"joint"}
        return other

    def through(self, camera: Camera) -> Self:
        """The same sheet seen through another camera."""
        other = super().through(camera)
        other.panel = self.panel.through(camera)
        return other

    def drawing(self, i: int, bare: bool = False) -> Drawing:
        """The marks of frame i; ``bare``: without arrows and names."""
        figure = self.panel.drawing(i, bare)
        u, plan, theme = self.u, self.plan, self.theme
        marks: list[Mark] = [
            *title_marks(self, i, bare),
            *(floor_marks(self, i, False, self._floor_room()) if self.whole else []),
            *(passed_line(self) if self.whole and not bare else []),
            *([] if bare else ground_marks(self, i, figure.over)),
            *(footprint_marks(self, self.prints, i, plan.gait, bare) if self.prints and plan.gait else []),
            *figure.over,
        ]
        whole = None if plan.gait is not None else plan.course
        course = plan.joint_force if whole is None else whole[1] * plan.body_weight
        named, changes = bool(self.panel.names()), not np.allclose(course, course[0], rtol=_SAME)
        if {"joint", "numbers"} <= self.layers:
            most, start = float(course.max()), force(float(course[0]), plan.body_weight)
            said, peak = self.say(plan.arrow("joint").values[i][0]), plan.pressure.peak_words[i]
            peak = (
                ""
                if theme.voice.register == "plain" or plan.replaced or "rest" in self.hushed or (named and changes)
                else peak
            )
            marks += result_marks(
                self.result,
                said,
                float(plan.joint_force[i]) / most,
                float(course[0]) / most if changes else None,
                "",
                peak,
                theme,
                u,
                first=self.say(message("result.first", force=start)) if changes and "rest" not in self.hushed else "",
            )
        if self.frontal and not bare:
            marks += self._scales()
        if named and not bare:
            room = (self.result.right - self.result.left) * (1.0 if changes else 0.54)
            marks += effort_line(self, self.result, self.result.top + 162 * u, room, changes)
        marks += band_marks(self, i, Box(0, self.height - self.words, self.width, self.height))
        under = passed_floor(self) if self.whole and not bare else []
        return Drawing(self.size, under, marks, figure.label_boxes, figure.arrows)

    def _floor_room(self) -> tuple[float, float]:
        """From where to where the floor may reach: clear of a result that stands beside it."""
        box, gap = self.result, _CLEAR * self.u
        if self.area.bottom <= box.top:
            return (-np.inf, np.inf)
        return (box.right + gap, np.inf) if box.left < self.width / 2 else (-np.inf, box.left - gap)

    def _scales(self) -> list[Mark]:
        """Bars of length and force: beside the number that the result says, or over it where the result is narrow."""
        u, theme, box = self.u, self.theme, self.result
        words = theme.voice.one_weight(self.plan.body_weight, spelt=False)
        long = bars_width(self, words)
        if box.right - box.left < 0.6 * self.width:
            over = 64 if self.area.bottom > box.top else _OVER_FLOOR  # the floor's line lies between
            return scale_bars((box.left, box.top - over * u), self, words)
        return scale_bars((self.width - max(250 * u, long + 26 * u), box.top + 28 * u), self, words)


def _camera(plan: Plan, view: str, area: Box, u: float, centre: Array, frame: str) -> Camera:
    """The camera of a figure in an area of the page."""
    toward, x = view_direction(view, plan.sign), (area.left + area.right) / 2
    if frame == WHOLE and view != "joint":
        low = area.bottom - (SIGNS * u if plan.gait is not None and plan.gait.passes else 0.0)
        camera = Camera(toward, centre, (x, (area.top + low) / 2), 1.0)
        inner = Box(area.left + 24 * u, area.top + 6 * u, area.right - 24 * u, low - 10 * u)
        return dataclasses.replace(camera, scale=whole_scale(plan, camera, inner))
    if view == "joint":
        return Camera(toward, plan.hip.mean(axis=0), (x, 0.4 * area.top + 0.6 * area.bottom - 60 * u), _CLOSE * u)
    camera = Camera(toward, centre, (x, 0.56 * area.top + 0.44 * area.bottom), 1.0)
    return dataclasses.replace(camera, scale=near_scale(plan, camera, 0.5 * area.right - _NAMES * u, u, frame))


def _least_width(plan: Plan, theme: Theme, u: float) -> float:
    """Width that the result's words need, pixels."""
    t, face, say = u * theme.text, theme.face, theme.voice.say
    forces = dict.fromkeys(say(v[0]) for v in plan.arrow("joint").values)
    peaks = dict.fromkeys(say(p) for p in plan.pressure.peak_words)
    widths = [text_width(f, 36 * t, "Bold", face) for f in forces]
    peaks = {} if theme.voice.register == "plain" else peaks
    widths += [0.6 * text_width(say(message("result.peak", pressure=p)), 20 * t, face=face) for p in peaks]
    return max(*widths, text_width(say(message("result.joint")), 24 * t, "Medium", face))


def _beside(plan: Plan, camera: Camera, width: float, u: float) -> list[tuple[float, float]]:
    """What is free left and right of the whole figure, from where to where across the page."""
    across = (reach_of(plan) - camera.centre) @ camera.right * camera.scale + camera.at[0]
    return [(34 * u, float(across.min()) - 16 * u), (float(across.max()) + 16 * u, width - 34 * u)]


def _beside_legs(plan: Plan, camera: Camera, low: float, width: float, u: float, least: float) -> Box | None:
    """A free place beside the whole figure that holds the result, on the roomier side; None where there is none."""
    left, right = max(_beside(plan, camera, width, u), key=lambda s: s[1] - s[0])
    return Box(left, low - (_RESULT + _ONE_MORE) * u, right, low) if right - left >= least else None
