"""Muscle attachments lie on the drawn bones (3 mm), wrapping surfaces along them (4 mm), for women and men."""

from __future__ import annotations

import numpy as np
import pytest
import pyvista as pv

from viz3d.body.landmarks import femur_landmark, pelvis_landmark, shank_landmark
from viz3d.body.muscles import muscle_lines, muscle_points, wrap_surfaces
from viz3d.body.person import Body, make_body
from viz3d.body.segments import lengths
from viz3d.kinematics.muscle_paths import hip_centre
from viz3d.kinematics.wrapping import round_cylinder
from viz3d.shapes.skeleton import group_shapes

PEOPLE = {"woman": make_body("female", 64.0, 1.66), "man": make_body("male", 78.0, 1.76)}


def surface(group: str, body: Body) -> pv.PolyData:
    kept = [s for s in group_shapes(group, body) if s.side != "left" and s.material != "cartilage"]
    return pv.merge([pv.make_tri_mesh(s.surface.points, s.surface.triangles) for s in kept])


def distance(mesh: pv.PolyData, points: np.ndarray) -> np.ndarray:
    _, near = mesh.find_closest_cell(points, return_closest_point=True)
    return np.linalg.norm(np.atleast_2d(near) - points, axis=1)


@pytest.mark.parametrize("who", PEOPLE)
def test_attachments_lie_on_the_bones(who: str) -> None:
    body = PEOPLE[who]
    bones = {name: surface(name, body) for name in ("pelvis", "thigh", "shank")}
    for line in muscle_lines():
        at = distance(bones["pelvis"], pelvis_landmark(line.name, body))
        assert at[0] < 3e-3, f"origin of {line.words}: {at[0] * 1e3:.1f} mm"
        if line.to == "femur":
            at = distance(bones["thigh"], femur_landmark(line.name, body, body.right))
        else:
            point = shank_landmark(line.name, body)
            point[:, 1] += lengths(body).thigh
            at = distance(bones["shank"], point)
        assert at[0] < 3e-3, f"insertion of {line.words}: {at[0] * 1e3:.1f} mm"


@pytest.mark.parametrize("who", PEOPLE)
def test_wrapping_surfaces_follow_the_bones(who: str) -> None:
    body = PEOPLE[who]
    surfaces = wrap_surfaces(body, body.right)
    pelvis, thigh = surface("pelvis", body), surface("thigh", body)
    brim, middle = surfaces["pelvic_brim"], hip_centre(body, body.right)
    start, end = muscle_points(body, body.right)
    for k, line in enumerate(muscle_lines()):
        if line.wrap == "pelvic_brim":
            bend = round_cylinder(
                start[:, k] - middle, end[:, k], brim.centre - middle, brim.axes[..., 0], brim.radii[:, 0],
                brim.axes[..., 1],
            )  # fmt: skip
            assert bend.wraps[0]
            assert distance(pelvis, np.concatenate([bend.first, bend.last]) + middle).max() < 4e-3, line.words
    outer = surfaces["greater_trochanter"]
    u, v = (g.ravel() for g in np.meshgrid(np.linspace(-0.9, 0.6, 7), np.linspace(-0.8, 0.8, 5)))
    local = np.stack([np.sin(v) * np.cos(u), np.sin(u), np.cos(v) * np.cos(u)], axis=-1) * outer.radii
    assert distance(thigh, outer.centre + local @ outer.axes[0].T).max() < 4e-3
    head = surfaces["femoral_head"]
    medial = np.array([[0.3, 0.5, -0.8], [0.5, -0.2, -0.85], [0.0, 0.0, -1.0], [0.6, 0.6, -0.5]])
    medial = medial / np.linalg.norm(medial, axis=1, keepdims=True) * head.radii[0, 0]
    assert distance(thigh, medial).max() < 4e-3
