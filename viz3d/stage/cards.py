"""Cards beside the main picture: force polygon, pelvis alone, socket's pressure, joint force in time, whole figure.

Question answered: do the forces add up, what acts on the pelvis, where does the socket carry, how does one stand?

Up to three stand in a column. Polygon and pelvis have force scales of their own, as large as the card holds in every
frame; the polygon's is printed under it. The little mesh views are cameras for the renderer; their marks are drawn over
them.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import numpy as np

from viz3d.arrays import Array
from viz3d.stage import drawing as d
from viz3d.stage.camera import Camera
from viz3d.stage.canvas import Canvas
from viz3d.stage.card_boxes import CURVE, DEMAND, FIGURE, FOOTPRINTS, FORCES, FREE_BODY, SOCKET
from viz3d.stage.crop import WHOLE, centre_of, half_reach
from viz3d.stage.demand import demand_marks
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words
from viz3d.stage.figure import FULL, LAYER_OF, FigureOnPage
from viz3d.stage.gait import cycle_marks, footprint_marks
from viz3d.stage.palette import ISOBAR, PRESSURE_RANGE, hexed, isobar_colours, legend_map
from viz3d.stage.polygon import ForcePolygon, card_heading
from viz3d.stage.type import text_width, wrap
from viz3d.words.message import Amount, message


def card_rules(sheet: Canvas) -> list[Mark]:
    """Hairlines that set the cards apart, drawn beneath the meshes."""
    cards, u, colour = sheet.cards, sheet.u, sheet.colours["card_line"]
    forces = sheet.layers - {"bones", "lever", "pressure", "numbers"}
    empty = (
        (() if forces else (FORCES, FREE_BODY))
        + (() if "joint" in sheet.layers else (CURVE,))
        + (() if "muscle" in sheet.layers else (DEMAND,))
        + (() if "pressure" in sheet.layers else (SOCKET,))
    )
    boxes = [b for name, b in cards.boxes.items() if name not in empty]
    if not boxes:
        return []
    side = np.array([[cards.left - 14 * u, 40 * u], [cards.left - 14 * u, boxes[-1].bottom - 8 * u]])
    rules = [
        side,
        *(np.array([[cards.left, b.top - 8 * u], [cards.right, b.top - 8 * u]]) for b in boxes if b.top > 40 * u),
    ]
    return [Stroke(rule, colour, 1.8 * u) for rule in rules]


_ASIDE = np.array([0.5, 0.0, 0.866])
"""Where the whole figure is seen from when something is carried on the back, for a right stance leg."""


class Insets:
    """What the cards hold: cameras and pixel boxes of the mesh views, and every card's marks."""

    def __init__(self, sheet: Canvas) -> None:
        self.sheet, self.cards = sheet, sheet.cards
        self._drawn_polygon: ForcePolygon | None = None
        self.front = _facing_front(sheet.camera)
        boxes, u = sheet.cards.boxes, sheet.u
        self.views: dict[str, tuple[Box, Camera]] = {}
        """Card -> the part of the page its meshes fill, and their camera."""
        open_socket = sheet.view == "joint" and not sheet.plan.replaced  # the main picture shows it already
        if SOCKET in boxes and "pressure" in sheet.layers and not open_socket:
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

    @property
    def _behind(self) -> bool:
        """True where something is carried on the back: the whole figure is seen half from its side then."""
        return "backpack" in self.sheet.plan.aids.values()

    def _whole(self, card: Box) -> tuple[Box, Camera]:
        plan, u = self.sheet.plan, self.sheet.u
        tall = 1.05 * float(plan.frames["head"][:, 1, 3].max()) + 0.24
        middle = float(centre_of([plan], WHOLE)[2])
        toward = _ASIDE * [1.0, 1.0, plan.sign] if self._behind else np.array([1.0, 0.0, 0.0])
        camera = Camera(toward, np.array([0.0, tall / 2 - 0.055, middle]), (0.0, 0.0), 1.0)
        across = 2.0 * (float(half_reach(plan, camera)[0]) + 0.03)
        top, bottom = card.top + 6 * u, card.bottom - 6 * u
        wide = float(np.clip(across * (bottom - top) / tall, 200 * u, 250 * u))
        box = Box(card.left + 6 * u, top, card.left + 6 * u + wide, bottom)
        at = ((box.left + box.right) / 2, (box.top + box.bottom) / 2)
        return box, dataclasses.replace(camera, at=at, scale=min((bottom - top) / tall, wide / across))

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

    def marks(self, i: int, still: bool = False, told: bool = True) -> list[Mark]:
        """Every card's marks over the meshes; ``told``: with its numbers; ``still``: only what no frame changes."""
        said = told and not still and "numbers" in self.sheet.layers
        draw: dict[str, Callable[[Box, int], list[Mark]]] = {
            FORCES: lambda box, i: self._polygon(box).marks(i, said, still),
            FREE_BODY: lambda box, i: self._pelvis_alone(box, i, still),
            SOCKET: lambda box, i: self._pressure(box, i, said, still),
            FIGURE: lambda box, i: self._balance(box, i, still), CURVE: self._curve,
            DEMAND: lambda box, i: demand_marks(self.sheet, box, i, said, still),
            FOOTPRINTS: lambda box, i: self._footprints(box, i, still),
        }  # fmt: skip
        return [mark for name, box in self.cards.boxes.items() for mark in draw[name](box, i)]

    def polygon(self, i: int) -> dict[str, tuple[Array, Array]]:
        """Tail and tip of every side of the force polygon, by key, head to tail."""
        return self._polygon(self.cards.boxes[FORCES]).sides(i)

    def _polygon(self, box: Box) -> ForcePolygon:
        if self._drawn_polygon is None:
            frames = None if self.sheet.only is None else [self.sheet.only]
            self._drawn_polygon = ForcePolygon(self.sheet.figure, self.front, box, frames)
        return self._drawn_polygon

    # ---- the pelvis alone -----------------------------------------------------------------------------

    def _pelvis_alone(self, box: Box, i: int, still: bool) -> list[Mark]:
        """The forces on the pelvis, each at its place."""
        sheet = self.sheet
        words = card_heading(sheet.theme, sheet.u, box, sheet.say(message("card.pelvis")))
        bare = dataclasses.replace(self.free, layers=self.free.layers - {"lever"})
        return [*words, *([] if still else bare.forces(i))] if bare.layers else []

    # ---- the socket -----------------------------------------------------------------------------------

    def _pressure(self, box: Box, i: int, said: bool, still: bool) -> list[Mark]:
        """Heading, colour bar with its fixed range, and the peak's mark."""
        sheet, u, t, colours = self.sheet, self.sheet.u, self.sheet.t, self.sheet.colours
        if "pressure" not in sheet.layers:
            return []
        if sheet.plan.replaced:
            return self._implant(box)
        marks = card_heading(sheet.theme, sheet.u, box, sheet.say(message("card.pressure")))
        top, bottom = box.top + 78 * u, box.bottom - 56 * u
        wide = 22 * u
        alone = sheet.view == "joint"  # the main picture is the socket
        left = box.left + 40 * u if alone else box.right - 98 * u
        grey = sheet.theme.backdrop == "print"
        steps = legend_map(colours, 60, grey)
        edges = np.linspace(bottom, top, 61)
        for k, colour in enumerate(steps):
            low, high = edges[k] + 0.5, edges[k + 1]
            corners = np.array([[left, low], [left + wide, low], [left + wide, high], [left, high]])
            marks.append(Shape2D(corners, hexed(colour)))
        levels = np.arange(ISOBAR, PRESSURE_RANGE[1], ISOBAR)
        for level, colour in zip(levels, isobar_colours(levels, colours, grey), strict=True):
            y = bottom + (top - bottom) * level / PRESSURE_RANGE[1]
            marks.append(Stroke(np.array([[left, y], [left + wide, y]]), hexed(colour), 1.3 * u))
        frame = np.array([[left, top], [left + wide, top], [left + wide, bottom], [left, bottom], [left, top]])
        marks.append(Stroke(frame, colours["ink"], 1.6 * u))
        most = PRESSURE_RANGE[1]
        for value in (0.0, 1.0, 2.0, 3.0) if bottom - top > 84 * t else (0.0, 3.0):
            y = bottom + (top - bottom) * value * 1e6 / most
            marks.append(Stroke(np.array([[left + wide, y], [left + wide + 7 * u, y]]), colours["ink"], 1.8 * u))
            marks.append(
                Words(left + wide + 13 * u, y + 8.5 * t, sheet.theme.voice.tick(value, 0), 24 * t, colours["ink"])
            )
        highest = np.nan if still else sheet.plan.pressure.peak[i]
        if np.isfinite(highest) and highest > most:
            above = frame[:4] * [1.0, 0.0] + np.array([[0.0, y] for y in (top - 14 * u, top - 14 * u, top, top)])
            marks += [Shape2D(above, colours["over_range"]), Stroke(d.closed(above), colours["ink"], 1.6 * u)]
        if np.isfinite(highest):
            y = bottom + (top - bottom) * min(float(highest), most) / most
            mark = np.array([[left - 12 * u, y], [left + wide + 4 * u, y]])
            marks.append(Stroke(mark, colours["ink"], 3.2 * u, halo=1.5 * u))
        if said:
            over = np.isfinite(highest) and highest > most
            told = message("card.peak_over" if over else "card.peak", pressure=sheet.plan.pressure.peak_words[i])
            words = sheet.say(told)
            at = (box.right - 18 * u, box.bottom - 16 * u)
            if alone:
                at = (left + wide + 46 * u + 16 * t, (top + bottom) / 2 + 8.5 * t)
            anchor = "start" if alone else "end"
            marks.append(Words(*at, words, 24 * t, colours["ink"], "SemiBold", anchor, 2.5 * u, "pressure"))
        return marks

    def _implant(self, box: Box) -> list[Mark]:
        """Heading, and that no pressure is stated, for the cup of a replaced hip."""
        sheet, u, t = self.sheet, self.sheet.u, self.sheet.t
        marks = card_heading(sheet.theme, u, box, sheet.say(message("card.cup")))
        at = (box.right - 18 * u, box.bottom - 16 * u)
        note = sheet.say(message("card.cup_note"))
        marks.append(Words(*at, note, 24 * t, sheet.colours["ink"], "Regular", "end", 2.5 * u))
        return marks

    # ---- the joint force in time ----------------------------------------------------------------------

    def _curve(self, box: Box, i: int) -> list[Mark]:
        """Joint force against time: the past in its colour, what is to come faint, a dot at this frame."""
        sheet, u, t, colours = self.sheet, self.sheet.u, self.sheet.t, self.sheet.colours
        if "joint" not in sheet.layers:
            return []
        plan = sheet.plan
        if plan.gait is not None:
            return cycle_marks(sheet, box, i, plan.gait)
        voice = sheet.theme.voice
        one, step, unit = voice.force_axis(plan.body_weight)
        times, force = plan.course or (plan.times, plan.joint_force / plan.body_weight)
        force = force * (plan.body_weight / one)
        now = min(int(np.searchsorted(times, plan.times[i])), len(times) - 1)
        most = step * float(np.ceil(force.max() / step + 1e-9))
        highest = voice.tick(most, 0 if most == round(most) else 1)
        left, right = box.left + max(62 * t, text_width(highest, 24 * t) + 22 * u), box.right - 20 * u
        told = message(f"card.curve_{plan.side}", unit=message(f"unit.{unit}"))
        heading = card_heading(sheet.theme, u, box, sheet.say(told))
        top, bottom = box.top + 60 * u + (8 + 30 * (len(heading) - 1)) * t, box.bottom - 44 * t
        across = left + (right - left) * (times - times[0]) / max(float(np.ptp(times)), 1e-9)
        lasting = voice.number(Amount(float(times[-1] - times[0]), "whole_time"))
        line = np.column_stack([across, bottom + (top - bottom) * force / most])
        marks: list[Mark] = [
            *heading,
            Stroke(np.array([[left, top], [left, bottom], [right, bottom]]), colours["ink"], 1.8 * u),
            Words(left - 9 * u, top + 9 * t, highest, 24 * t, colours["ink"], "Regular", "end"),
            Words(left - 9 * u, bottom + 4 * t, voice.tick(0.0, 0), 24 * t, colours["ink"], "Regular", "end"),
            Words(right, bottom + 32 * t, lasting, 24 * t, colours["soft"], "Regular", "end"),
        ]
        if len(line) > 1:
            marks.append(Stroke(line, colours["soft"], 2.0 * u, opacity=0.55, role="curve"))
        if now > 0:
            marks.append(Stroke(line[: now + 1], colours["joint"], 4.0 * u, halo=1.5 * u, role="curve so far"))
        marks.append(Shape2D(d.disc(line[now], 7 * u), colours["joint"], 2.5 * u, "curve now"))
        return marks

    def _footprints(self, box: Box, i: int, still: bool) -> list[Mark]:
        """The floor of a walk from above; whoever stands leaves none."""
        gait = self.sheet.plan.gait
        return [] if gait is None else footprint_marks(self.sheet, box, i, gait, still)

    # ---- the whole figure -----------------------------------------------------------------------------

    def _balance(self, box: Box, i: int, still: bool) -> list[Mark]:
        """Floor, line of gravity and a word on balance over the whole figure."""
        sheet, u, t, colours = self.sheet, self.sheet.u, self.sheet.t, self.sheet.colours
        view, camera = self.views[FIGURE]
        floor = camera.project(np.array([0.0, 0.0, 0.0]))[1]
        marks: list[Mark] = [
            Stroke(np.array([[view.left + 14 * u, floor], [view.right - 14 * u, floor]]), colours["ground"], 3.5 * u)
        ]
        if still:
            return marks
        if "weight" in sheet.layers:
            top = camera.project(sheet.plan.gravity_line[i])
            line = np.array([[top[0], top[1]], [top[0], floor]])
            marks += [
                Stroke(line, colours["weight"], 2.2 * u, (6 * u, 5 * u), 1.5 * u),
                Shape2D(d.disc(top, 5 * u), colours["weight"], 1.5 * u),
            ]
        if sheet.plan.aids and "cane" not in sheet.layers:
            return marks
        y = box.top + 36 * u
        told = message("card.balances", over=sheet.plan.supports[i])
        if sheet.plan.notices[i]:
            told = message("card.not_held")
        for x in (view.right + 4 * u, view.left + 150 * u):  # a long text comes closer to the figure
            words = wrap(sheet.say(told), box.right - x - 8 * u, 24 * t, face=sheet.theme.face)
            if y + (len(words) - 1) * 30 * t < box.bottom - 4 * u:
                break
        for k, word in enumerate(words):
            marks.append(Words(x, y + k * 30 * t, word, 24 * t, colours["ink"]))
        where = message("card.floor" if sheet.view == "front" else "card.from_front")
        if self._behind:
            where = message(f"view.three-quarter.{sheet.stance_side}")
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
