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
    area: Box, said: str, share: float, mark: float | None, beside: str, peak: Said, theme: Theme, u: float,
    role: str = "bar", notice: Said = "", first: str = "",
) -> list[Mark]:  # fmt: skip
    """Joint force as a number and as a bar, a mark to compare it with, words beside it, and the highest pressure.

    Parameters
    ----------
    share, mark : lengths of the bar and of what it is compared with, 0 to 1 of the area's width; None for nothing.
    peak : the highest pressure, "" where it is not said. first : what the mark is called, on the line of the pressure;
    where both do not fit, the mark is left out.
    notice : why nobody could stand so, "" where one can; said instead of the pressure.
    """
    c, t, left, room = theme.colours, u * theme.text, area.left, area.right - area.left
    y = area.top + 108 * u
    wide, low = left + room * share, y + 18 * u
    bar = np.array([[left, y], [wide, y], [wide, low], [left, low]])
    told = message("result.peak", pressure=peak)
    last = _last_words(theme, notice, told, (left, y + 60 * u), room, t) if notice or peak else []
    named = _mark_name(first, left + room * (mark or 0.0), y + 60 * u, area, last, theme, t)
    label = theme.voice.say(message("result.joint"))
    size, small, over = _sizes(said, label, beside, room, theme, u)
    if over and text_width(label, 24 * t, "Medium", theme.face) > room - _wide(beside, small, theme, u):
        label = ""
    sizes = (24 * t, 24 * u, 21 * u, 18 * u)
    tall = next((z for z in sizes if text_width(label, z, "Medium", theme.face) <= room), 17 * u)
    marks: list[Mark] = [
        Words(left, area.top + 34 * u, label, tall, c["ink"], "Medium"),
        Words(left, area.top + 88 * u, said, size, c["joint"], "Bold", role="result"),
        Stroke(np.array([[left, y + 18 * u], [area.right, y + 18 * u]]), c["card_line"], 2 * u),
        *d.filled(bar, np.array([1.0, 0.0]), c["joint"], c["card"], theme.pattern("joint"), 2.0 * u, role),
        *last,
    ]
    if mark is not None and (named or not first):
        at = left + room * mark
        marks += [Stroke(np.array([[at, y - 9 * u], [at, y + 27 * u]]), c["ink"], 3 * u, halo=2 * u), *named]
    if beside:
        at_right = (area.right, area.top + (34 if over else 88) * u)
        marks.append(Words(*at_right, beside, small, c["ink"], "SemiBold", "end", role="difference"))
    return marks


def _mark_name(
    first: str, at: float, y: float, area: Box, last: list[Mark], theme: Theme, t: float
) -> list[Mark]:  # fmt: skip
    """What the mark is called, under it; nothing where other words of the line leave no room."""
    taken = max(
        (m.x + text_width(m.text, m.size, m.weight, theme.face) for m in last if isinstance(m, Words)), default=0.0
    )
    if not first:
        return []
    for size in (24 * t, 22 * t, 20 * t):
        half = text_width(first, size, face=theme.face) / 2
        x = float(np.clip(at, area.left + half, max(area.right - half, area.left + half)))
        if x - half >= taken + (14 * t if last else 0.0) and 2 * half <= area.right - area.left:
            return [Words(x, y, first, size, theme.colours["soft"], anchor="middle", role="first")]
    return []


def _sizes(said: str, label: str, beside: str, room: float, theme: Theme, u: float) -> tuple[float, float, bool]:
    """Sizes of the number and of the words beside it, and whether those stand beside the label over it instead."""
    t, face = u * theme.text, theme.face
    numbers = [z * t for z in (46, 40, 36)]
    if not beside:
        return next((z for z in numbers if text_width(said, z, "Bold", face) <= room), 36 * u), 26 * t, False
    tried = dict.fromkeys((26 * t, 24 * t, 26 * u, 24 * u))
    for small in tried:
        wide = _wide(beside, small, theme, u)
        fits = [z for z in numbers if text_width(said, z, "Bold", face) <= room - wide]
        if fits:
            return fits[0], small, False
        if text_width(label, 24 * t, "Medium", face) <= room - wide:
            break
    number = next((z for z in numbers if text_width(said, z, "Bold", face) <= room), 36 * u)
    return number, small, True


def _wide(beside: str, size: float, theme: Theme, u: float) -> float:
    """Room that the words beside take."""
    return text_width(beside, size, "SemiBold", theme.face) + 16 * u


def _last_words(theme: Theme, notice: Said, peak: Said, at: tuple[float, float], room: float, t: float) -> list[Mark]:
    """Under the bar: that nobody could stand so, or the highest pressure; on two lines where one is too short."""
    if not notice and not peak:
        return []
    told = f"▲ {theme.voice.say(notice)}" if notice else theme.voice.say(peak)
    weight, tone = ("SemiBold", theme.colours["ink"]) if notice else ("Regular", theme.colours["soft"])
    size = next((z * t for z in (24, 22, 20) if len(wrap(told, room, z * t, weight, theme.face)) <= 2), 20 * t)
    lines = wrap(told, room, size, weight, theme.face)
    role = "notice" if notice else ""
    return [
        Words(at[0], at[1] + k * 1.25 * size, line, size, tone, weight, role=role) for k, line in enumerate(lines[:2])
    ]
