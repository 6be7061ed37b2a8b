"""The horseshoe: areas beside published ones, resultants, symmetry; wrong surfaces refused."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from viz3d.body.person import make_body
from viz3d.body.socket import rim_angle, roof_angle, socket_angles, socket_axis, turn_beside
from viz3d.contact.facets import facet_pressure
from viz3d.contact.horseshoe import facets_of_mesh, horseshoe, sphere_facets
from viz3d.errors import InputError
from viz3d.kinematics.posture import make_posture
from viz3d.solution.solve import solve_batch
from viz3d.solution.solved import HORSESHOE

SOCKET = (np.radians(39.6), np.radians(18.0))
"""Inclination and version of the default woman's socket."""


def test_lunate_area_within_the_published_range() -> None:
    """Govsa 2005, Arch Orthop Trauma Surg 125:453 (226 bones): 14.5-30.5 cm2, here at a radius of 25 mm.

    The notch's width was chosen within this range, so this checks the table, not nature. The rim plane then lies 0 to 21
    degrees under the hemisphere, as read in Clin Orthop Relat Res 2009;467:682.
    """
    _, areas = horseshoe(np.radians(33.6), *SOCKET)
    assert 14.5 < areas.sum() * 2.5**2 < 30.5


@pytest.mark.parametrize(("inclination", "version"), [(39.6, 18.0), (30.0, -5.0), (50.0, 40.0)])
def test_axis_reads_back_as_from_the_front_and_from_above(inclination: float, version: float) -> None:
    axis = socket_axis(*np.radians([inclination, version]))
    assert np.linalg.norm(axis) == pytest.approx(1.0)
    assert np.degrees(socket_angles(axis)) == pytest.approx([inclination, version])
    assert axis[0] / axis[2] == pytest.approx(np.tan(np.radians(version)))  # Murray 1993, JBJS Br 75:228: anatomical


def test_rim_is_the_edge_over_the_roof_and_rises_evenly_to_front_and_back() -> None:
    axis, edge = socket_axis(*SOCKET), np.radians(33.6)
    roof = roof_angle(axis, edge)
    over = np.array([0.0, np.cos(edge), np.sin(edge)])
    assert np.arccos(-over @ axis) == pytest.approx(roof)
    aside = np.cross(axis, over) / np.linalg.norm(np.cross(axis, over))
    ways = np.stack([over, aside, -aside])
    rise = np.degrees(rim_angle(roof, turn_beside(ways, axis, edge)) - roof)
    assert rise == pytest.approx([0.0, 9.5, 9.5], abs=1e-6)
    assert turn_beside(7.0 * ways, axis, edge) == pytest.approx([0, 1, 1], abs=1e-12)  # a direction has no length


def test_sockets_may_differ_in_one_batch() -> None:
    edge, tilt, turn = np.radians([[30, 36], [36, 44], [10, 25]])
    _, both = horseshoe(edge, tilt, turn)
    for k in range(2):
        _, one = horseshoe(edge[k], tilt[k], turn[k])
        assert both[k].sum() == pytest.approx(one.sum(), rel=1e-12)
    _, forward = horseshoe(edge[0], tilt[0], turn)
    assert forward[0].sum() != pytest.approx(forward[1].sum(), rel=1e-3)


def test_sphere_is_whole() -> None:
    normals, areas = sphere_facets(20)
    assert areas.sum() == pytest.approx(4 * np.pi, rel=1e-12)
    assert (normals * areas[:, None]).sum(axis=0) == pytest.approx(np.zeros(3), abs=1e-10)


@settings(max_examples=60, deadline=None)
@given(st.floats(22, 45), st.floats(-5, 20), st.floats(-8, 8), st.floats(200, 4000))
def test_resultant_is_the_load(edge: float, inward: float, forward: float, size: float) -> None:
    normals, areas = horseshoe(np.radians(edge), *SOCKET)
    a, b = np.radians([inward, forward])
    load = size * np.array([[np.sin(b), np.cos(a) * np.cos(b), -np.sin(a) * np.cos(b)]])
    found = facet_pressure(load, normals, normals, areas)
    assert found.carried[0]
    made = (found.pressure[0] * areas[0]) @ normals
    assert made == pytest.approx(load[0], abs=1e-6 * size)
    assert np.maximum(normals @ found.displacement[0], 0.0)[areas[0] > 0] == pytest.approx(
        found.pressure[0][areas[0] > 0], abs=1e-9 * size
    )


def test_a_shallow_socket_has_more_pressure_on_less_area() -> None:
    peaks = []
    for edge in (20.0, 28.0, 36.0):
        body = make_body("female", 64.0, 1.66, left={"centre_edge_angle": np.radians(edge)})
        solved = solve_batch(body, make_posture(), surface=HORSESHOE)
        peaks.append(float(solved.socket.peak[0]))
        assert solved.socket.peak[0] > solved.pressure.peak[0]  # a horseshoe has less surface than the lune
    assert peaks == sorted(peaks, reverse=True)


def test_many_people_at_once_agree_with_one_by_one() -> None:
    edges = np.radians([22.0, 30.0, 38.0])
    body = make_body("male", np.array([60.0, 75.0, 90.0]), 1.78, left={"centre_edge_angle": edges})
    both = solve_batch(body, make_posture(3), surface=HORSESHOE).socket.peak
    for k in range(3):
        alone = make_body("male", 60.0 + 15.0 * k, 1.78, left={"centre_edge_angle": edges[k]})
        assert solve_batch(alone, make_posture(), surface=HORSESHOE).socket.peak[0] == pytest.approx(both[k], rel=1e-9)


def test_own_mesh_and_refusals() -> None:
    corners = np.array([[0, 1, 0], [1, 1, 0], [0, 1, 1.0], [1, 1, 1]])
    centres, normals, areas = facets_of_mesh(corners, [[0, 1, 2], [1, 3, 2]], [True, True], [0.5, 0, 0.5])
    assert normals[:, 1] == pytest.approx([1, 1])
    assert areas.sum() == pytest.approx(1.0)
    assert centres.shape == (2, 3)
    with pytest.raises(InputError, match="labelled"):
        facets_of_mesh(corners, [[0, 1, 2]], [False], [0, 0, 0])
    with pytest.raises(InputError, match="no area"):
        facets_of_mesh(corners, [[0, 0, 2]], [True], [0, 0, 0])
    with pytest.raises(InputError, match="leaves no surface"):
        horseshoe(np.radians(-50), *SOCKET)
