"""Reading a motion from a CSV file, with everything that is not one refused in one line.

Question answered: is this file a motion, and which?

Lines that begin with ``#`` hold ``name: value``: title, source, licence (needed), frame_rate_hz, leg_length_m,
step_width_m, right_heel_strike_pct and right_toe_off_pct (or left_...) in percent of the cycle; notes may follow. Then
a head line and one row a frame. Where ground forces are given, heel strike and toe off may be left out.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from viz3d.echo import shown
from viz3d.errors import MotionError, Unreadable
from viz3d.given import file_bytes
from viz3d.motion.assemble import assembled, check_count, check_said, columns_of
from viz3d.motion.table import Motion

MOST_BYTES = 20_000_000


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
    if ";" in lines[start] and "," not in lines[start]:
        found = f"line {start + 1}: semicolons between the columns"
        raise MotionError(name, found, "separate columns with commas, and write numbers with a point, like 0.5")
    heads = [cell.strip() for cell in lines[start].split(",")]
    scales = columns_of(name, heads)
    rows = [(k + 1, line) for k, line in enumerate(lines) if k > start and line.strip()]
    check_count(name, len(rows))
    table = np.array([_numbers(name, at, line, heads) for at, line in rows])
    return assembled(name, said, scales, table, [f"line {at}" for at, _ in rows])


def _said(name: str, lines: list[str]) -> dict[str, list[str]]:
    """What the lines that begin with # say."""
    out: dict[str, list[str]] = {}
    for line in lines:
        if line.startswith("#"):
            key, _, value = line[1:].partition(":")
            out.setdefault(key.strip(), []).append(value.strip())
    check_said(name, out)
    return out


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
