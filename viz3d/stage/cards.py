"""Cards: the force polygon, the socket's pressure and the whole figure, beside the main picture.

Question answered: do the forces add up, where does the socket carry, how does the whole person stand?

The polygon uses the picture's own force scale (reduced with a note when it would not fit). The two little
meshes views are cameras for the renderer; their marks are drawn over them. Called by layout.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.stage import drawing as d
from viz3d.stage.camera import Camera
from viz3d.stage.drawing import Array, Box, Mark, Shape2D, Stroke, Words
from viz3d.stage.palette import PRESSURE_RANGE, pressure_map
from viz3d.stage.plan import Plan
from viz3d.stage.type import wrap

ORDER = ("weight", "backpack", "bag_stance", "bag_swing", "other_foot", "cane_stance", "cane_swing", "muscle", "joint")
"""Head-to-tail order of the polygon."""


@dataclass(frozen=True)
class Cards:
    """Boxes of the three cards, pixels; ``shown`` is False on narrow pictures."""

    shown: bool
    left: float
    polygon: Box
    socket: Box
    figure: Box


def card_boxes(size: tuple[int, int]) -> Cards:
    """Where the cards go for a picture of this size."""
    width, height = size
    u = height / 1080.0
    left, right = width - 412 * u, width - 32 * u
    rows = [(32, 392), (408, 642), (658, 848)]
    boxes = [Box(left, a * u, right, b * u) for a, b in rows]
    return Cards(width / height >= 1.55, left, *boxes)


class Insets:
    """Cameras of the two mesh insets, and the pixel boxes they fill."""

    def __init__(self, plan: Plan, cards: Cards, u: float) -> None:
        socket, figure = cards.socket, cards.figure
        self.socket_box = Box(socket.left + 6 * u, socket.top + 46 * u, socket.right - 108 * u, socket.bottom - 46 * u)
        self.figure_box = Box(figure.left + 6 * u, figure.top + 6 * u, figure.left + 206 * u, figure.bottom - 6 * u)
        side = plan.sign
        toward = np.array([0.50, -0.52, 0.70 * side])
        box = self.socket_box
        at = ((box.left + box.right) / 2, (box.top + box.bottom) / 2 + 4 * u)
        self.socket = Camera(toward / np.linalg.norm(toward), plan.hip.mean(axis=0), at, 1950 * u)
        box = self.figure_box
        tall = 1.05 * float(plan.frames["head"][:, 1, 3].max()) + 0.24
        scale = (box.bottom - box.top) / tall
        middle = float(plan.middle_hip[:, 2].mean())
        centre = np.array([0.0, tall / 2 - 0.055, middle])
        self.figure = Camera(
            np.array([1.0, 0.0, 0.0]), centre, ((box.left + box.right) / 2, (box.top + box.bottom) / 2), scale
        )


def card_marks(cards: Cards, colours: dict[str, str], u: float) -> list[Mark]:
    """Hairlines that set the insets apart, drawn beneath the meshes."""
    left, right = cards.left, cards.polygon.right
    rules = [np.array([[left - 14 * u, 40 * u], [left - 14 * u, cards.figure.bottom - 8 * u]])]
    for box in (cards.socket, cards.figure):
        rules.append(np.array([[left, box.top - 8 * u], [right, box.top - 8 * u]]))
    return [Stroke(rule, colours["card_line"], 1.8 * u) for rule in rules]


def polygon_scale(cards: Cards, spans: dict[str, Array], u: float) -> float:
    """Scale of the polygon against the picture, one for all frames; ``spans``: key -> (N, 2) pixels."""
    keys = [k for k in ORDER if k in spans]
    chain = np.cumsum([spans[k] for k in keys], axis=0)
    chain = np.concatenate([np.zeros_like(chain[:1]), chain])
    reach = (chain.max(axis=0) - chain.min(axis=0)).max(axis=0)
    box = cards.polygon
    room = np.array([box.right - box.left - 170 * u, box.bottom - box.top - 122 * u])
    return min(1.0, float((room / np.maximum(reach, 1.0)).min()))


def polygon_marks(
    cards: Cards,
    spans: dict[str, Array],
    roles: dict[str, str],
    values: dict[str, str],
    scale: float,
    bar: float,
    colours: dict[str, str],
    u: float,
) -> list[Mark]:
    """The force polygon: the same vectors, head to tail; it closes on the page."""
    box = cards.polygon
    keys = [k for k in ORDER if k in spans and np.hypot(*spans[k]) > 1.0]
    chain = np.concatenate([[np.zeros(2)], np.cumsum([spans[k] for k in keys], axis=0)])
    low, high = chain.min(axis=0), chain.max(axis=0)
    middle_of_card = np.array([(box.left + box.right) / 2, (box.top + 52 * u + box.bottom - 48 * u) / 2])
    shift = middle_of_card - scale * (low + high) / 2
    points = chain * scale + shift
    middle = points[:-1].mean(axis=0)
    y, x = box.bottom - 26 * u, box.left + 20 * u
    tick = np.array([[0.0, -7 * u], [0.0, 7 * u]])
    marks: list[Mark] = [
        Words(x, box.top + 36 * u, "Forces add up to zero", 25 * u, colours["ink"], "SemiBold"),
        Stroke(np.array([[x, y], [x + bar, y]]), colours["ink"], 2.6 * u),
        Stroke(np.array([x, y]) + tick, colours["ink"], 2.6 * u),
        Stroke(np.array([x + bar, y]) + tick, colours["ink"], 2.6 * u),
        Words(x + bar + 12 * u, y + 8 * u, "1 BW", 24 * u, colours["ink"]),
    ]
    taken: list[Box] = []
    sides = sorted(zip(keys, points[:-1], points[1:], strict=True), key=lambda s: -float(np.hypot(*(s[2] - s[1]))))
    for key, tail, tip in sides:
        marks.append(Shape2D(d.arrow(tail, tip, 6.5 * u), colours[roles[key]], 1.4 * u, f"polygon {key}"))
    for key, tail, tip in zip(keys, points[:-1], points[1:], strict=True):
        marks.append(_beside(key, tail, tip, middle, values[key], colours[roles[key]], u, taken, box))
    return marks


def _beside(
    key: str,
    tail: Array,
    tip: Array,
    middle: Array,
    text: str,
    colour: str,
    u: float,
    taken: list[Box],
    card: Box,
) -> Words:
    """A value beside its polygon side, on the outer side, moved along until it is free."""
    span = tip - tail
    aside = np.array([-span[1], span[0]]) / max(float(np.hypot(*span)), 1.0)
    if aside @ ((tail + tip) / 2 - middle) < 0:
        aside = -aside
    number = text.split(maxsplit=1)[0]
    wide, tall = len(number) * 14.5 * u, 26 * u
    places = [(s, out) for out in (16, 52, 88) for s in (0.5, 0.62, 0.38, 0.75, 0.25, 0.9, 0.1, 1.05)]
    for share, out in places:
        at = tail + share * span + aside * out * u
        left = at[0] if aside[0] >= 0 else at[0] - wide
        left = float(np.clip(left, card.left + 8 * u, card.right - wide - 8 * u))
        here = Box(left, at[1] - tall / 2, left + wide, at[1] + tall / 2)
        if not any(here.overlaps(b, 3 * u) for b in taken):
            break
    taken.append(here)
    return Words(here.left, here.bottom - 4 * u, number, 24 * u, colour, "SemiBold", "start", 2.5 * u, f"polygon {key}")


def socket_overlay(cards: Cards, plan: Plan, i: int, colours: dict[str, str], u: float) -> list[Mark]:
    """Heading, colour bar with its fixed range, and the peak's mark."""
    box = cards.socket
    marks: list[Mark] = [
        Words(box.left + 20 * u, box.top + 36 * u, "Pressure in the socket", 25 * u, colours["ink"], "SemiBold")
    ]
    top, bottom = box.top + 78 * u, box.bottom - 56 * u
    left, wide = box.right - 98 * u, 22 * u
    steps = pressure_map(60)
    edges = np.linspace(bottom, top, 61)
    for k, colour in enumerate(steps):
        corners = np.array(
            [
                [left, edges[k] + 0.5],
                [left + wide, edges[k] + 0.5],
                [left + wide, edges[k + 1]],
                [left, edges[k + 1]],
            ]
        )
        marks.append(Shape2D(corners, "#" + "".join(f"{round(c * 255):02X}" for c in colour)))
    frame = np.array([[left, top], [left + wide, top], [left + wide, bottom], [left, bottom], [left, top]])
    marks.append(Stroke(frame, colours["ink"], 1.6 * u))
    high = PRESSURE_RANGE[1]
    for value in (0.0, 1.0, 2.0, 3.0):
        y = bottom + (top - bottom) * value * 1e6 / high
        marks.append(Stroke(np.array([[left + wide, y], [left + wide + 7 * u, y]]), colours["ink"], 1.8 * u))
        marks.append(Words(left + wide + 13 * u, y + 8.5 * u, f"{value:.0f}", 24 * u, colours["ink"]))
    highest = plan.pressure.peak[i]
    if np.isfinite(highest):
        peak = min(float(highest), high)
        y = bottom + (top - bottom) * peak / high
        mark = np.array([[left - 12 * u, y], [left + wide + 4 * u, y]])
        marks.append(Stroke(mark, colours["ink"], 3.2 * u, halo=1.5 * u))
    over = " ▲" if np.isfinite(highest) and highest > high else ""
    marks.append(
        Words(box.right - 18 * u, box.bottom - 16 * u, f"peak {plan.pressure.peak_text[i]}{over}", 24 * u,
              colours["ink"], "SemiBold", "end", 2.5 * u)
    )  # fmt: skip
    return marks


