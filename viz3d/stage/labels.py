"""Where labels stand: beside the figure, clear of each other, of every arrow and of the joint, through a whole film.

Question answered: which place does each label take, so that nothing overlaps in any frame and leaders stay short?

Labels stand in two columns. Every place of a fine grid that some frame's arrow, the joint or a sign would touch is
struck out; among the rest an integer programme picks the places with the least squared distance from what the labels
name. One solution serves all frames. Where there is no room for all lines the smaller ones are dropped first.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.errors import InputError
from viz3d.stage.choose import choose
from viz3d.stage.drawing import Box
from viz3d.stage.reach import Aim, reach_costs
from viz3d.stage.type import INTER, Face, text_width, wrap

STEP = 6.0
"""Spacing of the places tried, u."""
GAP = 12.0
"""Least distance between two labels, u."""
CLEAR = 5.0
"""Least distance between a label and an arrow, u."""
_OUTWARD = (0.0, 30.0, 60.0, 100.0)
"""How far from the figure's side of its column a label may stand, u."""
_SMALL = 24.0
_JOINT_LEADER = 1e6


@dataclass(frozen=True)
class Wanted:
    """A label to place.

    Parameters
    ----------
    lines : its name; values : the most lines it shows in any frame, by line the widest text.
    targets : (F, 2) pixels of what it names, in some frames.
    """

    key: str
    role: str
    name: str
    values: list[list[str]]
    side: str
    targets: Array
    first: float = 34.0
    """Size of the first value, before the words' factor."""
    short: str = ""
    """Its name where room is scarce; the whole name where there is none."""
    firm: float = 1.0
    """How much its height counts against that of others."""
    spare: bool = False
    """On one line, and left out where a column is full: the last of a column's first."""
    below: float = 0.0
    """It may as well stand so far below its targets, pixels."""
    aim: Aim | None = None
    """What its leader ends on and may not meet."""


@dataclass(frozen=True)
class Column:
    """One margin: ``x`` is the labels' edge towards the figure, ``limit`` the farthest they may reach."""

    x: float
    limit: float
    anchor: str
    """ "start" right of the figure, "end" left of it."""
    top: float
    bottom: float

    @property
    def outward(self) -> float:
        """+1 right of the figure, -1 left of it."""
        return 1.0 if self.anchor == "start" else -1.0


@dataclass(frozen=True)
class Placed:
    """A placed label: name lines, sizes of the value lines that fit, where it stands."""

    wanted: Wanted
    name: list[str]
    sizes: list[float]
    inline: bool
    """True where the first value stands before the name, on one line."""
    x: float
    box: Box


@dataclass(frozen=True)
class Detail:
    """How much a column's labels say: value lines, whether the name is short, whether all is on one line."""

    lines: int
    short: bool = False
    inline: bool = False


DETAILS = (Detail(9), Detail(3), Detail(2), Detail(1), Detail(1, short=True), Detail(1, short=True, inline=True))
"""From everything to the least; the first that fits a column is used."""
_WORTH = 3
"""So many of them are tried before a spare label goes; for the first of a column's, all but the last."""


def place_labels(
    wanted: list[Wanted], columns: dict[str, Column], obstacles: list[Box], joint: Array, u: float, text: float,
    face: Face = INTER,
) -> dict[str, Placed]:  # fmt: skip
    """Places for all labels.

    Parameters
    ----------
    obstacles : boxes no label may touch. joint : (F, 2) pixels.
    u : 1/1080 of the page's height. text : the words' factor.

    Raises
    ------
    InputError : the page is too small for these labels.
    """
    out: dict[str, Placed] = {}
    for side, column in columns.items():
        some = [w for w in wanted if w.side == side]
        if not some:
            continue
        for detail, shown in _tries(some):
            placed = _column(shown, detail, column, obstacles, joint, u, text, face)
            if placed is not None:
                break
        else:
            raise InputError(
                f"picture.size: too small for {len(some)} labels beside the figure; give a larger or wider picture,"
                " usual text, or fewer picture.layers"
            )
        out |= {p.wanted.key: p for p in placed}
    return out


def _tries(wanted: list[Wanted]) -> Iterator[tuple[Detail, list[Wanted]]]:
    """What a column may say, the most first: small lines go before spare labels, and those before all else."""
    needed, spare = [w for w in wanted if not w.spare], [w for w in wanted if w.spare]
    for count in range(len(spare), 0, -1):
        for detail in DETAILS[:_WORTH] if count > 1 else DETAILS[:-1]:
            yield detail, [*needed, *spare[:count]]
    for detail in DETAILS:
        yield detail, needed


