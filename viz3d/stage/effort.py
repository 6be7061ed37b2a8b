"""How hard muscles work: the colour of a belly, and the key that says what colour and number mean.

Question answered: which colour has a muscle at this share of its strength, which muscles have names in this view, and
what stands beside them to be read by?

Pixels; pure data.
"""

from __future__ import annotations

import itertools

import numpy as np

from viz3d.arrays import Array
from viz3d.stage.canvas import Canvas
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words, closed
from viz3d.stage.labels import Column
from viz3d.stage.leaders import met, sampled
from viz3d.stage.palette import hexed, rgb
from viz3d.stage.plan import Named
from viz3d.stage.scales import axis_box
from viz3d.stage.type import text_width, wrap
from viz3d.words.message import fraction, message

_MOST = 4
"""So many muscles have names at most."""
_CLEAR = 16.0
"""Least distance of a level leader from arrows, levers and arcs, u."""
_BESIDE = (10.0, 13.0, 17.0, 24.0)
"""A dot this close to them is worse and worse, u."""
BRIGHTER = 0.55
"""Power of the share: small ones are told apart as well."""
_BAR, _SHORT, _HIGH, _STEPS = 150.0, 100.0, 17.0, 48
"""Width of the key's bar, of a short one, its height, u; steps of its colour."""


def effort_colour(share: float, colours: dict[str, str]) -> Array:
    """Colour (3,) fractions of a muscle's belly at a share of its strength, 0 to 1: darker the more."""
    slack, taut = (np.array(rgb(colours[f"muscle_{n}"])) for n in ("slack", "taut"))
    return np.asarray(slack + share**BRIGHTER * (taut - slack))


def names_shown(sheet: Canvas) -> list[Named]:
    """The muscles that have names in a sheet's view, the hardest-working first."""
    if sheet.view == "joint" or sheet.whole:
        return []
    return [one for one in sheet.plan.named if sheet.view in one.places][:_MOST]


def best_place(places: Array, lines: list[Array], columns: dict[str, Column], u: float) -> tuple[str, int]:
    """The column, and the one of a muscle's places (K, F, 2) on the page, that a level leader joins meeting least.

    ``lines``: arrows, lever arms and arcs, (F, 2, 2) each; no place near one of them is taken where there is another.
    """
    best, out = np.inf, ("stance", 0)
    for side, (k, end) in itertools.product(columns, enumerate(places)):
        start = np.column_stack([np.full(len(end), columns[side].x), end[:, 1]])
        points = np.stack([sampled(line) for line in np.stack([start, end], axis=1)])
        far = float(np.abs(end[:, 0] - columns[side].x).mean()) / u
        cost = 3000.0 * met(points, lines, _CLEAR * u)
        cost += sum(250.0 * met(end[:, None], lines, near * u) for near in _BESIDE)
        cost += far + 90.0 * abs(k / max(len(places) - 1, 1) - 0.4)
        if cost < best:
            best, out = cost, (side, k)
    return out


def key_box(sheet: Canvas, column: Column) -> Box:
    """Where the key stands: at the foot of a column, above the scales where they are; without size for no names."""
    u, t, face, (first, last) = sheet.u, sheet.t, sheet.theme.face, _ends(sheet)
    low, left = sheet.band.top - 16 * u, column.x
    if column.anchor == "end":
        low, left = sheet.band.top - 88 * u if sheet.frontal else axis_box(sheet).top - 8 * u, 48 * u
    if not names_shown(sheet):
        return Box(left, low, left, low)
    lines = [line for some in _lines(sheet, column) for line in some]
    bar = _BAR * u + 20 * u + text_width(first, 24 * t, face=face) + text_width(last, 24 * t, face=face)
    wide = max(bar, *(text_width(line, 24 * t, face=face) for line in lines))
    return Box(left, low - 30 * t * (len(lines) + 1) - 6 * u, left + wide, low)


def effort_key(sheet: Canvas, column: Column) -> list[Mark]:
    """What colour and number of a muscle mean, at the foot of a column."""
    if not names_shown(sheet) or not {"muscle", "numbers"} <= sheet.layers:
        return []
    box = key_box(sheet, column)
    u, t, c, y = sheet.u, sheet.t, sheet.colours, box.top
    marks: list[Mark] = []
    colour, share = _lines(sheet, column)
    for line in colour:
        y += 30 * t
        marks.append(Words(box.left, y - 6 * t, line, 24 * t, c["ink"], halo=3 * u))
    y += 30 * t
    marks += _bar(sheet, box.left, y - 15 * t)
    for line in share:
        y += 30 * t
        marks.append(Words(box.left, y - 4 * t, line, 24 * t, c["ink"], halo=3 * u))
    return marks


def effort_line(sheet: Canvas, box: Box, y: float, room: float, first: bool) -> list[Mark]:
    """The key on one line, at the left of a box where it is ``first``, else at the right; nothing if it needs more
    than ``room``."""
    if not {"muscle", "numbers"} <= sheet.layers:
        return []
    u, t, face, (low, high) = sheet.u, sheet.t, sheet.theme.face, _ends(sheet)
    high = sheet.say(message("effort.full", full=high))
    wide = (_SHORT + 20) * u + sum(text_width(word, 24 * t, face=face) for word in (low, high))
    return _bar(sheet, box.left if first else box.right - wide, y, high, _SHORT) if wide <= room else []


def _bar(sheet: Canvas, x: float, y: float, high: str = "", wide: float = _BAR) -> list[Mark]:
    """The colours from rest to full strength, about height ``y``; ``high``: what is said of the latter."""
    u, t, c, face, (low, full) = sheet.u, sheet.t, sheet.colours, sheet.theme.face, _ends(sheet)
    left = x + text_width(low, 24 * t, face=face) + 10 * u
    edges, top, bottom = left + wide * u * np.linspace(0.0, 1.0, _STEPS + 1), y - _HIGH / 2 * u, y + _HIGH / 2 * u
    marks: list[Mark] = []
    for k, a in enumerate(edges[:-1]):  # each reaches to the end: no gap shows between them
        fill, b = hexed(effort_colour((k + 0.5) / _STEPS, c)), edges[-1]
        marks.append(Shape2D(np.array([[a, top], [b, top], [b, bottom], [a, bottom]]), fill, role="effort"))
    frame = np.array([[left, top], [edges[-1], top], [edges[-1], bottom], [left, bottom]])
    marks.append(Stroke(closed(frame), c["ink"], 1.6 * u))
    for place, word, anchor in ((left - 10 * u, low, "end"), (edges[-1] + 10 * u, high or full, "start")):
        marks.append(Words(place, y + 8.5 * t, word, 24 * t, c["ink"], anchor=anchor, halo=3 * u))
    return marks


def _ends(sheet: Canvas) -> tuple[str, str]:
    return sheet.theme.voice.tick(0.0, 0), sheet.say(fraction(1.0))


def _lines(sheet: Canvas, column: Column) -> tuple[list[str], list[str]]:
    room = abs(column.limit - column.x)
    tone = "shade" if sheet.theme.backdrop == "print" else "colour"
    colour, share = (
        wrap(sheet.say(message(f"effort.{what}")), room, 24 * sheet.t, face=sheet.theme.face)
        for what in (tone, "share")
    )
    return colour, share
