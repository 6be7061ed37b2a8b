"""Two hundred people within three standard deviations: every bone of the hip sound. The full count is the long tier's."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from tests.shapes.soundness import crossing_triangles, faults
from viz3d.body.person import Body, make_body
from viz3d.shapes.build import build_bone
from viz3d.shapes.skeleton import GROUPS, group_shapes
from viz3d.shapes.surface import is_closed

BONES = (("pelvis", "hip"), ("pelvis", "lunate"), ("pelvis", "sacrum"), ("thigh", "femur"))


def people(count: int, seed: int) -> Iterator[Body]:
    """Random people; deviations from spread.toml and geometry.toml's remarks, cut at three of them."""
    rng = np.random.default_rng(seed)

    def some(mean: float, deviation: float) -> float:
        return float(mean + deviation * np.clip(rng.normal(), -3.0, 3.0))

    for k in range(count):
        male = bool(k % 2)
        hip = {
            "head_radius": some(0.02425 if male else 0.021625, 0.0015),
            "neck_shaft_angle": np.radians(some(124.7, 6.2)), "version": np.radians(some(14.5, 8.1)),
            "offset": float(np.clip(some(0.0436 if male else 0.0395, 0.0056 if male else 0.0035), 0.02, 0.07)),
            "trochanter_height": some(0.0073, 0.0051), "centre_edge_angle": np.radians(some(33.6, 7.6)),
            "socket_inclination": np.radians(some(39.0, 3.5)), "socket_version": np.radians(some(18.0, 5.0)),
        }  # fmt: skip
        yield make_body(
            "male" if male else "female", 70.0, some(1.75 if male else 1.63, 0.07), hip_spacing=some(0.160, 0.008),
            pelvic_width=some(0.227, 0.016), pelvis_form=rng.uniform(), left=hip, right=hip,
        )  # fmt: skip


def unsound(count: int, seed: int, step: float | None) -> list[str]:
    return [
        f"person {k}, {bone}: {fault}"
        for k, body in enumerate(people(count, seed))
        for group, bone in BONES
        for fault in faults(build_bone(group, bone, body, body.right, step))
    ]


def test_a_person_is_sound() -> None:
    assert unsound(1, 11, 3.0) == []


@pytest.mark.long
@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_two_hundred_people_are_sound(seed: int) -> None:
    assert unsound(50, seed, 3.0) == []


@pytest.mark.long
@pytest.mark.parametrize("seed", [21, 22])
def test_ten_people_are_sound_at_full_detail(seed: int) -> None:
    assert unsound(5, seed, None) == []


def test_every_bone_of_a_figure_is_free_of_crossings(house: Body) -> None:
    for group in GROUPS:
        for shape in group_shapes(group, house):
            if shape.side != "left":
                found = crossing_triangles(shape.surface.points, shape.surface.triangles)
                assert len(found) == 0, f"{group}/{shape.name}: {len(found)} triangles"
                assert is_closed(shape.surface.triangles)


def test_the_check_sees_a_crossing() -> None:
    points = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0.2, 0.2, -1], [0.2, 0.3, 1], [0.3, 0.2, 1]], dtype=float)
    assert crossing_triangles(points, np.array([[0, 1, 2], [3, 4, 5]])).tolist() == [0, 1]
    assert (
        len(crossing_triangles(points + [0, 0, 5.0] * (np.arange(6) > 2)[:, None], np.array([[0, 1, 2], [3, 4, 5]])))
        == 0
    )
