"""Moments about the hip as turning arrows: one of all that drops the pelvis, one of all that holds it.

Question answered: how far does each force turn, and how do those that turn the same way add up?

Forces that turn the same way are pieces of one band, each as long as its moment, with one head at the band's end: two
bands of one length are in balance. The holding band lies about the end of the muscle's lever arm, outside the muscle's
arrow, the dropping one on the other side of the hip. Pixels; angles on the page counter-clockwise from the right.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.stage import drawing as d
from viz3d.stage.drawing import Mark, Shape2D, Stroke
from viz3d.stage.theme import Theme

PER_NEWTON_METRE = np.radians(1.0)
"""Sweep of a moment: equal moments look equal."""
RADIUS, REACH = 96.0, 0.088
"""Radius of the bands: at least so many u, and so many metres, beyond the muscle's arrow."""
WIDTH = 9.0
"""Width of a band, u."""
_LEAST = 3.1
"""Shorter bands, in widths, are left out: they would be all head."""
_HEAD, _BARB, _TAIL = 2.5, 1.25, 0.45
"""Length of a head and half its width, and the band's width at its tail, in widths."""
_HEAD_SHARE = 0.38
"""The most that a head takes of its band."""
_ROOM = 30.0
"""Least distance of a band's middle line from the words beside the figure, u."""
_CURVED, _TRACK = np.radians(35.0), np.radians(75.0)
"""A band that sweeps less than the first lies on a dotted track that sweeps the second."""
_STEPS = 20


