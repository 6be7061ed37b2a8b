"""The closed-form lune against published behaviour and against quadrature."""

from __future__ import annotations

import numpy as np
import pytest

from viz3d.contact.lune import lune_pressure, pressure_at


@pytest.mark.parametrize(
    ("edge", "pole", "p0", "peak", "area"),
    [(20, 30.91, 3.127, 3.070, 1726), (25, 23.78, 2.529, 2.529, 1990), (30, 17.45, 2.165, 2.165, 2237),
     (35, 11.94, 1.934, 1.934, 2467)],
)  # fmt: skip
def test_lune_rows(edge: float, pole: float, p0: float, peak: float, area: float) -> None:
    """Closed form (Brinckmann 1981; Ipavec 1999) integrated numerically: R 2000 N, r 25 mm, 8 degrees."""
    p = lune_pressure(2000.0, np.radians(8), 0.025, np.radians(edge))
    assert np.degrees(p.pole[0]) == pytest.approx(pole, abs=0.006)
    assert p.pole_pressure[0] * 1e-6 == pytest.approx(p0, abs=0.0006)
    assert p.peak[0] * 1e-6 == pytest.approx(peak, abs=0.0006)
    assert p.area[0] * 1e6 == pytest.approx(area, abs=0.6)


@pytest.mark.parametrize("edge", [5.0, 20.0, 33.6, 60.0, 88.0])
def test_resultant_by_quadrature(edge: float) -> None:
    """The pressure field integrates to the load: independent sum over a fine grid of the sphere."""
    force, tilt, radius = 1500.0, np.radians(11.0), 0.0231
    p = lune_pressure(force, tilt, radius, np.radians(edge))
    u = np.linspace(-np.pi / 2, np.pi / 2, 1201)  # angle from the frontal plane
    v = np.linspace(-np.pi, np.pi, 4801)  # angle from the vertical in the frontal plane, lateral positive
    u, v = 0.5 * (u[1:] + u[:-1]), 0.5 * (v[1:] + v[:-1])
    uu, vv = np.meshgrid(u, v, indexing="ij")
    normals = np.stack([np.cos(uu) * np.sin(vv), np.cos(uu) * np.cos(vv)], axis=-1)
    value = pressure_at(normals.reshape(-1, 2), float(p.pole[0]), float(p.pole_pressure[0]), float(p.edge[0]))
    patch = radius**2 * np.cos(uu).ravel() * (np.pi / 1200) * (2 * np.pi / 4800)
    total = (normals.reshape(-1, 2) * (value * patch)[:, None]).sum(axis=0)
    assert total[0] == pytest.approx(-force * np.sin(tilt), abs=0.004 * force)
    assert total[1] == pytest.approx(force * np.cos(tilt), abs=0.004 * force)


def test_limits() -> None:
    """No equilibrium at or below CE = −θ; a hemisphere above 90° − θ with p0 = 3R / (2πr²)."""
    tilt = np.radians(8.0)
    below = lune_pressure(2000.0, tilt, 0.025, np.radians([-8.1, -10.0]))
    assert np.isnan(below.peak).all()
    above = lune_pressure(2000.0, tilt, 0.025, np.radians([82.1, 90.0]))
    assert above.pole_pressure == pytest.approx(3 * 2000 / (2 * np.pi * 0.025**2), rel=1e-12)


def test_house_person_beside_measurements(house: object) -> None:
    """Tackson 1997, Arthritis Care Res 10:308: quiet standing 1.2 (0.3) MPa measured; ours is a smooth lower bound of
    1.2-3 MPa for one-legged stance, where Hodge 1986 and finite elements read several times more."""
    from viz3d.kinematics.posture import make_posture
    from viz3d.solution.solve import solve_batch

    solved = solve_batch(house, make_posture())  # type: ignore[arg-type]
    assert 1.2 <= solved.pressure.peak[0] * 1e-6 <= 3.0
