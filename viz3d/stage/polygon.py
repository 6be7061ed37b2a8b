"""The force polygon: every force of the picture head to tail, closed where all are shown.

Question answered: do the forces add up to nothing?

It has a scale of its own, as large as its card holds in every frame, printed under it; sides that lie on one line are
set apart.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from viz3d.arrays import Array
from viz3d.stage import drawing as d
from viz3d.stage.camera import Camera
from viz3d.stage.drawing import Box, Mark, Stroke, Words
from viz3d.stage.figure import LAYER_OF, FigureOnPage
from viz3d.stage.theme import Theme
from viz3d.stage.type import text_width, wrap
from viz3d.words.message import Amount, force_digits, message

_LAST = ("bag_stance", "bag_swing", "other_foot", "cane_stance", "cane_swing", "muscle", "joint")


def head_to_tail(keys: Iterable[str]) -> list[str]:
    """Forces in the polygon's order: the weight, what the body carries, then bags, ground, hands, muscle and joint.

    Examples
    --------
    >>> head_to_tail(["joint", "cane_swing", "weight", "backpack"])
    ['weight', 'backpack', 'cane_swing', 'joint']
    """
    found = list(keys)
    first = [k for k in found if k == "weight"]
    carried = [k for k in found if k != "weight" and k not in _LAST]
    return [*first, *carried, *(k for k in _LAST if k in found)]


def card_heading(theme: Theme, u: float, box: Box, words: str) -> list[Mark]:
    """A card's heading: smaller, then on two lines, where the language is longer."""
    face, t, x = theme.face, u * theme.text, box.left + 20 * u
    room = box.right - x - 8 * u
    lines: list[str] = []
    for size in (25 * t, 24 * t):
        lines = wrap(words, room, size, "SemiBold", face)
        if len(lines) == 1:
            break
    ink, top = theme.colours["ink"], box.top + 36 * u
    return [
        Words(x, top + k * 1.2 * size, line, size, ink, "SemiBold", halo=3 * u * (len(lines) > 1))
        for k, line in enumerate(lines)
    ]


