"""The closed forms in use, derived again by symbolic mechanics and compared with the code at 1e-12.

References: SymPy (PyPI: sympy; Meurer et al. 2017, doi 10.7717/peerj-cs.103), its vectors and its solver; the laws are
those of any statics book (forces and moments of a body at rest sum to zero, about any point). Nothing of the product
enters a derivation; the expressions are then evaluated with 40 digits (mpmath) at the same inputs.

* planar free body: the three equilibrium equations, moments about a point that is not the joint, solved for muscle
  and joint force, against ``statics.planar.solve_planar``;
* balance: moments about the centre of pressure of an inclined leg (or two parallel ones) and a lumped upper mass,
  solved for the sine of the inclination, against ``kinematics.frontal.stand``; the lumped sums come from the posed
  chain's segment centres, not from the closed form's own;
* relief: |R| differentiated with respect to the cane's force, against ``statics.hip.held_relief``;
* pressure: p0 cos(angle from the pole) integrated over the lune, against ``contact.lune``; and the pressures that the
  code gives for single facets, by Gauss-Legendre quadrature.

Balance's cases hold no cane: an arm on a planted cane has no closed form. Frontal plane: lateral l, up y.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

import mpmath
import numpy as np
import pytest
import sympy as sp
from sympy.physics.mechanics import Point, ReferenceFrame, dot

from viz3d.arrays import Array
from viz3d.body.person import Body, make_body
from viz3d.body.segment_tables import SEGMENTS
from viz3d.body.segments import mass_fractions
from viz3d.contact.lune import lune_pressure, pressure_at
from viz3d.kinematics.chain import segment_centres
from viz3d.kinematics.frontal import stand
from viz3d.kinematics.posture import make_posture
from viz3d.kinematics.standing import standing_pose
from viz3d.solution.solve import solve_batch
from viz3d.solution.solved import Solved
from viz3d.statics.planar import solve_planar
from viz3d.units import GRAVITY

SAME = 1e-12
FRAME = ReferenceFrame("frontal")
"""x is lateral, y up, z completes it: a moment about z is l F_y - y F_l."""
ORIGIN = Point("origin")


def at(lateral: Any, up: Any) -> Any:
    """A vector in the frontal plane."""
    return lateral * FRAME.x + up * FRAME.y


def moment(place: Any, force: Any, about: Any) -> Any:
    """Moment about a point, out of the frontal plane."""
    where = ORIGIN.locatenew("P", place).pos_from(ORIGIN.locatenew("Q", about))
    return dot(where.cross(force), FRAME.z)


def exactly(symbols: Sequence[Any], expressions: Sequence[Any]) -> Callable[..., Array]:
    """Evaluate expressions of these symbols with 40 digits; the result is rounded once."""
    run = sp.lambdify(symbols, expressions, "mpmath", cse=True)

    def value(*numbers: float) -> Array:
        with mpmath.workdps(40):
            return np.array([float(v) for v in run(*(mpmath.mpf(float(n)) for n in numbers))])

    return value


# (a) the planar free body


@cache
def planar_solution(count: int) -> Callable[..., Array]:
    """Muscle tension, joint force and external moment of a free body under ``count`` forces."""
    places = sp.symbols(f"l:{count} y:{count}", real=True)
    forces = sp.symbols(f"f:{count} g:{count}", real=True)
    m_l, m_y, d_l, d_y, j_l, j_y, o_l, o_y = given = sp.symbols("m_l m_y d_l d_y j_l j_y o_l o_y", real=True)
    tension, r_l, r_y = unknown = sp.symbols("T R_l R_y", real=True)
    external = [(at(places[k], places[count + k]), at(forces[k], forces[count + k])) for k in range(count)]
    joint, somewhere = at(j_l, j_y), at(o_l, o_y)
    pull = at(d_l, d_y) / sp.sqrt(d_l**2 + d_y**2)
    acting = [*external, (at(m_l, m_y), tension * pull), (joint, at(r_l, r_y))]
    total = sum((f for _, f in acting), at(0, 0))
    turning = sum(moment(p, f, somewhere) for p, f in acting)
    solved = sp.solve([dot(total, FRAME.x), dot(total, FRAME.y), turning], unknown, dict=True)
    assert len(solved) == 1
    about_joint = sum(moment(p, f, joint) for p, f in external)
    return exactly([*places, *forces, *given], [*(solved[0][u] for u in unknown), about_joint])


@pytest.mark.parametrize("count", [1, 2, 4])
def test_planar_free_body(count: int, rng: np.random.Generator) -> None:
    """Three equilibrium equations solved by SymPy against solve_planar, 40 random free bodies; the joint anywhere."""
    solve, rows = planar_solution(count), 40
    points, forces = rng.uniform(-0.5, 0.5, (rows, count, 2)), rng.uniform(-900, 900, (rows, count, 2))
    joint, somewhere = rng.uniform(-0.5, 0.5, (2, rows, 2))
    angle = rng.uniform(-np.pi, np.pi, rows)
    direction = rng.uniform(0.1, 3.0, (rows, 1)) * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    side = np.stack([-np.sin(angle), np.cos(angle)], axis=-1) * rng.choice([-1.0, 1.0], (rows, 1))
    muscle = joint + rng.uniform(0.03, 0.08, (rows, 1)) * side + rng.uniform(-0.2, 0.2, (rows, 1)) * direction
    code = solve_planar(points, forces, muscle, direction, joint)
    for n in range(rows):
        known = [*points[n].T.ravel(), *forces[n].T.ravel(), *muscle[n], *direction[n], *joint[n], *somewhere[n]]
        tension, r_l, r_y, turning = solve(*known)
        size = np.abs(forces[n]).sum()
        assert code.external_moment[n] == pytest.approx(turning, abs=SAME * size)
        assert code.muscle_force[n] == pytest.approx(tension, abs=SAME * size / code.muscle_lever[n])
        assert code.joint_force[n] == pytest.approx([r_l, r_y], abs=SAME * size / code.muscle_lever[n])


# (b) balance


@cache
def balance_sine(two_legs: bool) -> tuple[Callable[..., Array], Any]:
    """Sine of the inclination from moments about the centre of pressure, and the same as printed.

    The upper mass is lumped at (a, b) from the stance hip; each leg's mass at ``r`` from the ankle along it. With both
    feet down the other leg stands parallel, its hip (p, q) from the stance hip; the ground pushes up under its foot
    and under the stance foot's midline, about which moments are taken.
    """
    s, c = sp.symbols("s c", real=True)
    m_u, a, b, m_leg, r, length, ankle, g = sp.symbols("m_u a b m r L h g", positive=True)
    p, q, other = sp.symbols("p q G_2", real=True)
    leg = at(s, c)
    hip = at(0, ankle) + length * leg
    weights = [(hip + at(a, b), m_u), (at(0, ankle) + r * leg, m_leg)]
    if two_legs:
        weights.append((hip + at(p, q) - (length - r) * leg, m_leg))
    foot = hip + at(p, q) - length * leg
    pushed = moment(foot, at(0, other), at(0, 0)) if two_legs else 0
    turning = sum(moment(place, at(0, -m * g), at(0, 0)) for place, m in weights) + pushed
    found = sp.solve(sp.expand(turning), s)
    assert len(found) == 1
    above = m_u * a + (m_leg * (p - (length - r) * s) if two_legs else 0)
    heavy = m_u + (m_leg if two_legs else 0)
    printed = ((other * p if two_legs else 0) - g * above) / (g * (heavy * length + m_leg * r))
    known = [m_u, a, b, m_leg, r, length, ankle, g, p, q, other]
    return exactly(known, found), sp.simplify(sp.solve(s - printed, s)[0] - found[0])


def lumped(body: Body, inclination: float, posture: dict[str, Any]) -> dict[str, float]:
    """Masses and first moments from the posed chain, stood at an inclination that need not balance."""
    placed = stand(body, make_posture(inclination=inclination, **posture))
    posed = standing_pose(body, placed)
    sides = ("right", "left") if placed.posture.on_right[0] else ("left", "right")
    legs = [[SEGMENTS.index(f"{side}_{n}") for n in ("thigh", "shank", "foot")] for side in sides]
    kg, sign = mass_fractions(body)[0] * body.mass[0], posed.sign[0]
    centres = segment_centres(body, posed)[0]
    joints = {n: p[0] for n, p in posed.joints.items()}
    hip, ankle = joints["stance_hip"], joints["stance_ankle"]
    both_down = placed.posture.lifted[0] == 0.0
    standing = legs[0] + (legs[1] if both_down else [])
    mass = [kg[k] for k in range(len(SEGMENTS)) if k not in standing]
    place = [centres[k] - hip for k in range(len(SEGMENTS)) if k not in standing]
    for k, where in enumerate(("stance", "swing")):
        mass.append(placed.posture.bag_mass[0, k])
        place.append(joints[f"{where}_wrist"] - hip)
    whole = float(np.sum(mass))
    first = np.einsum("k,kd->d", mass, place) / whole
    leg_kg = kg[legs[0]]
    length = float(np.linalg.norm(hip - ankle))
    along = (leg_kg @ (centres[legs[0]] - ankle)) @ (hip - ankle) / length
    over = joints["swing_hip"] - hip
    total = GRAVITY * (body.mass[0] + placed.posture.bag_mass[0].sum())
    return {
        "m_u": whole, "a": sign * first[2], "b": first[1], "m": leg_kg.sum(), "r": along / leg_kg.sum(),
        "L": length, "h": ankle[1], "g": GRAVITY, "p": sign * over[2], "q": over[1],
        "G_2": (1.0 - placed.posture.share[0]) * total,
    }  # fmt: skip


PEOPLE = {
    "house": make_body("female", 64.0, 1.66),
    "tall man": make_body("male", 95.0, 1.93, hip_spacing=0.171),
    "Dempster": make_body("male", 70.0, 1.75, segment_table="dempster"),
}
BALANCED: dict[str, dict[str, Any]] = {
    "level": {},
    "right leg": {"on_right": True},
    "lean": {"lean": 0.2},
    "lean away": {"lean": -0.18, "on_right": True},
    "drop": {"obliquity": 0.15},
    "hike and lean": {"obliquity": -0.1, "lean": 0.1},
    "bags": {"bag_mass": [4.0, 11.0]},
    "bag opposite, leaning away from it": {"bag_mass": [0.0, 12.0], "lean": 0.2, "obliquity": 0.05},
    "two legs": {"share": 0.5, "lifted": 0.0},
    "two legs, shifted": {"share": 0.85, "lifted": 0.0, "on_right": True},
    "two legs, bags and lean": {"share": 0.7, "lifted": 0.0, "lean": -0.1, "bag_mass": [0.0, 9.0]},
}


@pytest.mark.parametrize("person", PEOPLE)
@pytest.mark.parametrize("case", BALANCED)
def test_balance(person: str, case: str) -> None:
    """SymPy's solution of moment balance about the centre of pressure against stand(); the sums are taken from the
    chain stood at another inclination, since with angles in space they may not depend on it."""
    body, posture = PEOPLE[person], BALANCED[case]
    solve, _ = balance_sine(posture.get("lifted", 1.0) == 0.0)
    (sine,) = solve(*lumped(body, 0.03, posture).values())
    stance = stand(body, make_posture(**posture))
    assert stance.sine[0] == pytest.approx(sine, abs=SAME)
    assert stance.pressure_shift[0] == pytest.approx(0.0, abs=SAME)


@pytest.mark.parametrize("two_legs", [False, True])
def test_balance_as_printed(two_legs: bool) -> None:
    """The formula in frontal.py's docstring is SymPy's solution; on two legs once the other leg's tilt, which is in its
    first moment of mass, has been solved for as well."""
    _, difference = balance_sine(two_legs)
    assert difference == 0


# (c) relief


@cache
def relief_parts() -> Callable[..., Array]:
    """Unweighting and leverage: minus the partial derivatives of |R(C, T(C))| by C and through T.

    The other foot carries the part (1 - w) of what the hands leave of the weight, straight up at (k_l, k_y); the
    muscle pulls along (e_l, e_y) from (o_l, o_y); all from the hip. F_0 and M_0 are what else acts.
    """
    push, tension = sp.symbols("C T", real=True)
    f_l, f_y, turning, share, weight = sp.symbols("F_l F_y M_0 w W", real=True)
    t_l, t_y, h_l, h_y, k_l, k_y = sp.symbols("t_l t_y h_l h_y k_l k_y", real=True)
    o_l, o_y, e_l, e_y = sp.symbols("o_l o_y e_l e_y", real=True)
    tip, handle, hip = at(t_l, t_y), at(h_l, h_y), at(0, 0)
    cane = push * (handle - tip) / sp.sqrt((h_l - t_l) ** 2 + (h_y - t_y) ** 2)
    other = at(0, (1 - share) * (weight - dot(cane, FRAME.y)))
    pull = tension * at(e_l, e_y)
    joint = -(at(f_l, f_y) + cane + other + pull)
    size = sp.sqrt(dot(joint, FRAME.x) ** 2 + dot(joint, FRAME.y) ** 2)
    balance = turning + moment(tip, cane, hip) + moment(at(k_l, k_y), other, hip) + moment(at(o_l, o_y), pull, hip)
    needed = sp.solve(balance, tension)[0]
    held, through = -sp.diff(size, push), -sp.diff(size, tension) * sp.diff(needed, push)
    whole = -sp.diff(size.subs(tension, needed), push)
    known = [push, f_l, f_y, turning, share, weight, t_l, t_y, h_l, h_y, k_l, k_y, o_l, o_y, e_l, e_y]
    return exactly(known, [held.subs(tension, needed), through.subs(tension, needed), whole])


def relief_inputs(solved: Solved, hand: int) -> list[float]:
    """The symbols' values: the loads that do not change with the cane's push are taken from the solved weight."""
    stance, posture, hip = solved.stance, solved.posture, np.zeros(2)
    hip[:] = stance.hip_lateral[0], stance.hip_height[0]
    force, turning = np.array([0.0, -solved.load.weight[0]]), solved.load.weight[0] * solved.load.weight_moment_arm[0]
    tip = np.array([stance.tip_lateral[0, hand], 0.0]) - hip
    handle = stance.handle[0, hand] - hip
    total = GRAVITY * (solved.body.mass[0] + posture.bag_mass[0].sum())
    beside = stance.hand_force[0, 1 - hand]
    there = np.array([stance.tip_lateral[0, 1 - hand], 0.0]) - hip
    force = force + beside
    turning += there[0] * beside[1] - there[1] * beside[0]
    other = np.array([stance.other_foot_lateral[0], 0.0]) - hip
    muscle = solved.load.muscle
    return [
        float(v)
        for v in (
            posture.cane_force[0, hand], *force, turning, posture.share[0], total - beside[1], *tip, *handle, *other,
            *muscle.origin[0, [2, 1]], *muscle.direction[0, [2, 1]],
        )
    ]  # fmt: skip


LEANT_ON: dict[str, dict[str, Any]] = {
    "opposite": {"has_cane": [False, True], "cane_force": [0.0, 60.0]},
    "only touching": {"has_cane": [False, True], "cane_force": [0.0, 0.0]},
    "opposite, tilted": {"has_cane": [False, True], "cane_force": [0.0, 90.0], "cane_tilt": 0.15, "lean": 0.08},
    "opposite, tilted away": {"has_cane": [False, True], "cane_force": [0.0, 90.0], "cane_tilt": -0.1, "obliquity": 0.1},
    "same side": {"has_cane": [True, False], "cane_force": [70.0, 0.0], "lean": 0.1, "on_right": True},
    "same side, tilted, bag": {
        "has_cane": [True, False], "cane_force": [70.0, 0.0], "cane_tilt": 0.1, "bag_mass": [0.0, 6.0],
    },
    "two canes": {"has_cane": True, "cane_force": [50.0, 80.0], "cane_tilt": [0.1, 0.05]},
    "adductor": {"has_cane": [False, True], "cane_force": [0.0, 260.0]},
    "two legs": {"share": 0.75, "lifted": 0.0, "has_cane": [False, True], "cane_force": [0.0, 60.0]},
    "two legs, tilted": {
        "share": 0.6, "lifted": 0.0, "has_cane": [True, False], "cane_force": [60.0, 0.0], "cane_tilt": 0.12,
    },
}  # fmt: skip


@pytest.mark.parametrize("case", LEANT_ON)
def test_relief(case: str, house: Body) -> None:
    """Partial derivatives of the joint force's size by SymPy against unweighting, leverage and their sum."""
    solved = solve_batch(house, make_posture(**LEANT_ON[case]))
    assert bool(solved.load.abducts[0]) == (case != "adductor")
    held, through, whole = relief_parts()(*relief_inputs(solved, int(solved.cane.hand[0])))
    assert solved.cane.held.unweighting[0] == pytest.approx(held, rel=SAME, abs=SAME)
    assert solved.cane.held.leverage[0] == pytest.approx(through, rel=SAME, abs=SAME)
    assert solved.cane.held.total[0] == pytest.approx(whole, rel=SAME, abs=SAME)


