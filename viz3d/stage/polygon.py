"""The force polygon: every force of the picture head to tail, closed where all are shown.

Question answered: do the forces add up to nothing?

It has a scale of its own, as large as its card holds in every frame, printed under it. Where sides would hide one
another, as those of forces on nearly one line do, each change of direction moves a lane aside; dotted lines join what
belongs together, the closing point included.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from functools import cached_property

import numpy as np

from viz3d.arrays import Array
from viz3d.stage import drawing as d
from viz3d.stage.camera import Camera
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words
from viz3d.stage.figure import LAYER_OF, FigureOnPage
from viz3d.stage.free_place import Met, along, edges_of, free_place
from viz3d.stage.moments import GAP, moments_added, row_width, word_box
from viz3d.stage.tags import leader_to
from viz3d.stage.theme import Theme
from viz3d.stage.type import text_width, wrap
from viz3d.words.message import Amount, force_digits, message

_LAST = ("bag_stance", "bag_swing", "other_foot", "cane_stance", "cane_swing", "muscle", "joint")
_ABOVE, _BELOW = 66.0, 58.0
"""Parts of the card above and below the polygon, u."""
_LINE = 32.0
"""Height of the line on turning effects under the heading, u of type."""
_SHAFT = 10.0
"""Shaft width of its sides, u."""
_SPACINGS = (0.0, 26.0, 30.0, 34.0, 38.0, 44.0, 52.0)
"""Distances of lanes that are tried, u."""
_SAMPLES = 20


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
    """The polygon of a figure's forces in a card's box, as ``front`` sees them.

    ``frames``: those that scale and lanes hold for; all of the plan's where not given.
    """

    def __init__(self, figure: FigureOnPage, front: Camera, box: Box, frames: Iterable[int] | None = None) -> None:
        self.figure, self.front, self.box, self.u = figure, front, box, figure.u
        self.plan, self.theme, self.t = figure.plan, figure.theme, figure.u * figure.theme.text
        self.frames = list(range(len(figure.plan)) if frames is None else frames)

    def sides(self, i: int) -> dict[str, tuple[Array, Array]]:
        """Tail and tip of every side of the polygon, by key, head to tail."""
        layers = self.figure.layers
        return self._chain([k for k in head_to_tail(self._spans) if LAYER_OF[self.plan.arrow(k).role] in layers], i)

    def _chain(self, shown: list[str], i: int) -> dict[str, tuple[Array, Array]]:
        """Sides of these forces."""
        spans, scale = self._spans, self.scale
        keys = [k for k in shown if np.hypot(*spans[k][i]) > 1.0]
        chain = (
            np.concatenate([[np.zeros(2)], np.cumsum([spans[k][i] for k in keys], axis=0)])
            if keys
            else np.zeros((1, 2))
        )
        points = (chain - (chain.min(axis=0) + chain.max(axis=0)) / 2) * scale + self._middle
        return {k: (points[n], points[n + 1]) for n, k in enumerate(keys)}

    def apart(self, i: int) -> dict[str, tuple[Array, Array]]:
        """The sides as drawn: each in its lane."""
        sides = self.sides(i)
        aside = {k: np.array([self._lanes[k] * self._spacing, 0.0]) for k in sides}
        if not sides:
            return {}
        ends = np.array([[tail + aside[k], tip + aside[k]] for k, (tail, tip) in sides.items()])
        back = self._middle - (ends.min(axis=(0, 1)) + ends.max(axis=(0, 1))) / 2
        return {k: (tail + aside[k] + back, tip + aside[k] + back) for k, (tail, tip) in sides.items()}

    @property
    def _above(self) -> float:
        """Height of the heading, and of the line on turning effects where there is one, pixels."""
        return _ABOVE * self.u + _LINE * self.t * (self._counts + self._wraps + len(self._heading(True)) - 1)

    def _heading(self, whole: bool) -> list[Mark]:
        """What the card shows, and that it is seen from the front where the picture is not."""
        said = message("card.closed" if whole else "card.head_to_tail")
        if not self.figure.frontal:
            said = message("card.seen_from_front", what=said)
        return card_heading(self.theme, self.u, self.box, self.theme.voice.say(said))

    @property
    def _counts(self) -> bool:
        """True where the picture shows what turns about the hip, and with which size."""
        return {"lever", "muscle", "weight"} <= self.figure.layers and self.theme.voice.register == "trade"

    @property
    def _middle(self) -> Array:
        box, u = self.box, self.u
        return np.array([(box.left + box.right) / 2, (box.top + self._above + box.bottom - _BELOW * u) / 2])

    @cached_property
    def _spans(self) -> dict[str, Array]:
        return {a.key: self.front.direction(a.force) * self.figure.per_newton for a in self.plan.arrows}

    @cached_property
    def _keys(self) -> list[str]:
        """Sides that any of the frames shows."""
        return [k for k in head_to_tail(self._spans) if any(np.hypot(*self._spans[k][i]) > 1.0 for i in self.frames)]

    @cached_property
    def scale(self) -> float:
        """Scale of the polygon against the picture, one for all frames and layers."""
        spans, box, u = self._spans, self.box, self.u
        chain = np.cumsum([spans[k][self.frames] for k in head_to_tail(spans)], axis=0)
        chain = np.concatenate([np.zeros_like(chain[:1]), chain])
        reach = (chain.max(axis=0) - chain.min(axis=0)).max(axis=0)
        room = np.array([box.right - box.left - 190 * u, box.bottom - box.top - self._above - _BELOW * u])
        bar = self.figure.per_newton * self.plan.body_weight / (box.right - box.left - 40 * u)
        return float(min((room / np.maximum(reach, 1.0)).min(), 1.0 / bar))

    @cached_property
    def _lanes(self) -> dict[str, int]:
        """The lane of each side: the next one wherever the chain turns from down to up or back."""
        spans, keys = self._spans, self._keys
        ways = [float(np.sign(spans[k][self.frames, 1].mean())) for k in keys]
        turns = np.cumsum([0, *(a != b for a, b in itertools.pairwise(ways))])
        lanes = dict.fromkeys(spans, 0) | {k: int(n) for k, n in zip(keys, turns, strict=False)}
        leaning = sum(float(spans[k][self.frames, 0].mean()) for k in keys if k == "muscle")
        return lanes if leaning >= 0.0 else {k: -n for k, n in lanes.items()}

    @cached_property
    def _spacing(self) -> float:
        """Distance of the lanes, pixels: the least at which no side covers another in any frame."""
        count = max(abs(n) for n in self._lanes.values())
        if count == 0:
            return 0.0
        tried = [x * self.u for x in _SPACINGS if x * count * self.u <= 0.42 * (self.box.right - self.box.left)]
        return next((x for x in tried if not any(self._covers(i, x) for i in self.frames[:: self._every])), tried[-1])

    @property
    def _every(self) -> int:
        return max(1, len(self.frames) // _SAMPLES)

    def _covers(self, i: int, spacing: float) -> bool:
        """True where two sides come closer than their shafts and heads need."""
        sides = {k: e for k, e in self._chain(self._keys, i).items() if np.hypot(*(e[1] - e[0])) > 2.0 * self.u}
        moved = [
            (np.stack(ends) + np.array([self._lanes[k] * spacing, 0.0]), self._lanes[k]) for k, ends in sides.items()
        ]
        need = 2.3 * _SHAFT * self.u
        for (a, one), (b, other) in itertools.combinations(moved, 2):
            if one != other or spacing == 0.0:
                share = np.linspace(0.0, 1.0, 25)[:, None]
                p, q = (e[0] + share * (e[1] - e[0]) for e in (a, b))
                if np.linalg.norm(p[:, None] - q[None], axis=-1).min() < need:
                    return True
        return False

    def marks(self, i: int, said: bool = True, still: bool = False) -> list[Mark]:
        """The same vectors, head to tail; with every force shown it closes on the page.

        ``said``: with their sizes. ``still``: its heading alone.
        """
        u, colours, layers = self.u, self.theme.colours, self.figure.layers
        sides, box = self.apart(i), self.box
        if not sides:
            return []
        roles = {a.key: a.role for a in self.plan.arrows}
        whole = all(LAYER_OF[r] in layers for r in roles.values())
        x, y = box.left + 20 * u, box.bottom - 26 * u
        bar = self.figure.per_newton * self.plan.body_weight * self.scale
        tick = np.array([[0.0, -7 * u], [0.0, 7 * u]])
        marks, bar_words = self._heading(whole), self._bar_words(x, y, bar)
        if still:
            return marks
        marks += [
            Stroke(np.array([[x, y], [x + bar, y]]), colours["ink"], 2.6 * u),
            Stroke(np.array([x, y]) + tick, colours["ink"], 2.6 * u),
            Stroke(np.array([x + bar, y]) + tick, colours["ink"], 2.6 * u),
            bar_words,
        ]
        marks += self._turning(i) if whole and said and self._counts and "numbers" in layers else []
        marks += self._joints(sides, whole)
        for key, (tail, tip) in sorted(sides.items(), key=lambda s: -float(np.hypot(*(s[1][1] - s[1][0])))):
            colour, pattern = colours[roles[key]], self.theme.pattern(roles[key])
            outline = d.arrow(tail, tip, _SHAFT * u)
            marks += d.filled(outline, tip - tail, colour, colours["card"], pattern, 1.6 * u, f"polygon {key}")
        if whole and self._spacing == 0.0:
            marks.append(Shape2D(d.disc(next(iter(sides.values()))[0], 4.5 * u), colours["ink"], 1.6 * u))
        if said and "numbers" in layers:
            marks += self._numbers(sides, i, roles, word_box(bar_words, self.theme))
        return marks

    def _turning(self, i: int) -> list[Mark]:
        """What drops the pelvis and what holds it, in numbers whose sums are equal; none where nothing is told."""
        pieces = moments_added(self.plan, self.theme, i)
        if not pieces:
            return []
        word, unit = pieces[:1], pieces[-1:]
        rows = [word, pieces[1:]] if self._wraps else [pieces]
        if self._wide(rows[-1]) > self._room:
            rows[-1] = [one for one in rows[-1] if one not in unit]
        if self._wide(rows[-1]) > self._room:
            return []
        return [mark for n, row in enumerate(reversed(rows)) for mark in self._in_a_row(row, n)]

    @cached_property
    def _wraps(self) -> bool:
        """True where that line is too long in some frame: the numbers then stand under the word."""
        return self._counts and any(
            self._wide(moments_added(self.plan, self.theme, i)) > self._room for i in self.frames[:: self._every]
        )

    @property
    def _room(self) -> float:
        return self.box.right - self.box.left - 26 * self.u

    def _wide(self, pieces: list[tuple[str, str]]) -> float:
        return row_width(pieces, 24 * self.t, self.theme)

    def _in_a_row(self, pieces: list[tuple[str, str]], row: int) -> list[Mark]:
        """Words and their colours under the heading, so many rows above the last."""
        x, y, size = self.box.left + 20 * self.u, self.box.top + self._above - 30 * self.u, 24 * self.t
        marks: list[Mark] = []
        for n, (text, colour) in enumerate(pieces):
            at = x + (self._wide(pieces[:n]) + GAP * size if n else 0.0)
            marks.append(Words(at, y - row * _LINE * self.t, text, size, colour, "Medium", role="moments"))
        return marks

    def _joints(self, sides: dict[str, tuple[Array, Array]], whole: bool) -> list[Mark]:
        """Dotted lines from each tip to the tail that belongs there; the closing one has dots at its ends."""
        if self._spacing == 0.0:
            return []
        u, colours, ends = self.u, self.theme.colours, list(sides.values())
        joins = [np.stack([tip, tail]) for (_, tip), (tail, _) in itertools.pairwise(ends)]
        marks: list[Mark] = []
        closing = [np.stack([ends[-1][1], ends[0][0]])] if whole and len(ends) > 1 else []
        for line in [*joins, *closing]:
            if np.hypot(*(line[1] - line[0])) > 1.0:
                marks.append(Stroke(line, colours["soft"], 2.0 * u, (2.5 * u, 4 * u)))
        return marks + [Shape2D(d.disc(at, 4.5 * u), colours["ink"]) for line in closing for at in line]

    def _bar_words(self, x: float, y: float, bar: float) -> Words:
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

    def _numbers(self, sides: dict[str, tuple[Array, Array]], i: int, roles: dict[str, str], foot: Box) -> list[Mark]:
        """Each side's force beside it, clear of the sides, of each other and of the ``foot``'s words."""
        boxes = [b for tail, tip in sides.values() for b in along(tail, tip, 0.62 * _SHAFT * self.u)]
        for line in (m.points for m in self._joints(sides, True) if isinstance(m, Stroke)):
            boxes += along(line[0], line[1], 2 * self.u)
        walls = edges_of(boxes)
        taken, marks = [foot], list[Mark]()
        for key, ends in sorted(sides.items(), key=lambda s: float(np.hypot(*(s[1][1] - s[1][0])))):
            told, colour = self.theme.voice.number(self._force_digits(key, i)), self.theme.colours[roles[key]]
            others = [b for k, e in sides.items() if k != key for b in along(*e, 0.5 * _SHAFT * self.u)]
            size = (text_width(told, 24 * self.t, "SemiBold", self.theme.face), 25 * self.t)
            here = free_place(ends, size, self.box, self.u, Met(walls, taken, others))
            taken.append(here)
            to_it = leader_to(here, *ends, 0.6 * self.u)
            if to_it is not None:
                marks.append(Stroke(to_it, self.theme.colours["soft"], 1.6 * self.u, halo=1.5 * self.u))
            at = (here.left, here.bottom - 4 * self.u)
            marks.append(Words(*at, told, 24 * self.t, colour, "SemiBold", "start", 2.5 * self.u, f"polygon {key}"))
        return marks
