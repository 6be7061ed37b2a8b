"""How fast films are drawn, and what the floor is, in one run.

    .venv/bin/python benchmarks/films.py [quick | smoke]

Floor: the same meshes redrawn and read back by the bare library, plus the encoder alone on finished frames. Scaling: one
worker against two with one drawing thread each and the encoder off; a Dask cluster on this machine against the local
pool. Memory: from 100 to 1,000 (quick) or 5,000 different frames, in a small size, since only the count matters. Smoke: a few
small frames, only to see that it runs.
"""

from __future__ import annotations

import itertools
import os
import resource
import sys
import tempfile
import time
from concurrent.futures import Executor
from pathlib import Path

os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")

import numpy as np
from pictures import bare_plotter

from viz3d.output.cluster import Cluster
from viz3d.output.encode import encode_mp4
from viz3d.output.layers import local_workers, solid_frames
from viz3d.output.pieces import Setup
from viz3d.output.reel import Reel, make_reel
from viz3d.scene.reader import load_scene

SMOKE = "smoke" in sys.argv
FRAMES = 6 if SMOKE else 60
SMALL = ("picture.size=640x360",)


def made(changes: tuple[str, ...] = ()):  # type: ignore[no-untyped-def]
    scene = load_scene("lean-over-hip", list(changes))
    reel = make_reel(scene, "lean-over-hip", scene.picture.pixels)
    return reel, reel.last[0], reel.shots[0].solved


def encoded(pictures, size: tuple[int, int]) -> float:  # type: ignore[no-untyped-def]
    with tempfile.TemporaryDirectory() as folder:
        marks = Path(folder) / "c.txt"
        marks.write_text(";FFMETADATA1\n")
        start = time.perf_counter()
        encode_mp4(pictures, size, 30, Path(folder) / "a.mp4", marks, None)
        return time.perf_counter() - start


def spent(setup: Setup, frames: list[int], workers: int, threads: int | None = None) -> float:
    """Seconds for the solid layer of these frames, workers already warm."""
    if workers == 0:
        start = time.perf_counter()
        for _ in solid_frames(setup, frames, None, keep=False):
            pass
        return time.perf_counter() - start
    with local_workers(workers, threads) as pool:
        for _ in solid_frames(setup, frames[:1] * 12 * workers, pool, keep=False):
            pass
        start = time.perf_counter()
        for _ in solid_frames(setup, frames, pool, keep=False):
            pass
        return time.perf_counter() - start


def main() -> None:
    reel, setup, solved = made(SMALL if SMOKE else ())
    sheet = setup.sheet
    moving = np.flatnonzero(np.diff(solved.posture.lean) != 0.0)
    frames = [int(i) for i in moving[np.linspace(0, len(moving) - 1, FRAMES).astype(int)]]
    plotter = bare_plotter(sheet, setup.figure, None)
    plotter.show(auto_close=False)
    start = time.perf_counter()
    for _ in frames:
        plotter.camera.azimuth += 0.01
        plotter.render()
        plotter.screenshot(return_img=True)
    bare = time.perf_counter() - start
    plotter.close()
    pictures = list(solid_frames(setup, frames[:30], None, keep=False))
    alone = encoded(iter(pictures * 2), sheet.size)
    floor = FRAMES / (bare + alone)

    def whole(executor, pictures):  # type: ignore[no-untyped-def]
        """Frames of the film a second, and how many of them differ in what is solid."""
        start = time.perf_counter()
        count = FRAMES if SMOKE else reel.count
        encoded(itertools.islice(reel.painted(executor, False, None), count), pictures)
        return count / (time.perf_counter() - start)

    here = whole(None, sheet.size)
    with local_workers(min(os.cpu_count() or 1, 8)) as pool:
        for _ in solid_frames(setup, frames[:12], pool, keep=False):
            pass
        there = whole(pool, sheet.size)
    print(
        f"floor: bare library {FRAMES / bare:.2f}/s, encoder alone {FRAMES / alone:.1f}/s, together {floor:.2f} frames/s"
    )
    share = reel.distinct / reel.count
    print(f"one process   {here:6.2f} frames/s of a whole film, {here * share:6.2f} different ones")
    print(f"workers       {there:6.2f} frames/s of a whole film, {there * share:6.2f} different ones (goal: 30 and 12)")
    one, two = spent(setup, frames, 1, 1), spent(setup, frames, 2, 1)
    default = spent(setup, frames, 0)
    print(f"scaling: 2 workers {one / two:.2f} x 1 (asked: 1.7), {default / two:.2f} x one process with all cores")
    pool, dask = _pools(setup, frames, reel)
    print(f"Dask on this machine: {pool / dask:.2f} of the local pool's speed (asked: at least 0.9)")
    _, small, _ = made(SMALL)
    for count in (12, 24) if SMOKE else (100, 1000 if "quick" in sys.argv else 5000):
        drawn = sum(1 for _ in solid_frames(small, [frames[k % FRAMES] for k in range(count)], None, keep=False))
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
        print(f"memory after {drawn} frames drawn: {memory:.2f} GB")


def _pools(setup: Setup, frames: list[int], reel: Reel) -> tuple[float, float]:
    """Seconds for one whole film by the usual local pool and by a Dask cluster of as many workers, both warm."""
    from distributed import Client, LocalCluster

    count, warm = min(os.cpu_count() or 1, 8), frames[:1] * 12 * (os.cpu_count() or 1)

    def once(executor: Executor) -> float:
        for _ in solid_frames(setup, warm, executor, keep=False):
            pass
        start = time.perf_counter()
        for _ in itertools.islice(reel.painted(executor, False, None), FRAMES if SMOKE else reel.count):
            pass
        return time.perf_counter() - start

    with local_workers(count) as pool:
        local = once(pool)
    options = {"n_workers": count, "threads_per_worker": 1, "dashboard_address": None}
    with LocalCluster(**options) as cluster, Client(cluster) as client:
        return local, once(Cluster(client))


if __name__ == "__main__":
    main()
