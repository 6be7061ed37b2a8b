"""Figures of ours on docs/derivations.md's comparison table are what the solver says today."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from viz3d.body.person import make_body
from viz3d.kinematics.posture import make_posture
from viz3d.solution.solve import solve_batch
from viz3d.solution.solved import Solved
from viz3d.statics.model import MODELS, SPATIAL_SET, MuscleModel

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "derivations.md").read_text(encoding="utf-8")
BODY = make_body("female", 64.0, 1.66)


def stand(model: str = "equivalent", **choices: object) -> Solved:
    return solve_batch(BODY, make_posture(**choices), model=MuscleModel(model))


def test_comparison_figures() -> None:
    level = stand()
    moment = level.load.external_moment[0]

    def change(**choices: object) -> str:
        return f"−{abs(100 * (stand(**choices).load.external_moment[0] / moment - 1)):.0f} %"

    cane = {"has_cane": [False, True], "cane_force": [0.0, 0.072 * BODY.weight[0]]}
    lean = change(lean=np.radians(10.0)), change(lean=np.radians(15.0))
    spatial = stand(SPATIAL_SET)
    ahead = np.sin(spatial.sagittal.forward[0]) * spatial.stance.leg.stance_length[0] * 1e3
    lines = [
        f"| 10° of lean (15°) | moment {lean[0]} ({lean[1]}) |",
        f"| {stand(**cane).joint_bw[0]:.2f} BW; moment {change(**cane)} |",
        f"| hip ahead of ankle | {ahead:.0f} mm |",
        *(f"| {stand(kind).joint_bw[0]:.2f} BW |" for kind in MODELS),
    ]
    for line in lines:
        assert line in PAGE, line
