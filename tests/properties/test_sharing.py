"""Muscle sharing: certificates, independent solvers, degenerate and impossible cases."""

from __future__ import annotations

import clarabel
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import sparse
from scipy.optimize import linprog, minimize

from viz3d.errors import InputError
from viz3d.statics.sharing import share_moment

SIGMA = 4e5  # Pa


def case(seed: int, count: int, muscles: int, axes: int) -> tuple[np.ndarray, ...]:
    rng = np.random.default_rng(seed)
    lever = rng.normal(0, 0.04, (count, muscles, axes))
    area = rng.uniform(2e-4, 3e-3, muscles)
    moment = np.einsum("nkm,nk->nm", lever, rng.uniform(0, 0.6, (count, muscles)) * area * SIGMA)
    return moment, lever, area, area * SIGMA


@pytest.mark.parametrize("axes", [1, 3])
@pytest.mark.parametrize("power", [2.0, 2.5, 3.0, 5.0, 10.0])
def test_certificates(axes: int, power: float) -> None:
    moment, lever, area, strength = case(3, 300, 22, axes)
    s = share_moment(moment, lever, area, strength, power)
    assert s.feasible.all()
    assert s.residual.max() < 1e-9 * np.abs(moment).max()
    assert s.gap.max() < 1e-8
    assert s.force.min() >= 0
    assert (s.force <= strength * (1 + 1e-12)).all()
    made = np.einsum("nkm,nk->nm", lever, s.force)
    assert made == pytest.approx(moment, abs=1e-8)


@pytest.mark.parametrize("axes", [1, 3])
def test_against_a_convex_solver(axes: int) -> None:
    """p = 2 by Clarabel, a general interior-point solver from the registry: objective within 1e-6."""
    moment, lever, area, strength = case(5, 12, 15, axes)
    ours = share_moment(moment, lever, area, strength, 2.0)
    for n in range(12):
        k = 15
        c = lever[n] * area[:, None]  # in stresses, scaled to MPa
        eq = sparse.csc_matrix(c.T * 1e6)
        bounds = sparse.vstack([-sparse.identity(k), sparse.identity(k)])
        a = sparse.csc_matrix(sparse.vstack([eq, bounds]))
        b = np.concatenate([moment[n], np.zeros(k), np.full(k, SIGMA * 1e-6)])
        cones = [clarabel.ZeroConeT(axes), clarabel.NonnegativeConeT(2 * k)]
        quiet = clarabel.DefaultSettings()
        quiet.verbose = False
        quiet.tol_gap_abs, quiet.tol_gap_rel, quiet.tol_feas = 1e-13, 1e-11, 1e-12
        found = clarabel.DefaultSolver(
            sparse.csc_matrix(2 * sparse.identity(k)), np.zeros(k), a, b, cones, quiet
        ).solve()
        mine = ((ours.stress[n] * 1e-6) ** 2).sum()
        assert mine == pytest.approx(found.obj_val, rel=1e-6)


def test_against_a_general_minimiser() -> None:
    """p = 3 by scipy's SLSQP, one by one: never better than ours beyond 1e-6."""
    moment, lever, area, strength = case(7, 6, 10, 3)
    ours = share_moment(moment, lever, area, strength, 3.0)
    for n in range(6):
        c = lever[n] * (area * SIGMA)[:, None]
        found = minimize(
            lambda x: (x**3).sum(), np.full(10, 0.3), jac=lambda x: 3 * x**2, bounds=[(0, 1)] * 10, method="SLSQP",
            constraints={"type": "eq", "fun": lambda x, c=c, n=n: c.T @ x - moment[n], "jac": lambda x, c=c: c.T},
            options={"ftol": 1e-14, "maxiter": 500},
        )  # fmt: skip
        mine = ((ours.stress[n] / SIGMA) ** 3).sum()
        assert mine <= found.fun * (1 + 1e-6)
        assert mine == pytest.approx(found.fun, rel=1e-5)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.floats(0.2, 5.0))
def test_scale_and_order(seed: int, factor: float) -> None:
    """Moments and strengths scaled together scale the forces; the order of muscles does not matter."""
    moment, lever, area, strength = case(seed, 4, 9, 3)
    a = share_moment(moment, lever, area, strength)
    b = share_moment(moment * factor, lever, area, strength * factor)
    assert b.force == pytest.approx(a.force * factor, rel=1e-6, abs=1e-6)
    order = np.random.default_rng(seed).permutation(9)
    c = share_moment(moment, lever[:, order], area[order], strength[order])
    assert c.force == pytest.approx(a.force[:, order], rel=1e-6, abs=1e-6)


def test_high_power_tends_to_equal_stress_on_one_axis() -> None:
    """Unbounded muscles that all help: p to infinity gives equal stress."""
    lever = np.array([[0.05], [0.04], [0.06], [0.02]])
    area = np.array([20e-4, 10e-4, 5e-4, 8e-4])
    spread = []
    for power in (2.0, 5.0, 20.0, 60.0):
        stress = share_moment([[50.0]], lever, area, area * 1e9, power).stress[0]
        spread.append(stress.max() / stress.min())
    assert spread == sorted(spread, reverse=True)
    assert spread[-1] < 1.05


