"""Layout: a plan becomes a drawing, and label places hold still through a whole film.

Question answered: where on the page do arrows, dimension lines, arcs and words go?

One camera, one force scale, one set of label places for all frames. Labels stand in two columns beside the
figure, solved so that none overlaps another; leaders run to what they name. Frontal marks (levers, arcs,
polygon) appear in front and back views only; in turned views the scale bar says so.
Pixels; u is 1/1080 of the picture's height. Pure data, no drawing. Called by the output room.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from viz3d.stage import drawing as d
from viz3d.stage.camera import Camera, view_direction
from viz3d.stage.cards import (
    Insets,
    card_boxes,
    card_marks,
    figure_overlay,
    polygon_marks,
    polygon_scale,
    socket_overlay,
)
from viz3d.stage.drawing import Array, Box, Drawing, Mark, Shape2D, Stroke, Words, closed
from viz3d.stage.frame import band_marks, scale_marks, side_marks, title_marks
from viz3d.stage.palette import palette
from viz3d.stage.plan import Arrow, Dimension, Plan
from viz3d.stage.type import text_width

BAND_TOP = 0.8
"""Top of the caption band as a fraction of the height."""
SHAFT = {"joint": 21.0, "muscle": 15.5, "weight": 14.0, "hand": 11.0, "load": 12.0, "ground": 11.0}
"""Arrow shaft widths in u."""
_SCALES = (168.0, 156.0, 144.0, 132.0, 120.0, 108.0, 96.0, 84.0, 72.0)
"""Pixels (u) per body weight, the largest that fits is used."""
ARC_RADIUS = 96.0
"""Radius of every moment's arc, u: equal moments look equal."""
ARC_PER_NEWTON_METRE = np.radians(1.5)
_FULL = 0.95
_EDGE_ON = 0.5


@dataclass
class _Block:
    """One label: lines of text, its column and where its target lies on average."""

    key: str
    role: str
    label: str
    width: float
    heights: list[float]
    wanted: float
    top: float = 0.0

    @property
    def height(self) -> float:
        return sum(self.heights)


