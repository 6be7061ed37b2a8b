"""Muscle bodies run from bone to bone along their lines, stay closed, and swell with what they carry."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy.spatial import cKDTree

from viz3d.body.muscle_bodies import RING, muscle_bodies
from viz3d.body.muscles import muscle_lines
from viz3d.body.person import Body, make_body
from viz3d.output.flesh import body_colour, body_points
from viz3d.scene.reader import load_scene
from viz3d.shapes.muscle_body import STATIONS, muscle_points, muscle_triangles
from viz3d.shapes.surface import Surface, is_closed
from viz3d.solution.script import solve_scene
from viz3d.stage.muscles import drawn_muscles
from viz3d.stage.palette import palette


def volume(points: np.ndarray) -> float:
    return Surface(points, muscle_triangles(RING), points, np.ones(len(points))).volume()


def shown(scene: str, *changes: str) -> list:
    loaded = load_scene(scene, list(changes))
    return drawn_muscles(loaded, solve_scene(loaded))


def test_every_line_of_the_set_has_a_body(house: Body) -> None:
    drawn = [k for one in muscle_bodies(house, house.right) for k in one.lines]
    assert sorted(drawn) == list(range(len(muscle_lines())))


def facing(points: np.ndarray) -> np.ndarray:
    """How far each ring's area points along the body, −1 to 1: below 0 the body is inside out there."""
    rings = points[:-2].reshape(STATIONS, -1, 3)
    along = np.gradient(rings.mean(axis=1), axis=0)
    spokes = rings - rings.mean(axis=1, keepdims=True)
    area = np.cross(spokes, np.roll(spokes, -1, axis=1)).sum(axis=1)
    return (area * along).sum(axis=1) / (np.linalg.norm(area, axis=1) * np.linalg.norm(along, axis=1))


POSTURES = [
    ("muscle-set", 19, ()),
    ("muscle-set", 19, ("posture.lean=8 deg",)),
    ("muscle-set", 19, ("posture.obliquity=6 deg",)),
    ("level-stance", 2, ()),
    ("lean-over-hip", 2, ()),
    ("pelvic-drop", 2, ("person.sex=male", "person.stature=1.85 m")),
]


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize(("scene", "count", "changes"), POSTURES)
def test_bodies_are_closed_outward_and_reach_their_bones(
    scene: str, count: int, changes: tuple[str, ...], side: str
) -> None:
    """Signed, not absolute: with backs culled a body inside out shows its far wall only."""
    muscles = shown(scene, f"posture.stance={side}", *changes)
    assert len(muscles) == count
    assert is_closed(muscle_triangles(RING))
    for one in muscles:
        for i in {0, len(one.activation) // 2, len(one.activation) - 1}:
            for activation in (float(one.activation[i]), 0.0, 1.0):
                points = body_points(dataclasses.replace(one, activation=np.full(len(one.activation), activation)), i)
                assert volume(points) > 1e-6, f"{one.name}, situation {i}, activation {activation}"
                assert facing(points).min() > 0.3, f"{one.name}, situation {i}, activation {activation}"
        for place in (one.path[0, 0], one.path[0, -1]):
            assert np.linalg.norm(body_points(one, 0) - place, axis=1).min() < 0.03, one.name


def test_the_check_sees_a_body_inside_out() -> None:
    one = shown("level-stance")[0]
    points = body_points(one, 0)
    turned = np.concatenate([points[:-2].reshape(STATIONS, RING, 3)[:, ::-1].reshape(-1, 3), points[-2:]])
    assert volume(turned) == pytest.approx(-volume(points), rel=1e-2)
    assert facing(turned).max() < 0


def test_outlines_may_run_either_way_round() -> None:
    """Outlines reversed, each from its own first point, give the very same body."""
    for one in shown("muscle-set"):
        back = [np.roll(ring[:, ::-1], 1, axis=1) for ring in (one.start, one.end)]
        turned = dataclasses.replace(one, start=back[0], end=back[1])
        assert body_points(turned, 0) == pytest.approx(body_points(one, 0), abs=1e-12), one.name


def test_left_and_right_are_mirror_images() -> None:
    left, right = (shown("muscle-set", f"posture.stance={s}") for s in ("left", "right"))
    assert [m.name for m in left] == [m.name for m in right]
    for a, b in zip(left, right, strict=True):
        mirrored, there = body_points(a, 0) * [1.0, 1.0, -1.0], body_points(b, 0)
        for some, others in ((mirrored, there), (there, mirrored)):
            assert cKDTree(others).query(some)[0].max() < 1e-9, a.name


def test_a_muscle_swells_and_darkens_with_activation() -> None:
    (one,) = (m for m in shown("muscle-set") if m.name == "adductor_longus")
    volumes, tones = [], []
    for activation in (0.0, 0.5, 1.0):
        there = dataclasses.replace(one, activation=np.array([activation]))
        volumes.append(volume(body_points(there, 0)))
        tones.append(body_colour(there, 0, palette("light")).sum())
    assert 0 < volumes[0] < volumes[1] < volumes[2] < 2.0 * volumes[0]
    assert tones[0] > tones[1] > tones[2]


def test_scale_and_slide() -> None:
    turn = np.arange(RING) * 2 * np.pi / RING
    ring = np.stack([0.01 * np.cos(turn), 0.0 * turn, 0.01 * np.sin(turn)], axis=-1)
    path = np.array([[0.0, 0.2, 0.0], [0.01, 0.1, 0.0], [0.0, 0.0, 0.0]])
    zero = np.zeros(3)
    base = muscle_points(path, ring + path[0], ring + path[-1], 1e-3, 0.3, 0.1, zero)
    double = muscle_points(2 * path, 2 * (ring + path[0]), 2 * (ring + path[-1]), 4e-3, 0.3, 0.1, zero)
    assert double == pytest.approx(2 * base, abs=1e-12)
    shift = np.array([0.1, -0.3, 0.2])
    moved = muscle_points(path + shift, ring + path[0] + shift, ring + path[-1] + shift, 1e-3, 0.3, 0.1, zero)
    assert moved == pytest.approx(base + shift, abs=1e-12)


def test_the_fan_begins_on_its_area_of_the_wing() -> None:
    """Gluteus medius' outline lies on the outer face, between the gluteal lines and the crest."""
    body = make_body("female", 64.0, 1.66)
    (fan,) = (b for b in muscle_bodies(body, body.right) if b.name == "gluteus_medius")
    assert np.ptp(fan.start[:, 0]) > 0.06
    assert np.ptp(fan.start[:, 1]) > 0.05
    assert np.ptp(fan.end[:, 1]) < 0.04


def test_scenes_can_leave_muscles_out() -> None:
    assert shown("level-stance", "picture.muscles=none") == []
    assert [m.name for m in shown("level-stance")] == ["gluteus_medius", "gluteus_minimus"]
