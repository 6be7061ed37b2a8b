"""Every bone of the house person: closed, outward, of the right size, where the statics thinks it is."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from viz3d.body.landmarks import femur_landmark, pelvis_landmark
from viz3d.body.person import Body, make_body
from viz3d.body.segments import lengths
from viz3d.shapes import cache
from viz3d.shapes.build import build_group
from viz3d.shapes.skeleton import DETAILS, Figure, belongs, build_figure, group_shapes
from viz3d.shapes.surface import Surface, distance_to, is_closed


@pytest.fixture(scope="module")
def figure(house: Body) -> Figure:
    return build_figure(house)


def test_closed_and_outward(figure: Figure) -> None:
    for name, shape in figure.shapes.items():
        assert is_closed(shape.surface.triangles), name
        assert shape.surface.volume() > 0, name
        assert np.isfinite(shape.surface.points).all(), name
    assert is_closed(figure.shell.triangles)


@pytest.mark.parametrize(("detail", "most"), [("full", 250_000), ("film", 60_000)])
def test_triangle_budget(house: Body, detail: str, most: int) -> None:
    figure = build_figure(house, aids={}, detail=detail)
    shown = [s for n, s in figure.shapes.items() if belongs(n, s, {})]
    assert sum(len(s.surface.triangles) for s in shown) <= most
    assert all(is_closed(s.surface.triangles) for s in shown)


def pieces(surface: Surface) -> int:
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    t = surface.triangles
    links = coo_matrix(
        (np.ones(len(t) * 2), (np.r_[t[:, 0], t[:, 1]], np.r_[t[:, 1], t[:, 2]])), shape=(len(surface.points),) * 2
    )
    return int(connected_components(links, directed=False)[0])


@pytest.mark.parametrize(
    "name", ["right pelvis/hip", "pelvis/sacrum", "left thigh/femur", "right shank/tibia", "skull/skull"]
)
def test_one_piece(figure: Figure, name: str) -> None:
    assert pieces(figure.shapes[name].surface) == 1


def sphere_fit(points: np.ndarray) -> tuple[np.ndarray, float]:
    a = np.column_stack([2 * points, np.ones(len(points))])
    solution, *_ = np.linalg.lstsq(a, (points**2).sum(axis=1), rcond=None)
    return solution[:3], float(np.sqrt(solution[3] + (solution[:3] ** 2).sum()))


@pytest.mark.parametrize(
    "measured",
    [
        {},
        {"neck_shaft_angle": np.radians(138)},
        {"neck_shaft_angle": np.radians(112)},
        {"offset": 0.048},
        {"head_radius": 0.0245},
    ],
    ids=["mean", "valga", "vara", "offset", "head"],
)
def test_head_is_a_sphere_about_the_hip_centre(measured: dict[str, float]) -> None:
    """Sphere fit of the medial upper head: centre at the thigh frame's origin, radius as asked, within 1 mm."""
    body = make_body("female", 64.0, 1.66, right=measured)
    (femur,) = (s for s in build_group("thigh", body, body.right) if s.name == "femur")
    points = femur.surface.points
    cap = points[
        (np.linalg.norm(points, axis=1) < body.right.head_radius[0] * 1.02) & (points[:, 1] > 0) & (points[:, 2] < 0)
    ]
    centre, radius = sphere_fit(cap)
    assert np.linalg.norm(centre) < 1e-3
    assert radius == pytest.approx(body.right.head_radius[0], abs=1e-3)


def test_femur_spans_hip_to_knee(figure: Figure, house: Body) -> None:
    points = figure.shapes["right thigh/femur"].surface.points
    thigh = lengths(house).thigh[0]
    assert points[:, 1].max() < 0.06
    assert -points[:, 1].min() == pytest.approx(thigh + 0.025, abs=0.012)


def test_attachments_lie_on_the_bone(figure: Figure, house: Body) -> None:
    """Landmarks used by the statics lie within 3 mm of the bone's surface."""
    for name in ("abductor_origin", "adductor_origin", "anterior_spine", "pubic_tubercle"):
        gap = distance_to(pelvis_landmark(name, house)[0], figure.shapes["right pelvis/hip"].surface)
        assert gap < 0.003, f"{name}: {gap * 1000:.1f} mm off the bone"
    for name in ("abductor_insertion", "trochanter_tip", "adductor_insertion"):
        gap = distance_to(femur_landmark(name, house, house.right)[0], figure.shapes["right thigh/femur"].surface)
        assert gap < 0.003, f"{name}: {gap * 1000:.1f} mm off the bone"