class ForcePolygon:
    """The polygon of a figure's forces in a card's box, as ``front`` sees them."""

    def __init__(self, figure: FigureOnPage, front: Camera, box: Box) -> None:
        self.figure, self.front, self.box, self.u = figure, front, box, figure.u
        self.plan, self.theme, self.t = figure.plan, figure.theme, figure.u * figure.theme.text

    def sides(self, i: int) -> dict[str, tuple[Array, Array]]:
        """Tail and tip of every side of the polygon, by key, head to tail."""
        spans, scale = self._spans(), self._scale()
        box, u = self.box, self.u
        shown = [k for k in head_to_tail(spans) if LAYER_OF[self.plan.arrow(k).role] in self.figure.layers]
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
        return {a.key: self.front.direction(a.force) * self.figure.per_newton for a in self.plan.arrows}

    def _scale(self) -> float:
        """Scale of the polygon against the picture, one for all frames and layers."""
        spans, box, u = self._spans(), self.box, self.u
        chain = np.cumsum([spans[k] for k in head_to_tail(spans)], axis=0)
        chain = np.concatenate([np.zeros_like(chain[:1]), chain])
        reach = (chain.max(axis=0) - chain.min(axis=0)).max(axis=0)
        room = np.array([box.right - box.left - 170 * u, box.bottom - box.top - 122 * u])
        return min(1.9, float((room / np.maximum(reach, 1.0)).min()))

    def marks(self, i: int) -> list[Mark]:
        """The same vectors, head to tail; with every force shown it closes on the page."""
        u, colours, layers = self.u, self.theme.colours, self.figure.layers
        sides, voice, box = self.sides(i), self.theme.voice, self.box
        if not sides:
            return []
        roles = {a.key: a.role for a in self.plan.arrows}
        whole = all(LAYER_OF[r] in layers for r in roles.values())
        x, y = box.left + 20 * u, box.bottom - 26 * u
        bar = self.figure.per_newton * self.plan.body_weight * self._scale()
        tick = np.array([[0.0, -7 * u], [0.0, 7 * u]])
        heading = voice.say(message("card.closed" if whole else "card.head_to_tail"))
        marks: list[Mark] = [
            *card_heading(self.theme, u, box, heading),
            Stroke(np.array([[x, y], [x + bar, y]]), colours["ink"], 2.6 * u),
            Stroke(np.array([x, y]) + tick, colours["ink"], 2.6 * u),
            Stroke(np.array([x + bar, y]) + tick, colours["ink"], 2.6 * u),
            self._bar_words(x, y, bar),
        ]
        sides, joined = self._apart(sides)
        marks += [Stroke(line, colours["soft"], 1.6 * u, (4 * u, 3 * u)) for line in joined]
        for key, (tail, tip) in sorted(sides.items(), key=lambda s: -float(np.hypot(*(s[1][1] - s[1][0])))):
            colour, pattern = colours[roles[key]], self.theme.pattern(roles[key])
            outline = d.arrow(tail, tip, 6.5 * u)
            marks += d.filled(outline, tip - tail, colour, colours["card"], pattern, 1.4 * u, f"polygon {key}")
        if "numbers" in layers:
            middle = np.array([tail for tail, _ in sides.values()]).mean(axis=0)
            taken: list[Box] = []
            for key, (tail, tip) in sides.items():
                value = voice.number(self._force_digits(key, i))
                marks.append(self._beside(key, tail, tip, middle, value, colours[roles[key]], taken))
        return marks

    def _bar_words(self, x: float, y: float, bar: float) -> Mark:
        """What the polygon's scale bar stands for: beside it, or over it where that is too long."""
        u, t = self.u, self.t
        words = self.theme.voice.one_weight(self.plan.body_weight, spelt=False)
        fits = x + bar + 12 * u + text_width(words, 24 * t, face=self.theme.face) <= self.box.right
        place = (x + bar + 12 * u, y + 8 * u) if fits else (x, y - 14 * u)
        return Words(*place, words, 24 * t, self.theme.colours["ink"])

    def _force_digits(self, key: str, i: int) -> Amount:
        """An arrow's force as a bare number."""
        plan = self.plan
        return force_digits(float(np.linalg.norm(plan.arrow(key).force[i])), plan.body_weight)

    def _on_one_line(self) -> bool:
        """True where the polygon is no wider than a line in every frame, so that its sides would hide each other."""
        spans, u = self._spans(), self.u * 12 / self._scale()
        chain = np.cumsum([spans[k] for k in head_to_tail(spans)], axis=0)
        chain = np.concatenate([np.zeros_like(chain[:1]), chain])
        return bool((np.ptp(chain[..., 0], axis=0) < u).all())

    def _apart(self, sides: dict[str, tuple[Array, Array]]) -> tuple[dict[str, tuple[Array, Array]], list[Array]]:
        """Sides that go up set beside those that go down where all lie on one line, and what joins them."""
        if len(sides) < 2 or not self._on_one_line():
            return sides, []
        ways = [float(np.sign(tail[1] - tip[1])) for tail, tip in sides.values()]
        aside = [np.array([9.0 * self.u * w, 0.0]) for w in ways]
        moved = {k: (a + s, b + s) for (k, (a, b)), s in zip(sides.items(), aside, strict=True)}
        chain = list(moved.values())
        turns = [k for k in range(len(chain)) if ways[k] != ways[k - 1]]
        return moved, [np.stack([chain[k - 1][1], chain[k][0]]) for k in turns]

    def _beside(
        self, key: str, tail: Array, tip: Array, middle: Array, number: str, colour: str, taken: list[Box]
    ) -> Words:
        """A value beside its polygon side, on the outer side, moved along until it is free."""
        u, t, face = self.u, self.t, self.theme.face
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
            left = float(np.clip(left, self.box.left + 8 * u, self.box.right - wide - 8 * u))
            here = Box(left, at[1] - tall / 2, left + wide, at[1] + tall / 2)
            if not any(here.overlaps(b, 3 * u) for b in taken):
                break
        taken.append(here)
        return Words(
            here.left, here.bottom - 4 * u, number, 24 * t, colour, "SemiBold", "start", 2.5 * u, f"polygon {key}"
        )
