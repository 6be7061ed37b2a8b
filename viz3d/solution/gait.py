"""What a picture shows of a walk beside the hip: its cycle, its events, the ground's force, footprints.

Question answered: how does the joint force run over a whole cycle, when do heel strike, foot flat, mid-stance, push-off
and toe off come, what does the ground do under the studied foot, and where do the feet stand on the floor?

Read off a solved walk (:mod:`viz3d.solution.walk`). World frame that moves along with the walker; the floor's own frame
for footprints: x the way walked since the studied side's heel strike, z to the right. SI.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array, Frames
from viz3d.body.names import RIGHT, SIDES
from viz3d.body.segments import lengths
from viz3d.motion.leg import BALL, sole_points
from viz3d.solution.strain import Hardest, hardest
from viz3d.solution.walk import Walked
from viz3d.solution.walk_beside import measured_rows, phase
from viz3d.statics.ground import centre_of_mass

EVENTS = ("heel_strike", "foot_flat", "mid_stance", "push_off", "toe_off")
"""In their order: the foot is flat when its ball comes down, the leg in mid-stance when the other ankle passes, pushes
off once the other heel has struck."""
POINTS = 100
"""Of a cycle in a curve."""
_DOWN = 0.006
"""Height of the ball of the foot under which it counts as down, m."""
SOLE = np.array([
    [-0.24, 0.0], [-0.21, 0.09], [-0.10, 0.12], [0.10, 0.11], [0.30, 0.15], [0.45, 0.18], [0.56, 0.17], [0.65, 0.12],
    [0.73, 0.02], [0.76, -0.06], [0.74, -0.14], [0.62, -0.17], [0.45, -0.165], [0.25, -0.10], [0.05, -0.10],
    [-0.12, -0.115], [-0.21, -0.08],
])  # fmt: skip
"""Outline of a right sole, forward and outward from the ankle, in lengths of the foot; a drawing."""


SAME_MOMENT = 0.005
"""Shares of a cycle that lie less apart are one moment of it."""


def same_moment(phases: Iterable[float]) -> bool:
    """True where shares of a cycle are one moment of it; the end of a cycle is its beginning.

    Examples
    --------
    >>> same_moment([0.999, 0.001]), same_moment([0.3, 0.3, 0.31]), same_moment([])
    (True, False, True)
    """
    first, *others = [*phases] or [0.0]
    return all(abs((other - first + 0.5) % 1.0 - 0.5) <= SAME_MOMENT for other in others)


@dataclass(frozen=True)
class Footprint:
    """One foot on the floor: its side and outline (P, 2), forward and right, m."""

    side: str
    outline: Array


@dataclass(frozen=True)
class MeasuredPeaks:
    """The higher peak of the joint force in ten instrumented hips, BW; their whole curves are not ours to show."""

    lowest: float
    highest: float
    usual: tuple[float, float]
    """Mean less and plus one standard deviation."""
    times: tuple[tuple[float, float], ...]
    """Shares of the cycle between which either peak comes, from memory."""


@dataclass(frozen=True)
class Gait:
    """A walk's cycle from the studied side's heel strike on, and N moments of it."""

    phase: Array
    """(N,) share of the cycle."""
    joint: Array
    """(POINTS + 1,) joint force over the cycle, BW."""
    events: dict[str, float]
    """Event -> share of the cycle."""
    ground: Array
    """(N, 3) the ground's force on the studied foot, N; zero in the air."""
    place: Array
    """(N, 3) where it acts."""
    prints: tuple[Footprint, ...]
    pressure: Array
    """(POINTS + 1, 2) centre of pressure of both feet on the floor, forward and right, m."""
    centre: Array
    """(POINTS + 1, 2) the body's centre of mass over it."""
    tips: Array
    """(T, 2) where canes stand."""
    measured: MeasuredPeaks
    stride: float
    """Way of a cycle, m."""
    gone: Array
    """(N,) how far forward these moments' places were moved from where they are for who walks along, m."""
    hardest: Hardest
    """When the muscles have most to do, and whether they can."""
    passes: int = 0
    """Cycles from edge to edge of the floor that a passing body is seen on; 0 for one that stays in the middle."""