class Sheet:
    """A plan laid out for one size and view: ``drawing(i)`` gives frame i.

    Parameters
    ----------
    plan : what to show. size : (width, height) pixels. view, backdrop : names.
    """

    def __init__(self, plan: Plan, size: tuple[int, int], view: str, backdrop: str) -> None:
        self.plan, self.size, self.view, self.backdrop = plan, size, view, backdrop
        self.width, self.height = size
        self.u = self.height / 1080.0
        self.colours = palette(backdrop)
        self.cards = card_boxes(size)
        self.band = Box(0, BAND_TOP * self.height, self.width, self.height)
        self.camera = self._camera()
        self.frontal = self.camera.foreshortening >= _FULL
        self.per_weight = self._force_scale()
        self.insets = Insets(plan, self.cards, self.u)
        self.columns = self._columns()
        self.blocks = self._place()
        self.polygon_camera = self.camera if self.frontal else _facing_front(self.camera)
        spans = {a.key: self.polygon_camera.direction(a.force) * self.per_weight for a in plan.arrows}
        self.polygon_scale = polygon_scale(self.cards, spans, self.u)

    # ---- geometry -------------------------------------------------------------------------------------

    def _camera(self) -> Camera:
        toward = view_direction(self.view, self.plan.sign)
        middle = self.plan.middle_hip.mean(axis=0)
        scale = 1110.0 * self.u
        right_edge = self.cards.left if self.cards.shown else self.width
        across = 0.515 * right_edge if self.cards.shown else 0.5 * self.width
        centre = np.array([0.0, float(self.plan.hip[:, 1].mean()), float(middle[2])])
        return Camera(toward, centre, (across, 432.0 * self.u), scale)

    def _force_scale(self) -> float:
        """Pixels per newton, one for the whole film."""
        joint = next(a for a in self.plan.arrows if a.key == "joint")
        longest = np.linalg.norm(joint.force, axis=1).max() / self.plan.body_weight
        tail = self.band.top - 26 * self.u - float(self.camera.project(self.plan.hip)[:, 1].max())
        steepest = 0.985
        for scale in _SCALES:
            if longest * scale * self.u * steepest <= tail:
                break
        return scale * self.u / self.plan.body_weight

    def arrow_ends(self, key: str, i: int) -> tuple[Array, Array]:
        """Tail and tip of an arrow in pixels."""
        arrow = next(a for a in self.plan.arrows if a.key == key)
        at = self.camera.project(arrow.point[i])
        span = self.camera.direction(arrow.force[i]) * self.per_weight
        return (at, at + span) if arrow.holds == "tail" else (at - span, at)

    # ---- label places ---------------------------------------------------------------------------------

    def _columns(self) -> dict[str, tuple[float, str]]:
        """Column x and text anchor for "stance" and "swing" labels."""
        middle = self.camera.at[0]
        left, right = middle - 396 * self.u, middle + 396 * self.u
        stance_is_right = (self.camera.right @ np.array([0.0, 0.0, self.plan.sign])) >= 0
        if stance_is_right:
            return {"stance": (right, "start"), "swing": (left, "end")}
        return {"stance": (left, "end"), "swing": (right, "start")}

    def _column(self, side: str) -> float:
        return self.columns[side][0]

    def _place(self) -> dict[str, _Block]:
        every = np.unique(np.linspace(0, len(self.plan) - 1, 25).astype(int))
        columns: dict[str, list[_Block]] = {"stance": [], "swing": []}
        for item in self._labelled():
            places = [self._target(item.key, int(i))[1] for i in every]
            texts = [item.values[int(i)] for i in every]
            most = max(texts, key=len)
            sizes = self._sizes(item.role, item.key, len(most))
            widths = [text_width(item.label, 24 * self.u, "Medium")]
            shown = {(t, *size) for lines in item.values for t, size in zip(lines, sizes, strict=False)}
            widths += [text_width(*words) for words in shown]
            heights = [32 * self.u] + [s * 1.22 for s, _ in sizes]
            columns[item.side].append(
                _Block(item.key, item.role, item.label, max(widths), heights, float(np.mean(places)))
            )
        for blocks in columns.values():
            self._stack(blocks)
        return {b.key: b for blocks in columns.values() for b in blocks}

    def _labelled(self) -> list[Arrow | Dimension]:
        dimensions = self.plan.dimensions if self.frontal else []
        return [*self._shown_arrows(), *dimensions]

    def _sizes(self, role: str, key: str, lines: int) -> list[tuple[float, str]]:
        first = 46.0 if key == "joint" else 34.0
        if key.endswith("lever") or "lever" in key:
            first = 30.0
        return [(first * self.u, "Bold")] + [(24.0 * self.u, "Regular")] * (lines - 1)

    def _stack(self, blocks: list[_Block]) -> None:
        """Spread the blocks of one column so that none overlaps, each near its target."""
        gap, low, high = 13 * self.u, 196 * self.u, self.band.top - 112 * self.u
        blocks.sort(key=lambda b: b.wanted)
        top = low
        for block in blocks:
            block.top = max(top, block.wanted - 0.5 * block.height)
            top = block.top + block.height + gap
        bottom = high
        for block in reversed(blocks):
            block.top = min(block.top, bottom - block.height)
            bottom = block.top - gap

    def _target(self, key: str, i: int) -> Array:
        """Where a label's leader points in frame i."""
        for arrow in self.plan.arrows:
            if arrow.key == key:
                tail, tip = self.arrow_ends(key, i)
                share = {"joint": 0.45, "muscle": 0.82, "weight": 0.35}.get(key, 0.5)
                return np.asarray(tail + share * (tip - tail))
        dimension = next(x for x in self.plan.dimensions if x.key == key)
        start, end = self.dimension_ends(dimension, i)
        if not np.isfinite(dimension.drop):
            away = (end - start) / max(float(np.hypot(*(end - start))), 1.0)
            return np.asarray(end + 11 * self.u * away)
        outer = (
            start if abs(start[0] - self._column(dimension.side)) < abs(end[0] - self._column(dimension.side)) else end
        )
        toward = np.sign(self._column(dimension.side) - outer[0])
        return np.asarray(outer + np.array([13 * self.u * toward, 0.0]))

    def dimension_ends(self, dimension: Dimension, i: int) -> tuple[Array, Array]:
        """Ends of a dimension line in pixels."""
        start, end = (self.camera.project(p[i]) for p in (dimension.start, dimension.end))
        if np.isfinite(dimension.drop):
            level = float(self.camera.project(self.plan.hip)[:, 1].mean()) + dimension.drop * self.camera.scale
            start, end = np.array([start[0], level]), np.array([end[0], level])
        return start, end

    # ---- drawing --------------------------------------------------------------------------------------

    def drawing(self, i: int) -> Drawing:
        """The marks of frame i."""
        marks: list[Mark] = []
        marks += title_marks(self, i)
        marks += side_marks(self)
        if self.frontal:
            for dimension in self._live_dimensions(i):
                marks += self._lines_of_action(dimension, i)
        labels, boxes = self._labels(i)
        marks += [m for m in labels if not isinstance(m, Words)]
        if self.frontal:
            marks += self._arcs(i)
        arrows = {}
        for arrow in self._shown_arrows():
            tail, tip = self.arrow_ends(arrow.key, i)
            arrows[arrow.key] = (tail, tip)
            marks += self._arrow(arrow.role, tail, tip)
        marks += self._weight_disc(i)
        if self.frontal:
            for dimension in self._live_dimensions(i):
                marks += self._dimension(dimension, i)
        marks += self._hip_ring(i)
        marks += [m for m in labels if isinstance(m, Words)]
        marks += scale_marks(self)
        marks += band_marks(self, i)
        under: list[Mark] = []
        if self.cards.shown:
            under = card_marks(self.cards, self.colours, self.u)
            ends = {a.key: self.polygon_camera.direction(a.force[i]) * self.per_weight for a in self.plan.arrows}
            roles = {a.key: a.role for a in self.plan.arrows}
            bw = {a.key: a.values[i][0] for a in self.plan.arrows}
            bar = self.per_weight * self.plan.body_weight * self.polygon_scale
            marks += polygon_marks(self.cards, ends, roles, bw, self.polygon_scale, bar, self.colours, self.u)
            marks += socket_overlay(self.cards, self.plan, i, self.colours, self.u)
            marks += figure_overlay(self.cards, self.insets, self.plan, i, self.view != "front", self.colours, self.u)
        return Drawing(self.size, under, marks, boxes, arrows)

    def _arrow(self, role: str, tail: Array, tip: Array) -> list[Mark]:
        length = float(np.hypot(*(tip - tail)))
        if length < 2.0 * self.u:
            return []
        outline = d.arrow(tail, tip, SHAFT[role] * self.u)
        marks: list[Mark] = [Shape2D(outline, self.colours[role], 3.5 * self.u, role)]
        if length < 14.0 * self.u:
            ring = closed(d.disc((tail + tip) / 2, 17 * self.u))
            marks.append(Stroke(ring, self.colours[role], 2.2 * self.u, halo=2 * self.u))
        return marks

    def _weight_disc(self, i: int) -> list[Mark]:
        weight = next(a for a in self.plan.arrows if a.key == "weight")
        at = self.camera.project(weight.point[i])
        return quartered_disc(at, 15 * self.u, self.colours)

    def _hip_ring(self, i: int) -> list[Mark]:
        at = self.camera.project(self.plan.hip[i])
        ring = closed(d.disc(at, 8.5 * self.u))
        inside = Shape2D(d.disc(at, 8.5 * self.u), self.colours["card"], 2 * self.u)
        return [inside, Stroke(ring, self.colours["ink"], 3 * self.u)]

    def _lines_of_action(self, dimension: Dimension, i: int) -> list[Mark]:
        if not np.isfinite(dimension.drop):
            return []
        start, end = self.dimension_ends(dimension, i)
        top = self.camera.project(dimension.start[i])
        hip = self.camera.project(dimension.end[i])
        dash = (7 * self.u, 6 * self.u)
        beyond = 12 * self.u * np.array([0.0, 1.0])
        return [
            Stroke(np.stack([top, start + beyond]), self.colours[dimension.role], 2.4 * self.u, dash, 2 * self.u),
            Stroke(np.stack([hip, end + beyond]), self.colours["ink"], 2.0 * self.u, dash, 2 * self.u),
        ]

    def _dimension(self, dimension: Dimension, i: int) -> list[Mark]:
        start, end = self.dimension_ends(dimension, i)
        span = end - start
        length = float(np.hypot(*span))
        if length < 3 * self.u:
            return []
        aside = np.array([-span[1], span[0]]) / length * 9 * self.u
        ink, halo = self.colours["ink"], 2.5 * self.u
        return [
            Stroke(np.stack([start, end]), ink, 3 * self.u, halo=halo, role=dimension.key),
            Stroke(np.stack([start - aside, start + aside]), ink, 3 * self.u, halo=halo),
            Stroke(np.stack([end - aside, end + aside]), ink, 3 * self.u, halo=halo),
        ]

    def _arcs(self, i: int) -> list[Mark]:
        """Moments as arcs about the hip; those turning the same way stand end to end."""
        hip = self.camera.project(self.plan.hip[i])
        outward = np.sign(self.camera.right[2] * self.plan.sign)
        start = {1.0: np.pi / 2 + outward * 0.30, -1.0: np.pi / 2 - outward * 0.30}
        radius = ARC_RADIUS * self.u
        marks: list[Mark] = []
        for turn in self.plan.turns:
            moment = float(turn.moment[i])
            way = 1.0 if moment >= 0 else -1.0
            sweep = moment * ARC_PER_NEWTON_METRE * outward
            if abs(sweep) < 0.05:
                continue
            outline = d.swept_arc(hip, radius, start[way], sweep, 8 * self.u)
            marks.append(Shape2D(outline, self.colours[turn.role], 2.5 * self.u, turn.key))
            start[way] += sweep
        return marks

    def _labels(self, i: int) -> tuple[list[Mark], dict[str, Box]]:
        marks: list[Mark] = []
        boxes: dict[str, Box] = {}
        for item in self._labelled():
            block = self.blocks[item.key]
            x, anchor = self.columns[item.side]
            idle = self._is_idle(item.key, i)
            lines = [] if idle else item.values[i]
            sizes = self._sizes(item.role, item.key, max(len(lines), 1))[: len(lines)]
            colour = self.colours["ink" if isinstance(item, Dimension) else item.role]
            left = x if anchor == "start" else x - block.width
            boxes[item.key] = Box(left, block.top, left + block.width, block.top + block.height)
            baseline = block.top + 24 * self.u
            halo = 3 * self.u
            if idle and isinstance(item, Dimension):
                continue
            if idle:
                soft, small = self.colours["soft"], 24 * self.u
                note = item.idle if isinstance(item, Arrow) else ""
                marks.append(Words(x, baseline, item.label, small, soft, "Regular", anchor, halo, item.key))
                marks.append(Words(x, baseline + 1.25 * small, note, small, soft, "Regular", anchor, halo, item.key))
                continue
            marks += self._leader(item.key, i, x, anchor, baseline - 8 * self.u, colour)
            marks.append(Words(x, baseline, item.label, 24 * self.u, self.colours["ink"], "Medium", anchor, halo))
            for text, (size, weight) in zip(lines, sizes, strict=True):
                baseline += size * 1.22 if size > 25 * self.u else size * 1.25
                tone = colour if weight == "Bold" else self.colours["soft"]
                marks.append(Words(x, baseline, text, size, tone, weight, anchor, halo, item.key))
        return marks, boxes

    def _live_dimensions(self, i: int) -> list[Dimension]:
        return [x for x in self.plan.dimensions if not self._is_idle(x.key, i)]

    def _is_idle(self, key: str, i: int) -> bool:
        """True where there is no force to show; a muscle that does not pull has no lever to show either."""
        owner = "muscle" if key == "muscle_lever" else key
        return any(a.key == owner and a.is_idle(i) for a in self.plan.arrows)

    def _shown_arrows(self) -> list[Arrow]:
        """Arrows drawn in this view; seen from the side, hand forces would lie on the joint's."""
        if self.camera.foreshortening < _EDGE_ON:
            return [a for a in self.plan.arrows if a.role not in ("hand", "load")]
        return self.plan.arrows

    def _leader(self, key: str, i: int, x: float, anchor: str, y: float, colour: str) -> list[Mark]:
        target = self._target(key, i)
        if not 0 < target[1] < self.band.top:
            return []
        if key in {a.key for a in self.plan.arrows}:
            tail, tip = self.arrow_ends(key, i)
            if np.hypot(*(tip - tail)) < 2 * self.u:
                target = tail
        way = 1.0 if anchor == "end" else -1.0
        start = np.array([x + way * 10 * self.u, y])
        reach = abs(target[0] - start[0])
        bend = np.array([start[0] + way * max(min(reach - 40 * self.u, 0.62 * reach), 8 * self.u), y])
        if (target[0] - bend[0]) * way < 0:
            bend = start
        line: list[Mark] = [Stroke(np.stack([start, bend, target]), colour, 2 * self.u, halo=2.2 * self.u)]
        if "lever" in key:
            return line
        return [*line, Shape2D(d.disc(target, 4.6 * self.u), colour, 2.2 * self.u)]


def _facing_front(camera: Camera) -> Camera:
    """The same camera from the front: turned views keep their force polygon true to scale."""
    return dataclasses.replace(camera, toward=np.array([1.0, 0.0, 0.0]))


def quartered_disc(at: Array, radius: float, colours: dict[str, str]) -> list[Mark]:
    """The sign for a centre of mass: a disc in quarters."""
    marks: list[Mark] = [Shape2D(d.disc(at, radius), colours["card"], radius * 0.25)]
    for start in (0.0, np.pi):
        turn = np.linspace(start, start + np.pi / 2, 13)
        arc = at + radius * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
        marks.append(Shape2D(np.concatenate([at[None], arc]), colours["weight"]))
    marks.append(Stroke(closed(d.disc(at, radius)), colours["weight"], radius * 0.22))
    return marks
