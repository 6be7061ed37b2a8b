"""Toes bend when a foot pushes off: neither bones nor skin sink into the floor of a walk."""

from __future__ import annotations

import numpy as np
import pytest

from viz3d.arrays import Array
from viz3d.body.names import SIDES
from viz3d.body.person import Body
from viz3d.kinematics.chain import Pose
from viz3d.motion.cycle import Cycle, cycle_of
from viz3d.motion.library import usual_motion
from viz3d.shapes.body_shell import build_shell
from viz3d.shapes.skeleton import group_shapes

BONES, SKIN = 0.0015, 0.0085
"""How far bones, and skin, may lie under the floor, m: skin under the loaded heel only, where its pad gives way."""


@pytest.fixture(scope="module")
def cycle(house: Body) -> Cycle:
    return cycle_of(house, usual_motion(), 40)


@pytest.fixture(scope="module")
def posed(house: Body, cycle: Cycle) -> Pose:
    return cycle.posed(house)


def heights(frames: Array, points: Array) -> Array:
    return np.asarray(np.einsum("nj,vj->nv", frames[:, 1, :3], points) + frames[:, 1, 3][:, None])


def test_toes_bend_at_push_off_and_are_straight_while_the_foot_is_flat(cycle: Cycle) -> None:
    bend = np.degrees(cycle.angles.toes[:, SIDES.index("right")])
    assert 25.0 < bend.max() < 60.0
    assert 0.45 < cycle.share[bend.argmax()] < 0.70
    flat = (cycle.share > 0.15) & (cycle.share < 0.30)
    assert bend[flat].max() < 3.0
    assert bend[cycle.share > 0.85].max() < 3.0


def test_no_bone_of_a_foot_lies_in_the_floor(house: Body, posed: Pose) -> None:
    lowest = [
        heights(posed.frames[shape.link_among(posed.frames)], shape.surface.points).min()
        for shape in group_shapes("foot", house, "film")
    ]
    assert min(lowest) > -BONES


def test_no_skin_of_a_foot_lies_in_the_floor(house: Body, posed: Pose) -> None:
    shell = build_shell(house)
    feet = [shell.links.index(f"{side}_{name}") for side in SIDES for name in ("foot", "toes")]
    near = shell.weights[:, feet].sum(axis=1) > 0.5
    few = shell.weights[near]
    moves = np.stack([posed.frames[n] @ np.linalg.inv(r) for n, r in zip(shell.links, shell.rest, strict=True)], axis=1)
    row = np.einsum("vl,nlj->nvj", few, moves[:, :, 1, :])
    height = (row[..., :3] * shell.points[near]).sum(axis=-1) + row[..., 3]
    assert height.min() > -SKIN
