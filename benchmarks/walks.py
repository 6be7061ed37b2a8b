"""Measure how fast walks are solved: a thousand different cycles of a hundred frames, and one motion put on a body.

    .venv/bin/python benchmarks/walks.py            about half a minute

Asked: the thousand cycles in 20 s on 2 cores, with one muscle. Seconds are printed for people; machines differ, so
seconds of computing stand beside those of the clock.
"""

from __future__ import annotations

import sys
import time
from concurrent.futures import ProcessPoolExecutor
from functools import lru_cache
from multiprocessing import get_context
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from viz3d.body.person import Body
    from viz3d.motion.cycle import Cycle

CYCLES, FRAMES, AT_ONCE = 1000, 100, 25


@lru_cache
def planted() -> tuple[Body, Cycle]:
    """The house person and the usual motion on her feet, once a process."""
    from viz3d.body.person import make_body
    from viz3d.motion.cycle import cycle_of
    from viz3d.motion.library import usual_motion

    body = make_body("female", 64.0, 1.66)
    return body, cycle_of(body, usual_motion(), FRAMES)


def solved(first: int, kind: str = "equivalent") -> tuple[float, float]:
    """Highest joint force, BW, and largest residual, N m, of some cycles; each has its own arms, lean and pace."""
    import dataclasses

    import numpy as np

    from viz3d.solution.walk import solve_walk
    from viz3d.statics.model import MuscleModel

    body, one = planted()
    rng = np.random.default_rng(first)
    names = [f.name for f in dataclasses.fields(one.angles)]
    many = {n: np.tile(getattr(one.angles, n), (AT_ONCE, *([1] * (getattr(one.angles, n).ndim - 1)))) for n in names}
    grown = np.repeat(rng.uniform(0.7, 1.3, AT_ONCE), FRAMES)
    many["shoulders"] = many["shoulders"] * grown[:, None, None]
    many["lumbar"] = many["lumbar"] * np.repeat(rng.uniform(0.9, 1.1, AT_ONCE), FRAMES)[:, None, None]
    cycle = dataclasses.replace(
        one, angles=dataclasses.replace(one.angles, **many), period=one.period * rng.uniform(0.9, 1.1, AT_ONCE),
        share=np.tile(one.share, AT_ONCE), stands=np.tile(one.stands, (AT_ONCE, 1)),
    )  # fmt: skip
    walked = solve_walk(body, cycle, "right", MuscleModel(kind))
    return float(np.nanmax(walked.joint_bw)), float(walked.residual_moment.max())


def main() -> None:
    cycles = 100 if "smoke" in sys.argv else CYCLES
    starts = list(range(0, cycles, AT_ONCE))
    start = time.perf_counter()
    planted()
    print(f"on the feet {time.perf_counter() - start:6.2f} s for one motion on one body, libraries read")
    start, busy = time.perf_counter(), time.process_time()
    found = [solved(k) for k in starts]
    alone, busy = time.perf_counter() - start, time.process_time() - busy
    print(f"one core    {alone:6.2f} s ({busy:.2f} s of computing) for {cycles} cycles x {FRAMES} frames, one muscle")
    print("            largest residual", end=" ")
    print(f"{max(r for _, r in found):.0e} N m, joint force up to {max(j for j, _ in found):.2f} BW")
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        start = time.perf_counter()
        list(pool.map(solved, starts))
        print(f"two cores   {time.perf_counter() - start:6.2f} s, starting the processes counted (asked: 20 s)")
    busy = time.process_time()
    for k in starts[:4]:
        solved(k, "three-axis set")
    each = (time.process_time() - busy) / 4 * len(starts)
    print(f"three axes  {each:6.1f} s of computing for as many, from {4 * AT_ONCE} of them")


if __name__ == "__main__":
    main()
