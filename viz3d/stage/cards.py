"""Cards beside the main picture: force polygon, pelvis alone, socket's pressure, joint force in time, whole figure.

Question answered: do the forces add up, what acts on the pelvis, where does the socket carry, how does one stand?

Up to three stand in a column. Polygon and pelvis have force scales of their own, as large as the card holds in every
frame; the polygon's is printed under it. The little mesh views are cameras for the renderer; their marks are drawn over
them. Called by layout.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np

from viz3d.stage import drawing as d
from viz3d.stage.camera import Camera
from viz3d.stage.drawing import Array, Box, Mark, Shape2D, Stroke, Words
from viz3d.stage.figure import FULL, LAYER_OF, FigureOnPage
from viz3d.stage.frame import shortened
from viz3d.stage.palette import PRESSURE_RANGE, pressure_map
from viz3d.stage.scales import weight_words
from viz3d.stage.type import text_width, wrap
from viz3d.words.message import Quantity, force_digits, message

if TYPE_CHECKING:
    from viz3d.stage.layout import Sheet

FORCES, FREE_BODY, SOCKET, FIGURE, CURVE = ("forces", "free body", "socket", "figure", "curve")
CARDS = (FORCES, SOCKET, FIGURE)
"""The usual cards, from the top."""
_SHARE = {FORCES: 360.0, FREE_BODY: 330.0, SOCKET: 234.0, FIGURE: 190.0, CURVE: 234.0}
ORDER = ("weight", "backpack", "bag_stance", "bag_swing", "other_foot", "cane_stance", "cane_swing", "muscle", "joint")
"""Head-to-tail order of the polygon."""


class Cards:
    """Boxes of the cards, pixels; ``shown`` is False on narrow pictures and where there are none."""

    def __init__(self, size: tuple[int, int], bottom: float, names: tuple[str, ...]) -> None:
        width, height = size
        u = height / 1080.0
        self.shown = bool(names) and width / height >= 1.55
        self.left, self.right = width - 412 * u, width - 32 * u
        self.boxes: dict[str, Box] = {}
        top, gap = 32 * u, 16 * u
        room = bottom - 16 * u - top - gap * (len(names) - 1)
        for name in names:
            tall = room * _SHARE[name] / sum(_SHARE[n] for n in names)
            self.boxes[name] = Box(self.left, top, self.right, top + tall)
            top += tall + gap

    def rules(self, sheet: Sheet) -> list[Mark]:
        """Hairlines that set the cards apart, drawn beneath the meshes."""
        u, colour = sheet.u, sheet.colours["card_line"]
        forces = sheet.layers - {"bones", "lever", "pressure", "numbers"}
        empty = (
            (() if forces else (FORCES, FREE_BODY))
            + (() if "joint" in sheet.layers else (CURVE,))
            + (() if "pressure" in sheet.layers else (SOCKET,))
        )
        boxes = [b for name, b in self.boxes.items() if name not in empty]
        if not boxes:
            return []
        side = np.array([[self.left - 14 * u, 40 * u], [self.left - 14 * u, boxes[-1].bottom - 8 * u]])
        rules = [
            side,
            *(np.array([[self.left, b.top - 8 * u], [self.right, b.top - 8 * u]]) for b in boxes if b.top > 40 * u),
        ]
        return [Stroke(rule, colour, 1.8 * u) for rule in rules]


class Insets:
    """What the cards hold: cameras and pixel boxes of the mesh views, and every card's marks."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet, self.cards = sheet, sheet.cards
        self.front = _facing_front(sheet.camera)
        boxes, u = sheet.cards.boxes, sheet.u
        self.views: dict[str, tuple[Box, Camera]] = {}
        """Card -> the part of the page its meshes fill, and their camera."""
        if SOCKET in boxes and "pressure" in sheet.layers:
            b = boxes[SOCKET]
            box = Box(b.left + 6 * u, b.top + 46 * u, b.right - 108 * u, b.bottom - 46 * u)
            toward = np.array([0.50, -0.52, 0.70 * sheet.plan.sign])
            at = ((box.left + box.right) / 2, (box.top + box.bottom) / 2 + 4 * u)
            size = 1950 * u * min(1.0, (box.bottom - box.top) / (142 * u))
            self.views[SOCKET] = (box, Camera(toward / np.linalg.norm(toward), sheet.plan.hip.mean(axis=0), at, size))
        if FIGURE in boxes:
            self.views[FIGURE] = self._whole(boxes[FIGURE])
        if FREE_BODY in boxes:
            self.free = self._free_body(boxes[FREE_BODY])
            b = boxes[FREE_BODY]
            self.views[FREE_BODY] = (Box(b.left + 4 * u, b.top + 48 * u, b.right - 4 * u, b.bottom), self.free.camera)

    def _whole(self, card: Box) -> tuple[Box, Camera]:
        plan, u = self.sheet.plan, self.sheet.u
        box = Box(card.left + 6 * u, card.top + 6 * u, card.left + 206 * u, card.bottom - 6 * u)
        tall = 1.05 * float(plan.frames["head"][:, 1, 3].max()) + 0.24
        centre = np.array([0.0, tall / 2 - 0.055, float(plan.middle_hip[:, 2].mean())])
        at = ((box.left + box.right) / 2, (box.top + box.bottom) / 2)
        return box, Camera(np.array([1.0, 0.0, 0.0]), centre, at, (box.bottom - box.top) / tall)

    def _free_body(self, card: Box) -> FigureOnPage:
        """The pelvis and the forces on it, as large as the card holds in every frame."""
        sheet = self.sheet
        whole = FigureOnPage(sheet.plan, self.front, sheet.per_weight, sheet.theme, sheet.u, sheet.layers)
        arrows = [a for a in sheet.plan.arrows if LAYER_OF[a.role] in sheet.layers]
        every = range(0, len(sheet.plan), max(1, len(sheet.plan) // 20))
        ends = np.array([whole.arrow_ends(a, i) for a in sheet.plan.arrows for i in every]).reshape(-1, 2)
        low, high = ends.min(axis=0), ends.max(axis=0)
        room = np.array([card.right - card.left - 120 * sheet.u, card.bottom - card.top - 92 * sheet.u])
        k = float(min(0.62, (room / np.maximum(high - low, 1.0)).min()))
        middle = np.array([(card.left + card.right) / 2, (card.top + 46 * sheet.u + card.bottom) / 2])
        at = middle + k * (np.array(self.front.at) - (low + high) / 2)
        camera = dataclasses.replace(self.front, at=(float(at[0]), float(at[1])), scale=k * self.front.scale)
        layers = frozenset({LAYER_OF[a.role] for a in arrows})
        return dataclasses.replace(whole, camera=camera, per_newton=k * whole.per_newton, layers=layers, size=0.62)

    def marks(self, i: int) -> list[Mark]:
        """Every card's marks over the meshes."""
        draw = {
            FORCES: self._polygon, FREE_BODY: self._pelvis_alone, SOCKET: self._pressure, FIGURE: self._balance,
            CURVE: self._curve,
        }  # fmt: skip
        return [mark for name, box in self.cards.boxes.items() for mark in draw[name](box, i)]

    # ---- the force polygon ----------------------------------------------------------------------------

    def polygon(self, i: int) -> dict[str, tuple[Array, Array]]:
        """Tail and tip of every side of the polygon, by key, head to tail."""
        spans, scale = self._spans(), self._polygon_scale()
        box, u = self.cards.boxes[FORCES], self.sheet.u
        shown = [k for k in ORDER if k in spans and LAYER_OF[self.sheet.plan.arrow(k).role] in self.sheet.layers]
        keys = [k for k in shown if np.hypot(*spans[k][i]) > 1.0]
        chain = (
            np.concatenate([[np.zeros(2)], np.cumsum([spans[k][i] for k in keys], axis=0)])
            if keys
            else np.zeros((1, 2))
        )
        middle = np.array([(box.left + box.right) / 2, (box.top + 52 * u + box.bottom - 48 * u) / 2])
        points = (chain - (chain.min(axis=0) + chain.max(axis=0)) / 2) * scale + middle
        return {k: (points[n], points[n + 1]) for n, k in enumerate(keys)}

    def _spans(self) -> dict[str, Array]:
        return {a.key: self.front.direction(a.force) * self.sheet.per_weight for a in self.sheet.plan.arrows}

    def _polygon_scale(self) -> float:
        """Scale of the polygon against the picture, one for all frames and layers."""
        spans, box, u = self._spans(), self.cards.boxes[FORCES], self.sheet.u
        chain = np.cumsum([spans[k] for k in ORDER if k in spans], axis=0)
        chain = np.concatenate([np.zeros_like(chain[:1]), chain])
        reach = (chain.max(axis=0) - chain.min(axis=0)).max(axis=0)
        room = np.array([box.right - box.left - 170 * u, box.bottom - box.top - 122 * u])
        return min(1.9, float((room / np.maximum(reach, 1.0)).min()))

    def _polygon(self, box: Box, i: int) -> list[Mark]:
        """The same vectors, head to tail; with every force shown it closes on the page."""
        sheet, u, colours = self.sheet, self.sheet.u, self.sheet.colours
        sides, voice = self.polygon(i), sheet.theme.voice
        if not sides:
            return []
        roles = {a.key: a.role for a in sheet.plan.arrows}
        whole = all(LAYER_OF[r] in sheet.layers for r in roles.values())
        x, y = box.left + 20 * u, box.bottom - 26 * u
        bar = sheet.per_weight * sheet.plan.body_weight * self._polygon_scale()
        tick = np.array([[0.0, -7 * u], [0.0, 7 * u]])
        heading = sheet.say(message("card.closed" if whole else "card.head_to_tail"))
        marks: list[Mark] = [
            *self._heading(box, heading),
            Stroke(np.array([[x, y], [x + bar, y]]), colours["ink"], 2.6 * u),
            Stroke(np.array([x, y]) + tick, colours["ink"], 2.6 * u),
            Stroke(np.array([x + bar, y]) + tick, colours["ink"], 2.6 * u),
            self._bar_words(x, y, bar, box),
        ]
        sides, joined = self._apart(sides)
        marks += [Stroke(line, colours["soft"], 1.6 * u, (4 * u, 3 * u)) for line in joined]
        for key, (tail, tip) in sorted(sides.items(), key=lambda s: -float(np.hypot(*(s[1][1] - s[1][0])))):
            colour, pattern = colours[roles[key]], sheet.theme.pattern(roles[key])
            outline = d.arrow(tail, tip, 6.5 * u)
            marks += d.filled(outline, tip - tail, colour, colours["card"], pattern, 1.4 * u, f"polygon {key}")
        if "numbers" in sheet.layers:
            middle = np.array([tail for tail, _ in sides.values()]).mean(axis=0)
            taken: list[Box] = []
            for key, (tail, tip) in sides.items():
                value = voice.number(self._force_digits(key, i))
                marks.append(self._beside(key, tail, tip, middle, value, colours[roles[key]], taken, box))
        return marks

    def _heading(self, box: Box, words: str) -> list[Mark]:
        """A card's heading, smaller where the language is longer."""
        sheet, face, x = self.sheet, self.sheet.theme.face, box.left + 20 * self.sheet.u
        room = box.right - x - 8 * sheet.u
        lines: list[str] = []
        for size in (25 * sheet.t, 24 * sheet.t):
            lines = wrap(words, room, size, "SemiBold", face)
            if len(lines) == 1:
                break
        text = shortened(lines, room, size, "SemiBold", face)
        return [Words(x, box.top + 36 * sheet.u, text, size, sheet.colours["ink"], "SemiBold")]

    def _bar_words(self, x: float, y: float, bar: float, box: Box) -> Mark:
        """What the polygon's scale bar stands for: beside it, or over it where that is too long."""
        sheet, u, t = self.sheet, self.sheet.u, self.sheet.t
        words = weight_words(sheet.theme.voice, sheet.plan.body_weight, spelt=False)
        fits = x + bar + 12 * u + text_width(words, 24 * t, face=sheet.theme.face) <= box.right
        place = (x + bar + 12 * u, y + 8 * u) if fits else (x, y - 14 * u)
        return Words(*place, words, 24 * t, sheet.colours["ink"])

    def _force_digits(self, key: str, i: int) -> Quantity:
        """An arrow's force as a bare number."""
        plan = self.sheet.plan
        return force_digits(float(np.linalg.norm(plan.arrow(key).force[i])), plan.body_weight)

    def _on_one_line(self) -> bool:
        """True where the polygon is no wider than a line in every frame, so that its sides would hide each other."""
        spans, u = self._spans(), self.sheet.u * 12 / self._polygon_scale()
        chain = np.cumsum([spans[k] for k in ORDER if k in spans], axis=0)
        chain = np.concatenate([np.zeros_like(chain[:1]), chain])
        return bool((np.ptp(chain[..., 0], axis=0) < u).all())

    def _apart(self, sides: dict[str, tuple[Array, Array]]) -> tuple[dict[str, tuple[Array, Array]], list[Array]]:
        """Sides that go up set beside those that go down where all lie on one line, and what joins them."""
        if len(sides) < 2 or not self._on_one_line():
            return sides, []
        ways = [float(np.sign(tail[1] - tip[1])) for tail, tip in sides.values()]
        aside = [np.array([9.0 * self.sheet.u * w, 0.0]) for w in ways]
        moved = {k: (a + s, b + s) for (k, (a, b)), s in zip(sides.items(), aside, strict=True)}
        chain = list(moved.values())
        turns = [k for k in range(len(chain)) if ways[k] != ways[k - 1]]
        return moved, [np.stack([chain[k - 1][1], chain[k][0]]) for k in turns]

    def _beside(
        self, key: str, tail: Array, tip: Array, middle: Array, number: str, colour: str, taken: list[Box], card: Box
    ) -> Words:
        """A value beside its polygon side, on the outer side, moved along until it is free."""
        u, t, face = self.sheet.u, self.sheet.t, self.sheet.theme.face
        span = tip - tail
        aside = np.array([-span[1], span[0]]) / max(float(np.hypot(*span)), 1.0)
        if aside @ ((tail + tip) / 2 - middle) < 0:
            aside = -aside
        wide, tall = text_width(number, 24 * t, "SemiBold", face), 26 * t
        shares, away = (0.5, 0.62, 0.38, 0.75, 0.25, 0.9, 0.1, 1.05), (16, 52, 88)
        places = [(s, side * out) for side in (1, -1) for out in away for s in shares]
        for share, out in places:
            at = tail + share * span + aside * out * u
            left = at[0] if aside[0] * out >= 0 else at[0] - wide
            left = float(np.clip(left, card.left + 8 * u, card.right - wide - 8 * u))
            here = Box(left, at[1] - tall / 2, left + wide, at[1] + tall / 2)
            if not any(here.overlaps(b, 3 * u) for b in taken):
                break
        taken.append(here)
        return Words(
            here.left, here.bottom - 4 * u, number, 24 * t, colour, "SemiBold", "start", 2.5 * u, f"polygon {key}"
        )

    # ---- the pelvis alone -----------------------------------------------------------------------------

    def _pelvis_alone(self, box: Box, i: int) -> list[Mark]:
        """The forces on the pelvis, each at its place."""
        sheet = self.sheet
        words = self._heading(box, sheet.say(message("card.pelvis")))
        bare = dataclasses.replace(self.free, layers=self.free.layers - {"lever"})
        return [*words, *bare.forces(i)] if bare.layers else []

    # ---- the socket -----------------------------------------------------------------------------------

    def _pressure(self, box: Box, i: int) -> list[Mark]:
        """Heading, colour bar with its fixed range, and the peak's mark."""
        sheet, u, t, colours = self.sheet, self.sheet.u, self.sheet.t, self.sheet.colours
        if "pressure" not in sheet.layers:
            return []
        marks = self._heading(box, sheet.say(message("card.pressure")))
        top, bottom = box.top + 78 * u, box.bottom - 56 * u
        left, wide = box.right - 98 * u, 22 * u
        steps = pressure_map(60, sheet.theme.backdrop == "print")
        edges = np.linspace(bottom, top, 61)
        for k, colour in enumerate(steps):
            low, high = edges[k] + 0.5, edges[k + 1]
            corners = np.array([[left, low], [left + wide, low], [left + wide, high], [left, high]])
            marks.append(Shape2D(corners, "#" + "".join(f"{round(c * 255):02X}" for c in colour)))
        frame = np.array([[left, top], [left + wide, top], [left + wide, bottom], [left, bottom], [left, top]])
        marks.append(Stroke(frame, colours["ink"], 1.6 * u))
        most = PRESSURE_RANGE[1]
        for value in (0.0, 1.0, 2.0, 3.0) if bottom - top > 84 * t else (0.0, 3.0):
            y = bottom + (top - bottom) * value * 1e6 / most
            marks.append(Stroke(np.array([[left + wide, y], [left + wide + 7 * u, y]]), colours["ink"], 1.8 * u))
            marks.append(
                Words(left + wide + 13 * u, y + 8.5 * t, sheet.theme.voice.tick(value, 0), 24 * t, colours["ink"])
            )
        highest = sheet.plan.pressure.peak[i]
        if np.isfinite(highest) and highest > most:
            above = frame[:4] * [1.0, 0.0] + np.array([[0.0, y] for y in (top - 14 * u, top - 14 * u, top, top)])
            marks += [Shape2D(above, colours["over_range"]), Stroke(d.closed(above), colours["ink"], 1.6 * u)]
        if np.isfinite(highest):
            y = bottom + (top - bottom) * min(float(highest), most) / most
            mark = np.array([[left - 12 * u, y], [left + wide + 4 * u, y]])
            marks.append(Stroke(mark, colours["ink"], 3.2 * u, halo=1.5 * u))
        if "numbers" in sheet.layers:
            over = np.isfinite(highest) and highest > most
            told = message("card.peak_over" if over else "card.peak", pressure=sheet.plan.pressure.peak_words[i])
            words = sheet.say(told)
            at = (box.right - 18 * u, box.bottom - 16 * u)
            marks.append(Words(*at, words, 24 * t, colours["ink"], "SemiBold", "end", 2.5 * u))
        return marks

    # ---- the joint force in time ----------------------------------------------------------------------

    def _curve(self, box: Box, i: int) -> list[Mark]:
        """Joint force against time: the past in its colour, what is to come faint, a dot at this frame."""
        sheet, u, t, colours = self.sheet, self.sheet.u, self.sheet.t, self.sheet.colours
        if "joint" not in sheet.layers:
            return []
        plan = sheet.plan
        voice = sheet.theme.voice
        one, step, unit = voice.force_axis(plan.body_weight)
        times, force = plan.course or (plan.times, plan.joint_force / plan.body_weight)
        force = force * (plan.body_weight / one)
        now = min(int(np.searchsorted(times, plan.times[i])), len(times) - 1)
        most = step * float(np.ceil(force.max() / step + 1e-9))
        highest = voice.tick(most, 0 if most == round(most) else 1)
        left, right = box.left + max(62 * t, text_width(highest, 24 * t) + 22 * u), box.right - 20 * u
        top, bottom = box.top + 60 * u + 8 * t, box.bottom - 44 * t
        across = left + (right - left) * (times - times[0]) / max(float(np.ptp(times)), 1e-9)
        lasting = voice.number(Quantity(float(times[-1] - times[0]), "whole_time"))
        line = np.column_stack([across, bottom + (top - bottom) * force / most])
        marks: list[Mark] = [
            *self._heading(box, sheet.say(message("card.curve"))),
            Stroke(np.array([[left, top], [left, bottom], [right, bottom]]), colours["ink"], 1.8 * u),
            Words(left - 9 * u, top + 9 * t, highest, 24 * t, colours["ink"], "Regular", "end"),
            Words(left - 9 * u, bottom + 4 * t, voice.tick(0.0, 0), 24 * t, colours["ink"], "Regular", "end"),
            Words(right, bottom + 32 * t, lasting, 24 * t, colours["soft"], "Regular", "end"),
            Words(left, bottom + 32 * t, sheet.say(message(f"unit.{unit}")), 24 * t, colours["soft"]),
        ]
        if len(line) > 1:
            marks.append(Stroke(line, colours["soft"], 2.0 * u, opacity=0.55, role="curve"))
        if now > 0:
            marks.append(Stroke(line[: now + 1], colours["joint"], 4.0 * u, halo=1.5 * u, role="curve so far"))
        marks.append(Shape2D(d.disc(line[now], 7 * u), colours["joint"], 2.5 * u, "curve now"))
        return marks

    # ---- the whole figure -----------------------------------------------------------------------------

    def _balance(self, box: Box, i: int) -> list[Mark]:
        """Floor, line of gravity and a word on balance over the whole figure."""
        sheet, u, t, colours = self.sheet, self.sheet.u, self.sheet.t, self.sheet.colours
        view, camera = self.views[FIGURE]
        floor = camera.project(np.array([0.0, 0.0, 0.0]))[1]
        marks: list[Mark] = [
            Stroke(np.array([[view.left + 14 * u, floor], [view.right - 14 * u, floor]]), colours["ground"], 3.5 * u)
        ]
        if "weight" in sheet.layers:
            top = camera.project(sheet.plan.gravity_line[i])
            line = np.array([[top[0], top[1]], [top[0], floor]])
            marks += [
                Stroke(line, colours["weight"], 2.2 * u, (6 * u, 5 * u), 1.5 * u),
                Shape2D(d.disc(top, 5 * u), colours["weight"], 1.5 * u),
            ]
        x, y = view.right + 4 * u, box.top + 36 * u
        told = message("card.balances", over=sheet.plan.supports[i])
        if sheet.plan.notices[i]:
            told = message("card.not_held")
        words = wrap(sheet.say(told), box.right - x - 8 * u, 24 * t, face=sheet.theme.face)
        for k, word in enumerate(words):
            marks.append(Words(x, y + k * 30 * t, word, 24 * t, colours["ink"]))
        where = message("card.floor" if sheet.view == "front" else "card.from_front")
        below = wrap(sheet.say(where), box.right - x - 8 * u, 24 * t, face=sheet.theme.face)
        top = floor - 30 * t * (len(below) - 1)
        if y + len(words) * 30 * t < top - 12 * t:
            for k, word in enumerate(below):
                marks.append(Words(x, top + k * 30 * t + 4 * u, word, 24 * t, colours["soft"]))
        return marks


def _facing_front(camera: Camera) -> Camera:
    """The same camera from the front: turned views keep their cards true to scale."""
    if camera.foreshortening >= FULL:
        return camera
    return dataclasses.replace(camera, toward=np.array([1.0, 0.0, 0.0]))
