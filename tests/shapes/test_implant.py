"""A replacement hip as it is drawn: its parts fit each other and the bones, and follow the person's measures."""

from __future__ import annotations

import dataclasses
from functools import cache

import numpy as np
import pytest

from viz3d.body.muscle_bodies import hip_centre
from viz3d.body.person import Body, make_body
from viz3d.shapes.build import Shape
from viz3d.shapes.finish import _welded
from viz3d.shapes.implant import PARTS, head_radius
from viz3d.shapes.skeleton import group_shapes
from viz3d.shapes.surface import Surface, is_closed


@cache
def replaced() -> tuple[Body, dict[str, Shape]]:
    """The house person with a deep cup at the left, and the shapes round her hips by side and name."""
    body = make_body("female", 64.0, 1.66, left={"replacement": "deep cup"})
    shapes = [*group_shapes("pelvis", body), *group_shapes("thigh", body)]
    return body, {f"{s.side} {s.name}": s for s in shapes}


def test_only_the_replaced_hip_has_parts_and_it_has_no_cartilage() -> None:
    _, shapes = replaced()
    assert {name: shapes[f"left {name}"].material for name in PARTS} == PARTS
    assert not {f"right {name}" for name in PARTS} & set(shapes)
    assert {"right lunate", "right head_cartilage"} <= set(shapes)
    assert not {"left lunate", "left head_cartilage"} & set(shapes)


@pytest.mark.parametrize("name", [*PARTS, "femur"])
def test_every_part_and_the_sawn_bone_is_closed_and_faces_outward(name: str) -> None:
    surface = replaced()[1][f"left {name}"].surface
    points, triangles = _welded(surface.points, surface.triangles)
    assert is_closed(triangles)
    assert Surface(points, triangles, points, np.ones(len(points))).volume() > 0.0
    assert np.linalg.norm(surface.normals, axis=1) == pytest.approx(np.ones(len(surface.normals)), abs=1e-5)


def test_head_lies_in_the_liner_and_that_in_the_cup_about_the_moved_centre() -> None:
    body, shapes = replaced()
    centre = hip_centre(body, body.left) * [1.0, 1.0, -1.0]
    assert abs(centre[2]) == pytest.approx(float(body.hip_spacing[0]) / 2 - 0.005)
    head = head_radius(body.left) * 1e-3
    away = {n: np.linalg.norm(shapes[f"left {n}"].surface.points - centre, axis=1) for n in ("cup", "liner")}
    ball = np.linalg.norm(shapes["left head"].surface.points, axis=1)
    assert ball == pytest.approx(np.full(len(ball), head), abs=2e-4)
    assert head <= away["liner"].min() < head + 8e-4
    assert away["liner"].max() < away["cup"].max() < float(body.left.head_radius[0]) + 4.5e-3
    assert away["liner"].max() - away["liner"].min() > 4e-3


def test_bone_is_sawn_off_and_the_neck_reaches_the_middle_of_the_head() -> None:
    _, shapes = replaced()
    femur, own = (shapes[f"{side} femur"].surface for side in ("left", "right"))
    assert np.linalg.norm(femur.points, axis=1).min() > 0.02
    assert femur.volume() < own.volume()
    assert femur.points[:, 1].min() == pytest.approx(own.points[:, 1].min(), abs=1e-6)
    assert np.linalg.norm(shapes["left stem"].surface.points, axis=1).min() < 0.008


def test_the_own_hip_is_as_it_was() -> None:
    body, shapes = replaced()
    plain = dataclasses.replace(body, left=dataclasses.replace(body.left, replaced=np.zeros(1)))
    before = {s.name: s for s in group_shapes("thigh", plain) if s.side == "right"}
    assert np.array_equal(before["femur"].surface.points, shapes["right femur"].surface.points)