@dataclass(frozen=True)
class TurningBand:
    """Pieces that turn the same way, end to end about ``centre``: ``pieces`` are (key, role, sweep), sweeps of one
    sign; ``begin``: where the first starts, rad; ``drops``: lets the swing side of the pelvis drop."""

    centre: Array
    radius: float
    begin: float
    pieces: tuple[tuple[str, str, float], ...]
    width: float
    drops: bool

    @property
    def sweep(self) -> float:
        """Of all pieces together, rad."""
        return sum(sweep for _, _, sweep in self.pieces)

    @property
    def drawn(self) -> bool:
        """True where it is long enough for a head."""
        return abs(self.sweep) * self.radius >= _LEAST * self.width

    def at(self, along: Array | float, out: Array | float) -> Array:
        """Points ``along`` pixels after its beginning, ``out`` pixels outside its middle line."""
        turn = self.begin + np.sign(self.sweep) * np.asarray(along) / self.radius
        far = self.radius + np.asarray(out)
        return np.asarray(self.centre + np.stack([far * np.cos(turn), -far * np.sin(turn)], axis=-1))

    def halves(self, first: float, last: float) -> tuple[Array, Array]:
        """Places along a piece, and half the band's width there; the head's base comes twice."""
        long = abs(self.sweep) * self.radius
        head = self._head(long)
        neck = long - head
        parts = []
        if first < neck:
            s = np.linspace(first, min(last, neck), _STEPS)
            parts.append((s, self.width / 2 * (_TAIL + (1.0 - _TAIL) * s / neck)))
        if last > neck:
            s = np.linspace(max(first, neck), last, 6)
            parts.append((s, _BARB / _HEAD * (long - s)))
        return np.concatenate([p[0] for p in parts]), np.concatenate([p[1] for p in parts])

    def _head(self, long: float) -> float:
        """Length of the head: smaller on a short band, so that its curve is seen."""
        return min(_HEAD * self.width, _HEAD_SHARE * long)

    def outline(self, first: float, last: float) -> Array:
        """Outline of the band between two places along it."""
        s, half = self.halves(first, last)
        return np.concatenate([self.at(s, half), self.at(s, -half)[::-1]])

    def marks(self, theme: Theme, u: float) -> list[Mark]:
        """The band, its pieces in their colours or patterns; nothing where it is too short."""
        if not self.drawn:
            return []
        inside = theme.colours["card"]
        track = self._track(theme, u)
        whole = self.outline(0.0, abs(self.sweep) * self.radius)
        marks: list[Mark] = [*track, Shape2D(whole, inside, 2.5 * u)]
        start = 0.0
        for n, (key, role, sweep) in enumerate(self.pieces):
            end = start + abs(sweep) * self.radius
            marks += self._piece(start, end, key, theme.colours[role], inside, theme.pattern(role), u)
            if n:
                cut = np.full(2, start)
                marks.append(Stroke(self.at(cut, np.array([-1.0, 1.0]) * 0.62 * self.width), inside, 1.8 * u))
            start = end
        return marks

    def _track(self, theme: Theme, u: float) -> list[Mark]:
        """Dots along the circle on which a short band lies, so that it is not taken for a straight arrow."""
        rest = (_TRACK - abs(self.sweep)) * self.radius / 2
        if abs(self.sweep) > _CURVED:
            return []
        along = np.linspace(-rest, abs(self.sweep) * self.radius + rest, 2 * _STEPS)
        return [Stroke(self.at(along, 0.0), theme.colours["soft"], 2.6 * u, (2.6 * u, 5.2 * u))]

    def _piece(
        self, start: float, end: float, key: str, colour: str, inside: str, pattern: str, u: float
    ) -> list[Mark]:  # fmt: skip
        """One piece, filled as its arrow is."""
        outline = self.outline(start, end)
        if pattern == "solid":
            return [Shape2D(outline, colour, role=key)]
        marks: list[Mark] = [Shape2D(outline, inside, role=key)]
        s, half = self.halves(start, end)
        step = {"rungs": 0.55, "slant": 0.7, "beads": 0.8}.get(pattern, 0.0) * self.width
        places = np.arange(start + step, end, step) if step else np.zeros(0)
        lean = 0.5 * self.width if pattern == "slant" else 0.0
        for place, wide in zip(places, np.interp(places, s, half), strict=True):
            if pattern == "beads":
                marks.append(Shape2D(d.disc(self.at(place, 0.0), 0.24 * self.width, 12), colour))
            else:
                ends = np.clip(np.array([place - lean, place + lean]), start, end)
                marks.append(Stroke(self.at(ends, np.array([-wide, wide])), colour, 1.3 * u))
        if pattern == "rails":
            marks.append(Stroke(self.at(s, 0.0), colour, 1.6 * u))
        return [*marks, Stroke(d.closed(outline), colour, (2.4 if pattern == "hollow" else 1.6) * u)]


def bands_of(
    turns: Sequence[tuple[str, str, float]], hip: Array, foot: Array, outward: float, u: float, metre: float,
    lower: float = 0.0, room: float = np.inf,
) -> list[TurningBand]:  # fmt: skip
    """Both bands of one frame, the dropping one first.

    Parameters
    ----------
    turns : (key, role, moment): N m, positive drops the pelvis. foot : where the muscle's lever arm ends, pixels.
    outward : +1 where the stance side is on the page's right. u : unit, with the figure's thickness. metre : pixels.
    lower : how far below that place the holding band lies, rad. room : from the hip to the words beside it, pixels.
    """
    out, radius = [], max(RADIUS * u, min(REACH * metre, room - _ROOM * u))
    lateral = 0.0 if outward > 0 else np.pi
    way = np.array([1.0, -1.0]) * (foot - hip)  # y up
    muscle = np.arctan2(way[1], way[0]) if way[0] * outward > 1.0 else lateral
    muscle -= lower * outward
    for drops, middle in ((True, np.pi - lateral), (False, float(muscle))):
        some = [(key, role, m * PER_NEWTON_METRE * outward) for key, role, m in turns if m != 0.0 and (m > 0) == drops]
        if some:
            total = sum(sweep for *_, sweep in some)
            out.append(TurningBand(hip, radius, middle - total / 2, tuple(some), WIDTH * u, drops))
    return out