def test_high_power_tends_to_the_linear_program_on_three_axes() -> None:
    """Largest stress against the min-max linear program, by scipy's linprog."""
    moment, lever, area, strength = case(11, 1, 12, 3)
    c = (lever[0] * area[:, None]).T * SIGMA
    cost = np.r_[np.zeros(12), 1.0]
    upper = np.hstack([np.eye(12), -np.ones((12, 1))])
    found = linprog(
        cost, A_ub=upper, b_ub=np.zeros(12), A_eq=np.hstack([c, np.zeros((3, 1))]), b_eq=moment[0], bounds=(0, 1)
    )
    largest = [share_moment(moment, lever, area, strength, p).stress[0].max() / SIGMA for p in (3.0, 12.0, 60.0)]
    assert largest[0] >= largest[1] >= largest[2] >= found.fun * (1 - 1e-6)
    assert largest[2] == pytest.approx(found.fun, rel=0.05)


def test_degenerate_cases() -> None:
    lever, area, strength = np.array([[0.05], [0.0], [-0.03]]), np.full(3, 1e-3), np.full(3, 400.0)
    s = share_moment([[10.0], [0.0], [-6.0]], lever, area, strength)
    assert s.feasible.all()
    assert s.force[0] == pytest.approx([200.0, 0.0, 0.0], abs=1e-4)
    assert s.force[1] == pytest.approx([0.0, 0.0, 0.0], abs=1e-9)
    assert s.force[2] == pytest.approx([0.0, 0.0, 200.0], abs=1e-4)
    only_one = share_moment([[10.0]], lever, area, [400.0, 0.0, 0.0])
    assert only_one.force[0] == pytest.approx([200.0, 0.0, 0.0], abs=1e-6)


def test_impossible_moments_report_their_shortfall() -> None:
    lever, area, strength = np.array([[0.05], [0.04]]), np.full(2, 1e-3), np.array([200.0, 100.0])
    s = share_moment([[20.0], [13.0]], lever, area, strength)
    assert list(s.feasible) == [False, True]
    assert s.shortfall == pytest.approx([20.0 - 14.0, 0.0], abs=1e-6)
    assert np.isnan(s.force[0]).all()
    off = share_moment([[1.0]], lever, area, [0.0, 0.0])
    assert not off.feasible[0]
    assert off.shortfall[0] == pytest.approx(1.0)


def test_exactly_all_out_is_possible() -> None:
    s = share_moment([[14.0]], [[0.05], [0.04]], [1e-3, 1e-3], [200.0, 100.0])
    assert s.shortfall[0] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"power": 1.5}, "power"),
        ({"area": [0.0, 1e-3]}, "area"),
        ({"strength": [-1.0, 1.0]}, "strength"),
        ({"lever": [[np.nan], [0.1]]}, "lever"),
    ],
)
def test_refusals(change: dict[str, object], word: str) -> None:
    given_ = {"moment": [[1.0]], "lever": [[0.05], [0.04]], "area": [1e-3, 1e-3], "strength": [9.0, 9.0], **change}
    with pytest.raises(InputError, match=word):
        share_moment(**given_)  # type: ignore[arg-type]


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from([1, 3]))
def test_least_peak_is_the_linear_program(seed: int, axes: int) -> None:
    """p = inf against scipy's linear program: the same largest stress, and a balanced moment."""
    moment, lever, area, strength = case(seed, 1, 10, axes)
    ours = share_moment(moment, lever, area, strength, np.inf)
    c = (lever[0] * area[:, None]).T * SIGMA
    upper = np.hstack([np.eye(10), -np.ones((10, 1))])
    found = linprog(
        np.r_[np.zeros(10), 1.0], A_ub=upper, b_ub=np.zeros(10), A_eq=np.hstack([c, np.zeros((axes, 1))]),
        b_eq=moment[0], bounds=(0, 1),
    )  # fmt: skip
    assert ours.stress[0].max() / SIGMA == pytest.approx(found.fun, rel=1e-9)
    assert ours.residual[0] < 1e-9
    assert np.einsum("km,k->m", lever[0], ours.force[0]) == pytest.approx(moment[0], abs=1e-8)


def test_ties_of_the_least_peak_go_to_the_smallest_norm() -> None:
    """Two muscles fix the peak; three twins square to it share what is left evenly instead of at random."""
    lever = [[0.05, 0, 0], [0.05, 0, 0], [0, 0.02, 0], [0, 0.02, 0.01], [0, 0.02, -0.01]]
    force = share_moment([[30.0, 10.0, 0.0]], lever, [1e-3] * 5, [1e3] * 5, np.inf).force[0]
    assert force == pytest.approx([300.0, 300.0, 500 / 3, 500 / 3, 500 / 3], rel=1e-6)


def test_a_moment_that_no_muscle_helps_with_is_a_shortfall_and_nothing_overflows() -> None:
    """All levers against the moment, or no strength at all, about three axes and for every power."""
    lever = np.array([[-0.04, 0.0, 0.0], [-0.05, 0.01, 0.0], [-0.03, 0.0, 0.01]])
    for power in (2.0, 3.0, 7.5, 100.0, np.inf):
        for strength in (np.full(3, 1e3), np.zeros(3)):
            shared = share_moment([[50.0, 0.0, 0.0]], lever, np.full(3, 1e-3), strength, power)
            assert not shared.feasible[0]
            assert shared.shortfall[0] == pytest.approx(50.0, rel=1e-6)
