"""Segment inertias against printed figures, against what solid bodies allow, and against whole men weighed as pendulums."""

from __future__ import annotations

import numpy as np
import pytest

from viz3d.arrays import Array
from viz3d.body.inertia import inertias, radius_table, segment_lengths
from viz3d.body.names import SEXES
from viz3d.body.person import Body, make_body
from viz3d.body.segment_tables import SEGMENTS, bare_name, segment_rows
from viz3d.body.segments import central_com_heights, com_fractions, lengths, mass_fractions

DE_LEVA = {
    "head": ((0.362, 0.376, 0.312), (0.330, 0.359, 0.318)),
    "trunk": ((0.372, 0.347, 0.191), (0.357, 0.339, 0.171)),
    "upper_trunk": ((0.716, 0.454, 0.659), (0.746, 0.502, 0.718)),
    "mid_trunk": ((0.482, 0.383, 0.468), (0.433, 0.354, 0.415)),
    "lower_trunk": ((0.615, 0.551, 0.587), (0.433, 0.402, 0.444)),
    "upper_arm": ((0.285, 0.269, 0.158), (0.278, 0.260, 0.148)),
    "forearm": ((0.276, 0.265, 0.121), (0.261, 0.257, 0.094)),
    "hand": ((0.628, 0.513, 0.401), (0.531, 0.454, 0.335)),
    "thigh": ((0.329, 0.329, 0.149), (0.369, 0.364, 0.162)),
    "shank": ((0.251, 0.246, 0.102), (0.267, 0.263, 0.092)),
    "foot": ((0.257, 0.245, 0.124), (0.299, 0.279, 0.139)),
}
"""de Leva 1996, J Biomech 29:1223, Table 4 (read in a course's transcription): sagittal, transverse, longitudinal radius
of gyration over length; men, women."""
WINTER = {"hand": 0.297, "forearm": 0.303, "upper_arm": 0.322, "foot": 0.475, "shank": 0.302, "thigh": 0.323,
          "head_arms_trunk": 0.496}  # fmt: skip
"""Winter 2009, Biomechanics and Motor Control of Human Movement, Table 4.1: radius of gyration about the centre of mass."""
LONG_AND_THIN = ("upper_arm", "forearm", "thigh", "shank")


@pytest.mark.parametrize("name", DE_LEVA)
def test_radii_as_printed(name: str) -> None:
    for sex, printed in zip(SEXES, DE_LEVA[name], strict=True):
        assert tuple(segment_rows()[f"radii.de-leva.{sex}.{name}"].value) == printed


@pytest.mark.parametrize("name", WINTER)
def test_winters_radii_as_printed(name: str) -> None:
    assert segment_rows()[f"radii.dempster.{name}"].value == WINTER[name]


@pytest.mark.parametrize(("name", "order"), [("left_thigh", (0, 2, 1)), ("right_foot", (2, 0, 1)), ("head", (0, 2, 1))])
def test_inertia_is_mass_times_squared_radius(name: str, order: tuple[int, int, int]) -> None:
    """m (r L)² from the printed figures; along x lies the foot's long axis, along y every other's. 80 kg, 1.80 m."""
    body, at = make_body("male", 80.0, 1.80), SEGMENTS.index(name)
    mass = {"left_thigh": 0.1416, "right_foot": 0.0137, "head": 0.0694}[name] * 80.0
    length = {"left_thigh": 0.530 - 0.285, "right_foot": 0.152, "head": 1.0 - 0.870}[name] * 1.80
    printed = np.array(DE_LEVA[bare_name(name)][0])[list(order)]
    assert inertias(body)[0, at] == pytest.approx(mass * (printed * length) ** 2, rel=1e-12)


@pytest.mark.parametrize("table", ["de-leva", "dempster"])
@pytest.mark.parametrize("sex", SEXES)
def test_solid_bodies_allow_these(sex: str, table: str) -> None:
    """No principal moment of a solid exceeds the sum of the other two; parts without mass have none."""
    body = make_body(sex, 70.0, 1.75, segment_table=table)
    found, mass = inertias(body)[0], mass_fractions(body)[0]
    heavy = found[mass > 0.0]
    assert (heavy > 0.0).all()
    assert (found[mass == 0.0] == 0.0).all()
    assert (2 * heavy.max(axis=1) < heavy.sum(axis=1)).all()


@pytest.mark.parametrize("sex", SEXES)
def test_long_segments_turn_much_like_rods(sex: str) -> None:
    """A uniform rod's radius is L/√12; no mass between the ends can make it more than √(c(1 − c)) L, plus its girth's."""
    table, com = radius_table("de-leva")[SEXES.index(sex)], com_fractions(make_body(sex, 70.0, 1.75))[0]
    for name in LONG_AND_THIN:
        at = SEGMENTS.index(f"left_{name}")
        x, y, z = table[at]
        for across in (x, z):
            assert 0.8 < across * np.sqrt(12.0) < 1.3
            assert across**2 < com[at] * (1.0 - com[at]) + y**2
        assert y < 0.6 * z


@pytest.mark.parametrize("sex", SEXES)
def test_trunk_is_wider_than_deep(sex: str) -> None:
    """Width counts in turns about the axis from back to front, depth in those about the one from side to side."""
    table = radius_table("de-leva")[SEXES.index(sex)]
    for name in ("lower_trunk", "mid_trunk", "upper_trunk"):
        assert table[SEGMENTS.index(name), 0] > table[SEGMENTS.index(name), 2]


