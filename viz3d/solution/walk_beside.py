"""A solved walk beside measurements.

Question answered: where do ground force, moments, joint force, sway and muscles of this walk lie against what was
measured, on the person whose motion it is and on others?

Each line has our figure, the measured low and high, and the source. What comes from the motion's own table has its mean
with one standard deviation either way. Where the motion was made to agree (:mod:`viz3d.motion.swing`), nothing is
compared.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.body.muscles import muscle_lines
from viz3d.body.names import RIGHT
from viz3d.solution.walk import Walked
from viz3d.statics.ground import centre_of_mass
from viz3d.statics.model import SPATIAL_SET
from viz3d.tables import Row, load_rows

FIRST, VALLEY, SECOND = (0.05, 0.30), (0.20, 0.45), (0.38, 0.60)
"""Shares of the cycle since heel strike in which peaks and the valley between them are looked for."""
QUIET = 0.05
"""Activation under which a muscle counts as quiet."""


DECIMALS = {"m": 3, "BW": 2, "Nm/kg": 2}
"""Unit -> decimals that are usually written of a comparison; one of any other."""


@dataclass(frozen=True)
class Compared:
    """One figure of ours beside a measured one; ``key`` names it in the words, values in ``unit``."""

    key: str
    unit: str
    ours: float
    low: float
    high: float
    source: str
    status: str

    @property
    def inside(self) -> bool | None:
        """True where ours lies between; None where a single figure without spread was measured."""
        return None if self.low == self.high else self.low <= self.ours <= self.high


def decimals(unit: str, ours: float, low: float, high: float) -> int:
    """Decimals of a comparison's figures as they are written: one more where they would hide which side ours lies on.

    Examples
    --------
    >>> decimals("BW", 1.134, 1.07, 1.128), decimals("BW", 1.12, 1.07, 1.13), decimals("deg", 5.0, 5.0, 5.0)
    (3, 2, 1)
    """
    few = DECIMALS.get(unit, 1)
    shown = round(low, few) <= round(ours, few) <= round(high, few)
    return few if low == high or shown == (low <= ours <= high) else few + 1


def measured_rows() -> dict[str, Row]:
    """Published measurements of walking."""
    return load_rows("viz3d.solution", "walking.toml")


def compared(walked: Walked) -> list[Compared]:
    """Every comparison that this walk allows."""
    return [*_own(walked), *_published(walked)]


def phase(walked: Walked) -> Array:
    """Shares of the cycle since the studied side's heel strike, of the first cycle, (F,)."""
    share = walked.cycle.share[: walked.cycle.frames]
    return np.asarray(np.mod(share - walked.cycle.motion.strike[walked.side], 1.0))


def extreme(values: Array, at: Array, window: tuple[float, float], way: float) -> tuple[float, float]:
    """Highest (way 1) or lowest (-1) of values (F,) within shares, and when.

    Examples
    --------
    >>> extreme(np.array([1.0, 3.0, 2.0]), np.array([0.0, 0.1, 0.2]), (0.05, 0.3), 1.0)
    (3.0, 0.1)
    """
    held = (at >= window[0]) & (at <= window[1]) & np.isfinite(values)
    if not held.any():
        return float("nan"), float("nan")
    k = int(np.argmax(np.where(held, way * values, -np.inf)))
    return float(values[k]), float(at[k])


