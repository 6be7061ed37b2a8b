"""The scale of turned views: one body weight along each axis, as this camera shortens it.

Question answered: how long is a force on the page when it points forward, up or outward?

Arrows are projections of vectors in space. Seen square a bar says how long a newton is; in a turned view that depends
on the direction, so that three bars say it, each as long as a body weight that points its way. Pixels.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.stage import drawing as d
from viz3d.stage.canvas import Canvas
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words
from viz3d.stage.type import text_width
from viz3d.words.message import message

_SEEN = 0.12
"""An axis shorter than this share of its length points at the viewer and is left out."""


def axis_ends(sheet: Canvas) -> list[tuple[str, Array]]:
    """Name and page vector, pixels, of one body weight along each axis that this camera shows."""
    long = sheet.per_weight * sheet.plan.body_weight
    ways = (("up", (0.0, 1.0, 0.0)), ("forward", (1.0, 0.0, 0.0)), ("outer", (0.0, 0.0, sheet.plan.sign)))
    found = [(word, long * sheet.camera.direction(np.array(way))) for word, way in ways]
    return [(word, span) for word, span in found if float(np.hypot(*span)) > _SEEN * long]


def _word(sheet: Canvas, way: str) -> str:
    return sheet.say(message(f"frame.{way}"))


def axis_scale(sheet: Canvas) -> list[Mark]:
    """One body weight along each axis, from one corner; nothing where no force is shown, or from close by."""
    if sheet.layers <= {"bones", "pressure"} or sheet.view == "joint":
        return []
    u, t, c, face = sheet.u, sheet.t, sheet.colours, sheet.theme.face
    label = sheet.theme.voice.one_weight(sheet.plan.body_weight)
    at = _corner(sheet)
    marks: list[Mark] = []
    for word, span in axis_ends(sheet):
        tip, beyond = at + span, at + span * (1.0 + 12 * u / max(float(np.hypot(*span)), 1.0))
        marks.append(Stroke(np.stack([at, tip]), c["ink"], 3 * u, halo=2 * u, role=f"axis {word}"))
        aside = np.array([-span[1], span[0]]) / float(np.hypot(*span)) * 8 * u
        marks.append(Stroke(np.stack([tip - aside, tip + aside]), c["ink"], 3 * u, halo=2 * u))
        anchor = "middle" if abs(span[0]) < 0.3 * abs(span[1]) else "start" if span[0] > 0 else "end"
        down = -2 * u if span[1] < -10 * u else 8 * t if abs(span[1]) <= 10 * u else 20 * t
        marks.append(
            Words(
                float(beyond[0]),
                float(beyond[1]) + down,
                _word(sheet, word),
                24 * t,
                c["soft"],
                anchor=anchor,
                halo=3 * u,
            )
        )
    marks.append(Shape2D(d.disc(at, 4 * u), c["ink"], 2 * u))
    left = min(at[0] - 20 * u, sheet.width - 48 * u - text_width(label, 24 * t, face=face))
    return [*marks, Words(max(48 * u, left), sheet.band.top - 14 * u, label, 24 * t, c["ink"], halo=3 * u)]


def _corner(sheet: Canvas) -> Array:
    """Where the axes start: low at the left, with room for those that run left or down."""
    u, spans = sheet.u, np.array([span for _, span in axis_ends(sheet)])
    left = max(150 * u, 64 * u + _wide(sheet)) - min(0.0, float(spans[:, 0].min()))
    return np.array([left, sheet.band.top - 60 * u - 40 * (sheet.t - u) - max(0.0, float(spans[:, 1].max()))])


def axis_box(sheet: Canvas) -> Box:
    """What the axes and their words cover."""
    u, t, at = sheet.u, sheet.t, _corner(sheet)
    spans = np.array([[0.0, 0.0], *[span for _, span in axis_ends(sheet)]])
    low, high = at + spans.min(axis=0), at + spans.max(axis=0)
    wide = max(120 * t, _wide(sheet) + 16 * u)
    return Box(float(low[0]) - wide, float(low[1]) - 34 * t, float(high[0]) + wide, float(high[1]) + 40 * u)


def _wide(sheet: Canvas) -> float:
    """Width of the longest word at an axis."""
    words = (_word(sheet, way) for way, _ in axis_ends(sheet))
    return max(text_width(w, 24 * sheet.t, face=sheet.theme.face) for w in words)
