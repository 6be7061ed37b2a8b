"""Where the drawn muscles begin and end: rows of places on the bones, and how thick their bellies are.

Question answered: from where to where do a muscle's fibres run, and how much muscle is there?

Places hang on the landmark table, so they move with the bones. Belly areas are shares of the cross-sections (PCSA)
that the statics uses; that share is assumed, for pictures only. Right side, metres.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.body.landmarks import drawn, pelvis_frame, region_places
from viz3d.body.muscles import cross_sections, muscle_lines, muscle_points
from viz3d.body.person import Body, Hip
from viz3d.tables import read_toml

_APART = 5.0
"""Fibres of a narrow muscle begin about so far from each other, mm."""
_RUN_OUT = 10.0
"""How wide a groove beside a muscle is filled, mm, where its row says nothing."""
_FAN = (13, 4)
"""Columns along the crest, and rows from it downwards, of a muscle that arises from an area."""


@dataclass(frozen=True)
class MuscleBody:
    """One drawn muscle of one person (first of the batch).

    ``lines``: indices into the muscle set. ``start`` (J, R, 3) in the pelvis frame and ``end`` (J, R, 3) in the thigh
    frame, metres: where J columns of fibres in R rows begin and end, the first row outermost. ``belly`` m²; ``thin``:
    half the tendon's thickness, m; ``tendon`` share of the length, ``root`` that of the tendon at the origin; ``bulge``
    (3,) how far the middle stands off the straight line, pelvis frame, m. ``faint``: drawn see-through where it rests,
    instead of not at all. ``run_out``: how wide a groove beside it is filled, m. ``common``: a tendon that the muscles
    of these lines share, from the pelvis to where it parts.
    """

    name: str
    lines: tuple[int, ...]
    start: Array
    end: Array
    belly: float
    thin: float
    tendon: float
    bulge: Array
    faint: bool
    root: float = 0.0
    run_out: float = 0.0
    common: bool = False

    @property
    def words(self) -> str:
        """The name as people write it."""
        return self.name.replace("_", " ")


@dataclass(frozen=True)
class BodyLines:
    """The lines of the muscle set that one drawn muscle stands for, or share a tendon, the same in everybody."""

    name: str
    lines: tuple[int, ...]
    faint: bool
    common: bool


@lru_cache
def body_lines() -> tuple[BodyLines, ...]:
    """What every drawn muscle stands for, the deepest first."""
    names = [line.name for line in muscle_lines()]
    rows = read_toml("viz3d.body.tables", "muscle_bodies.toml")
    out = []
    for name, row in rows.items():
        lines = tuple(names.index(n) for n in row["lines"])
        out.append(BodyLines(name, lines, row.get("at_rest", "") == "faint", common="end_from_start" in row))
    return tuple(out)


def hip_centre(body: Body, hip: Hip) -> Array:
    """The right hip's centre in the pelvis frame, (3,) m."""
    return np.array([0.0, float(np.atleast_1d(hip.socket_up)[0]), float((body.hip_spacing / 2 + hip.socket_out)[0])])


def muscle_bodies(body: Body, hip: Hip) -> list[MuscleBody]:
    """Every drawn muscle of one person and hip, the deepest first."""
    starts, ends = (points[0] for points in muscle_points(body, hip))
    area, out = cross_sections(), []
    rows = read_toml("viz3d.body.tables", "muscle_bodies.toml")
    for of in body_lines():
        row, lines = rows[of.name], of.lines
        first, last = _ends(of, row, body, hip, *(points[list(lines)].mean(axis=0) for points in (starts, ends)))
        share = 0.0 if of.common else row.get("share", 1.0)
        belly = share * drawn()["belly_share"] * float(area[list(lines)].sum())
        bulge = np.array(row.get("bulge", [0.0, 0.0, 0.0])) * 1e-3
        thin, run_out = 1e-3 * row["end"][1], 1e-3 * row.get("run_out", _RUN_OUT)
        out.append(MuscleBody(
            of.name, lines, first, last, belly, thin, row["tendon"], bulge, of.faint, row.get("root", 0.0), run_out,
            of.common,
        ))  # fmt: skip
    return out


def _ends(of: BodyLines, row: dict[str, Any], body: Body, hip: Hip, start: Array, end: Array) -> tuple[Array, Array]:
    """Where a body's fibres begin, pelvis frame, and end, thigh frame, (J, R, 3) each, from its lines' ends (3,), m."""
    centre, size = hip_centre(body, hip), float(pelvis_frame(body).size[0])
    start, end = (at + size * np.array(row.get(key, [0.0, 0.0, 0.0])) for at, key in
                  ((start, "start_shift"), (end, "end_shift")))  # fmt: skip
    if of.common:
        end = start + size * np.array(row["end_from_start"]) - centre
    pull = end + centre - start
    if isinstance(row["origin"], str):
        first = region_places(row["origin"], body, *_FAN)[0]
    else:
        first = _places(start, pull, row["origin"], row["along"])
    last = _places(end, pull, row["end"], row["end_along"], first.shape[:2])
    return first, _matched(first, last, pull)


def _places(
    centre: Array, pull: Array, half: list[float], along: list[float], count: tuple[int, int] | None = None
) -> Array:
    """Columns and rows (J, R, 3) of a patch round ``centre``; ``half`` lengths in mm along the direction ``along``, and
    across it and the pull."""
    first = np.array(along, dtype=float) / np.linalg.norm(along)
    second = np.cross(pull, first)
    second /= np.linalg.norm(second)
    long, wide = max(half), min(half)
    if half[0] < half[1]:
        first, second = second, first
    columns, rows = count or (2 + round(2 * long / _APART), 1 if wide < _APART else 2)
    a = np.linspace(-1.0, 1.0, columns) * 0.8 * long
    b = (np.linspace(1.0, -1.0, rows) if rows > 1 else np.zeros(1)) * 0.5 * wide
    return np.asarray(centre + 1e-3 * (a[:, None, None] * first + b[None, :, None] * second))


def _matched(first: Array, last: Array, pull: Array) -> Array:
    """The ends with columns and rows turned so that they run as the beginnings do: no fibre crosses another."""
    unit = pull / np.linalg.norm(pull)

    def side(places: Array, axis: int) -> Array:
        way = (np.take(places, -1, axis) - np.take(places, 0, axis)).mean(axis=0)
        return np.asarray(way - (way @ unit) * unit)

    for axis in (0, 1):
        if last.shape[axis] > 1 and side(first, axis) @ side(last, axis) < 0.0:
            last = np.flip(last, axis)
    return last
