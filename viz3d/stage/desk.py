"""The desk: what stands round the figure in the window that turns it, and what a click there means.

Question answered: where are title, numbers, timeline, views and layers, and which of them lies under the pointer?

The figure has a place of its own, so that nothing ever lies over a leg. Left: what it shows and what the hip carries;
right: views, frame, layers, each with its key; below: the timeline, its steps as they change and hold. Pixels; ``u`` is
1/860 of the usual height.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from viz3d.arrays import Array
from viz3d.stage import drawing as d
from viz3d.stage.crop import FRAMES
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words
from viz3d.stage.plan import Plan
from viz3d.stage.result import result_marks
from viz3d.stage.theme import Theme
from viz3d.stage.type import shortened, text_width, wrap
from viz3d.words import cautions
from viz3d.words.message import Amount, Said, message, newtons, seconds

USUAL = (1280, 860)
"""Size that a window opens with."""
LEAST = (860, 560)
VIEWS = {"1": "front", "2": "three-quarter", "3": "side", "4": "back", "5": "joint"}
LAYERS = {
    "b": "bones", "s": "skin", "w": "weight", "m": "muscle", "j": "joint", "c": "cane", "l": "lever", "p": "pressure",
}  # fmt: skip
ALL = frozenset(LAYERS.values())
UNTOLD = frozenset({"lever", "pressure"})
"""Layers that patients see only where they are asked for."""
FRAME_KEY, KEEP_KEY = "f", "k"
_NAMES = {"three-quarter": "turned"}
"""Views that pages call otherwise."""
_LEFT, _RIGHT, _STRIP = 330.0, 204.0, 104.0
"""Widths of the columns and height of the timeline, u."""


@dataclass(frozen=True)
class Hit:
    """A place that can be clicked: what is done there, to what."""

    box: Box
    act: str
    what: str


@dataclass(frozen=True)
class Stretch:
    """A step on the timeline: its name, when it begins, when its change is complete, when it ends, s."""

    name: str
    begin: float
    reached: float
    end: float


@dataclass(frozen=True)
class Glance:
    """What the window shows."""

    time: float
    playing: bool = False
    view: str = "front"
    """"" for a direction of the person's own."""
    frame: str = "hip"
    layers: frozenset[str] = ALL
    told: Said = ""
    """Said under the controls: where the last picture was saved."""