def gait_of(walked: Walked, rows: Frames) -> Gait:
    """What pictures show of a solved walk at some of its frames."""
    cycle, k = walked.cycle, SIDES.index(walked.side)
    order = np.argsort(phase(walked), kind="stable")
    every = np.append(order[:: max(1, cycle.frames // POINTS)], order[0])
    gone = cycle.speed * float(cycle.period[0]) * np.linspace(0.0, 1.0, len(every))
    force = walked.floor.force
    up = force[..., 1].sum(axis=1)
    pressure = (walked.floor.place * force[..., 1:2]).sum(axis=1) / up[:, None]
    return Gait(
        phase(walked)[rows],
        walked.joint_bw[every],
        events(walked),
        force[rows, k],
        walked.floor.place[rows, k],
        tuple(_prints(walked)),
        _on_floor(pressure[every], gone),
        _on_floor(centre_of_mass(walked.moving)[every], gone),
        _tips(walked),
        measured_peaks(),
        cycle.speed * float(cycle.period[0]),
        np.zeros(len(rows)),
        hardest(walked.strain, phase(walked)),
    )


def measured_peaks() -> MeasuredPeaks:
    """What ten instrumented hips read at their higher peak."""
    rows = measured_rows()

    def pair(key: str, unit: float = 1.0) -> tuple[float, float]:
        low, high = rows[key].value
        return float(low) * unit, float(high) * unit

    times = tuple(pair(f"joint_time.{which}", 0.01) for which in ("first", "second"))
    return MeasuredPeaks(*pair("joint_peak.2016"), pair("joint_peak_usual"), times)


def events(walked: Walked) -> dict[str, float]:
    """Shares of the cycle since the studied side's heel strike at which each event comes."""
    motion, side = walked.cycle.motion, walked.side
    other = next(s for s in SIDES if s != side)
    at, size = phase(walked), lengths(walked.body)
    order = np.argsort(at, kind="stable")
    ball = sole_points(float(size.foot[0]), float(size.ankle[0]))[BALL]
    foot = walked.posed.frames[f"{side}_foot"]
    height = (foot[:, 1, :3] @ ball + foot[:, 1, 3])[order]
    early = at[order] < 0.3
    flat = at[order][early & (height < _DOWN)]
    own, passing = (walked.posed.joints[f"{s}_ankle"][order, 0] for s in (side, other))
    ahead = (passing > own) & (at[order] > 0.1) & (at[order] < 0.5)
    strike = motion.strike[side]
    return {
        "heel_strike": 0.0,
        "foot_flat": float(flat[0]) if len(flat) else float("nan"),
        "mid_stance": float(at[order][int(np.argmax(ahead))]) if ahead.any() else float("nan"),
        "push_off": float(np.mod(motion.strike[other] - strike, 1.0)),
        "toe_off": float(np.mod(motion.toe_off[side] - strike, 1.0)),
    }


def _on_floor(places: Array, gone: Array) -> Array:
    """Places (M, 3) of the walker's frame on the floor, (M, 2) forward and right, once the floor has gone so far."""
    return np.column_stack([places[:, 0] + gone, places[:, 2]])


def _prints(walked: Walked) -> list[Footprint]:
    """Both feet where they stand, the other one before and after."""
    cycle, at = walked.cycle, phase(walked)
    stride, out = cycle.speed * float(cycle.period[0]), []
    size = float(lengths(walked.body).foot[0])
    for side in SIDES:
        own = 0.0 if side == walked.side else 0.5
        k = int(np.argmin(np.abs(at - np.mod(own + 0.25, 1.0))))
        foot = walked.posed.frames[f"{side}_foot"][k]
        outward = 1.0 if side == RIGHT else -1.0
        sole = np.column_stack([SOLE[:, 0], np.zeros(len(SOLE)), outward * SOLE[:, 1]]) * size
        placed = sole @ foot[:3, :3].T + foot[:3, 3]
        spot = np.column_stack([placed[:, 0] + stride * at[k], placed[:, 2]])
        out.append(Footprint(side, spot))
        if own:
            out.append(Footprint(side, spot - np.array([stride, 0.0])))
    return out


def _tips(walked: Walked) -> Array:
    """Where canes stand on the floor, (T, 2)."""
    cycle, at, out = walked.cycle, phase(walked), []
    stride = cycle.speed * float(cycle.period[0])
    for cane in walked.canes.values():
        k = int(np.argmax(cane.pressed))
        place = np.array([cane.tip[k, 0] + stride * at[k], cane.tip[k, 2]])
        out.append(place)
    return np.array(out).reshape(-1, 2)