def figure_overlay(
    cards: Cards, insets: Insets, plan: Plan, i: int, turned: bool, colours: dict[str, str], u: float
) -> list[Mark]:
    """Floor, line of gravity and a word on balance over the whole figure."""
    box, camera = insets.figure_box, insets.figure
    floor = camera.project(np.array([0.0, 0.0, 0.0]))[1]
    top = camera.project(plan.gravity_line[i])
    marks: list[Mark] = [
        Stroke(np.array([[box.left + 14 * u, floor], [box.right - 14 * u, floor]]), colours["ground"], 3.5 * u),
        Stroke(np.array([[top[0], top[1]], [top[0], floor]]), colours["weight"], 2.2 * u, (6 * u, 5 * u), 1.5 * u),
        Shape2D(d.disc(top, 5 * u), colours["weight"], 1.5 * u),
    ]
    x, y = box.right + 4 * u, cards.figure.top + 36 * u
    words = (
        ["This pose", "cannot", "be held."]
        if plan.notices[i]
        else wrap(f"The body balances {plan.supports[i]}.", cards.figure.right - x - 8 * u, 24 * u)
    )
    for k, word in enumerate(words):
        marks.append(Words(x, y + k * 30 * u, word, 24 * u, colours["ink"]))
    where = "from the front" if turned else "floor"
    marks.append(Words(x, floor + 4 * u, where, 24 * u, colours["soft"]))
    return marks
