"""Spread: how sure is a number, when ordinary people differ?

Question answered: between which values do 90 % of ordinary people lie, and which measurement matters most?

Hip measurements that the scene does not give are drawn from normal distributions about what they are in this person
(the published means, or what follows from what was measured) with the published standard deviations
(``body/tables/spread.toml``), independently, in one batch with a stated seed; values beyond the allowed range are
drawn again at its edge. First-order indices by Saltelli's method from the scientific library. Left out: spread of
segment masses, posture and muscle insertions, and that measurements go together.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.body.person import Body, geometry_rows
from viz3d.errors import InputError
from viz3d.progress import Progress
from viz3d.questions.vary import Case, case_of
from viz3d.scene.schema import Scene
from viz3d.solution.solved import Solved
from viz3d.tables import Row, load_rows

OUTPUTS: dict[str, Callable[[Solved], Array]] = {
    "joint_force_bw": lambda s: s.joint_bw,
    "muscle_force_bw": lambda s: s.load.muscle_force / s.body.weight,
    "muscle_lever_cm": lambda s: np.abs(s.load.muscle.moment_arm) * 100,
    "weight_lever_cm": lambda s: s.load.weight_moment_arm * 100,
    "peak_pressure_MPa": lambda s: s.peak_pressure * 1e-6,
    "relief": lambda s: s.cane.held.total,
}
"""Outputs with a band: name (its words are ``output.name``) and where it is found."""
_FEWEST, _MOST, _AT_ONCE = 64, 65_536, 2048
"""People that may be drawn, and how many are solved at once."""
_DEGREES = ("neck_shaft_angle", "version", "centre_edge_angle")


@dataclass(frozen=True)
class Band:
    """One output's spread over people."""

    name: str
    here: float
    low: float
    middle: float
    high: float
    drivers: dict[str, float]
    """First-order share of the variance per input, largest first; empty where it was not asked for."""


@dataclass(frozen=True)
class Varied:
    """One input that differs between people: its scene key, mean and standard deviation, SI, and range."""

    key: str
    mean: float
    deviation: float
    low: float
    high: float


def spread_rows() -> dict[str, Row]:
    """The published standard deviations."""
    return load_rows("viz3d.body.tables", "spread.toml")


def varied_inputs(scene: Scene, body: Body) -> list[Varied]:
    """Inputs of the stance hip that nobody measured, about what they are in this body."""
    if scene.person.bones is not None:
        return []
    rows, means = spread_rows(), geometry_rows()
    side, sex = scene.posture.stance, scene.person.sex
    hip = scene.person.left_hip if side == "left" else scene.person.right_hip
    found = []
    for name in ("hip_spacing", "neck_shaft_angle", "version", "offset", "trochanter_height", "centre_edge_angle"):
        of_pelvis = name == "hip_spacing"
        measured = scene.person.hip_spacing or scene.person.pelvic_width if of_pelvis else getattr(hip, name)
        row = rows.get(f"{name}.{sex}", rows.get(name))
        mean = means.get(f"{name}.{sex}", means.get(name))
        if measured is not None or row is None or mean is None:
            continue
        unit = np.pi / 180 if name in _DEGREES else 1.0
        key = name if of_pelvis else f"{side}_hip.{name}"
        here = float((body.hip_spacing if of_pelvis else getattr(body.hip(side), name))[0])
        found.append(Varied(f"person.{key}", here, row.value * unit, mean.range[0] * unit, mean.range[1] * unit))
    return found


def bands(
    scene: Scene, step: int, count: int = 4096, seed: int = 1, drivers: bool = True, file: str = "scene",
    progress: Progress | None = None,
) -> list[Band]:  # fmt: skip
    """5-95 % bands of every output at one step.

    Parameters
    ----------
    count : people drawn (a power of two where drivers are wanted). seed : of the random numbers. progress : called with
        ("people", done, of).

    Raises
    ------
    InputError : everything was measured, or too few people. SceneError : the step may not be asked for.
    """
    case = case_of(scene, step, file)
    inputs = varied_inputs(case.scene, case.body)
    if not inputs:
        raise InputError("every hip measurement is given, in the scene or by its bones: nothing is left to vary")
    if not _FEWEST <= count <= _MOST:
        raise InputError(f"found {count} people; allowed: {_FEWEST} to {_MOST}")
    own = case.solved()
    case.refuse(own)
    names = [n for n, find in OUTPUTS.items() if np.isfinite(np.asarray(find(own))).all()]
    crowd = _Crowd(case, names, progress, count + (2 ** int(np.log2(count)) * (len(inputs) + 2) if drivers else 0))
    rng = np.random.default_rng(seed)
    people, able = crowd.outputs(_draw(inputs, rng.standard_normal((len(inputs), count))))
    if not bool(case.allowed(own)[0]) or able.mean() < 0.5:
        raise InputError(
            "most people of this size cannot take this posture: the hand does not reach, or they would fall"
        )
    shares = _drivers(crowd, inputs, count, seed) if drivers else {}
    out = []
    for name, found in zip(names, people, strict=True):
        values = np.where(able & np.isfinite(found), found, np.nan)
        here = float(np.asarray(OUTPUTS[name](own))[0])
        if not np.isfinite(values).any():
            continue
        low, middle, high = np.nanpercentile(values, [5, 50, 95])
        out.append(Band(name, here, float(low), float(middle), float(high), shares.get(name, {})))
    return out


def _draw(inputs: list[Varied], normal: Array) -> dict[str, Array]:
    return {v.key: np.clip(v.mean + v.deviation * normal[k], v.low, v.high) for k, v in enumerate(inputs)}


class _Crowd:
    """People solved a few thousand at a time, so that memory stays flat and progress can be told."""

    def __init__(self, case: Case, names: list[str], progress: Progress | None, of: int) -> None:
        self.case, self.names, self.progress, self.done, self.of = case, names, progress, 0, of

    def outputs(self, drawn: dict[str, Array]) -> tuple[Array, Flags]:
        """The named outputs (names, N) of people, and which of them can take the posture (N,)."""
        count = len(next(iter(drawn.values())))
        found, able = [], []
        for first in range(0, count, _AT_ONCE):
            solved = self.case.solved({k: v[first : first + _AT_ONCE] for k, v in drawn.items()})
            found.append(np.stack([np.asarray(OUTPUTS[n](solved)) for n in self.names]))
            able.append(self.case.allowed(solved))
            self.done += found[-1].shape[1]
            if self.progress:
                self.progress("people", self.done, self.of)
        return np.concatenate(found, axis=1), np.concatenate(able)


def _drivers(crowd: _Crowd, inputs: list[Varied], count: int, seed: int) -> dict[str, dict[str, float]]:
    """First-order Sobol indices of every output, by scipy's implementation of Saltelli's method."""
    from scipy.stats import norm, sobol_indices

    def outputs(normal: Array) -> Array:
        return np.nan_to_num(crowd.outputs(_draw(inputs, normal))[0], posinf=0.0, neginf=0.0)

    size = 2 ** int(np.log2(count))
    found = sobol_indices(func=outputs, n=size, dists=[norm()] * len(inputs), rng=np.random.default_rng(seed))
    first = np.atleast_2d(found.first_order)
    result = {}
    for i, name in enumerate(crowd.names):
        ranked = sorted(zip(inputs, first[i], strict=True), key=lambda pair: -pair[1])
        result[name] = {v.key: float(max(s, 0.0)) for v, s in ranked if np.isfinite(s)}
    return result
