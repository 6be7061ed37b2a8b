"""A result under a figure: the joint force as a number and as a bar, and the highest pressure.

Question answered: how large is it, and how large against something else?
"""

from __future__ import annotations

import numpy as np

from viz3d.stage import drawing as d
from viz3d.stage.drawing import Box, Mark, Stroke, Words
from viz3d.stage.theme import Theme
from viz3d.stage.type import text_width, wrap
from viz3d.words.message import Said, message


def result_marks(
    area: Box, said: str, share: float, mark: float, beside: str, peak: Said, theme: Theme, u: float, role: str = "bar",
    notice: Said = "",
) -> list[Mark]:  # fmt: skip
    """Joint force as a number and as a bar, a mark to compare it with, words beside it, and the highest pressure.

    Parameters
    ----------
    share, mark : lengths of the bar and of what it is compared with, 0 to 1 of the area's width.
    notice : why nobody could stand so, "" where one can; said instead of the pressure.
    """
    c, t, left, room = theme.colours, u * theme.text, area.left, area.right - area.left
    y = area.top + 108 * u
    wide, low = left + room * share, y + 18 * u
    bar = np.array([[left, y], [wide, y], [wide, low], [left, low]])
    at = left + room * mark
    free = room - (text_width(beside, 26 * t, "SemiBold", theme.face) + 16 * u if beside else 0.0)
    sizes = [z * t for z in (46, 40, 36) if text_width(said, z * t, "Bold", theme.face) <= free]
    size = sizes[0] if sizes else 36 * t
    label, small = theme.voice.say(message("result.joint")), 26 * t
    if beside and not sizes:
        label, small = _on_one_line(label, beside, room - 14 * u, theme, t)
    marks: list[Mark] = [
        Words(left, area.top + 34 * u, label, 24 * t, c["ink"], "Medium"),
        Words(left, area.top + 88 * u, said, size, c["joint"], "Bold", role="result"),
        Stroke(np.array([[left, y + 18 * u], [area.right, y + 18 * u]]), c["card_line"], 2 * u),
        *d.filled(bar, np.array([1.0, 0.0]), c["joint"], c["card"], theme.pattern("joint"), 2.0 * u, role),
        Stroke(np.array([[at, y - 9 * u], [at, y + 27 * u]]), c["ink"], 3 * u, halo=2 * u),
        *_last_words(theme, notice, message("result.peak", pressure=peak), (left, y + 60 * u), room, t),
    ]
    if beside:
        at_right = (area.right, area.top + (88 if sizes else 34) * u)
        marks.append(Words(*at_right, beside, small, c["ink"], "SemiBold", "end", role="difference"))
    return marks


def _on_one_line(label: str, beside: str, room: float, theme: Theme, t: float) -> tuple[str, float]:
    """The label that leaves room for the words beside it, and their size; no label where even small ones do not fit."""
    wide = text_width(label, 24 * t, "Medium", theme.face)
    for size in (26 * t, 24 * t, 22 * t, 20 * t):
        if wide + text_width(beside, size, "SemiBold", theme.face) <= room:
            return label, size
    full = text_width(beside, 26 * t, "SemiBold", theme.face)
    return "", 26 * t * min(1.0, room / full)


def _last_words(theme: Theme, notice: Said, peak: Said, at: tuple[float, float], room: float, t: float) -> list[Mark]:
    """Under the bar: that nobody could stand so, or the highest pressure; on two lines where one is too short."""
    told = f"▲ {theme.voice.say(notice)}" if notice else theme.voice.say(peak)
    weight, tone = ("SemiBold", theme.colours["ink"]) if notice else ("Regular", theme.colours["soft"])
    size = next((z * t for z in (24, 22, 20) if len(wrap(told, room, z * t, weight, theme.face)) <= 2), 20 * t)
    lines = wrap(told, room, size, weight, theme.face)
    role = "notice" if notice else ""
    return [
        Words(at[0], at[1] + k * 1.25 * size, line, size, tone, weight, role=role) for k, line in enumerate(lines[:2])
    ]
