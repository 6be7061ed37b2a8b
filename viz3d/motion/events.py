"""When the feet come down and leave: the events of a cycle.

Question answered: at which share of the cycle does each heel strike and each toe leave the floor?

As the file says it, or where the ground's upward force passes a threshold.
"""

from __future__ import annotations

import dataclasses

import numpy as np

from viz3d.body.names import SIDES, other_side
from viz3d.errors import MotionError
from viz3d.motion.table import Motion

ON_GROUND = 0.03
"""Upward ground force from which a foot counts as down, body weights."""


def found_events(name: str, motion: Motion, said: dict[str, float]) -> Motion:
    """The motion with heel strikes and toe offs of both sides.

    Parameters
    ----------
    said : figures of the file's head, ``right_heel_strike_pct`` and so on.

    Raises
    ------
    MotionError : neither said nor to be seen in the ground's force, or not of a walk.
    """
    strike: dict[str, float] = {}
    toe_off: dict[str, float] = {}
    for side in SIDES:
        both = _of_side(motion, said, side)
        if both is not None:
            strike[side], toe_off[side] = both
    if not strike:
        needed = "write # right_heel_strike_pct and # right_toe_off_pct, or give ground_up_right_BW"
        raise MotionError(name, "says nothing of when a heel strikes", needed)
    for side in SIDES:
        if side not in strike:
            known = other_side(side)
            strike[side], toe_off[side] = (float(np.mod(v[known] + 0.5, 1.0)) for v in (strike, toe_off))
    for side in SIDES:
        stance = float(np.mod(toe_off[side] - strike[side], 1.0))
        if not 0.5 < stance < 0.75:
            raise MotionError(
                name, f"the {side} foot is down for {100 * stance:.0f} % of the cycle", "allowed: 50 to 75 %, a walk"
            )
    return dataclasses.replace(motion, strike=strike, toe_off=toe_off)


def _of_side(motion: Motion, said: dict[str, float], side: str) -> tuple[float, float] | None:
    told = [said.get(f"{side}_{what}_pct") for what in ("heel_strike", "toe_off")]
    if told[0] is not None and told[1] is not None:
        return (float(np.mod(told[0] / 100.0, 1.0)), float(np.mod(told[1] / 100.0, 1.0)))
    up = motion.values.get(f"ground_up_{side}")
    if up is None:
        return None
    share, down = motion.times[:-1] / motion.period, up[:-1] > ON_GROUND
    start, end = down & ~np.roll(down, 1), ~down & np.roll(down, 1)
    if start.sum() != 1 or end.sum() != 1:
        return None
    return float(share[start.argmax()]), float(share[end.argmax()])
