"""One plan seen by one camera at one force scale: its arrows, levers and arcs in pixels.

Question answered: where on the page do this figure's forces and lever arms lie, and which marks draw them?

The same figure serves the main picture, the free-body inset and every panel. Frontal marks (levers, arcs) exist in
front and back views only. Pixels; ``u`` is 1/1080 of the page's height.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.scene.picture import LAYERS
from viz3d.stage import drawing as d
from viz3d.stage.arcs import TurningBand, bands_of
from viz3d.stage.camera import Camera
from viz3d.stage.drawing import Mark, Shape2D, Stroke, closed
from viz3d.stage.plan import Arrow, Dimension, Plan, Spot
from viz3d.stage.theme import Theme

SHAFT = {"joint": 21.0, "muscle": 12.5, "weight": 14.0, "hand": 11.0, "load": 12.0, "ground": 11.0}
"""Arrow shaft widths in u."""
_CHORDS = 4
_ANGLE = 32.0
"""Size of type that the lines of a bone's angle suit, u."""
_NARROW, _CLEAR = 0.8, 0.45
"""Width and opacity of the joint's arrow over a replaced hip, against the usual."""
_BELOW_NAMES = 0.45
"""Where muscles have names, the band that holds lies so much lower, rad: their leaders come in above it."""
RING = 8.0
"""Radius of the hip's ring, u."""
ASIDE = 44.0
"""Seen edge-on the muscle's arrow is drawn this far (u) beside the joint's."""
LAYER_OF = {
    "weight": "weight",
    "load": "weight",
    "muscle": "muscle",
    "joint": "joint",
    "hand": "cane",
    "ground": "cane",
}
"""The layer that brings a role's arrow."""
FULL = 0.95
"""Least foreshortening at which lengths across may be read off."""
_EDGE_ON = 0.5


def rests(plan: Plan, key: str, i: int) -> bool:
    """True where an arrow, or a lever arm's force, is none in frame ``i``, or a lever while a walk loads little."""
    if plan.unloaded(i) and any(x.key == key for x in plan.dimensions):
        return True
    owner = key.replace("_lever", "")
    return any(a.key == owner and a.is_idle(i) for a in plan.arrows)