def test_socket_holds_the_head(figure: Figure, house: Body) -> None:
    """Cartilage and bone stay clear of the head's sphere; the roof is there, unbroken over the top."""
    centre = np.array([0.0, 0.0, house.hip_spacing[0] / 2])
    radius = house.right.head_radius[0]
    for name in ("hip", "lunate"):
        distance = np.linalg.norm(figure.shapes[f"right pelvis/{name}"].surface.points - centre, axis=1)
        assert distance.min() > radius - 1e-4
        assert distance.min() < radius + 4e-3
    cartilage = figure.shapes["right pelvis/lunate"].surface.points - centre
    out = cartilage / np.linalg.norm(cartilage, axis=1, keepdims=True)
    for angle in np.radians([-30, -15, 0, 15, 30]):  # front to back over the roof
        toward = np.array([np.sin(angle), np.cos(angle), 0.15])
        toward /= np.linalg.norm(toward)
        assert (out @ toward).max() > np.cos(np.radians(6)), f"no cartilage at {np.degrees(angle):.0f} degrees"


def test_spine_to_spine_on_the_mesh(figure: Figure) -> None:
    """Skeletal Radiology 2010, doi 10.1007/s00256-009-0791-x: between the anterior superior spines 227 (16) mm."""
    points = figure.shapes["right pelvis/hip"].surface.points
    front = points[(points[:, 0] > 0.035) & (points[:, 1] > 0.05)]
    width = 2 * front[np.argmax(front[:, 0] + 0.3 * front[:, 2]), 2] * 1000
    assert width == pytest.approx(227, abs=16)


def test_shell_covers_the_bones_at_rest(figure: Figure, house: Body) -> None:
    top = figure.shell.points[:, 1].max()
    assert top == pytest.approx(1.66, abs=0.03)
    assert figure.shell.weights.sum(axis=1) == pytest.approx(1.0)


def test_shell_follows_without_tearing(figure: Figure, house: Body) -> None:
    from viz3d.kinematics.posture import make_posture
    from viz3d.solution.solve import solve_batch

    solved = solve_batch(house, make_posture(2, lean=[0.0, 0.35], obliquity=[0.0, 0.15]))
    t = figure.shell.triangles
    rest = np.linalg.norm(figure.shell.points[t[:, 0]] - figure.shell.points[t[:, 1]], axis=1)
    followed = 0
    for i in range(2):
        points, normals = figure.shell.posed(solved.posed.frames, i)
        edge = np.linalg.norm(points[t[:, 0]] - points[t[:, 1]], axis=1)
        assert (edge / np.maximum(rest, 2e-3)).max() < 6
        assert np.linalg.norm(normals, axis=1) == pytest.approx(1.0)
        for k, link in enumerate(figure.shell.links):
            own = figure.shell.weights[:, k] > 0.999
            there = np.linalg.inv(figure.shell.rest[k]) @ np.column_stack([figure.shell.points, np.ones(len(points))]).T
            carried = (solved.posed.frames[link][i] @ there).T[own, :3]
            assert np.abs(points[own] - carried).max(initial=0.0) < 2e-3, link
            followed += int(own.sum())
    assert followed > len(figure.shell.points) / 4


def test_cache_keeps_and_recovers(tmp_path: object, monkeypatch: pytest.MonkeyPatch, house: Body) -> None:
    monkeypatch.setenv("VIZ3D_CACHE", str(tmp_path))
    first = group_shapes("cane", house)
    files = list(cache.cache_folder().glob("*.npz"))
    assert len(files) == len(DETAILS)
    again = group_shapes("cane", house)
    assert [s.name for s in again] == [s.name for s in first]
    assert np.abs(again[0].surface.points - first[0].surface.points).max() < 1e-6
    for file in files:
        file.write_bytes(b"damaged")
    assert len(group_shapes("cane", house)) == len(first)
    assert (cache.cache_folder() / "manifest.json").is_file()


def test_left_and_right_hips_are_separate(tmp_path: object, monkeypatch: pytest.MonkeyPatch, house: Body) -> None:
    monkeypatch.setenv("VIZ3D_CACHE", str(tmp_path))
    left = dataclasses.replace(house.left, offset=np.array([0.050]))
    shapes = {s.side: s for s in group_shapes("thigh", dataclasses.replace(house, left=left)) if s.name == "femur"}
    widest = {side: np.abs(s.surface.points[:, 2]).max() for side, s in shapes.items()}
    assert widest["left"] > widest["right"] + 0.004
