"""Square and upright pictures: the figure, its joint force as a number and a bar, the words below.

Question answered: how does the picture look on a telephone or in a square slot?

A narrow sheet for all frames of a film: places of names hold still. For shapes that leave no room for
columns of labels.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Self

import numpy as np

from viz3d.scene.picture import LAYERS
from viz3d.stage.canvas import Canvas, Framing
from viz3d.stage.drawing import Box, Drawing, Mark, unit_of
from viz3d.stage.frame import band_height, band_marks, scale_bars, title_marks
from viz3d.stage.panels import PanelSheet
from viz3d.stage.plan import Plan
from viz3d.stage.result import result_marks
from viz3d.stage.theme import Theme
from viz3d.stage.type import text_width

_SAMPLES = 25
_RESULT = 190.0
"""Height of the result, u."""


class TallSheet(Canvas):
    """A plan laid out in a shape too narrow for columns: ``drawing(i)`` gives frame i."""

    def __init__(
        self, plan: Plan, size: tuple[int, int], view: str, theme: Theme, layers: Iterable[str] = LAYERS,
        framing: Framing | None = None,
    ) -> None:  # fmt: skip
        frames = np.unique(np.linspace(0, len(plan) - 1, _SAMPLES).astype(int)).tolist()
        u = unit_of(size)
        self.words = band_height(plan, size, theme)
        foot = 1.0 - (self.words + _RESULT * u) / size[1]
        scale = min(1000.0, size[0] / u / 0.74) * u
        self.panel = PanelSheet(plan, frames, size, view, theme, layers, scale, framing, foot, u)
        p = self.panel
        super().__init__(plan, size, view, theme, layers, p.measures, p.camera, p.per_weight, p.thickness)

    def place(self) -> None:
        """Find the tags' places now."""
        self.panel.place()

    def showing(self, layers: Iterable[str], only: int | None = None) -> Self:
        """The same sheet with other layers: everything stays in its place."""
        other = super().showing(layers, only)
        other.panel = self.panel.showing(layers)
        return other

    def drawing(self, i: int, bare: bool = False) -> Drawing:
        """The marks of frame i; ``bare``: without arrows and names."""
        figure = self.panel.drawing(i, bare)
        u, plan, theme = self.u, self.plan, self.theme
        area = Box(40 * u, self.band.top - 8 * u, self.width - 40 * u, self.height)
        marks: list[Mark] = [*title_marks(self, i), *figure.over]
        if {"joint", "numbers"} <= self.layers:
            force = plan.joint_force / plan.joint_force.max()
            said, peak = self.say(plan.arrow("joint").values[i][0]), plan.pressure.peak_words[i]
            marks += result_marks(area, said, float(force[i]), float(force[0]), "", peak, theme, u)
        if self.frontal and not bare:
            words = theme.voice.one_weight(plan.body_weight, spelt=False)
            long = self.per_weight * plan.body_weight + text_width(words, 24 * self.t, face=theme.face) + 14 * u
            left = self.width - max(250 * u, long + 24 * u)
            marks += scale_bars((left, self.band.top + 28 * u), self, words)
        marks += band_marks(self, i, Box(0, self.height - self.words, self.width, self.height))
        return Drawing(self.size, [], marks, figure.label_boxes, figure.arrows)