# (d) pressure on a lune


@cache
def lune_integrals() -> Callable[..., Array]:
    """Force of the pressure across, along the pole and fore-aft, and the area, of the part of the unit sphere from a
    quarter turn medial of the pole to ``a`` lateral of it, for p0 = 1."""
    u, v, a = sp.symbols("u v a", real=True)  # from the frontal plane; in it, from the pole
    across, towards, forward = sp.cos(u) * sp.sin(v), sp.cos(u) * sp.cos(v), sp.sin(u)
    patch = sp.cos(u)

    def over(value: Any) -> Any:
        inner = sp.integrate(sp.expand(value * patch), (u, -sp.pi / 2, sp.pi / 2))
        return sp.integrate(inner, (v, -sp.pi / 2, a))

    wanted = [over(towards * across), over(towards * towards), over(towards * forward), over(sp.Integer(1))]
    return exactly([a], wanted)


LUNES = [(-5.0, 8.0), (5.0, 11.0), (20.0, 8.0), (33.6, 14.0), (33.6, -10.0), (60.0, 3.0), (80.0, 9.0), (89.0, 25.0)]
"""Centre-edge angle in space and inclination of the force, degrees."""


@pytest.mark.parametrize(("edge", "tilt"), LUNES)
def test_lune_carries_the_load(edge: float, tilt: float) -> None:
    """SymPy's integral of the pressure over the lune is the load: size, direction, nothing fore and aft; and the area."""
    load, radius = 1830.0, 0.0243
    p = lune_pressure(load, np.radians(tilt), radius, np.radians(edge))
    whole = edge >= 90.0 - tilt
    reach = np.pi / 2 if whole else float(p.edge[0] - p.pole[0])
    across, towards, forward, area = lune_integrals()(reach)
    scale, pole = float(p.pole_pressure[0]) * radius**2, float(p.pole[0])
    lateral = scale * (across * np.cos(pole) + towards * np.sin(pole))
    up = scale * (towards * np.cos(pole) - across * np.sin(pole))
    assert lateral == pytest.approx(-load * np.sin(np.radians(tilt)), abs=SAME * load)
    assert up == pytest.approx(load * np.cos(np.radians(tilt)), abs=SAME * load)
    assert forward == 0.0
    assert p.area[0] == pytest.approx(area * radius**2, rel=SAME)


