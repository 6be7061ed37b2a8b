"""One row an input: everything that lists inputs reads it there."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable

import pytest

from tests.conftest import Ran
from viz3d.body.person import Hip
from viz3d.kinematics.posture import Posture
from viz3d.questions.vary import case_of, named_input, words_asked
from viz3d.scene.explain import valid_keys
from viz3d.scene.quantities import POSING, SHAPING, Quantity
from viz3d.scene.reader import load_scene
from viz3d.scene.rows import column_rows, eased_rows, hip_measures, rows, value_of
from viz3d.scene.timeline import at_steps, step_values
from viz3d.solution.inputs import posture_of
from viz3d.units import parse_quantity


def test_every_row_is_a_key_of_the_scene_and_has_a_kind() -> None:
    assert len(rows()) > 50
    for key, row in rows().items():
        assert key in valid_keys()
        assert row.of.kind in (POSING, SHAPING)
        assert row.side == ("left" if ".left" in key else "right" if ".right" in key else "")


def test_defaults_lie_in_their_ranges() -> None:
    seen = 0
    for key, row in rows().items():
        if isinstance(row.of, Quantity) and isinstance(row.default, float):
            low, high = (parse_quantity(v, row.of.dimension) for v in (row.of.low, row.of.high))
            assert low <= row.default <= high, key
            seen += 1
    assert seen > 10


def test_sliders_and_questions_stay_within_what_a_scene_may_say() -> None:
    seen = 0
    for key, row in rows().items():
        if row.slider is None or not isinstance(row.of, Quantity):
            continue
        low, high = (parse_quantity(v, row.of.dimension) for v in (row.of.low, row.of.high))
        ends = [parse_quantity(f"{v} {row.slider.unit}", row.of.dimension) for v in (row.slider.low, row.slider.high)]
        assert low - 1e-9 <= ends[0] < ends[1] <= high + 1e-9, key
        if row.asked is not None and not row.asked.relative:
            assert low - 1e-9 <= row.asked.low < row.asked.high <= high + 1e-9, key
        seen += 1
    assert seen > 12


def test_columns_are_the_posture_s_own() -> None:
    names = {f.name for f in dataclasses.fields(Posture)}
    assert set(column_rows()) <= names
    made_elsewhere = {"on_right", "has_cane", "placed_on_two", "grip_from_middle"}
    assert names - set(column_rows()) == made_elsewhere


def test_hip_measures_are_the_hip_s_own() -> None:
    assert set(hip_measures()) <= {f.name for f in dataclasses.fields(Hip)}
    assert "centre_edge_angle" in hip_measures()


def test_the_timeline_starts_where_the_scene_says() -> None:
    scene = load_scene("bag-sides")
    values = step_values(scene, 600.0)
    assert set(values) == set(eased_rows())
    assert values["posture.lean"][0] == value_of(scene, "posture.lean")


@pytest.mark.parametrize("stance", ["left", "right"])
def test_sides_go_to_the_stance_side_first(stance: str) -> None:
    scene = load_scene("level-stance", [f"posture.stance={stance}", "posture.left_heel_lift=10 mm"])
    posture = posture_of(scene, at_steps(scene, 600.0))
    assert posture.heel_lift[0].tolist() == ([0.01, 0.0] if stance == "left" else [0.0, 0.01])


def test_questions_know_the_words_of_the_rows(run: Callable[..., Ran]) -> None:
    assert set(words_asked()) == {"lean", "drop", "cane", "bag", "mass", "lever"}
    case = case_of(load_scene("level-stance"), 0)
    for word in words_asked():
        _, what = named_input(case, word)
        assert what.low < what.high
    refused = run("target", "level-stance", "--joint", "2 BW", "--by", "luck")
    assert "allowed: mass, lever, lean, drop, cane, bag" in refused.err


def test_the_printed_schema_lists_what_a_step_may_ease(run: Callable[..., Ran]) -> None:
    schema = json.loads(run("schema").out)
    assert schema["$defs"]["Step"]["properties"]["set"]["propertyNames"]["enum"] == list(eased_rows())
    lean = schema["$defs"]["PostureTable"]["properties"]["lean"]
    assert lean["x-kind"] == "posing"
    assert "-30 deg to 30 deg" in lean["description"]
