"""Whether a table in time can be a walking person's cycle.

Question answered: are the rows even, without jumps, in the units that they name, and do they close?
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from viz3d.arrays import Array
from viz3d.errors import MotionError
from viz3d.motion.columns import MOST, known_keys
from viz3d.motion.plant import Planted
from viz3d.motion.table import Motion

_SHOWN = {
    "angle": ("deg", 57.29577951308232),
    "length": ("mm", 1000.0),
    "force": ("BW", 1.0),
    "moment": ("N m/kg", 1.0),
}
FASTEST = {"angle": 30.0, "length": 10.0}
"""Fastest change of a joint angle, rad/s, and of the root, m/s, that is no jump."""
OPEN = {"angle": 0.2, "length": 0.15}
"""How far the last row may lie from the first, rad and m (not forward), and still close the cycle."""
SPEEDS, PERIODS = (0.3, 2.2), (0.5, 3.0)
"""Speeds, m/s, and times of a cycle, s, of walking adults."""
MOST_OFF, MOST_SLID, MOST_SUNK = 0.10, 0.010, 0.005
"""How far a standing foot may lie off the floor as measured, and slide and sink once it is put there, m."""
LEAST = {"knee": 20.0, "hip": 5.0}
"""Least range of flexion of a walking joint, degrees: under it a column is taken for another unit than it names."""
HEIGHTS = (0.7, 1.4)
"""Of the root above the floor, as a share of the leg from hip to ankle."""


def check_motion(name: str, motion: Motion, frame_rate: float | None, lines: list[str]) -> None:
    """Refuse what is no even, whole cycle of walking.

    Parameters
    ----------
    name : what errors call the file. frame_rate : as the file says it, Hz. lines : (M,) what errors call its rows.

    Raises
    ------
    MotionError : what is wrong, in which line.
    """
    _even(name, motion.times, frame_rate, lines)
    for key, values in motion.values.items():
        dimension = known_keys()[key].dimension
        unit, size = _SHOWN[dimension]
        if np.abs(values).max() > MOST[dimension]:
            worst = values[np.abs(values).argmax()] * size
            raise MotionError(
                name, f"{key}: {worst:.4g} {unit}", "no body shows that; is it in the unit its column names?"
            )
        if dimension in FASTEST:
            _without_jumps(name, key, values, motion.times, lines)
    _walks(name, motion)


def check_feet(name: str, planted: Planted) -> None:
    """Refuse a motion whose feet cannot stand on this body.

    Raises
    ------
    MotionError : they lie too far off the floor as measured, or still slide or sink.
    """
    for what, found, most in (
        ("lies off the floor by", planted.moved, MOST_OFF), ("slides by", planted.slid, MOST_SLID),
        ("sinks through the floor by", planted.sunk, MOST_SUNK),
    ):  # fmt: skip
        for side, far in found.items():
            if not far <= most:
                shown = f"the {side} foot {what} {1000 * far:.0f} mm while it stands"
                raise MotionError(name, shown, f"allowed: {1000 * most:.0f} mm on this body")


def _even(name: str, times: Array, frame_rate: float | None, lines: list[str]) -> None:
    steps = np.diff(times)
    if not (steps > 0).all():
        raise MotionError(name, f"{lines[int(np.argmin(steps)) + 1]}: time_s does not rise")
    usual = float(np.median(steps))
    off = np.abs(steps - usual) > 0.02 * usual
    if off.any():
        k = int(off.argmax())
        allowed = f"rows stand {usual:.4g} s apart; fill gaps first"
        raise MotionError(name, f"{lines[k + 1]}: {steps[k]:.4g} s after the row before", allowed)
    if frame_rate is not None and abs(frame_rate * usual - 1.0) > 0.02:
        raise MotionError(name, f"frame_rate_hz: {frame_rate:g}", f"but time_s has {1.0 / usual:.4g} rows a second")


def _without_jumps(name: str, key: str, values: Array, times: Array, lines: list[str]) -> None:
    dimension = known_keys()[key].dimension
    unit, size = _SHOWN[dimension]
    change = np.abs(np.diff(values))
    k = int(change.argmax())
    if change[k] > FASTEST[dimension] * (times[1] - times[0]):
        raise MotionError(name, f"{lines[k + 1]}: {key} jumps by {change[k] * size:.3g} {unit} from the row before")
    if key != "root_forward" and abs(values[-1] - values[0]) > OPEN[dimension]:
        gap = abs(values[-1] - values[0]) * size
        raise MotionError(name, f"{key}: the last row lies {gap:.3g} {unit} from the first", "allowed: one whole cycle")


def _walks(name: str, motion: Motion) -> None:
    """Refuse what is no walk of an adult: speed, time, height of the hips, bend of the knee."""
    for what, found, low, high, unit in _sizes(motion):
        if not low <= found <= high:
            raise MotionError(
                name, f"{what}: {found:.3g} {unit}".rstrip(), f"allowed: {low:g} to {high:g} {unit}".rstrip()
            )
    for joint, least in LEAST.items():
        for side in motion.sides:
            bend = np.degrees(np.ptp(motion.values[f"{joint}_flexion_{side}"]))
            if bend < least:
                allowed = f"a walking {joint} bends by {least:g} or more; is it in the unit its column names?"
                raise MotionError(name, f"{joint}_flexion_{side} changes by only {bend:.2g} deg", allowed)


def _sizes(motion: Motion) -> Iterator[tuple[str, float, float, float, str]]:
    """What is measured, how large, from and to what allowed, its unit: each after those that it is divided by."""
    yield "leg_length_m", motion.leg, 0.5, 1.2, "m"
    yield "step_width_m", motion.step_width, 0.0, 0.4, "m"
    yield "the cycle's time", motion.period, *PERIODS, "s"
    yield "root_forward: the speed", motion.speed, *SPEEDS, "m/s"
    yield "root_up over leg_length_m", float(motion.values["root_up"].mean()) / motion.leg, *HEIGHTS, ""
