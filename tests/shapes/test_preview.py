"""The quick preview lands near the true mesh, and a change of nothing changes nothing."""

from __future__ import annotations

import numpy as np
import pytest

from viz3d.body.person import Body, make_body
from viz3d.shapes.preview import preview_group
from viz3d.shapes.skeleton import group_shapes
from viz3d.shapes.surface import distance_to

CHANGED = {"neck_shaft_angle": np.radians(134), "head_radius": 0.0228, "version": np.radians(24)}


@pytest.mark.parametrize("group", ["pelvis", "thigh", "shank"])
def test_nothing_changed_nothing_moves(group: str, house: Body) -> None:
    shapes = group_shapes(group, house)
    for old, new in zip(shapes, preview_group(group, shapes, house, house), strict=True):
        assert np.abs(new.surface.points - old.surface.points).max() < 1e-6


@pytest.mark.parametrize("group", [pytest.param("pelvis", marks=pytest.mark.long), "thigh", "shank"])
def test_preview_is_near_the_true_mesh(group: str, house: Body) -> None:
    after = make_body("female", 64.0, 1.72, hip_spacing=0.168, pelvic_width=0.238, left=CHANGED, right=CHANGED)
    shapes, true = group_shapes(group, house), group_shapes(group, after)
    for seen, real, old in zip(preview_group(group, shapes, house, after), true, shapes, strict=True):
        gap, before = (
            [distance_to(p, real.surface) for p in one.surface.points[:: len(one.surface.points) // 100]]
            for one in (seen, old)
        )
        assert np.median(gap) < 1.5e-3, f"{group}/{real.name}"
        assert np.percentile(gap, 95) < 4e-3, f"{group}/{real.name}"
        there = 2e-4  # some bones do not move: they need only stay where they are
        assert np.median(gap) < max(np.median(before), there), f"{group}/{real.name}"
