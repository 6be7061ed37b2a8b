"""No bone passes through another in the library's poses, and the femoral head stands clear of its socket all round."""

from __future__ import annotations

import itertools

import manifold3d
import numpy as np
import pytest
from scipy.spatial import cKDTree

from tests.images.conftest import in_turn
from viz3d.scene.reader import library_scenes, load_scene
from viz3d.shapes.skeleton import Figure, belongs, build_figure, group_shapes
from viz3d.shapes.surface import Surface
from viz3d.solution.inputs import body_of
from viz3d.solution.script import solve_scene
from viz3d.stage.compose import held_things

SOFT = ("cartilage", "disc", "cane", "cane_handle", "rubber", "bag", "bag_strap")
"""Materials that are meant to meet bone."""


def posed(surface: Surface, frame: np.ndarray) -> np.ndarray:
    return (surface.points @ frame[:3, :3].T + frame[:3, 3]) * 1e3


@pytest.mark.parametrize(("name",), in_turn([(name,) for name in library_scenes()], 4))
def test_bones_do_not_pass_through_each_other(name: str) -> None:
    """Mean thickness of any overlap (its volume over half its surface) is at most 1 mm."""
    scene = load_scene(name)
    solved = solve_scene(scene)
    figure: Figure = build_figure(body_of(scene))
    frames, aids = solved.posed.frames, held_things(scene)
    for i in (0, len(solved.times) - 1):
        solids = {}
        for key, shape in figure.shapes.items():
            if shape.material in SOFT or not belongs(key, shape, aids):
                continue
            link = shape.link if shape.link in frames else f"{shape.side}_{shape.link}"
            points = posed(shape.surface, frames[link][i])
            mesh = manifold3d.Mesh(points.astype(np.float32), shape.surface.triangles.astype(np.uint32))
            solid = manifold3d.Manifold(mesh)
            assert solid.status() == manifold3d.Error.NoError, f"{key}: an unsound solid would overlap nothing"
            assert solid.volume() > 0, key
            solids[key] = (solid, points.min(axis=0), points.max(axis=0))
        assert len(solids) > 30
        for a, b in itertools.combinations(solids, 2):
            one, other = solids[a], solids[b]
            if (one[1] > other[2]).any() or (other[1] > one[2]).any():
                continue
            overlap = one[0] ^ other[0]
            if overlap.volume() > 1.0:
                thick = 2.0 * overlap.volume() / overlap.surface_area()
                assert thick <= 1.0, f"{name}, situation {i}: {a} and {b} overlap by {thick:.1f} mm"


@pytest.mark.parametrize("name", ["level-stance", "pelvic-drop", "lean-over-hip"])
def test_bone_stands_off_bone_in_the_hip(name: str) -> None:
    """Between the bony head and the bony socket 3 to 5 mm, all round."""
    scene = load_scene(name)
    solved = solve_scene(scene)
    body, i = body_of(scene), len(solved.times) - 1
    figure = build_figure(body)
    side = scene.posture.stance
    centre = solved.posed.joints["stance_hip"][i] * 1e3
    radius = body.hip(side).head_radius[0] * 1e3
    head = posed(figure.shapes[f"{side} thigh/femur"].surface, solved.posed.frames[f"{side}_thigh"][i])
    hip = posed(figure.shapes[f"{side} pelvis/hip"].surface, solved.posed.frames["pelvis"][i])
    on_head = head[np.abs(np.linalg.norm(head - centre, axis=1) - radius) < 0.3]
    in_socket = hip[np.linalg.norm(hip - centre, axis=1) < radius + 4.5]
    gap, _ = cKDTree(on_head).query(in_socket)
    assert len(in_socket) > 100
    assert gap.min() > 3.0
    assert np.linalg.norm(in_socket - centre, axis=1).min() - radius == pytest.approx(3.6, abs=0.5)


def test_a_crutchs_cuff_holds_the_forearm_below_the_elbow() -> None:
    """Round the forearm's axis in every step, wherever the crutch stands; its upper edge 2.5 to 6 cm below the elbow, a
    common-practice place for it."""
    scene = load_scene("elbow-crutches")
    solved, body = solve_scene(scene), body_of(scene)
    parts = {f"{s.side} {s.name}": s for s in group_shapes("crutch", body)}
    for side, i in itertools.product(("left", "right"), range(len(solved.times))):
        into = np.linalg.inv(solved.posed.frames[f"{side}_forearm"][i])
        cuff, stem, shaft = (parts[f"{side} crutch_{name}"] for name in ("cuff", "stem", "shaft"))
        link = solved.posed.frames[cuff.link_among(solved.posed.frames)][i]
        ring = posed(cuff.surface, into @ link)
        assert np.abs((ring.min(axis=0) + ring.max(axis=0))[[0, 2]] / 2).max() < 12.0
        assert 25.0 < -ring[:, 1].max() < 60.0
        upper = posed(stem.surface, solved.posed.frames[f"{side}_forearm"][i])
        lower = posed(shaft.surface, solved.posed.frames[f"{side}_cane"][i])
        assert cKDTree(upper).query(lower)[0].min() < 10.0