def _column(
    wanted: list[Wanted], detail: Detail, column: Column, obstacles: list[Box], joint: Array, u: float, text: float,
    face: Face,
) -> list[Placed] | None:  # fmt: skip
    """One column's labels with this much detail, or None where they do not fit."""
    t, room = u * text, abs(column.limit - column.x)
    walls = np.array([(b.left, b.top, b.right, b.bottom) for b in obstacles]).reshape(-1, 4)
    choices: list[list[tuple[float, Placed]]] = []
    for one in wanted:
        words = one.short if detail.short and one.short else one.name
        inline = detail.inline or one.spare
        name = [words] if inline else wrap(words, room, _SMALL * t, "Medium", face)
        count = min(detail.lines, max((len(v) for v in one.values), default=0))
        sizes = (
            [(28.0 if detail.short and not one.spare else one.first) * t] + [_SMALL * t] * (count - 1) if count else []
        )
        widths = [text_width(n, _SMALL * t, "Medium", face) for n in name] + _widths(one, sizes, face)
        wide = sum([*widths[:1], 10 * u, max(widths[1:], default=0.0)]) if inline else max(widths)
        tall = sum(1.25 * s for s in sizes) + 4 * t + (0.0 if inline else len(name) * 1.25 * _SMALL * t)
        label = Placed(one, name, sizes, inline, column.x, Box(0, 0, wide, tall))
        choices.append(list(_places(label, column, walls, joint, u)) if wide <= room else [])
        if not choices[-1]:
            return None
    return _choose(choices, u)


def _widths(one: Wanted, sizes: list[float], face: Face) -> list[float]:
    shown = {(v[k], k) for v in one.values for k in range(min(len(v), len(sizes)))}
    return [text_width(words, sizes[k], ("Bold", "Medium", "Regular")[min(k, 2)], face) for words, k in shown]


def _places(label: Placed, column: Column, walls: Array, joint: Array, u: float) -> Iterator[tuple[float, Placed]]:
    """(cost, place) of every free place of one label."""
    targets, wide, tall = label.wanted.targets, label.box.right, label.box.bottom
    aim = float(targets[:, 1].mean())
    tops = np.arange(column.top, column.bottom - tall + 0.1, STEP * u)
    half, clear = 0.5 * _SMALL * u, CLEAR * u
    far = np.abs(tops + half - aim)
    if label.wanted.below:
        far = np.minimum(far, np.abs(tops + half - aim - label.wanted.below))
    costs = label.wanted.firm * (far / u) ** 2
    if label.wanted.aim is not None:
        some = tops[::2] + half
        starts = np.column_stack([np.full(len(some), column.x - column.outward * 10 * u), some])
        reach = np.repeat(reach_costs(starts, label.wanted.aim, u), 2)[: len(tops)]
        costs = reach + costs * label.wanted.aim.lever
    for k, out in enumerate(_OUTWARD):
        x = column.x + column.outward * out * u
        if abs(column.limit - x) < wide:
            break
        left = x if column.anchor == "start" else x - wide
        near = walls[(left - clear < walls[:, 2]) & (walls[:, 0] < left + wide + clear)]
        hit = ((tops[:, None] - clear < near[:, 3]) & (near[:, 1] < tops[:, None] + tall + clear)).any(axis=1)
        for top, own in zip(tops[~hit], costs[~hit], strict=True):
            at = np.array([x, top + half])
            cost = float(own) + 9.0 * out**2 + k
            if label.wanted.key != "joint" and _passes(at, targets, joint, 16.0 * u):
                cost += _JOINT_LEADER
            box = Box(left, float(top), left + wide, float(top) + tall)
            yield cost, dataclasses.replace(label, x=x, box=box)


def _passes(start: Array, ends: Array, joint: Array, near: float) -> bool:
    """True where a straight leader comes near the joint in some frame."""
    along = ends - start
    length = np.maximum((along**2).sum(axis=1), 1e-9)
    share = np.clip(((joint - start) * along).sum(axis=1) / length, 0.0, 1.0)
    away = np.linalg.norm(start + share[:, None] * along - joint, axis=1)
    return bool((away < near).any())


def _choose(choices: list[list[tuple[float, Placed]]], u: float) -> list[Placed] | None:
    """The cheapest places that keep their distance: each height of the column used once."""
    flat = [(k, cost, place) for k, some in enumerate(choices) for cost, place in some]
    cell, gap = STEP * u, GAP * u
    first = min(p.box.top for _, _, p in flat)
    heights = [
        range(int((p.box.top - first) / cell + 1e-6), int((p.box.bottom + gap - first) / cell + 1e-6) + 1)
        for _, _, p in flat
    ]
    found = choose([k for k, _, _ in flat], [cost for _, cost, _ in flat], heights)
    return None if found is None else [flat[k][2] for k in found]
