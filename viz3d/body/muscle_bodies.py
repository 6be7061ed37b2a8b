"""Where the drawn muscles begin and end: outlines on the bones, and how thick their bellies are.

Question answered: over which part of the bones is each muscle spread, and how much muscle is there?

Outlines hang on the landmark table, so they move with the bones. Belly areas are shares of the cross-sections (PCSA)
that the statics uses; that share is assumed, for pictures only. Right side, metres.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.body.landmarks import drawn, outline_landmark
from viz3d.body.muscles import cross_sections, muscle_lines, muscle_points
from viz3d.body.person import Body, Hip
from viz3d.tables import read_toml

RING = 20
"""Points of every outline."""


@dataclass(frozen=True)
class MuscleBody:
    """One drawn muscle of one person (first of the batch).

    ``lines``: indices into the muscle set; ``start`` (RING, 3) in the pelvis frame and ``end`` (RING, 3) in the thigh
    frame, metres; ``belly`` m², ``tendon`` share of the length; ``bulge`` (3,) how far the
    middle stands off the line of action, pelvis frame.
    """

    name: str
    lines: tuple[int, ...]
    start: Array
    end: Array
    belly: float
    tendon: float
    bulge: Array

    @property
    def words(self) -> str:
        """The name as people write it."""
        return self.name.replace("_", " ")


def muscle_bodies(body: Body, hip: Hip) -> list[MuscleBody]:
    """Every drawn muscle of one person and hip, in the table's order."""
    names = [line.name for line in muscle_lines()]
    starts, ends = (points[0] for points in muscle_points(body, hip))
    centre = np.array([0.0, float(np.atleast_1d(hip.socket_up)[0]), float((body.hip_spacing / 2 + hip.socket_out)[0])])
    area = cross_sections()
    out = []
    for name, row in read_toml("viz3d.body.tables", "muscle_bodies.toml").items():
        lines = tuple(names.index(n) for n in row["lines"])
        start, end = starts[list(lines)].mean(axis=0), ends[list(lines)].mean(axis=0)
        pull = end + centre - start
        last = _ellipse(end, pull, row["end"], row["end_along"])
        if row["origin"] == "region":
            first = _resampled(outline_landmark(row["lines"][0], body)[0])
        else:
            first = _ellipse(start, pull, row["origin"], row["along"])
        belly = drawn()["belly_share"] * float(area[list(lines)].sum())
        out.append(MuscleBody(name, lines, first, _aligned(first, start, last, end), belly, row["tendon"],
                              np.array(row.get("bulge", [0.0, 0.0, 0.0])) * 1e-3))  # fmt: skip
    return out


def _ellipse(centre: Array, pull: Array, half: list[float], along: list[float]) -> Array:
    """Points round an ellipse across the pull: its area on the bone, long axis ``along``, as seen along the pull."""
    unit, axis = pull / np.linalg.norm(pull), np.array(along, dtype=float) / np.linalg.norm(along)
    first = axis - (axis @ unit) * unit
    second = np.cross(unit, first / np.linalg.norm(first))
    turn = np.arange(RING) * 2 * np.pi / RING
    ring = np.cos(turn)[:, None] * first * half[0] + np.sin(turn)[:, None] * second * half[1]
    return np.asarray(centre + ring * 1e-3)


def _resampled(outline: Array) -> Array:
    """RING points at equal distances along a closed outline (P, 3)."""
    loop = np.concatenate([outline, outline[:1]])
    far = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(loop, axis=0), axis=1))])
    at = np.arange(RING) * far[-1] / RING
    return np.column_stack([np.interp(at, far, loop[:, i]) for i in range(3)])


def _aligned(first: Array, start: Array, last: Array, end: Array) -> Array:
    """The second ring turned or reversed so that fibres between the rings twist least."""
    choices = [np.roll(ring, k, axis=0) for ring in (last, last[::-1]) for k in range(RING)]
    apart = [((first - start - (ring - end)) ** 2).sum() for ring in choices]
    return np.asarray(choices[int(np.argmin(apart))])
