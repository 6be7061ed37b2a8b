"""The table of drawn sizes says what the drawn bones have."""

from __future__ import annotations

import pytest

from viz3d.body.landmarks import bone_parts, drawn, landmark_rows
from viz3d.body.person import make_body
from viz3d.shapes.build import BONES
from viz3d.shapes.warp import make_warp
from viz3d.tables import read_toml


def test_pelvis_is_drawn_as_wide_as_the_table_says() -> None:
    """The socket's centre stands half the drawn spacing from the midline; the first row of the crest is the spine."""
    assert 2 * bone_parts("pelvis")["socket_mouth"]["c"][2] == drawn()["hip_spacing"]
    spine = landmark_rows()["pelvis"]["anterior_spine"]
    *_, z, r = bone_parts("pelvis")["iliac_crest"]["pts"][spine["rows"][0]][:4]
    way = spine["outward"][2] / sum(v * v for v in spine["outward"]) ** 0.5
    assert 2 * (z + r * way) == pytest.approx(drawn()["pelvic_width"], abs=1e-3)


def test_femur_is_drawn_with_the_tables_tip() -> None:
    (row,) = landmark_rows()["femur"]["trochanter_tip"]["rows"]
    y, r = (bone_parts("thigh")["gt_lateral"]["pts"][row][i] for i in (1, 3))
    way = landmark_rows()["femur"]["trochanter_tip"]["outward"]
    assert y + r * way[1] / sum(v * v for v in way) ** 0.5 == pytest.approx(drawn()["trochanter_tip"], abs=1.0)


def test_a_person_of_the_drawn_sizes_gets_the_drawn_femur() -> None:
    """Head radius, offset, neck angle and length as drawn: points of shaft and head stay where they were drawn."""
    of = drawn()
    stature = of["thigh"] * 1e-3 / (0.530 - 0.285)
    hip = {"head_radius": of["head_radius"] * 1e-3, "offset": of["offset"] * 1e-3, "version": 0.0,
           "neck_shaft_angle": 126.0 * 3.141592653589793 / 180}  # fmt: skip
    body = make_body("male", 70.0, stature, right=hip)
    warp = make_warp(read_toml(BONES, "thigh.toml"), body, body.right)
    assert warp.scale == pytest.approx(1.0, abs=1e-12)
    assert warp.femur is not None
    assert float(abs(warp.femur.knee[0, 1] - warp.femur.head[0, 1])) * 1e3 == pytest.approx(
        (of["thigh"] ** 2 - of["offset"] ** 2) ** 0.5, abs=1e-9
    )
