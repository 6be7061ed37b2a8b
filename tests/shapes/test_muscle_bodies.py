"""Muscle bodies run from bone to bone along their lines, stay closed, and swell with what they carry."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from viz3d.body.muscle_bodies import RING, muscle_bodies
from viz3d.body.muscles import muscle_lines
from viz3d.body.person import Body, make_body
from viz3d.output.flesh import body_colour, body_points
from viz3d.scene.reader import load_scene
from viz3d.shapes.muscle_body import muscle_points, muscle_triangles
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


@pytest.mark.parametrize("side", ["left", "right"])
def test_bodies_are_closed_outward_and_reach_their_bones(side: str) -> None:
    muscles = shown("muscle-set", f"posture.stance={side}")
    assert len(muscles) == 19
    assert is_closed(muscle_triangles(RING))
    for one in muscles:
        points = body_points(one, 0)
        sign = 1.0 if volume(points) > 0 else -1.0
        assert sign * volume(points) > 1e-6, one.name
        for place in (one.path[0, 0], one.path[0, -1]):
            assert np.linalg.norm(points - place, axis=1).min() < 0.03, one.name


def test_left_and_right_are_mirror_images() -> None:
    left, right = (shown("muscle-set", f"posture.stance={s}") for s in ("left", "right"))
    flip = np.array([1.0, 1.0, -1.0])
    for a, b in zip(left, right, strict=True):
        assert np.sort(body_points(a, 0) * flip, axis=0) == pytest.approx(np.sort(body_points(b, 0), axis=0), abs=1e-9)


def test_a_muscle_swells_and_darkens_with_activation() -> None:
    (one,) = (m for m in shown("muscle-set") if m.name == "adductor_longus")
    volumes, tones = [], []
    for activation in (0.0, 0.5, 1.0):
        there = dataclasses.replace(one, activation=np.array([activation]))
        volumes.append(abs(volume(body_points(there, 0))))
        tones.append(body_colour(there, 0, palette("light")).sum())
    assert volumes[0] < volumes[1] < volumes[2] < 2.0 * volumes[0]
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