@pytest.mark.parametrize("table", ["de-leva", "dempster"])
def test_scaling(table: str) -> None:
    """Twice the mass, twice the moment; a stature of 1.1, 1.21 of it; a batch is its people."""
    one = inertias(make_body("female", 60.0, 1.60, segment_table=table))
    assert inertias(make_body("female", 120.0, 1.60, segment_table=table)) == pytest.approx(2.0 * one, rel=1e-12)
    assert inertias(make_body("female", 60.0, 1.76, segment_table=table)) == pytest.approx(1.21 * one, rel=1e-12)
    both = inertias(make_body(np.array([0, 1]), [60.0, 60.0], 1.60, segment_table=table))
    assert both.shape == (2, len(SEGMENTS), 3)
    assert both[1] == pytest.approx(one[0], rel=1e-12)
    man = inertias(make_body("male", 60.0, 1.60, segment_table=table))
    assert both[0] == pytest.approx(man[0], rel=1e-12)


def test_added_mass_is_a_point() -> None:
    extra = np.zeros((1, len(SEGMENTS)))
    extra[0, SEGMENTS.index("left_shank")] = 3.0
    bare, loaded = make_body("male", 70.0, 1.75), make_body("male", 70.0, 1.75, added=extra)
    assert loaded.mass[0] == 73.0
    assert inertias(loaded) == pytest.approx(inertias(bare), rel=1e-12)


def test_trunk_parts_make_the_whole_trunk() -> None:
    """The three printed parts, put together by the parallel-axis theorem, against the printed whole trunk.

    de Leva 1996, Table 4. Mean lengths from memory, hence 4 %; the long axes are in line, so that radius is a mean.
    """
    for s, sex in enumerate(SEXES):
        rows, names = segment_rows(), ("upper_trunk", "mid_trunk", "lower_trunk")
        share = np.array(rows[f"trunk-parts.{sex}"].value)
        mass, com = np.array([rows[f"de-leva.{sex}.{n}"].value for n in names]).T
        at = np.concatenate([[0.0], np.cumsum(share)[:-1]]) + com * share
        apart = (at - (mass * at).sum() / mass.sum()) ** 2
        radii = np.array([DE_LEVA[n][s] for n in names]) * share[:, None]
        radii[:, :2] = np.sqrt(radii[:, :2] ** 2 + apart[:, None])
        whole = np.sqrt((mass[:, None] * radii**2).sum(axis=0) / mass.sum())
        assert whole == pytest.approx(np.array(DE_LEVA["trunk"][s]), rel=0.04)


def standing_inertia(body: Body) -> Array:
    """Moments of the whole body standing upright, arms hanging, about x, y, z through its centre of mass, kg m²."""
    size, mass, com = lengths(body), mass_fractions(body)[0] * body.mass[0], com_fractions(body)[0]
    top = {"upper_arm": size.shoulder, "forearm": size.shoulder - size.upper_arm, "hand": size.wrist_crease,
           "thigh": size.hip, "shank": size.knee}  # fmt: skip
    place = np.zeros((len(SEGMENTS), 3))
    place[:4, 1] = central_com_heights(body)[0, :4]
    for i, segment in enumerate(SEGMENTS[4:-1], start=4):
        name, side = bare_name(segment), -1.0 if segment.startswith("left") else 1.0
        leg = name in ("thigh", "shank", "foot")
        place[i, 2] = side * float(body.hip_spacing[0] / 2 if leg else size.half_shoulder[0])
        place[i, 1] = size.ankle[0] / 2 if name == "foot" else top[name][0] - com[i] * segment_lengths(body)[0, i]
    centre = (mass[:, None] * place).sum(axis=0) / mass.sum()
    square = (place - centre) ** 2
    own = inertias(body)[0]
    about = square.sum(axis=1, keepdims=True) - square
    return np.asarray((own + mass[:, None] * about).sum(axis=0))


@pytest.mark.parametrize(
    ("inches", "pounds", "measured"),
    [(72.2, 173.5, (132, 119, 13.1)), (67.4, 147.3, (95.6, 81.9, 10.3)), (73.3, 203.0, (144, 129, 14.2))],
)
def test_standing_men(inches: float, pounds: float, measured: tuple[float, float, float]) -> None:
    """Three men standing, swung as pendulums: moments about the axes forward, to the side and up, in lb in s².

    Table A.2.1, position 1 of three subjects, as reprinted at guwsmedical.info/body-dynamics/body-coordinate-system-table-a21.html
    (the book, from memory: Tözeren 2000, Human Body Dynamics, appendix 2); 1 lb in s² is 0.11298 kg m², as said there.
    The compound pendulum is good to 2 to 8 % (abstract of "Moments of inertia and centers of gravity of the living human
    body", 66 men, at scilit.com), and people of one mass and stature differ: 12 % about the two long-armed axes is our
    choice, and 30 % about the upright one, where arms and feet count most.
    """
    found = standing_inertia(make_body("male", pounds * 0.45359237, inches * 0.0254))
    forward, side, up = np.array(measured) * 0.11298
    print(
        f"standing man: forward {found[0]:.2f} ({forward:.2f}), side {found[2]:.2f} ({side:.2f}), up {found[1]:.2f} ({up:.2f})"
    )
    assert found[0] == pytest.approx(forward, rel=0.12)
    assert found[2] == pytest.approx(side, rel=0.12)
    assert found[1] == pytest.approx(up, rel=0.30)
