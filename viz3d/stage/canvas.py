"""The canvas: one plan on one page, before anything is said about it.

Question answered: how large is a unit, where does the figure end, through which camera and at which force scale is it
seen, which of its layers are shown?

Every kind of sheet is a canvas with its own way to say things: columns of labels (:mod:`viz3d.stage.layout`), short
names beside the arrows (:mod:`viz3d.stage.panels`), upright pages (:mod:`viz3d.stage.tall`). Pixels; ``u`` is a layout
unit.
"""

from __future__ import annotations

import dataclasses
from abc import ABC, abstractmethod
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Self

import numpy as np

from viz3d.arrays import Array
from viz3d.stage.camera import Camera
from viz3d.stage.card_boxes import CardBoxes
from viz3d.stage.crop import HIP, WHOLE
from viz3d.stage.drawing import Box, Drawing
from viz3d.stage.figure import FigureOnPage
from viz3d.stage.plan import Dimension, Item, Plan
from viz3d.stage.theme import Theme
from viz3d.words.message import Said

DRAWN_OUT = (0.0, -0.058, 0.030)
"""How far the thigh is moved out of its socket in the joint view: forward, up, outward, m."""


WORDS = (("hand", "load", "ground"), ("weight",), ("muscle",), ("rest",))
"""Roles whose words come and go together in films: the cause first; at last what is said beside the figure."""


@dataclass(frozen=True)
class Framing:
    """What several sheets of one film share; None for what each would choose.

    ``centre`` (3,): world point in the middle of the figure. ``per_newton``: pixels per newton. ``scale``: pixels per
    metre.
    """

    centre: Array | None = None
    per_newton: float | None = None
    scale: float | None = None


@dataclass(frozen=True)
class Measures:
    """What a sheet is laid out by: unit ``u``, height ``bottom`` of the figure's end, the cards' boxes, pixels.

    ``fades``: between which heights the figure fades in, and whether it fades out above the band. ``frame``: how much
    of the person is shown.
    """

    u: float
    bottom: float
    cards: CardBoxes
    fades: tuple[float, float, bool]
    frame: str = HIP


