"""The bare floor of a socket: between the arms of the cartilage, light, and hatched on both sides alike."""

from __future__ import annotations

import numpy as np
import pytest

from viz3d.body.person import Body
from viz3d.shapes.skeleton import DETAILS, group_shapes, identity
from viz3d.shapes.socket_floor import bare_floor, with_bare_floors


@pytest.mark.parametrize("detail", DETAILS)
def test_the_floor_is_hatched_within_the_cartilage_and_lighter_than_it_was(house: Body, detail: str) -> None:
    before = {identity("pelvis", s): s for s in group_shapes("pelvis", house, detail)}
    shapes, hatching = with_bare_floors(before)
    assert set(hatching) == {"left", "right"}
    for measure in (np.min, np.max):
        left, right = (
            measure(hatching[side].reshape(-1, 3) * [1, 1, z], axis=0) for side, z in (("left", -1), ("right", 1))
        )
        np.testing.assert_allclose(left, right, atol=2e-3)
    for side, sign in (("left", -1.0), ("right", 1.0)):
        hip, lunate = (before[f"{side} pelvis/{name}"].surface for name in ("hip", "lunate"))
        middle = np.array([0.0, 0.0, sign * house.hip_spacing[0] / 2])
        floor, _ = bare_floor(hip, lunate)
        away = np.linalg.norm(hatching[side].reshape(-1, 3) - middle, axis=1)
        radius = float(house.hip(side).head_radius[0])
        assert radius < away.min() and away.max() < radius + 0.016
        light = shapes[f"{side} pelvis/hip"].surface.shade
        assert light[floor].min() > hip.shade[floor].max()
        assert (light[~floor] == hip.shade[~floor]).all()
        assert 0.005 < floor.mean() < 0.1
