"""The baked tones of a bone: hollows darker, edges lighter, mottling bounded and always the same, warm where muscles are."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest
import trimesh

from viz3d.body.person import Body
from viz3d.body.socket import socket_axis
from viz3d.output.window import baked_colours
from viz3d.shapes import cache
from viz3d.shapes.build import Shape
from viz3d.shapes.finish import lighter
from viz3d.shapes.shadow import contact_shadow
from viz3d.shapes.skeleton import group_shapes
from viz3d.shapes.stain import MOTTLING, curvature, mottling, sided, stained
from viz3d.shapes.surface import Surface, vertex_normals


def ball(radius: float, inward: bool = False) -> Surface:
    mesh = trimesh.creation.icosphere(subdivisions=4, radius=radius)
    faces = np.asarray(mesh.faces, dtype=np.int32)
    points, faces = np.asarray(mesh.vertices, dtype=float), faces[:, ::-1].copy() if inward else faces
    return Surface(points, faces, vertex_normals(points, faces), np.ones(len(points)))


@pytest.mark.parametrize("radius", [0.006, 0.012, 0.03])
def test_curvature_of_a_ball(radius: float) -> None:
    """The normals of a ball turn by the inverse of its radius; inside out, by its negative. 4 %: it is made of facets."""
    expected = np.tanh(9.0 / (1e3 * radius))
    assert curvature(ball(radius)) == pytest.approx(expected, rel=0.04)
    assert curvature(ball(radius, inward=True)) == pytest.approx(-expected, rel=0.04)


def test_a_hollow_is_darker_than_an_edge() -> None:
    out, inside = (stained(ball(0.008, inward=way), []) for way in (False, True))
    assert inside.shade.mean() < 0.75
    assert out.shade.mean() > 1.0


def test_mottling_is_four_percent_of_the_colour_and_always_the_same() -> None:
    points = np.random.default_rng(4).uniform(-200.0, 200.0, (20_000, 3))
    noise = mottling(points)
    assert np.abs(noise).max() <= 1.0
    assert abs(noise.mean()) < 0.05
    assert np.array_equal(noise, mottling(points))
    assert np.abs(mottling(points + 0.01) - noise).max() < 0.02
    flat = ball(0.2)
    colour = baked_colours(stained(flat, []), "#808080")[:, 0] / baked_colours(flat, "#808080")[:, 0]
    assert np.abs(colour / colour.mean() - 1.0).max() < 1.3 * MOTTLING


def test_warmth_follows_its_lines_and_leaves_greys_grey() -> None:
    bone = stained(ball(0.03), [np.array([[0.0, 30.0, 0.0, 12.0], [3.0, 29.8, 0.0, 12.0]])])
    assert bone.warm is not None
    top = bone.points[:, 1] > 0.0295
    assert bone.warm[top].min() > 0.5
    assert bone.warm[bone.points[:, 1] < 0.0].max() == 0.0
    ivory = baked_colours(bone, "#E6D9BC")
    assert (ivory[top, 0] / ivory[top, 2]).mean() > 1.05 * (ivory[~top, 0] / ivory[~top, 2]).mean()
    grey = baked_colours(bone, "#F3F3F3")
    assert np.ptp(grey, axis=1).max() < 1e-12
    assert grey.max() <= 1.0


def test_sides() -> None:
    area = np.array([[1.0, 2.0, 3.0, 4.0]])
    assert sided([area], "right")[0].tolist() == area.tolist()
    assert sided([area], "left")[0][0].tolist() == [1.0, 2.0, -3.0, 4.0]
    assert len(sided([area], "middle")) == 2


def test_tones_are_kept_thinned_and_mirrored(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VIZ3D_CACHE", str(tmp_path))
    bone = stained(ball(0.03), [np.array([[0.0, 30.0, 0.0, 12.0]] * 2)])
    cache.store("tones", [Shape("ball", "pelvis", "right", "bone", bone)], {})
    found = cache.load("tones")
    assert found is not None
    kept = found[0].surface
    assert kept.warm is not None and bone.warm is not None
    assert np.abs(kept.warm - bone.warm).max() < 0.003
    assert np.abs(kept.shade - bone.shade).max() < 0.002
    for other in (lighter(kept, 0.3), kept.mirrored(), kept.stretched(1.1)):
        assert other.warm is not None
        assert len(other.warm) == len(other.points)
        assert other.warm.max() > 0.9


def test_what_coats_a_bone_darkens_nothing() -> None:
    """A shell close over a ball: the ball sees the sky as if it were bare."""
    inner, outer = ball(0.02), ball(0.021)
    bare, covered = contact_shadow([inner, outer], coats=[1])[0], contact_shadow([inner, outer])[0]
    assert bare.shade.min() > 0.95
    assert covered.shade.max() < 0.05
    assert dataclasses.replace(bare, shade=covered.shade).points is bare.points


def test_the_fossas_floor_is_darkest_under_the_roof(house: Body) -> None:
    """On both sides; beyond it the bone keeps its tone."""
    body = house
    for hip in (s for s in group_shapes("pelvis", body) if s.name == "hip"):
        sign = 1.0 if hip.side == "right" else -1.0
        middle = np.array([0.0, 0.0, sign * body.hip_spacing[0] / 2])
        way = (hip.surface.points - middle) / np.linalg.norm(hip.surface.points - middle, axis=1, keepdims=True)
        axis = socket_axis(body.right.socket_inclination[0], body.right.socket_version[0]) * [1.0, 1.0, sign]
        far = 1e3 * (np.linalg.norm(hip.surface.points - middle, axis=1) - body.right.head_radius[0])
        floor = (np.abs(far - 8.2) < 1.2) & (np.einsum("ij,ij->i", hip.surface.normals, way) < -0.7)
        deep, low = floor & (way[:, 1] > 0.5), floor & (way[:, 1] < -0.2) & (way @ axis < 0.2)
        assert min(deep.sum(), low.sum()) > 5
        assert hip.surface.shade[deep].mean() < 0.25
        assert hip.surface.shade[low].mean() > hip.surface.shade[deep].mean() + 0.1
        assert np.median(hip.surface.shade) > 0.5
