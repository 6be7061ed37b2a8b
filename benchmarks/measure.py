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
    from viz3d.statics.hip import hip_load
    from viz3d.statics.relief import held_relief

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


def sharing_speed(count: int = 8192) -> tuple[float, float, float, float]:
    """Situations a second shared about three axes at p = 3 by the real muscle set in random postures: ours in a batch,
    SLSQP one by one; and the relative gaps both reach."""
    import numpy as np
    from scipy.optimize import minimize

    from viz3d.body.muscles import cross_sections
    from viz3d.body.person import make_body
    from viz3d.kinematics.muscle_paths import muscle_paths
    from viz3d.statics.sharing import share_moment

    rng = np.random.default_rng(2)
    body = make_body("female", 64.0, 1.66)
    lever = muscle_paths(
        body, body.right, rng.uniform(-0.1, 0.1, count), rng.uniform(0, 0.12, count), rng.uniform(0, 0.1, count)
    ).moment_arm
    area = cross_sections()
    strength = area * 6e5
    muscles = len(area)
    moment = np.stack([rng.uniform(15, 55, count), rng.uniform(-8, 12, count), np.zeros(count)], axis=-1)
    found = share_moment(moment, lever, area, strength)
    best = 0.0
    for _ in range(3):
        start = time.perf_counter()
        share_moment(moment, lever, area, strength)
        best = max(best, count / (time.perf_counter() - start))
    gaps, spent = [], 0.0
    for n in range(60):
        c = lever[n] * strength[:, None]
        start = time.perf_counter()
        other = minimize(
            lambda x: (x**3).sum(), np.full(muscles, 0.3), jac=lambda x: 3 * x**2, bounds=[(0, 1)] * muscles,
            method="SLSQP", options={"ftol": 1e-7, "maxiter": 300},
            constraints={"type": "eq", "fun": lambda x, c=c, n=n: c.T @ x - moment[n], "jac": lambda x, c=c: c.T},
        )  # fmt: skip
        spent += time.perf_counter() - start
        mine = (found.activation[n] ** 3).sum()
        gaps.append(abs(other.fun / mine - 1.0))
    return best, 60 / spent, float(np.nanmax(found.gap)), float(np.median(gaps))


def linearity() -> tuple[float, float, float]:
    """Frontal solves a second for 50 thousand and a million situations, in chunks; largest memory in GB."""
    small, large = frontal_speed(50_000), frontal_speed(1_000_000)
    return small, large, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6


def facet_speed(count: int = 4000) -> tuple[float, int]:
    """Load vectors a second on a lune of about two thousand facets."""
    import numpy as np

    from viz3d.contact.facets import facet_pressure, lune_facets

    facets = lune_facets(0.025, np.radians(40), np.radians(-80), 27)
    loads = 2000.0 * np.array([0, 1, -0.1]) + np.random.default_rng(0).normal(0, 200, (count, 3))
    start = time.perf_counter()
    facet_pressure(loads, *facets)
    return count / (time.perf_counter() - start), len(facets[2])


def bones_speed() -> dict[str, float]:
    """Seconds to build all bones of one person into an empty cache, to fetch them again, and to preview a change."""
    import os

    from viz3d.body.person import make_body
    from viz3d.shapes.preview import preview_group
    from viz3d.shapes.skeleton import build_figure, group_shapes

    before, after = make_body("female", 64.0, 1.66), make_body("female", 64.0, 1.70, hip_spacing=0.166)
    out = {}
    with tempfile.TemporaryDirectory() as folder:
        os.environ["VIZ3D_CACHE"] = folder
        for name in ("cold", "cached"):
            start = time.perf_counter()
            build_figure(before, aids={"right": "cane"})
            out[name] = time.perf_counter() - start
        shapes = {group: group_shapes(group, before, "film") for group in ("pelvis", "thigh", "shank")}
        best = 9.0
        for _ in range(3):
            start = time.perf_counter()
            for group, some in shapes.items():
                preview_group(group, some, before, after)
            best = min(best, time.perf_counter() - start)
        out["preview"] = best
        del os.environ["VIZ3D_CACHE"]
    return out


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
        print(f"frontal solve          {speed:8.0f} situations/s on one core (asked: 300 000)")
        small, large, memory = linearity()
        print(
            f"a million of them      {large:8.0f} situations/s   {large / small:5.2f} x 50 000's rate; {memory:.2f} GB"
        )
        shared, one_by_one, gap, other = sharing_speed()
        print(
            f"sharing, 3 axes        {shared:8.0f} situations/s   {shared / one_by_one:5.0f} x SLSQP one by one"
            f" (gaps {gap:.0e} and {other:.0e})"
        )
        loads, facets = facet_speed()
        print(f"facet pressure         {loads:8.0f} loads/s on {facets} facets")
        if quick:
            return
        bones = bones_speed()
        print(
            f"all bones, cold        {bones['cold']:6.2f} s   (asked: 20 s on 2 cores); cached {bones['cached']:.2f} s"
            f" (0.3), preview {1000 * bones['preview']:.0f} ms (150)"
        )
        cold = seconds(still, {"VIZ3D_CACHE": str(out / "cache")})
        print(f"still, empty cache     {cold:6.2f} s   {cold / bare:5.2f} x a bare start")
        film = seconds([*viz3d, "film", "cane-opposite-hand", "--out", str(out / "a.mp4"), "--quiet"])
        memory = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1e6
        print(
            f"film, 8 s at 1080p     {film:6.2f} s   {film / 8:5.2f} x its playing time; largest process {memory:.2f} GB"
        )


if __name__ == "__main__":
    main()
