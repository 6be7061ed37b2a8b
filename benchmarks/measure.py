"""Measure what the project promises, as ratios in one run on whatever machine this is.

    .venv/bin/python benchmarks/measure.py            everything (about four minutes)
    .venv/bin/python benchmarks/measure.py quick      without the empty-cache start and the film

Seconds are printed for people; judge by the ratios, since machines and their load differ.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

BARE = (
    "import os; os.environ.setdefault('VTK_DEFAULT_OPENGL_WINDOW','vtkEGLRenderWindow')\n"
    "import pyvista as pv\n"
    "p = pv.Plotter(off_screen=True, window_size=(1920, 1080)); p.add_mesh(pv.Sphere())\n"
    "p.show(auto_close=False); p.screenshot(return_img=True)\n"
)
RUNS = 5


def seconds(command: list[str], env: dict[str, str] | None = None) -> float:
    start = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, env={**os.environ, **(env or {})})
    return time.perf_counter() - start


def best_of(*commands: list[str]) -> list[float]:
    """Best of interleaved runs, so that load hits all alike."""
    found = [[seconds(c) for c in commands] for _ in range(RUNS)]
    return [min(column) for column in zip(*found, strict=True)]


def frontal_speed(count: int = 200_000) -> float:
    """Situations a second on one core: balance, equivalent muscle, joint force, relief split, lune."""
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ[name] = "1"
    import numpy as np

    from viz3d.body.person import make_body, stance_hip
    from viz3d.contact.lune import lune_pressure
    from viz3d.kinematics.frontal import stand
    from viz3d.kinematics.posture import make_posture
    from viz3d.statics.hip import held_relief, hip_load

    body = make_body("female", 64.0, 1.66)
    rng = np.random.default_rng(1)
    push = rng.uniform(0, 90, count)
    posture = make_posture(
        count,
        lean=rng.uniform(-0.1, 0.2, count),
        obliquity=rng.uniform(-0.05, 0.1, count),
        has_cane=[False, True],
        cane_force=np.stack([0 * push, push], axis=-1),
    )
    chunk = 10_000
    rows = [slice(k, k + chunk) for k in range(0, count, chunk)]
    parts = [type(posture)(*(getattr(posture, n)[r] for n in posture.__dataclass_fields__)) for r in rows]
    start = time.perf_counter()
    for part in parts:
        stance = stand(body, part)
        hip = stance_hip(body, part.on_right)
        load = hip_load(body, hip, stance)
        held_relief(stance, load, np.ones(len(part), dtype=np.int64))
        edge = hip.centre_edge_angle - part.obliquity
        lune_pressure(load.joint_magnitude, load.joint_angle, hip.cartilage_radius, edge)
    return count / (time.perf_counter() - start)


def sharing_speed(count: int = 5000, muscles: int = 22) -> tuple[float, float]:
    """Situations a second shared about three axes at p = 3, ours in a batch and SLSQP one by one."""
    import numpy as np
    from scipy.optimize import minimize

    from viz3d.statics.sharing import share_moment

    rng = np.random.default_rng(2)
    lever = rng.normal(0, 0.04, (count, muscles, 3))
    area = rng.uniform(2e-4, 3e-3, muscles)
    strength = area * 4e5
    moment = np.einsum("nkm,nk->nm", lever, rng.uniform(0, 0.6, (count, muscles)) * strength)
    start = time.perf_counter()
    share_moment(moment, lever, area, strength)
    ours = count / (time.perf_counter() - start)
    start = time.perf_counter()
    for n in range(30):
        c = lever[n] * strength[:, None]
        minimize(
            lambda x: (x**3).sum(), np.full(muscles, 0.3), jac=lambda x: 3 * x**2, bounds=[(0, 1)] * muscles,
            method="SLSQP", options={"ftol": 1e-10, "maxiter": 300},
            constraints={"type": "eq", "fun": lambda x, c=c, n=n: c.T @ x - moment[n], "jac": lambda x, c=c: c.T},
        )  # fmt: skip
    return ours, 30 / (time.perf_counter() - start)


def facet_speed(count: int = 4000) -> tuple[float, int]:
    """Load vectors a second on a lune of about two thousand facets."""
    import numpy as np

    from viz3d.contact.facets import facet_pressure, lune_facets

    facets = lune_facets(0.025, np.radians(40), np.radians(-80), 27)
    loads = 2000.0 * np.array([0, 1, -0.1]) + np.random.default_rng(0).normal(0, 200, (count, 3))
    start = time.perf_counter()
    facet_pressure(loads, *facets)
    return count / (time.perf_counter() - start), len(facets[2])


def main() -> None:
    quick = "quick" in sys.argv
    viz3d = [sys.executable, "-m", "viz3d"]
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        still = [*viz3d, "still", "cane-opposite-hand", "--out", str(out / "a.png"), "--quiet"]
        seconds(still)
        bare, warm = best_of([sys.executable, "-c", BARE], still)
        print(
            f"still, warm cache      {warm:6.2f} s   {warm / bare:5.2f} x a bare start of the drawing library ({bare:.2f} s)"
        )
        python, helped = best_of([sys.executable, "-c", "pass"], [*viz3d, "--help"])
        print(
            f"--help                 {helped:6.2f} s   {helped / python:5.2f} x an empty Python start ({python:.2f} s)"
        )
        solved = best_of([*viz3d, "solve", "cane-opposite-hand", "--json"])[0]
        print(f"solve --json           {solved:6.2f} s   {solved / python:5.2f} x an empty Python start")
        speed = max(frontal_speed() for _ in range(3))
        print(f"frontal solve          {speed:8.0f} situations/s on one core (asked: 100 000)")
        shared, one_by_one = sharing_speed()
        print(f"sharing, 3 axes        {shared:8.0f} situations/s   {shared / one_by_one:5.0f} x SLSQP one by one")
        loads, facets = facet_speed()
        print(f"facet pressure         {loads:8.0f} loads/s on {facets} facets")
        if quick:
            return
        cold = seconds(still, {"VIZ3D_CACHE": str(out / "cache")})
        print(f"still, empty cache     {cold:6.2f} s   {cold / bare:5.2f} x a bare start")
        film = seconds([*viz3d, "film", "cane-opposite-hand", "--out", str(out / "a.mp4"), "--quiet"])
        memory = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1e6
        print(
            f"film, 8 s at 1080p     {film:6.2f} s   {film / 8:5.2f} x its playing time; largest process {memory:.2f} GB"
        )


if __name__ == "__main__":
    main()