@dataclass(frozen=True)
class FigureOnPage:
    """``per_newton``: pixels per newton. ``size``: thickness of lines and shafts against the usual.

    ``follows``: the camera goes with the hip. ``window``: heights (pixels) between which the figure is seen; an upright
    force that acts outside slides along its line of action until it is.
    """

    plan: Plan
    camera: Camera
    per_newton: float
    theme: Theme
    u: float
    layers: frozenset[str] = frozenset(LAYERS)
    size: float = 1.0
    follows: bool = False
    window: tuple[float, float] | None = None
    words: tuple[float, float] | None = None
    """Where the columns of words left and right of it end and begin, pixels."""

    @property
    def edge_on(self) -> bool:
        """True where the frontal plane is seen from its side, so that muscle and joint force lie on one line."""
        return self.camera.foreshortening < _EDGE_ON

    @property
    def frontal(self) -> bool:
        """True where lengths across are true to scale."""
        return self.camera.foreshortening >= FULL

    # ---- what is shown --------------------------------------------------------------------------------

    def arrows(self) -> list[Arrow]:
        """Arrows drawn in this view; seen from the side, hand forces would lie on the joint's."""
        return [
            a for a in self.plan.arrows
            if LAYER_OF[a.role] in self.layers and not (self.edge_on and a.role in ("hand", "load"))
        ]  # fmt: skip

    def dimensions(self) -> list[Dimension]:
        """Lever arms drawn in this view: with their force's layer, and the levers' own."""
        if not self.frontal or "lever" not in self.layers:
            return []
        return [x for x in self.plan.dimensions if LAYER_OF[x.role] in self.layers]

    def is_idle(self, key: str, i: int) -> bool:
        """True where there is no force to show; a force that is not there has no lever to show either."""
        return rests(self.plan, key, i)

    def stands_aside(self, arrow: Arrow, i: int) -> bool:
        """True where an arrow is drawn beside its place, so that it is seen past the bones that lie in line with it."""
        return self.edge_on and arrow.role == "muscle" and not arrow.is_idle(i)

    # ---- geometry -------------------------------------------------------------------------------------

    def project(self, points: Array, i: int) -> Array:
        """World points (..., 3) of frame ``i`` to pixels (..., 2)."""
        return self.camera.project(points - self.plan.hip[i] + self.camera.centre if self.follows else points)

    def arrow_ends(self, arrow: Arrow, i: int) -> tuple[Array, Array]:
        """Tail and tip of an arrow in pixels."""
        at = self.project(arrow.point[i], i)
        span = self.camera.direction(arrow.force[i]) * self.per_newton
        tail, tip = (at, at + span) if arrow.holds == "tail" else (at - span, at)
        shift = self._slide(tail, tip)
        if self.stands_aside(arrow, i):
            shift = shift + np.array([ASIDE * self.u, 0.0])
        return tail + shift, tip + shift

    def _slide(self, tail: Array, tip: Array) -> Array:
        """How far an upright force outside the window moves along its line of action to be seen."""
        if self.window is None or abs(tip[0] - tail[0]) > 0.02 * abs(tip[1] - tail[1]):
            return np.zeros(2)
        high, low = min(tail[1], tip[1]), max(tail[1], tip[1])
        if high > self.window[1]:
            return np.array([0.0, self.window[1] - low])
        if low < self.window[0]:
            return np.array([0.0, self.window[0] - high])
        return np.zeros(2)

    def dimension_ends(self, dimension: Dimension, i: int) -> tuple[Array, Array]:
        """Ends of a dimension line in pixels."""
        start, end = (self.project(p[i], i) for p in (dimension.start, dimension.end))
        if np.isfinite(dimension.drop):
            level = float(self.camera.project(self.plan.hip)[:, 1].mean()) + dimension.drop * self.camera.scale
            level = level if self.window is None else min(level, self.window[1] - 24 * self.u)
            start, end = np.array([start[0], level]), np.array([end[0], level])
        return start, end

    # ---- marks ----------------------------------------------------------------------------------------

    def lines_of_action(self, i: int) -> list[Mark]:
        """Dashed lines from a force and from the hip down to their dimension line; a bone's angle that changes."""
        marks: list[Mark] = [*self._angle(i)]
        u, colours = self.u * self.size, self.theme.colours
        dash = (7 * u, 6 * u)
        for dimension in self.dimensions():
            if self.is_idle(dimension.key, i) or not np.isfinite(dimension.drop):
                continue
            start, end = self.dimension_ends(dimension, i)
            top, hip = (self.project(p[i], i) for p in (dimension.start, dimension.end))
            beyond = 12 * u * np.array([0.0, 1.0])
            if self.window is not None:
                top = np.array([top[0], float(np.clip(top[1], *self.window))])
            marks += [
                Stroke(np.stack([top, start + beyond]), colours[dimension.role], 2.4 * u, dash, 2 * u),
                Stroke(np.stack([hip, end + beyond]), colours["ink"], 2.0 * u, dash, 2 * u),
            ]
        return marks

    def angle(self) -> Spot | None:
        """What a bone's angle is called that this view draws."""
        there = self.plan.neck is not None and self.frontal and "bones" in self.layers and not self.follows
        return self.plan.neck.spot if self.plan.neck and there else None

    def _angle(self, i: int) -> list[Mark]:
        """A bone's angle: the lines it lies between, and its arc."""
        if self.plan.neck is None or self.angle() is None:
            return []
        u, ink = self.u * self.size, self.theme.colours["ink"]
        levels = self.project(self.plan.neck.levels[i], i)
        dashes = ((7 * u, 5 * u), None, None)
        marks: list[Mark] = [
            Stroke(line, ink, 2.2 * u, dash, 1.6 * u) for line, dash in zip(levels, dashes, strict=True)
        ]
        return marks + self.plan.neck.lines[i].marks(self.camera, _ANGLE * u, self.theme.colours)

    def forces(self, i: int) -> list[Mark]:
        """Arcs, the hip's ring, the centre of mass, arrows and dimension lines, in drawing order.

        Ring and centre of mass lie beneath the arrows, so that each arrow is seen to its tip and tail. A dimension
        line lies beneath them too, and over them only away from the hip.
        """
        marks = self.arcs(i)
        levers = [x for x in self.dimensions() if not self.is_idle(x.key, i)]
        for dimension in levers:
            marks += self._dimension(dimension, i)
        marks += self._hip_ring(i)
        if "weight" in self.layers:
            weight = next(a for a in self.plan.arrows if a.key == "weight")
            at = self.project(weight.point[i], i)
            marks += quartered_disc(at, 18 * self.u * self.size, self.theme.colours)
        for arrow in self.arrows():
            tail, tip = self.arrow_ends(arrow, i)
            if self.stands_aside(arrow, i):
                there = np.stack([tail - np.array([ASIDE * self.u, 0.0]), tail])
                marks.append(
                    Stroke(there, self.theme.colours["ink"], 1.8 * self.u, (5 * self.u, 4 * self.u), 2 * self.u)
                )
            marks += self._arrow(arrow.role, tail, tip)
        for dimension in levers:
            over = self._tick_over_arrows if np.isfinite(dimension.drop) else self._over_arrows
            marks += over(dimension, i)
        return marks

    def ends(self, i: int) -> dict[str, tuple[Array, Array]]:
        """Tail and tip by arrow key."""
        return {a.key: self.arrow_ends(a, i) for a in self.arrows()}

    def _arrow(self, role: str, tail: Array, tip: Array) -> list[Mark]:
        u, colour = self.u * self.size, self.theme.colours[role]
        length = float(np.hypot(*(tip - tail)))
        if length < 2.0 * self.u:
            return []
        clear = role == "joint" and self.plan.replaced and "bones" in self.layers  # the stem shows through
        outline = d.arrow(tail, tip, SHAFT[role] * u * (_NARROW if clear else 1.0))
        inside, pattern = self.theme.colours["card"], self.theme.pattern(role)
        if clear:
            marks: list[Mark] = [
                Shape2D(outline, colour, role=role, opacity=_CLEAR),
                Stroke(closed(outline), colour, 2.8 * u, halo=1.2 * u),
            ]
        else:
            marks = d.filled(outline, tip - tail, colour, inside, pattern, 3.5 * u, role)
        if length < 14.0 * self.u:
            ring = closed(d.disc((tail + tip) / 2, 17 * self.u))
            marks.append(Stroke(ring, colour, 2.2 * self.u, halo=2 * self.u))
        return marks

    def _hip_ring(self, i: int) -> list[Mark]:
        if self.plan.unloaded(i):
            return []
        u = self.u * self.size
        outline = d.disc(self.project(self.plan.hip[i], i), RING * u)
        inside = Shape2D(outline, self.theme.colours["card"], 2 * u)
        return [inside, Stroke(closed(outline), self.theme.colours["ink"], 3 * u)]

    def _over_arrows(self, dimension: Dimension, i: int) -> list[Mark]:
        """A lever arm's part that crosses its force, drawn over it: from the hip's ring to its foot, and its tick."""
        start, end = self.dimension_ends(dimension, i)
        hip = self.project(self.plan.hip[i], i)
        foot = end if np.hypot(*(start - hip)) < np.hypot(*(end - hip)) else start
        u, span = self.u * self.size, foot - hip
        length = float(np.hypot(*span))
        ends = [e for a in self.arrows() for e in self.arrow_ends(a, i)]
        if length < (RING + 6) * u or any(np.hypot(*(e - foot)) < 16 * u for e in ends):
            return []
        along, ink = span / length, self.theme.colours["ink"]
        aside = np.array([-along[1], along[0]]) * 9 * u
        return [
            Stroke(np.stack([hip + along * (RING + 2) * u, foot]), ink, 3 * u, halo=2.5 * u),
            Stroke(np.stack([foot - aside, foot + aside]), ink, 3 * u, halo=2.5 * u),
        ]

    def _tick_over_arrows(self, dimension: Dimension, i: int) -> list[Mark]:
        """The inner end of a level lever arm where an arrow's shaft lies over it, drawn again upon that."""
        start, end = self.dimension_ends(dimension, i)
        u, long = self.u * self.size, float(np.hypot(*(start - end)))
        for arrow in self.arrows():
            tail, tip = self.arrow_ends(arrow, i)
            span = tip - tail
            size = float(np.hypot(*span))
            if size < 1.0 or long < 30 * u:
                continue
            along, aside = (end - tail) @ span / size, abs(span[0] * (end - tail)[1] - span[1] * (end - tail)[0]) / size
            if aside < 0.6 * SHAFT[arrow.role] * u and 30 * u < along < size - 70 * u:
                ink, tick = self.theme.colours["ink"], np.array([0.0, 9.0]) * u
                inner = end + (start - end) / long * 0.9 * SHAFT[arrow.role] * u
                return [
                    Stroke(np.stack([inner, end]), ink, 3 * u, halo=2.5 * u),
                    Stroke(np.stack([end - tick, end + tick]), ink, 3 * u, halo=2.5 * u),
                ]
        return []

    def _dimension(self, dimension: Dimension, i: int) -> list[Mark]:
        start, end = self.dimension_ends(dimension, i)
        span = end - start
        u, length = self.u * self.size, float(np.hypot(*span))
        if length < 3 * u:
            return []
        aside = np.array([-span[1], span[0]]) / length * 9 * u
        ink, halo = self.theme.colours["ink"], 2.5 * u
        return [
            Stroke(np.stack([start, end]), ink, 3 * u, halo=halo, role=dimension.key),
            Stroke(np.stack([start - aside, start + aside]), ink, 3 * u, halo=halo),
            Stroke(np.stack([end - aside, end + aside]), ink, 3 * u, halo=halo),
        ]

    def bands(self, i: int) -> list[TurningBand]:
        """Moments about the hip that this view draws, as turning bands long enough for a head."""
        if not self.frontal or "lever" not in self.layers or self.plan.unloaded(i):
            return []
        shown = [t for t in reversed(self.plan.turns) if LAYER_OF[t.role] in self.layers]
        hip = self.project(self.plan.hip[i], i)
        lever = next(x for x in self.plan.dimensions if x.key == "muscle_lever")
        foot = hip if self.is_idle("muscle", i) else self.project(lever.end[i], i)
        outward = float(np.sign(self.camera.right[2] * self.plan.sign))
        told = [(t.key, t.role, float(np.nan_to_num(t.moment[i]))) for t in shown]
        lower = _BELOW_NAMES if self.plan.named else 0.0
        room = np.inf if self.words is None else outward * (self.words[int(outward > 0)] - float(hip[0]))
        found = bands_of(told, hip, foot, outward, self.u * self.size, self.camera.scale, lower, room)
        return [band for band in found if band.drawn]

    def arc_chords(self, i: int) -> dict[str, Array]:
        """Both bands of moments as chords (4, 2, 2), pixels, all in one point where one is not drawn."""
        hip = self.project(self.plan.hip[i], i)
        out = {way: np.broadcast_to(hip, (_CHORDS, 2, 2)) for way in ("drops", "holds")}
        for band in self.bands(i):
            at = band.at(np.linspace(0.0, abs(band.sweep) * band.radius, _CHORDS + 1), 0.0)
            out["drops" if band.drops else "holds"] = np.stack([at[:-1], at[1:]], axis=1)
        return out

    def arcs(self, i: int) -> list[Mark]:
        """Moments as turning bands about the hip."""
        return [mark for band in self.bands(i) for mark in band.marks(self.theme, self.u * self.size)]


def quartered_disc(at: Array, radius: float, colours: dict[str, str]) -> list[Mark]:
    """The sign for a centre of mass: a disc in quarters."""
    marks: list[Mark] = [Shape2D(d.disc(at, radius), colours["card"], radius * 0.25)]
    for start in (0.0, np.pi):
        turn = np.linspace(start, start + np.pi / 2, 13)
        arc = at + radius * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
        marks.append(Shape2D(np.concatenate([at[None], arc]), colours["weight"]))
    marks.append(Stroke(closed(d.disc(at, radius)), colours["weight"], radius * 0.22))
    return marks
