"""The facet solver against the closed form on a lune, against balance, and on sockets that cannot carry."""

from __future__ import annotations

import numpy as np
import pytest

from viz3d.contact.facets import facet_pressure, lune_facets
from viz3d.contact.lune import lune_pressure
from viz3d.errors import InputError

TILT = np.radians(8.0)
LOAD = 2000.0 * np.array([0.0, np.cos(TILT), -np.sin(TILT)])


@pytest.mark.parametrize("edge", [20.0, 25.0, 30.0, 35.0])
def test_converges_to_the_closed_form(edge: float) -> None:
    """Closed form (Brinckmann 1981; Ipavec 1999): error falls as the lune is refined, below 0.5 % at the end."""
    exact = lune_pressure(2000.0, TILT, 0.025, np.radians(edge))
    medial = float(exact.pole[0]) - np.pi / 2
    errors = []
    for steps in (6, 12, 24, 48):
        p = facet_pressure(LOAD, *lune_facets(0.025, np.radians(edge), medial, steps))
        errors.append(abs(p.peak[0] / exact.peak[0] - 1))
    assert errors[-1] < 0.005
    assert errors[-1] < errors[0]
    assert p.area[0] == pytest.approx(exact.area[0], rel=0.01)


def test_resultant_is_the_load_for_a_batch(rng: np.random.Generator) -> None:
    centres, normals, areas = lune_facets(0.025, np.radians(60), np.radians(-80), 16)
    loads = LOAD + rng.normal(0, 150, (500, 3))
    p = facet_pressure(loads, centres, normals, areas)
    assert p.carried.all()
    total = (p.pressure * areas) @ normals
    assert total == pytest.approx(loads, abs=1e-5)
    assert (p.pressure >= 0).all()


def test_pressures_scale_with_the_load() -> None:
    facets = lune_facets(0.025, np.radians(40), np.radians(-80), 12)
    one, two = facet_pressure(LOAD, *facets), facet_pressure(2 * LOAD, *facets)
    assert two.pressure == pytest.approx(2 * one.pressure, rel=1e-7)


def test_mirror() -> None:
    centres, normals, areas = lune_facets(0.025, np.radians(40), np.radians(-80), 12)
    flip = np.array([1.0, 1.0, -1.0])
    a = facet_pressure(LOAD, centres, normals, areas)
    b = facet_pressure(LOAD * flip, centres * flip, normals * flip, areas)
    assert b.peak == pytest.approx(a.peak, rel=1e-9)


def test_a_load_beyond_the_facets_is_not_carried() -> None:
    facets = lune_facets(0.025, np.radians(40), np.radians(-60), 12)
    p = facet_pressure([[0.0, -1000.0, 0.0], [0.0, 0.0, 0.0], LOAD], *facets)
    assert list(p.carried) == [False, True, True]
    assert np.isnan(p.peak[0])
    assert p.peak[1] == 0.0


@pytest.mark.parametrize(
    ("change", "word"),
    [("empty", "no facets"), ("inverted", "into the head"), ("area", "more than zero"), ("shape", "normals")],
)
def test_bad_sockets(change: str, word: str) -> None:
    centres, normals, areas = lune_facets(0.025, np.radians(40), np.radians(-80), 6)
    broken = {
        "empty": (centres[:0], normals[:0], areas[:0]),
        "inverted": (centres, -normals, areas),
        "area": (centres, normals, areas * 0),
        "shape": (centres, normals[:-1], areas),
    }
    with pytest.raises(InputError, match=word):
        facet_pressure(LOAD, *broken[change])
