"""From named columns of numbers to a motion, whatever file they stood in.

Question answered: which motion do these columns and the words about them make, and what is missing?
"""

from __future__ import annotations

import difflib

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import SIDES
from viz3d.echo import shown
from viz3d.errors import MotionError
from viz3d.motion.check import check_motion
from viz3d.motion.columns import COLUMNS, UNITS, known_keys, sided_names, written
from viz3d.motion.events import found_events
from viz3d.motion.table import Motion

MOST_ROWS, LEAST_ROWS = 5_000, 20
TEXTS = ("title", "source", "licence")
NUMBERS = ("frame_rate_hz", "leg_length_m", "step_width_m")
TIMES = tuple(f"{side}_{what}_pct" for side in SIDES for what in ("heel_strike", "toe_off"))
MANY = ("measured", "note")
"""What may be said on several lines."""
HEADS = (*TEXTS, *NUMBERS, *TIMES, *MANY)
"""What is said about a motion: the first three always, leg and step width too."""


def check_said(name: str, said: dict[str, list[str]]) -> None:
    """Refuse words that nobody knows, and a motion without title, source or licence."""
    for key, lines in said.items():
        if key not in HEADS:
            raise MotionError(name, f"{shown(key)}: unknown", f"allowed: {', '.join(HEADS)}")
        if len(lines) > 1 and key not in MANY:
            allowed = f"allowed: once; {' and '.join(MANY)} may be repeated"
            raise MotionError(name, f"{key}: is said {len(lines)} times", allowed)
    for key in TEXTS:
        if not said.get(key, [""])[0]:
            raise MotionError(name, f"{key}: missing", "every motion says its title, source and licence")


def check_count(name: str, count: int) -> None:
    """Refuse too few rows for a cycle, and too many."""
    if not LEAST_ROWS <= count <= MOST_ROWS:
        allowed = f"allowed: {LEAST_ROWS} to {MOST_ROWS} of one whole cycle"
        raise MotionError(name, f"holds {count} row{'' if count == 1 else 's'}", allowed)


def columns_of(name: str, heads: list[str]) -> list[tuple[str, bool, float]]:
    """Key, whether it is a standard deviation, and SI value of one unit, of every column; time has the key ""."""
    keys, out = known_keys(), []
    for head in heads:
        if heads.count(head) > 1:
            raise MotionError(name, f"{shown(head)}: stands twice among the columns")
        spread = head.endswith("_sd")
        plain = head.removesuffix("_sd")
        if plain == "time_s":
            out.append(("", False, 1.0))
            continue
        key = max((k for k in keys if plain.startswith(f"{k}_")), key=len, default="")
        if not key:
            near = difflib.get_close_matches(
                plain, [written(k, next(iter(UNITS[c.dimension]))) for k, c in keys.items()], 1
            )
            hint = f"did you mean {near[0]}?" if near else "see viz3d walk --columns"
            raise MotionError(name, f"{shown(head)}: unknown column", hint)
        units, unit = UNITS[keys[key].dimension], plain.removeprefix(f"{key}_")
        if unit not in units:
            raise MotionError(name, f"{shown(head)}: unit {shown(unit)}", f"allowed: {', '.join(units)}")
        out.append((key, spread, units[unit]))
    _all_there(name, {key for key, spread, _ in out if not spread})
    return out


def _all_there(name: str, found: set[str]) -> None:
    """Refuse a table without what a pose needs."""
    sides = [side for side in SIDES if f"hip_flexion_{side}" in found] or [SIDES[1]]
    missing = [] if "" in found else ["time_s"]
    for column in COLUMNS:
        unit = next(iter(UNITS[column.dimension]))
        keys = [f"{column.name}_{side}" for side in sides] if column.sided else sided_names(column)
        missing += [written(key, unit) for key in keys if column.needed and key not in found]
    if missing:
        raise MotionError(name, f"missing columns: {', '.join(missing)}")


def assembled(
    name: str, said: dict[str, list[str]], scales: list[tuple[str, bool, float]], table: Array, at: list[str]
) -> Motion:
    """The motion of a table (M, columns), after every check.

    Parameters
    ----------
    scales : as :func:`columns_of`. at : what errors call each row.
    """
    values, spread, times = {}, {}, np.zeros(len(table))
    for k, (key, deviation, size) in enumerate(scales):
        if not key:
            times = table[:, k]
        elif deviation:
            spread[key] = table[:, k] * size
        else:
            values[key] = table[:, k] * size
    figures = {key: _figure(name, key, said[key][0]) for key in (*NUMBERS, *TIMES) if key in said}
    for key in ("leg_length_m", "step_width_m"):
        if key not in figures:
            raise MotionError(name, f"{key}: missing", "allowed: the measured person's, in metres")
    motion = Motion(
        said["title"][0], said["source"][0], said["licence"][0], times - times[0], values, spread, {}, {},
        figures["leg_length_m"], figures["step_width_m"], tuple(said.get("measured", []) + said.get("note", [])),
    )  # fmt: skip
    check_motion(name, motion, figures.get("frame_rate_hz"), at)
    return found_events(name, motion, figures)


def _figure(name: str, key: str, text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = np.nan
    if not np.isfinite(value):
        raise MotionError(name, f"{key}: {shown(text)}", "allowed: a number")
    return value
