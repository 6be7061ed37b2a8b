"""Reading a motion from a CSV file, with everything that is not one refused in one line.

Question answered: is this file a motion, and which?

Lines that begin with ``#`` hold ``name: value``: title, source, licence (needed), frame_rate_hz, leg_length_m,
step_width_m, right_heel_strike_pct and right_toe_off_pct (or left_...) in percent of the cycle; notes may follow. Then
a head line and one row a frame. Where ground forces are given, heel strike and toe off may be left out.
"""

from __future__ import annotations

import difflib
from pathlib import Path

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import SIDES
from viz3d.echo import shown
from viz3d.errors import MotionError, Unreadable
from viz3d.given import file_bytes
from viz3d.motion.check import check_motion
from viz3d.motion.columns import COLUMNS, UNITS, known_keys, sided_names, written
from viz3d.motion.events import found_events
from viz3d.motion.table import Motion

MOST_BYTES, MOST_ROWS, LEAST_ROWS = 20_000_000, 5_000, 20
TEXTS = ("title", "source", "licence")
NUMBERS = ("frame_rate_hz", "leg_length_m", "step_width_m")
TIMES = tuple(f"{side}_{what}_pct" for side in SIDES for what in ("heel_strike", "toe_off"))
HEADS = (*TEXTS, *NUMBERS, *TIMES, "measured", "note")


def read_motion(path: Path) -> Motion:
    """The motion of a CSV file.

    Raises
    ------
    MotionError : the file cannot be read, or is no whole cycle of a movement; the message says where and why.
    """
    name = path.name
    try:
        text = file_bytes(path, MOST_BYTES).decode("utf-8-sig")
    except Unreadable as error:
        raise MotionError(name, error.found, error.allowed) from error
    except UnicodeDecodeError as error:
        raise MotionError(name, "is not a text file in UTF-8") from error
    lines = text.splitlines()
    said = _said(name, lines)
    start = next((k for k, line in enumerate(lines) if line.strip() and not line.startswith("#")), None)
    if start is None:
        raise MotionError(name, "holds no head line", "allowed: a line of column names, then one row a frame")
    heads = [cell.strip() for cell in lines[start].split(",")]
    scales = _columns(name, heads)
    rows = [(k + 1, line) for k, line in enumerate(lines) if k > start and line.strip()]
    if not LEAST_ROWS <= len(rows) <= MOST_ROWS:
        allowed = f"allowed: {LEAST_ROWS} to {MOST_ROWS} of one whole cycle"
        raise MotionError(name, f"holds {len(rows)} row{'' if len(rows) == 1 else 's'}", allowed)
    table = np.array([_numbers(name, at, line, heads) for at, line in rows])
    return _motion(name, said, scales, table, [at for at, _ in rows])


def _said(name: str, lines: list[str]) -> dict[str, list[str]]:
    """What the lines that begin with # say."""
    out: dict[str, list[str]] = {}
    for line in lines:
        if line.startswith("#"):
            key, _, value = line[1:].partition(":")
            if key.strip() not in HEADS:
                raise MotionError(name, f"# {shown(key.strip())}: unknown", f"allowed: {', '.join(HEADS)}")
            out.setdefault(key.strip(), []).append(value.strip())
    for key in TEXTS:
        if not out.get(key, [""])[0]:
            raise MotionError(name, f"# {key}: missing", "every motion says its title, source and licence")
    return out


def _columns(name: str, heads: list[str]) -> list[tuple[str, bool, float]]:
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


def _numbers(name: str, at: int, line: str, heads: list[str]) -> list[float]:
    cells = line.split(",")
    if len(cells) != len(heads):
        raise MotionError(name, f"line {at}: {len(cells)} values", f"allowed: {len(heads)}, one a column")
    out = []
    for head, cell in zip(heads, cells, strict=True):
        try:
            value = float(cell)
        except ValueError:
            value = np.nan
        if not np.isfinite(value):
            found = shown(cell.strip()) if cell.strip() else "a gap"
            raise MotionError(name, f"line {at}: {head}: {found}", "allowed: a number in every row; fill gaps first")
        out.append(value)
    return out


def _motion(
    name: str, said: dict[str, list[str]], scales: list[tuple[str, bool, float]], table: Array, at: list[int]
) -> Motion:
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
            raise MotionError(name, f"# {key}: missing", "allowed: the measured person's, in metres")
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
        raise MotionError(name, f"# {key}: {shown(text)}", "allowed: a number")
    return value