def _own(walked: Walked) -> Iterator[Compared]:
    """Against the motion's own measurements."""
    motion, at, frames = walked.cycle.motion, phase(walked), walked.cycle.frames
    known = walked.side if f"ground_up_{walked.side}" in motion.values else (motion.sides[0] if motion.sides else "")
    since = np.mod(motion.times[:-1] / motion.period - motion.strike.get(known, 0.0), 1.0)
    kg = float(walked.body.mass[0])
    foot = walked.floor.force[:frames, int(walked.side == RIGHT)] / float(walked.body.weight[0])
    moment = walked.moment_below[:frames] / kg
    outward = 1.0 if walked.side == RIGHT else -1.0
    theirs = 1.0 if known == RIGHT else -1.0
    wanted = (
        ("ground_first", "BW", foot[:, 1], f"ground_up_{known}", 1.0, FIRST, 1.0),
        ("ground_valley", "BW", foot[:, 1], f"ground_up_{known}", 1.0, VALLEY, -1.0),
        ("ground_second", "BW", foot[:, 1], f"ground_up_{known}", 1.0, SECOND, 1.0),
        ("ground_inward", "BW", -outward * foot[:, 2], f"ground_right_{known}", -theirs, (0.1, 0.55), 1.0),
        ("extension", "Nm/kg", -moment[:, 0], f"hip_flexion_moment_{known}", -1.0, FIRST, 1.0),
        ("flexion", "Nm/kg", moment[:, 0], f"hip_flexion_moment_{known}", 1.0, (0.4, 0.7), 1.0),
        ("abduction_first", "Nm/kg", moment[:, 1], f"hip_abduction_moment_{known}", 1.0, FIRST, 1.0),
        ("abduction_second", "Nm/kg", moment[:, 1], f"hip_abduction_moment_{known}", 1.0, SECOND, 1.0),
    )
    for key, unit, values, column, sign, window, way in wanted:
        if column not in motion.values or column not in motion.spread:
            continue
        mean, when = extreme(sign * motion.values[column][:-1], since, window, way)
        spread = float(motion.spread[column][int(np.argmin(np.abs(since - when)))])
        ours, _ = extreme(values, at, window, way)
        yield Compared(key, unit, ours, mean - spread, mean + spread, motion.source, "published")


def _published(walked: Walked) -> Iterator[Compared]:
    """Against other people's."""
    frames, at = walked.cycle.frames, phase(walked)
    joint = walked.joint_bw[:frames]
    (first, early), (second, late) = (extreme(joint, at, window, 1.0) for window in (FIRST, SECOND))
    whole = max(first, second)
    angle = np.degrees(walked.load.joint_angle[:frames])
    centre = centre_of_mass(walked.moving)[:frames]
    k = int(walked.side == RIGHT)
    hip, knee = (np.degrees(v[:frames, k, 0]) for v in (walked.cycle.angles.hips, walked.cycle.angles.knees))
    found = {
        "joint_peak.2001": whole, "joint_peak.2016": whole, "joint_peak.1993": whole,
        "joint_time.first": 100.0 * early, "joint_time.second": 100.0 * late,
        "joint_angle": float(angle[int(np.argmin(np.abs(at - (early if first >= second else late))))]),
        "pelvis_range": frontal_degrees(walked, "pelvis"), "thorax_range": frontal_degrees(walked, "trunk"),
        "centre_aside": float(np.ptp(centre[:, 2])), "centre_up": float(np.ptp(centre[:, 1])),
        "hip_range": float(np.ptp(hip)), "knee_range": float(np.ptp(knee)), "knee_strike": float(knee[np.argmin(at)]),
        "knee_loading": extreme(knee, at, FIRST, 1.0)[0], "knee_least": extreme(knee, at, (0.25, 0.55), -1.0)[0],
    }  # fmt: skip
    if walked.model.kind == SPATIAL_SET:
        found["gluteus_medius_off"] = 100.0 * quiet_from(walked, "gluteus_medius")
        found["gluteus_maximus_off"] = 100.0 * quiet_from(walked, "gluteus_maximus")
    for name, ours in found.items():
        row = measured_rows()[name]
        low, high = row.value
        yield Compared(name.replace(".", "_"), row.unit, ours, low, high, row.source, row.status)


def frontal_degrees(walked: Walked, link: str) -> float:
    """Range of a link's lean in the frontal plane, degrees."""
    turned = walked.posed.frames[link][: walked.cycle.frames, :3, :3]
    return float(np.degrees(np.ptp(np.arctan2(turned[:, 2, 1], turned[:, 1, 1]))))


def activation(walked: Walked, muscle: str) -> Array:
    """Share of its strength that a muscle gives over the frames, (N,); of its lines, the one that gives most."""
    lines = [k for k, line in enumerate(muscle_lines()) if line.of == muscle]
    assert walked.load.muscles is not None
    return np.asarray(walked.load.muscles.shared.activation[:, lines].max(axis=1))


def quiet_from(walked: Walked, muscle: str) -> float:
    """Share of the cycle since heel strike from which a muscle that stood its leg is quiet; NaN where it never is."""
    order = np.argsort(phase(walked))
    active = activation(walked, muscle)[: walked.cycle.frames][order] > QUIET
    at = phase(walked)[order]
    start = int(np.argmax(active & (at > 0.02)))
    after = ~active & (np.arange(len(active)) > start)
    return float(at[int(np.argmax(after))]) if after.any() and active.any() else float("nan")