@dataclass
class Desk:
    """The window's page without its figure, for one size."""

    size: tuple[int, int]
    theme: Theme
    stretches: list[Stretch]
    reach: float
    """Length of an arrow of one body weight, m."""
    hits: list[Hit] = field(default_factory=list)

    @property
    def u(self) -> float:
        """Pixels of a unit."""
        return max(0.62, min(self.size[0] / USUAL[0], self.size[1] / USUAL[1]))

    @property
    def t(self) -> float:
        """Pixels of a unit of type."""
        return self.u * min(self.theme.text, 1.15)

    @property
    def figure(self) -> Box:
        """The figure's own place, whole pixels."""
        width, height = self.size
        return Box(_LEFT * self.u, 0.0, width - _RIGHT * self.u, height - _STRIP * self.u).whole()

    def marks(self, plan: Plan, i: int, state: Glance) -> list[Mark]:
        """Everything but the figure; ``hits`` are then where it can be clicked."""
        self.hits = []
        return [*self.readout(plan, i, state.layers), *self.controls(state), *self.timeline(state)]

    def hit(self, x: float, y: float) -> Hit | None:
        """What lies under a pointer; (0, 0) is the top left corner."""
        inside = [h for h in self.hits if h.box.left <= x <= h.box.right and h.box.top <= y <= h.box.bottom]
        return inside[0] if inside else None

    # ---- left: what it shows ----------------------------------------------------------------------------

    def readout(self, plan: Plan, i: int, layers: frozenset[str] = ALL) -> list[Mark]:
        """Title, person, step, caption, the joint force with its bar, and what the picture is not for."""
        u, c = self.u, self.theme.colours
        room = (_LEFT - 44.0) * u
        low, foot = self._foot(plan, room)
        for shrink in (1.0, 0.9, 0.8, 0.7):
            y, marks = self._story(plan, i, room, shrink * self.t)
            if y + 190 * u <= low:
                break
        area = Box(24 * u, y + 6 * u, 24 * u + room, y + 180 * u)
        most = float(plan.joint_force.max())
        joint = plan.arrow("joint")
        said = self.theme.voice.say(joint.values[i][0])
        share = float(plan.joint_force[i]) / most if np.isfinite(plan.joint_force[i]) and most > 0 else 0.0
        line = np.array([[24 * u + room + 12 * u, 24 * u], [24 * u + room + 12 * u, self.size[1] - (_STRIP + 24) * u]])
        marks.append(Stroke(line, c["card_line"], max(1.0, 1.2 * u)))
        if y + 190 * u <= low:
            peak = plan.pressure.peak_words[i] if plan.dress != "patient" or "pressure" in layers else ""
            marks += result_marks(area, said, share, None, "", peak, self.theme, 0.8 * u, notice=plan.notices[i])
        return [*marks, *foot]

    def _story(self, plan: Plan, i: int, room: float, t: float) -> tuple[float, list[Mark]]:
        """Title, person, step and caption, and where they end."""
        c, face = self.theme.colours, self.theme.face
        y, marks = 20 * self.u, list[Mark]()
        number = next((k for k, s in enumerate(self.stretches, 1) if s.name == plan.steps[i]), 1)
        step = self.theme.voice.say(message("window.step", number=str(number), name=plan.steps[i]))
        for text, size, tone, weight, gap in (
            (plan.title, 25 * t, c["ink"], "Bold", 8 * t),
            (self.theme.voice.say(plan.person), 15 * t, c["soft"], "Regular", 22 * t),
            (step, 19 * t, c["ink"], "SemiBold", 5 * t),
            (plan.captions[i], 17 * t, c["ink"], "Regular", 12 * t),
        ):
            for line in wrap(text, room, size, weight, face):
                y += 1.26 * size
                marks.append(Words(24 * self.u, y, line, size, tone, weight))
            y += gap
        return y, marks

    def _foot(self, plan: Plan, room: float) -> tuple[float, list[Mark]]:
        """The scale of the arrows, the mouse and the caution, at the bottom of the column; where they begin."""
        size, say = 13.5 * self.t, self.theme.voice.say
        scale = message("window.scale", length=Amount(self.reach, "whole_length"), weight=newtons(plan.body_weight))
        caution = cautions.SHORT if plan.gait is None else cautions.WALKING
        texts = [say(m) for m in (scale, message("window.mouse"), caution)]
        lines = [(k, line) for k, text in enumerate(texts) for line in wrap(text, room, size, face=self.theme.face)]
        y, marks = self.size[1] - (_STRIP + 20) * self.u, list[Mark]()
        for n, (k, line) in enumerate(reversed(lines)):
            marks.append(Words(24 * self.u, y, line, size, self.theme.colours["soft"]))
            following = lines[len(lines) - 2 - n][0] if n < len(lines) - 1 else k
            y -= 1.3 * size + (0.5 * size if following != k else 0.0)
        return y, marks

    # ---- right: views, frame, layers --------------------------------------------------------------------

    def controls(self, state: Glance) -> list[Mark]:
        """Views, frame, layers and saving, one a row with its key."""
        left = self.size[0] - (_RIGHT - 16) * self.u
        y, marks = 26 * self.u, list[Mark]()
        rows = sum((len(VIEWS), len(FRAMES), len(LAYERS), 1)) + 3 * 1.5
        step = min(29 * self.u, (self.size[1] - (_STRIP + 60) * self.u) / rows)

        def head(key: str) -> None:
            nonlocal y
            y += 0.8 * step
            marks.append(self._words(left, y, message(key), 15, "soft", "SemiBold"))
            y += 0.7 * step

        def row(key: str, told: str, on: bool | None, act: str, what: str) -> None:
            nonlocal y
            box = Box(left - 8 * self.u, y - step / 2, self.size[0] - 8 * self.u, y + step / 2)
            self.hits.append(Hit(box, act, what))
            marks.extend(self._row(left, y, step, key, message(told), on))
            y += step

        head("page.view.name")
        for key, view in VIEWS.items():
            row(key, f"page.view.{_NAMES.get(view, view)}", state.view == view, "view", view)
        head("window.frame.name")
        for frame in FRAMES:
            on = state.frame == frame and state.view != "joint"
            row(FRAME_KEY, f"window.frame.{frame}", on, "frame", frame)
        head("page.layer.title")
        for key, layer in LAYERS.items():
            row(key, f"page.layer.{layer}", layer in state.layers, "layer", layer)
        y += 0.5 * step
        row(KEEP_KEY, "window.keep", None, "keep", "")
        for line in wrap(self.theme.voice.say(state.told), (_RIGHT - 28) * self.u, 13 * self.t, face=self.theme.face):
            y += 1.25 * 13 * self.t
            marks.append(Words(left, y - 0.4 * step, line, 13 * self.t, self.theme.colours["soft"], role="told"))
        return marks

    def _row(self, left: float, y: float, step: float, key: str, told: Said, on: bool | None) -> list[Mark]:
        """A key in its frame, filled where it is on, and what it does."""
        c, u = self.theme.colours, self.u
        half = min(11 * u, 0.42 * step)
        box = np.array([left, y]) + half * np.array([[0, -1], [2, -1], [2, 1], [0, 1]])
        ink, fill = (c["paper_top"], c["ink"]) if on else (c["ink"], c["card"])
        size = 1.25 * half
        words = self.theme.voice.say(told)
        room = (_RIGHT - 34) * u - 2 * half
        wide = min(
            15.5 * self.t, 15.5 * self.t * room / max(text_width(words, 15.5 * self.t, "Medium", self.theme.face), 1)
        )
        tone = c["soft"] if on is False else c["ink"]
        return [
            Shape2D(box, fill), Stroke(d.closed(box), c["ink"] if on else c["soft"], max(1.0, 1.2 * u)),
            Words(left + half, y + 0.36 * size, key, size, ink, "SemiBold", "middle"),
            Words(left + 2 * half + 9 * u, y + 0.36 * wide, words, wide, tone, "Medium"),
        ]  # fmt: skip

    # ---- below: the timeline ----------------------------------------------------------------------------

    @property
    def track(self) -> Array:
        """Left and right end of the timeline and its height on the page, (3,)."""
        width, height = self.size
        return np.array([96 * self.u, width - 24 * self.u, height - 56 * self.u])

    def time_at(self, x: float) -> float:
        """The film's time at a place across the window."""
        left, right, _ = self.track
        return float(np.clip((x - left) / (right - left), 0.0, 1.0)) * self.stretches[-1].end

    def timeline(self, state: Glance) -> list[Mark]:
        """Play, the steps as stretches that change and hold, their names, and the present moment."""
        c, u, t = self.theme.colours, self.u, self.t
        left, right, y = self.track
        whole = max(self.stretches[-1].end, 1e-9)
        at = [left + (right - left) * np.array([s.begin, s.reached, s.end]) / whole for s in self.stretches]
        top = self.size[1] - _STRIP * u
        marks: list[Mark] = [
            Stroke(np.array([[0.0, top], [float(self.size[0]), top]]), c["card_line"], max(1.0, 1.2 * u)),
            *self._play(state.playing, np.array([48 * u, y])),
        ]
        now = self.stretches[self.stretch_at(state.time)]
        for k, (stretch, (begin, reached, end)) in enumerate(zip(self.stretches, at, strict=True), 1):
            gap = 1.5 * u
            marks += [
                _bar(begin, max(reached - (0 if end > reached else gap), begin), y, 4 * u, c["card_line"]),
                _bar(reached, max(end - gap, reached), y, 9 * u, c["ink"] if stretch is now else c["soft"]),
            ]
            name = wrap(f"{k}  {stretch.name}", 1e9, 14 * t)[0]
            shown = _cut(name, max(end - begin - 10 * u, 0.0), 14 * t, self.theme)
            tone, weight = (c["ink"], "SemiBold") if stretch is now else (c["soft"], "Regular")
            marks.append(Words(begin, y + 32 * u, shown, 14 * t, tone, weight))
            self.hits.append(Hit(Box(begin, y + 14 * u, end, y + 44 * u), "step", str(k - 1)))
        x = left + (right - left) * state.time / whole
        said = self.theme.voice.say(seconds(state.time))
        half = text_width(said, 14 * t, "SemiBold", self.theme.face) / 2
        marks += [
            Shape2D(d.disc(np.array([x, y]), 10 * u), c["joint"], 2 * u),
            Words(
                float(np.clip(x, left + half, right - half)), y - 18 * u, said, 14 * t, c["ink"], "SemiBold", "middle"
            ),
        ]
        self.hits.append(Hit(Box(left - 12 * u, y - 30 * u, right + 12 * u, y + 14 * u), "time", ""))
        return marks

    def stretch_at(self, time: float) -> int:
        """Index of the step in force."""
        return next((k for k, s in enumerate(self.stretches) if time < s.end - 1e-9), len(self.stretches) - 1)

    def _play(self, playing: bool, at: Array) -> list[Mark]:
        """A button that plays or stops."""
        c, u = self.theme.colours, self.u
        self.hits.append(Hit(Box(*(at - 26 * u), *(at + 26 * u)), "play", ""))
        marks: list[Mark] = [Shape2D(d.disc(at, 22 * u), c["ink"])]
        if playing:
            bars = [np.array([[x, -9], [x + 6, -9], [x + 6, 9], [x, 9]]) for x in (-9.0, 3.0)]
            return [*marks, *(Shape2D(at + u * bar, c["paper_top"]) for bar in bars)]
        return [*marks, Shape2D(at + u * np.array([[-6.0, -10.0], [11.0, 0.0], [-6.0, 10.0]]), c["paper_top"])]

    def _words(self, x: float, y: float, told: Said, size: float, tone: str, weight: str) -> Words:
        return Words(x, y, self.theme.voice.say(told), size * self.t, self.theme.colours[tone], weight)


def _bar(left: float, right: float, y: float, half: float, colour: str) -> Shape2D:
    corners = np.array([[left, y - half], [right, y - half], [right, y + half], [left, y + half]])
    return Shape2D(corners, colour)


def _cut(text: str, room: float, size: float, theme: Theme) -> str:
    """A text in the room there is, with an ellipsis where letters are missing; "" where there is none to speak of."""
    if text_width(text, size, "SemiBold", theme.face) <= room:
        return text
    cut = shortened([text, ""], room, size, "SemiBold", theme.face)
    return cut if len(cut) > 4 else text.split(maxsplit=1)[0] if room > size else ""
