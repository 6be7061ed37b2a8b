"""Moments as turning bands: as long as what they stand for, equal where they balance, clear of the muscle's arrow."""

from __future__ import annotations

import numpy as np
import pytest

from tests.images.conftest import sheet_of
from viz3d.scene.reader import load_scene
from viz3d.stage.arcs import PER_NEWTON_METRE
from viz3d.stage.drawing import Shape2D, Stroke, Words


@pytest.mark.parametrize("name", ["elbow-crutches", "bag-sides"])
def test_two_bands_of_one_length_turn_against_each_other(name: str) -> None:
    """Each piece sweeps as its moment says; both bands have one length, one head each, and stand on both sides."""
    sheet = sheet_of(name)
    i = len(sheet.plan) - 1
    moments = {t.key: float(t.moment[i]) for t in sheet.plan.turns}
    drops, holds = sheet.figure.bands(i)
    assert drops.drops
    assert not holds.drops
    assert abs(drops.sweep) == pytest.approx(abs(holds.sweep), rel=1e-6)
    for key, _, sweep in (*drops.pieces, *holds.pieces):
        assert abs(sweep) == pytest.approx(abs(moments[key]) * PER_NEWTON_METRE)
    tail, tip = sheet.arrow_ends("muscle", i)
    arrow = np.linspace(tail, tip, 60)
    band = holds.at(np.linspace(0.0, abs(holds.sweep) * holds.radius, 60), 0.0)
    assert np.linalg.norm(arrow[:, None] - band[None], axis=-1).min() > 12.0 * sheet.u
    drawn = [m for m in sheet.figure.arcs(i) if isinstance(m, Shape2D) and m.role.partition("_turn")[1]]
    assert {m.role for m in drawn} == {key for key, m in moments.items() if abs(m) > 1e-6}


def test_the_sum_of_moments_is_written_under_the_forces() -> None:
    sheet = sheet_of("elbow-crutches")
    i = len(sheet.plan) - 1
    told = [m.text for m in sheet.drawing(i).over if isinstance(m, Words) and m.role == "moments"]
    numbers = [float(t) for t in told if t[0].isdigit()]
    assert len(numbers) == sum(abs(float(t.moment[i])) > 0.05 for t in sheet.plan.turns) == 4
    assert sum(numbers[:2]) == pytest.approx(sum(numbers[2:]), abs=0.11)


def test_a_view_asked_for_by_hand_holds_at_every_step() -> None:
    own = load_scene("gluteal-group")
    assert {s.view for s in own.steps} == {None, "side", "front"}
    asked = load_scene("gluteal-group", ["picture.view=back", 'picture.layers=["bones", "joint"]'])
    assert {s.view for s in asked.steps} == {None, "back"}
    assert all(s.layers in (None, ["bones", "joint"]) for s in asked.steps)


def test_a_short_band_lies_on_a_track_about_the_hip() -> None:
    """So that it is not taken for one more force; a long band needs none."""
    sheet = sheet_of("limp")
    i = len(sheet.plan) - 1
    bands = sheet.figure.bands(i)
    for band in bands:
        (track,) = [m for m in band.marks(sheet.theme, sheet.u) if isinstance(m, Stroke) and m.dash]
        away = np.hypot(*(track.points - band.centre).T)
        assert away == pytest.approx(band.radius)
        turned = np.degrees(np.linalg.norm(np.diff(track.points, axis=0), axis=1).sum() / band.radius)
        assert turned == pytest.approx(75.0, abs=0.5)
    long = sheet_of("elbow-crutches").figure.bands(0)
    assert bands
    assert not [m for b in long for m in b.marks(sheet.theme, sheet.u) if isinstance(m, Stroke) and m.dash]