class Canvas(ABC):
    """A plan at one size, view and force scale; ``drawing(i)`` gives frame i.

    Parameters
    ----------
    plan : what to show. size : (width, height) pixels. view : its name. theme : colours, font, words.
    layers : what is shown of it; places do not depend on them. camera : of the main view. per_newton : pixels per
    newton. thickness : of lines and shafts against the usual.
    """

    def __init__(
        self, plan: Plan, size: tuple[int, int], view: str, theme: Theme, layers: Iterable[str], measures: Measures,
        camera: Camera, per_newton: float, thickness: float = 1.0,
    ) -> None:  # fmt: skip
        self.plan, self.size, self.view, self.theme = plan, size, view, theme
        self.cameras: dict[int, Camera] = {}
        """Frame -> camera of the main view where it moves; elsewhere ``camera``."""
        self.hushed: frozenset[str] = frozenset()
        """Roles whose words are left out, for the time that something changes; never the joint's."""
        self.only: int | None = None
        """The one frame that is drawn, for what need not hold still for others; None for all."""
        self.width, self.height = size
        self.measures, self.thickness = measures, thickness
        self.u, self.t = measures.u, measures.u * theme.text
        self.fades, self.cards, self.camera = measures.fades, measures.cards, camera
        self.layers = frozenset(layers)
        self.band = Box(0, measures.bottom, self.width, self.height)
        self.figure = FigureOnPage(
            plan, camera, per_newton, theme, self.u, self.layers, thickness, follows=view == "joint",
            window=(178 * self.u, self.band.top - 10 * self.u),
        )  # fmt: skip

    @property
    def colours(self) -> dict[str, str]:
        """Colours by name."""
        return self.theme.colours

    @property
    def per_weight(self) -> float:
        """Pixels per newton, one for the whole film."""
        return self.figure.per_newton

    @property
    def foot(self) -> float:
        """Where the figure and the words below it end, pixels."""
        return self.band.top

    @property
    def whole(self) -> bool:
        """True where the main view shows the person from head to floor."""
        return self.measures.frame == WHOLE and self.view != "joint"

    @property
    def frontal(self) -> bool:
        """True where lengths across are true to scale."""
        return self.figure.frontal

    @property
    def stance_side(self) -> str:
        """ "left" or "right"."""
        return "right" if self.plan.sign > 0 else "left"

    def along(self, i: int) -> Array:
        """How far on the page (2,) a walker who passes has come in frame i; names beside the figure go along."""
        gait = self.plan.gait
        if gait is None or not gait.passes or self.figure.follows:
            return np.zeros(2)
        return np.asarray(self.camera.direction(np.array([1.0, 0.0, 0.0])) * gait.gone[i] * self.camera.scale)

    def say(self, told: Said) -> str:
        """A message as this picture says it."""
        return self.theme.voice.say(told)

    @cached_property
    def subtitles(self) -> frozenset[str]:
        """Everything that stands under the title in some frame."""
        return frozenset(self.say(words) for words in self.plan.subtitles)

    @abstractmethod
    def scale_about(self, centre: Array) -> float:
        """Pixels per metre that this sheet would choose with another world point in its middle."""

    @abstractmethod
    def place(self) -> None:
        """Find the places of words now."""

    @abstractmethod
    def drawing(self, i: int, bare: bool = False) -> Drawing:
        """The marks of frame i; ``bare``: without arrows and their words, for the time that the camera moves."""

    def lines(self, item: Item, i: int) -> list[str]:
        """A label's value lines in frame i."""
        return self.theme.voice.lines(item.values[i])

    def inset_views(self) -> dict[str, tuple[Box, Camera]]:
        """Card -> the part of the page its meshes fill, and their camera."""
        return {}

    def showing(self, layers: Iterable[str], only: int | None = None) -> Self:
        """The same sheet with other layers: everything stays in its place. ``only``: the one frame drawn of it."""
        other = self._alike()
        other.layers = frozenset(layers)
        other.only = self.only if only is None else only
        other.figure = dataclasses.replace(self.figure, layers=other.layers)
        return other

    def moving(self, cameras: dict[int, Camera]) -> Self:
        """The same sheet with the main view's camera moved in some frames."""
        other = self.showing(self.layers)
        other.cameras = cameras
        return other

    def groups(self) -> list[tuple[str, ...]]:
        """What of :data:`WORDS` this sheet says anything of."""
        there = {"rest", *(a.role for a in self.figure.arrows()), *(x.role for x in self.figure.dimensions())}
        return [some for some in WORDS if there & set(some)] if "numbers" in self.layers else []

    def saying(self, count: int) -> Self:
        """The same sheet with the words of its first ``count`` groups, and the joint's number alone of what is left."""
        other = self._alike()
        other.hushed = frozenset(role for some in self.groups()[count:] for role in some)
        return other

    def through(self, camera: Camera) -> Self:
        """The same sheet seen through another camera: forces keep their scale, words their places."""
        other = self._alike()
        other.camera, other.figure = camera, dataclasses.replace(self.figure, camera=camera)
        return other

    def _alike(self) -> Self:
        self.place()
        other = object.__new__(type(self))
        other.__dict__.update(self.__dict__)
        return other

    def frame(self, link: str, i: int) -> Array:
        """World transform (4, 4) of a link in frame i; the joint view draws the stance leg out of its socket."""
        frame = self.plan.frames[link][i]
        if self.view == "joint" and link.removeprefix(self.stance_side) in ("_thigh", "_shank", "_foot", "_toes"):
            frame = frame.copy()
            frame[:3, 3] += np.array(DRAWN_OUT) * (1.0, 1.0, self.plan.sign)
        return np.asarray(frame)

    def arrow_ends(self, key: str, i: int) -> tuple[Array, Array]:
        """Tail and tip of an arrow in pixels."""
        return self.figure.arrow_ends(self.plan.arrow(key), i)

    def dimension_ends(self, dimension: Dimension, i: int) -> tuple[Array, Array]:
        """Ends of a dimension line in pixels."""
        return self.figure.dimension_ends(dimension, i)
