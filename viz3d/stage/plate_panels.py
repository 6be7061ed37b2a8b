"""Panels of a plate: where each view goes on the page, at one scale.

Question answered: how large are the bones, and which part of the page is each view's?

A view's name stands above its bones. Bones that are not what the plate is about, and those that go on beyond it, fade
at the edge of what is framed. Pure data.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.errors import InputError
from viz3d.stage.camera import TOWARD, Camera
from viz3d.stage.drawing import Box
from viz3d.stage.type import text_width
from viz3d.words.message import Said
from viz3d.words.voice import Voice

PLATE_TOWARD = {
    **TOWARD,
    "inside": (0.0, 0.0, -1.0),
    "top": (1e-4, 1.0, 0.0),
    "below": (1e-4, -1.0, 0.0),
    "socket": (0.55, -0.30, 0.78),
    "back-quarter": (-0.78, 0.25, 0.57),
}
"""Direction from a right-hand bone to the viewer."""
_MORE_ROWS = 1.25
"""Another row of views must make them this much larger."""
NAME_WIDTH = 8.2
"""Usual room for a name beside a bone, in heights of a label."""
TEXT = 0.0222
"""Height of a label as a share of the page's height."""
_FARTHEST = 16.0
"""Names begin at most this far from what is framed, heights of a label: leaders do not cross half a page."""
_TALL = 1.35
"""A view is at most so much taller than its bones, so that its name stands near them."""
HEAD, FADE = 2.4, 0.7
"""Room for a view's name above its bones, and that in which bones fade past what is framed; heights of a label."""


@dataclass(frozen=True)
class Point:
    """A labelled point: its word and place (3,) m; ``views``: where it is seen."""

    word: Said
    at: Array
    views: frozenset[str]


@dataclass(frozen=True)
class Panel:
    """One view on the page; ``framed``: what the plate is about, pixels."""

    view: str
    box: Box
    camera: Camera
    framed: Box

    def solid_box(self, text: float) -> Box:
        """The part in which bones are drawn: below its name, and not far past what is framed; ``text``: of a label."""
        top = max(self.box.top + HEAD * text, self.framed.top - FADE * text)
        bottom = min(self.box.bottom, self.framed.bottom + FADE * text)
        return Box(self.box.left, top, self.box.right, bottom).whole()

    def names_box(self, text: float) -> Box:
        """The part in which names stand."""
        left = max(self.box.left, self.framed.left - _FARTHEST * text)
        right = min(self.box.right, self.framed.right + _FARTHEST * text)
        return Box(left + 0.4 * text, self.box.top + HEAD * text, right - 0.4 * text, self.box.bottom - 0.4 * text)

    def name_room(self, text: float) -> float:
        """How wide a name may be in the narrower margin, pixels."""
        room = self.names_box(text)
        return min(self.framed.left - room.left, room.right - self.framed.right) - 1.0 * text


def name_width(labels: list[Point], voice: Voice) -> float:
    """Room that a margin's names need so that no word is broken, in heights of a label."""
    words = (w for p in labels for w in voice.say(p.word).split())
    return max([NAME_WIDTH, *(text_width(w, 1.0, "Medium") + 0.1 for w in words)])


def lay_out(
    views: list[str], points: Array, size: tuple[int, int], labelled: set[str], wide: float = NAME_WIDTH
) -> list[Panel]:
    """Panels for the views, at one scale, as large as the page allows.

    Parameters
    ----------
    points : (P, 3) m, what every panel must hold. labelled : views that need margins for names. wide : least room for a
    name there, in heights of a label; what a panel has to spare is added to its margins.

    Raises
    ------
    InputError : no room for bones between the margins.
    """
    width, height = size
    text = TEXT * height
    centre = (points.min(axis=0) + points.max(axis=0)) / 2
    cameras = [Camera(_unit(PLATE_TOWARD[v]), centre, (0.0, 0.0), 1.0) for v in views]
    flat = [c.project(points) for c in cameras]
    spans = np.array([f.max(axis=0) - f.min(axis=0) for f in flat])
    margin = np.array([(wide + 1.4) * text if v in labelled else 1.0 * text for v in views])
    area = Box(2 * text, 6.2 * text, width - 2 * text, height - 4.2 * text)
    scale, columns = _largest(spans, margin, area, text)
    rows = -(-len(views) // columns)
    panels = []
    for r in range(rows):
        group = list(range(r * columns, min((r + 1) * columns, len(views))))
        spare = (area.right - area.left) - sum(spans[k, 0] * scale + 2 * margin[k] for k in group)
        x = area.left
        room = (area.bottom - area.top) / rows
        tall = float(np.clip(_TALL * spans[group, 1].max() * scale + (HEAD + 2 * FADE) * text, 24 * text, room))
        top = area.top + r * room + (room - min(tall, room)) / 2
        bottom = area.top + (r + 1) * room - (room - min(tall, room)) / 2
        for k in group:
            across = spans[k, 0] * scale + 2 * margin[k] + spare / len(group)
            half = spans[k] * scale / 2
            middle = np.array([x + across / 2, (top + bottom + HEAD * text) / 2])
            at = middle - (flat[k].min(axis=0) + flat[k].max(axis=0)) * scale / 2
            camera = Camera(cameras[k].toward, centre, (float(at[0]), float(at[1])), scale)
            framed = Box(*(float(v) for v in (*(middle - half), *(middle + half))))
            panels.append(Panel(views[k], Box(x, top, x + across, bottom), camera, framed))
            x += across
    return panels


def _largest(spans: Array, margin: Array, area: Box, text: float) -> tuple[float, int]:
    """The largest scale at which views of these spans (V, 2) fit, and in how many columns."""
    best, count = (0.0, 1), len(spans)
    for columns in range(count, 0, -1):
        rows = -(-count // columns)
        tall = (area.bottom - area.top) / rows - (HEAD + 2 * FADE + 0.2) * text
        groups = [range(r * columns, min((r + 1) * columns, count)) for r in range(rows)]
        wide = min((area.right - area.left - 2 * margin[list(g)].sum()) / spans[list(g), 0].sum() for g in groups)
        scale = min(wide, tall / spans[:, 1].max())
        if scale > _MORE_ROWS * best[0]:
            best = (float(scale), -(-count // rows))
    if best[0] <= 0.0:
        raise InputError("picture.size: too small for these views and labels; give fewer views or a larger size")
    return best


def _unit(toward: tuple[float, float, float]) -> Array:
    vector = np.array(toward)
    return np.asarray(vector / np.linalg.norm(vector))
