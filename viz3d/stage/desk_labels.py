"""Names and numbers at the arrows of a figure that is being turned, and which side is which.

Question answered: what is written over the figure, for this camera and this moment?

Names, numbers and colours are those of every picture; lever arms are named where lengths across are true.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.stage import drawing as d
from viz3d.stage.beside import stand_beside
from viz3d.stage.camera import Camera
from viz3d.stage.crop import body_on, bones_on
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words
from viz3d.stage.figure import FULL, LAYER_OF, rests
from viz3d.stage.plan import Arrow, Dimension, Plan
from viz3d.stage.tags import leader_to
from viz3d.stage.theme import Theme
from viz3d.stage.type import text_width
from viz3d.words.message import message

_FIRST = ("joint", "muscle", "weight")
"""Roles that are labelled first."""
_LARGE, _SMALL = 19.0, 16.0
"""Type of a number and of a name, units of type."""
_INSET = 10.0


def arrow_ends(arrow: Arrow, i: int, body_weight: float, reach: float) -> Array:
    """Tail and tip of an arrow in the world, (2, 3) m; ``reach``: length of one body weight, m."""
    span = arrow.force[i] * (reach / body_weight)
    at = arrow.point[i]
    return np.stack([at - span, at] if arrow.holds == "tip" else [at, at + span])


def lever_ends(lever: Dimension, plan: Plan, i: int) -> Array:
    """Ends of a lever arm in the world, (2, 3) m; level ones below the hip, where they are drawn."""
    ends = np.stack([lever.start[i], lever.end[i]])
    if np.isfinite(lever.drop):
        ends[:, 1] = plan.hip[i, 1] - lever.drop
        ends[0, 0] = ends[1, 0]
    return ends


class Labels:
    """The labels of one plan; they remember where they stood."""

    def __init__(self, plan: Plan, theme: Theme, reach: float) -> None:
        self.plan, self.theme, self.reach = plan, theme, reach
        self.boxes: dict[str, Box] = {}
        """Where the labels stand."""

    def marks(
        self, i: int, camera: Camera, room: Box, layers: frozenset[str], u: float, t: float, joint: bool = False
    ) -> list[Mark]:
        """Labels with leaders where they stand off, over a figure whose place on the page is ``room``.

        ``joint``: it looks into the socket, where only the joint force and the highest pressure are named.
        """
        spans, lines = self._spoken(i, camera, layers & {"joint", "pressure"} if joint else layers, joint)
        inner = Box(room.left + _INSET * u, room.top + 64 * u, room.right - _INSET * u, room.bottom - _INSET * u)
        sizes = {k: self._size(words, t) for k, (words, _) in lines.items()}
        soft = (body_on if self.plan.dress == "patient" else bones_on)(self.plan, camera, i)
        self.boxes = stand_beside(sizes, {**spans}, inner, u, soft, self.boxes)
        marks: list[Mark] = []
        for key, box in self.boxes.items():
            words, role = lines[key]
            colour = self.theme.colours.get(role, self.theme.colours["ink"])
            leader = leader_to(box, spans[key][0], spans[key][1], u)
            if leader is not None:
                marks.append(Stroke(leader, colour, 1.6 * u, halo=1.6 * u, role=f"leader {key}"))
            marks += self._written(words, box, colour, u, t, key)
        return [*marks, *sides(camera, room, self.theme, u, t)]

    def _spoken(
        self, i: int, camera: Camera, layers: frozenset[str], joint: bool
    ) -> tuple[dict[str, Array], dict[str, tuple[list[str], str]]]:
        """Key -> its ends on the page; key -> its lines and its role; the most important first."""
        plan, say = self.plan, self.theme.voice
        spans: dict[str, Array] = {}
        lines: dict[str, tuple[list[str], str]] = {}
        for arrow in sorted(plan.arrows, key=lambda a: _FIRST.index(a.role) if a.role in _FIRST else len(_FIRST)):
            absent = arrow.role == "load" and arrow.is_idle(i)
            if LAYER_OF[arrow.role] not in layers or absent:
                continue
            spans[arrow.key] = camera.project(arrow_ends(arrow, i, plan.body_weight, self.reach))
            value = say.say(arrow.idle) if arrow.is_idle(i) else say.lines(arrow.values[i])[0]
            lines[arrow.key] = ([say.say(arrow.label), value], arrow.role)
        for spot in plan.spots if "pressure" in layers and joint else ():
            spans[spot.key] = np.repeat(camera.project(spot.point[i])[None], 2, axis=0)
            lines[spot.key] = ([say.say(spot.label), *say.lines(spot.values[i])[:1]], spot.role)
        if "lever" in layers and camera.foreshortening >= FULL:
            for lever in plan.dimensions:
                if LAYER_OF[lever.role] in layers and not rests(plan, lever.key, i):
                    spans[lever.key] = camera.project(lever_ends(lever, plan, i))
                    value = say.lines(lever.values[i])[0]
                    lines[lever.key] = ([f"{say.say(lever.short or lever.label)} {value}"], lever.role)
        return spans, lines

    def _size(self, words: list[str], t: float) -> tuple[float, float]:
        sizes = _sizes(words, t)
        wide = max(text_width(w, s, "SemiBold", self.theme.face) for w, s in zip(words, sizes, strict=True))
        return wide, sum(1.16 * s for s in sizes)

    def _written(self, words: list[str], box: Box, colour: str, u: float, t: float, key: str) -> list[Mark]:
        y, out = box.top, list[Mark]()
        for text, size in zip(words, _sizes(words, t), strict=True):
            y += 1.16 * size
            weight = "SemiBold" if len(words) > 1 else "Medium"
            out.append(Words(box.left, y - 0.24 * size, text, size, colour, weight, halo=3 * u, role=f"label {key}"))
        return out


def _sizes(words: list[str], t: float) -> list[float]:
    """Type sizes of a label's lines: the number of two is the larger."""
    return [_SMALL * t, _LARGE * t] if len(words) > 1 else [0.92 * _SMALL * t]


def sides(camera: Camera, room: Box, theme: Theme, u: float, t: float) -> list[Mark]:
    """R and L, or front and back where the figure is seen from its side, at the upper corners of its place."""
    c, say, y = theme.colours, theme.voice.say, room.top + 36 * u
    at = (room.left + 36 * u, room.right - 36 * u)
    across = float(camera.right[2])
    if abs(across) < 0.3:
        ahead = 1 if camera.right[0] > 0 else -1
        words = [say(message(f"frame.{way}")) for way in ("back", "front")][::ahead]
        return [
            Words(x, y + 6 * u, word, 18 * t, c["ink"], "Medium", anchor, 3 * u, role="side")
            for x, word, anchor in zip((at[0] - 14 * u, at[1] + 14 * u), words, ("start", "end"), strict=True)
        ]
    marks: list[Mark] = []
    order = ("left", "right") if across > 0 else ("right", "left")
    for x, side, way in zip(at, order, (1.0, -1.0), strict=True):
        circle = d.disc(np.array([x, y]), 18 * t)
        marks += [
            Shape2D(circle, c["card"]), Stroke(d.closed(circle), c["ink"], 1.8 * u),
            Words(x, y + 7 * t, say(message(f"frame.{side}_letter")), 20 * t, c["ink"], "Bold", "middle", role="side"),
            Words(x + way * 26 * t, y + 6 * t, say(message(f"frame.{side}")), 16 * t, c["ink"], "Medium",
                  "start" if way > 0 else "end", 3 * u),
        ]  # fmt: skip
    return marks
