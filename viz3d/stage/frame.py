"""What frames every picture: title, R and L marks, scale bars and the caption band.

Question answered: which words and signs surround the figure, and where?

Called by :mod:`viz3d.stage.layout`; pure data.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from viz3d import units
from viz3d.stage import drawing as d
from viz3d.stage.drawing import Box, Mark, Shape2D, Stroke, Words, closed
from viz3d.stage.type import wrap

if TYPE_CHECKING:
    from viz3d.stage.layout import Sheet


def title_marks(sheet: Sheet, i: int) -> list[Mark]:
    """Title, view and stance, and why a posture cannot be held."""
    u, c = sheet.u, sheet.colours
    marks: list[Mark] = [
        Words(48 * u, 76 * u, sheet.plan.title, 46 * u, c["ink"], "Bold"),
        Words(48 * u, 114 * u, sheet.plan.subtitles[i], 26 * u, c["soft"]),
    ]
    if not sheet.frontal:
        marks.append(Words(48 * u, 150 * u, "Arrows not to scale here", 26 * u, c["ink"], "SemiBold"))
    return marks


def side_marks(sheet: Sheet) -> list[Mark]:
    """R and L, where the view shows both sides."""
    u, c = sheet.u, sheet.colours
    marks: list[Mark] = []
    across = sheet.camera.right[2]
    if abs(across) < 0.3:
        return []
    for sign, letter, word in ((1.0, "R", "right"), (-1.0, "L", "left")):
        x = sheet.camera.at[0] + sign * np.sign(across) * 336 * u
        y = 148 * u
        circle = d.disc(np.array([x, y]), 24 * u)
        marks += [
            Shape2D(circle, c["card"], role="side"),
            Stroke(closed(circle), c["card_line"], 1.6 * u),
            Words(x, y + 10 * u, letter, 28 * u, c["ink"], "Bold", "middle"),
            Words(x, y + 52 * u, word, 24 * u, c["soft"], "Regular", "middle", 3 * u),
        ]
    return marks


def scale_marks(sheet: Sheet) -> list[Mark]:
    """Length and force bars; turned views have none."""
    u, c = sheet.u, sheet.colours
    x, y = 48 * u, sheet.band.top - 66 * u
    if not sheet.frontal:
        return []
    marks = _bar(x, y, 0.10 * sheet.camera.scale, "10 cm", c["soft"], u)
    weight = sheet.per_weight * sheet.plan.body_weight
    label = f"1 BW = {units.show_newtons(sheet.plan.body_weight)}"
    return marks + _bar(x, y + 40 * u, weight, label, c["ink"], u)


def band_marks(sheet: Sheet, i: int) -> list[Mark]:
    """The caption band: what this step shows, who stands there, what the model is."""
    u, c = sheet.u, sheet.colours
    box = Box(-2, sheet.band.top, sheet.width + 2, sheet.height + 2)
    edge = np.array([[0.0, sheet.band.top], [sheet.width, sheet.band.top]])
    outline = np.array([[box.left, box.top], [box.right, box.top], [box.right, box.bottom], [box.left, box.bottom]])
    marks: list[Mark] = [Shape2D(outline, c["band"]), Stroke(edge, c["card_line"], 2 * u)]
    usable = sheet.width - 96 * u
    notice, y = sheet.plan.notices[i], sheet.band.top + 46 * u
    if notice:
        marks.append(Words(48 * u, sheet.band.top + 35 * u, f"▲ {notice}", 27 * u, c["ink"], "Bold"))
        y += 40 * u
    room = 2 if not notice else 1
    for size in (38 * u, 34 * u, 27 * u, 25 * u):
        lines = wrap(sheet.plan.captions[i], usable, size, "SemiBold")
        if len(lines) <= room and (len(lines) < 2 or size < 38 * u):
            break
    y += 26 * u if len(lines) < 2 and not notice else 0.0
    for line in lines:
        marks.append(Words(48 * u, y, line, size, c["ink"], "SemiBold"))
        y += size * 1.26
    small = 24 * u
    foot = wrap(sheet.plan.model_line, usable, small)
    person = wrap(sheet.plan.person_line, usable, small)
    y = sheet.height - 24 * u - (len(foot) - 1) * small * 1.3
    for k, line in enumerate(foot):
        marks.append(Words(48 * u, y + k * small * 1.3, line, small, c["soft"]))
    y -= len(person) * small * 1.34
    for k, line in enumerate(person):
        marks.append(Words(48 * u, y + k * small * 1.3, line, small, c["ink"]))
    return marks


def _bar(x: float, y: float, length: float, text: str, colour: str, u: float) -> list[Mark]:
    ends = np.array([[x, y], [x + length, y]])
    tick = np.array([[0.0, -8 * u], [0.0, 8 * u]])
    return [
        Stroke(ends, colour, 3 * u),
        Stroke(ends[0] + tick, colour, 3 * u),
        Stroke(ends[1] + tick, colour, 3 * u),
        Words(x + length + 14 * u, y + 8 * u, text, 24 * u, colour),
    ]