@pytest.mark.parametrize(("edge", "tilt"), LUNES)
def test_facet_pressures_carry_the_load(edge: float, tilt: float) -> None:
    """Gauss-Legendre quadrature (numpy) of pressure_at between the lune's planes: the load again; no facet above the
    peak, nothing beyond the planes."""
    load, radius = 1830.0, 0.0243
    p = lune_pressure(load, np.radians(tilt), radius, np.radians(edge))
    pole, p0, end = float(p.pole[0]), float(p.pole_pressure[0]), float(p.edge[0])
    last = min(end, pole + np.pi / 2)
    node, weight = np.polynomial.legendre.leggauss(40)
    u, du = node * np.pi / 2, weight * np.pi / 2
    v, dv = pole - np.pi / 2 + (node + 1.0) / 2.0 * (last - pole + np.pi / 2), weight / 2.0 * (last - pole + np.pi / 2)
    uu, vv = np.meshgrid(u, v, indexing="ij")
    normals = np.stack([np.cos(uu) * np.sin(vv), np.cos(uu) * np.cos(vv)], axis=-1).reshape(-1, 2)
    value = pressure_at(normals, pole, p0, end)
    patch = radius**2 * (np.cos(uu) * np.outer(du, dv)).ravel()
    total = normals.T @ (value * patch)
    assert total == pytest.approx(
        load * np.array([-np.sin(np.radians(tilt)), np.cos(np.radians(tilt))]), abs=SAME * load
    )
    assert value.max() <= p.peak[0] * (1.0 + SAME)
    outside = np.array([pole - np.pi / 2 - 0.01, last + 0.01])
    beyond = pressure_at(np.stack([np.sin(outside), np.cos(outside)], axis=-1), pole, p0, end)
    assert beyond == pytest.approx([0.0, 0.0], abs=0.0)


def test_peak_is_at_the_pole_or_the_edge() -> None:
    """The peak against the largest of cos(angle from the pole) over the lune's middle: at the pole if that is covered."""
    tilts, edges = np.radians([t for _, t in LUNES]), np.radians([e for e, _ in LUNES])
    p = lune_pressure(1830.0, tilts, 0.0243, edges)
    covered = [min(max(float(d), -np.pi / 2), 0.0) for d in p.edge - p.pole]
    assert p.peak == pytest.approx(p.pole_pressure * np.cos(covered), rel=SAME)
    assert min(covered) < 0.0 == max(covered)
