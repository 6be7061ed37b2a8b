"""The mesher against formulas: spheres, capsules, blends."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
import trimesh

from viz3d.body.person import make_body
from viz3d.shapes import fields
from viz3d.shapes.build import BONES, bone_solids
from viz3d.shapes.fields import Blended, fold, fold_in_cells, smooth_minimum
from viz3d.shapes.finish import finish, parted, simplified
from viz3d.shapes.shadow import contact_shadow
from viz3d.shapes.surface import extract, is_closed
from viz3d.shapes.warp import make_warp
from viz3d.tables import read_toml


def test_asking_cubes_first_changes_no_value(rng: np.random.Generator) -> None:
    """A real bone's parts, carved, blended and raised; no point may be told otherwise than by asking every part."""
    body = make_body("female", 64.0, 1.66)
    table = read_toml(BONES, "foot.toml")
    for bone in table["bone"]:
        parts = bone_solids(table, bone, make_warp(table, body, body.hip("right")))
        solids = [p.solid for p in parts if not p.carve]
        low, high = np.min([s.low for s in solids], axis=0), np.max([s.high for s in solids], axis=0)
        points = rng.uniform(low - 10.0, high + 10.0, (6000, 3))
        assert np.array_equal(fold_in_cells(parts, points, 20.0), fold(parts, points))


def test_sphere_volume_and_radius() -> None:
    mesh = extract([Blended(fields.ball([3, -4, 5], 20.0), 0.0)], 1.5)
    surface = finish(*mesh, 10**9)
    assert is_closed(surface.triangles)
    assert surface.volume() * 1e9 == pytest.approx(4 / 3 * np.pi * 20**3, rel=5e-3)
    radius = np.linalg.norm(surface.points * 1e3 - [3, -4, 5], axis=1)
    assert np.abs(radius - 20).max() < 0.08


def test_capsule_volume() -> None:
    rod = fields.tube([[0, 0, 0, 6.0], [0, 60, 0, 6.0]])
    mesh = extract([Blended(rod, 0.0)], 1.0)
    surface = finish(*mesh, 10**9)
    assert is_closed(surface.triangles)
    assert surface.volume() * 1e9 == pytest.approx(np.pi * 36 * 60 + 4 / 3 * np.pi * 216, rel=0.01)


def test_carving_a_ball_from_a_ball() -> None:
    parts = [Blended(fields.ball([0, 0, 0], 20.0), 0.0), Blended(fields.ball([0, 0, 0], 10.0), 0.0, carve=True)]
    values = fold(parts, np.array([[0.0, 0, 0], [15.0, 0, 0], [25.0, 0, 0]]))
    assert values == pytest.approx([10.0, -5.0, 5.0])


def test_smooth_minimum_properties() -> None:
    a, b = np.linspace(-5, 5, 101), np.zeros(101)
    k = 3.0
    value = smooth_minimum(a, b, k)
    assert (value <= np.minimum(a, b) + 1e-12).all()
    assert (np.minimum(a, b) - value <= k / 6 + 1e-12).all()
    assert value[np.abs(a) > k] == pytest.approx(np.minimum(a, b)[np.abs(a) > k])
    assert smooth_minimum(b, a, k) == pytest.approx(value)


def test_skipping_far_parts_changes_no_value(rng: np.random.Generator) -> None:
    parts = [
        Blended(fields.ball(rng.uniform(-30, 30, 3), rng.uniform(4, 12)), 5.0, bool(k % 5 == 4)) for k in range(15)
    ]
    points = rng.uniform(-45, 45, (400, 3))
    plain = np.full(len(points), fields.FAR)
    for part in parts:
        d = part.solid.distance(points)
        plain = -smooth_minimum(-plain, d, 5.0) if part.carve else smooth_minimum(plain, d, 5.0)
    near = np.abs(plain) < 5
    assert near.sum() > 20
    assert fold(parts, points)[near] == pytest.approx(plain[near], abs=1e-9)


def test_mirror_flips_and_stays_outward() -> None:
    mesh = extract([Blended(fields.ellipsoid([0, 0, 30], [10, 20, 8]), 0.0)], 1.5)
    surface = finish(*mesh, 2000)
    twin = surface.mirrored()
    assert surface.volume() > 0
    assert twin.volume() == pytest.approx(surface.volume(), rel=1e-9)
    assert twin.points[:, 2].mean() == pytest.approx(-surface.points[:, 2].mean())


def test_contact_shadow_is_dark_in_a_cleft() -> None:
    parts = [Blended(fields.ball([0, 0, 0], 20.0), 0.0), Blended(fields.ball([0, 38, 0], 20.0), 0.0)]
    mesh = extract(parts, 1.5)
    (shaded,) = contact_shadow([finish(*mesh, 8000)])
    y = shaded.points[:, 1] * 1e3
    assert shaded.shade[np.abs(y - 19) < 4].mean() < 0.6
    assert shaded.shade[y < -10].mean() > 0.95


def test_bones_simplified_at_once_do_not_spoil_each_other() -> None:
    """The library's simplifier is not safe between threads (it keeps one mesh for the process); ours is."""
    rng = np.random.default_rng(3)
    made = []
    for k in range(6):
        ball = trimesh.creation.icosphere(5, radius=1.0 + 0.1 * k)
        made.append((ball.vertices + 0.01 * rng.normal(size=ball.vertices.shape), ball.faces.astype(np.int32)))
    alone = [simplified(p, t, 0.9) for p, t in made]
    with ThreadPoolExecutor(6) as pool:
        for _ in range(3):
            together = list(pool.map(lambda m: simplified(*m, 0.9), made))
            for (a, f), (b, g) in zip(alone, together, strict=True):
                assert np.array_equal(a, b)
                assert np.array_equal(f, g)


def test_a_pinched_edge_is_opened() -> None:
    """Two tetrahedra that share an edge: four triangles on it; parted, each has its own, and both stay closed."""
    one = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]], dtype=np.int32)
    points = np.array([[0, 0, 0], [0, 0, 1.0], [1, 0, 0.5], [0, 1, 0.5], [-1, 0, 0.5], [0, -1, 0.5]])
    other = np.array([0, 1, 4, 5])[one]
    both = np.concatenate([one, other]).astype(np.int32)
    assert not is_closed(both)
    apart, faces = parted(points, both)
    assert len(apart) == 8
    assert is_closed(faces)
    assert np.abs(apart[faces] - points[both]).max() == 0.0
    assert parted(points, one)[0] is points
