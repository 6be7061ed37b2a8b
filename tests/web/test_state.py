"""The columns a page draws are the plan's, for every scene; what lies between solved rows stays close to it."""

from __future__ import annotations

import numpy as np
import pytest

from viz3d.questions.vary import case_of
from viz3d.scene.reader import library_scenes, load_scene
from viz3d.scene.schema import Scene
from viz3d.solution.held import MUSCLES, held_by
from viz3d.solution.script import Script, solve_scene
from viz3d.solution.solved import Solved
from viz3d.stage.compose import compose
from viz3d.stage.plan import Plan
from viz3d.web.answers import flattened
from viz3d.web.state import State, polygon_order, state_of
from viz3d.web.table import cane_key, interpolated, make_table, pulling, with_cane
from viz3d.words.catalogue import REGISTERS, catalogue
from viz3d.words.voice import USUAL

Array = np.ndarray
SCENES = [*library_scenes()]


def of_scene(name: str, step: int = -1) -> tuple[Scene, Solved, State]:
    scene = load_scene(name)
    flat = flattened(Script(scene).at(len(scene.steps) - 1 if step < 0 else step))
    solved = solve_scene(flat)
    return flat, solved, state_of(flat, solved)


def row(state: State, k: int = 0) -> dict[str, Array]:
    return {name: values[k] for name, values in state.columns.items()}


def column(columns: dict[str, Array], name: str) -> Array:
    """A column as the page picks it."""
    found = columns.get(name)
    return columns[f"{name}@{pulling(columns)}"] if found is None else found


@pytest.mark.parametrize("name", SCENES)
def test_every_arrow_lever_and_moment_of_the_plan_is_a_column(name: str) -> None:
    scene, solved, state = of_scene(name)
    plan, columns = compose(scene, solved, bodies=False), row(state)
    assert [a["key"] for a in state.about["arrows"]] == [a.key for a in plan.arrows]
    for arrow in plan.arrows:
        found = column(columns, f"arrow {arrow.key}")
        assert found == pytest.approx(np.nan_to_num(np.concatenate([arrow.point[0], arrow.force[0]])), abs=1e-9)
    for lever in plan.dimensions:
        found = column(columns, f"lever {lever.key}")
        assert found[:6] == pytest.approx(np.concatenate([lever.start[0], lever.end[0]]), abs=1e-9)
    for turn in plan.turns:
        assert columns[f"turn {turn.key}"] == pytest.approx(turn.moment[:1], abs=1e-9)
    assert set(state.about["polygon"]) == {a.key for a in plan.arrows}


@pytest.mark.parametrize("name", SCENES)
def test_the_forces_of_a_page_close_and_each_lever_makes_its_moment(name: str) -> None:
    """By what the page is given alone: the polygon closes in space, force times lever adds up to nothing."""
    _, solved, state = of_scene(name)
    weight = state.plan.body_weight
    columns = row(state)
    if columns["lost"][0] > 0.5:
        assert not np.isfinite(solved.load.joint_magnitude[0])
        return
    forces = {key: column(columns, f"arrow {key}")[3:] for key in state.about["polygon"]}
    assert np.linalg.norm(sum(forces.values())) < 1e-9 * weight
    moments = sum(columns[f"turn {t['key']}"][0] for t in state.about["turns"])
    assert abs(moments) < 1e-6 * weight
    for lever in state.about["levers"]:
        start, end = (column(columns, f"lever {lever['key']}")[k : k + 3] for k in (0, 3))
        across = abs(end[2] - start[2]) if lever["drop"] is not None else np.hypot(*(end - start)[1:])
        assert abs(column(columns, f"lever {lever['key']}")[6]) == pytest.approx(across, abs=1e-9)
        alone = {"weight_turn": "weight", "ground_turn": "other_foot"}
        for turn, owner in alone.items():
            if lever["of"] == owner and f"turn {turn}" in columns:
                made = np.linalg.norm(forces[owner]) * across
                assert made == pytest.approx(abs(columns[f"turn {turn}"][0]), abs=1e-6 * weight)


@pytest.mark.parametrize("name", ["cane-opposite-hand", "weight-shift", "muscle-set"])
def test_either_muscle_balances_the_pose_and_the_right_one_is_the_solvers(name: str) -> None:
    _, solved, _ = of_scene(name)
    for muscle in MUSCLES:
        load = held_by(solved, muscle).load
        closing = load.external_force + load.muscle_pull + load.joint_force
        assert closing == pytest.approx(np.zeros_like(closing), abs=1e-6)
        if load.muscles is None:
            pulled = np.cross(load.muscle.origin, load.muscle_pull)
            assert (pulled + load.external_moments)[:, 0] == pytest.approx(0.0, abs=1e-6)
    right = held_by(solved, "abductor" if solved.load.external_moment[0] >= 0 else "adductor")
    assert right.load.joint_force == pytest.approx(solved.load.joint_force, abs=1e-9)


@pytest.mark.parametrize("name", ["cane-opposite-hand", "weight-shift"])
def test_between_solved_rows_arrows_and_levers_stay_where_the_plan_has_them(name: str) -> None:
    table = make_table(load_scene(name), 0)
    rng = np.random.default_rng(5)
    for grid in table.grids:
        scene = with_cane(load_scene(name), grid.hand)
        leans = rng.uniform(grid.leans[0], grid.leans[-1], 12)
        forces = rng.uniform(grid.forces[0], grid.forces[-1], 12)
        key = cane_key(scene, grid.hand)
        asked = {"posture.lean": leans} | ({key: forces * table.plan.body_weight} if key else {})
        plan = compose(scene, case_of(scene, 0).solved(asked), bodies=False)
        for k, (lean, force) in enumerate(zip(leans, forces, strict=True)):
            assert_close(interpolated(grid, lean, force), plan, k)


def assert_close(columns: dict[str, Array], plan: Plan, k: int) -> None:
    """Forces within a hundredth of body weight, places within a millimetre and a half."""
    for arrow in plan.arrows:
        found = column(columns, f"arrow {arrow.key}")
        assert found[3:] == pytest.approx(arrow.force[k], abs=0.01 * plan.body_weight), arrow.key
        assert found[:3] == pytest.approx(arrow.point[k], abs=1.5e-3), arrow.key
    for lever in plan.dimensions:
        found = column(columns, f"lever {lever.key}")
        assert found[:6] == pytest.approx(np.concatenate([lever.start[k], lever.end[k]]), abs=1.5e-3), lever.key


def test_polygon_order_is_the_pictures_and_a_load_it_does_not_know_comes_before_the_muscle() -> None:
    scene, solved, _ = of_scene("bag-sides")
    plan = compose(scene, solved, bodies=False)
    order = polygon_order(plan)
    assert order[0] == "weight"
    assert order[-2:] == ["muscle", "joint"]
    strange = [a if a.key != "weight" else type(a)(**(vars(a) | {"key": "wind"})) for a in plan.arrows]
    assert polygon_order(type(plan)(**(vars(plan) | {"arrows": strange})))[-3:] == ["wind", "muscle", "joint"]


@pytest.mark.parametrize("name", SCENES)
def test_every_arrow_and_lever_has_a_name_in_both_registers(name: str) -> None:
    _, _, state = of_scene(name)
    for one in (*state.about["arrows"], *state.about["levers"]):
        for key in (one["name"], *one.get("names", {}).values()):
            assert set(catalogue(USUAL.language)[key].forms) == set(REGISTERS)
