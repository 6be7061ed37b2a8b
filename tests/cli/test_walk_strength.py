"""A walk is held only where its muscles can make every moment of the cycle, and every answer says so alike."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable

import numpy as np
import pytest

from tests.conftest import Ran
from viz3d.errors import RenderError, SceneError
from viz3d.scene.reader import load_scene
from viz3d.solution.refuse import refuse_unheld
from viz3d.solution.refuse_walk import UNUSED, refuse_walking
from viz3d.solution.script import Script
from viz3d.solution.solved import HELD, TOO_WEAK, Solved
from viz3d.stage.compose import compose
from viz3d.teach.exercises.people import case
from viz3d.teach.fitting import fit_of

EMPTY = ["--set", "strength.left_abductors=0 %"]


def solved(*changes: str) -> Solved:
    return Script(load_scene("walk", changes)).shots()[0].solved


@pytest.fixture(scope="module")
def most() -> float:
    """Largest share of their whole strength that the abductors need in the walk as it is."""
    gait = solved().gait
    assert gait is not None
    return gait.hardest.effort


def test_a_walk_is_held_as_long_as_its_hardest_moment_is(most: float) -> None:
    """At any moment shown; with a thousandth less strength than that moment needs nobody walks like this."""
    assert 0.2 < most < 0.8
    for share, phase, status in ((1.001, 0, HELD), (0.999, 0, TOO_WEAK), (0.999, 70, TOO_WEAK), (0.0, 30, TOO_WEAK)):
        found = solved(f"strength.left_abductors={100 * share * most:.6f} %", f"walk.phase={phase} %")
        assert set(found.status) == {status}
        assert np.isfinite(found.shortfall).all() == (status == TOO_WEAK)
        assert found.gait is not None
        assert found.gait.hardest.phase == pytest.approx(0.33, abs=0.01)


def test_what_is_missing_without_any_strength_is_the_whole_moment(run: Callable[..., Ran]) -> None:
    """A set of muscles lacks what one muscle would have to make: the largest moment, which the cycle's table has."""
    model = ["--set", "model.muscles=frontal set"]
    table = list(csv.DictReader(io.StringIO(run("walk", "walk", "--csv", "--frames", "100", *EMPTY, *model).out)))
    lacks = [float(row["missing_Nm_per_kg"]) * 64.0 for row in table]
    answer = json.loads(run("solve", "walk", "--json", "--set", "walk.phase=30 %", *EMPTY, *model).out)
    first = answer["situations"][0]
    whole = json.loads(run("solve", "walk", "--json", "--set", "walk.phase=33 %").out)["situations"][0]
    assert first["shortfall"]["value"] == pytest.approx(max(lacks), rel=1e-3)
    assert first["shortfall"]["value"] == pytest.approx(whole["external_moment_Nm"], rel=1e-6)
    assert first["hardest_percent"] == pytest.approx(float(table[int(np.argmax(lacks))]["cycle_percent"]))
    assert first["hardest_effort"] is None
    assert "any share" in first["reasons"]["hardest_effort"]
    assert first["status"] == "too_weak"


def test_the_cycle_s_table_has_demand_against_capacity(run: Callable[..., Ran], most: float) -> None:
    table = list(
        csv.DictReader(
            io.StringIO(run("walk", "walk", "--csv", "--frames", "40", "--set", "strength.left_abductors=50 %").out)
        )
    )
    need, have, share = (
        np.array([float(row[key]) for row in table])
        for key in ("abductors_need_Nm_per_kg", "abductors_have_Nm_per_kg", "effort")
    )
    assert share == pytest.approx(need / have)
    assert share.max() == pytest.approx(2.0 * most, rel=0.01)
    assert have * 64.0 == pytest.approx(57.6)
    assert not any(float(row["missing_Nm_per_kg"]) for row in table)


def test_every_answer_says_that_it_cannot_be_walked_and_when(run: Callable[..., Ran]) -> None:
    scene = load_scene("walk", ["strength.left_abductors=0 %"])
    shot = Script(scene).shots()[0]
    still = scene.picture.voice.say(compose(scene, shot.solved, bodies=False).notices[0])
    with pytest.raises(RenderError, match="at 33 % of the cycle too weak") as refused:
        refuse_unheld(scene, shot.solved, strict=True)
    told = {
        "solve": run("solve", "--brief", "walk", "--set", "walk.phase=30 %", *EMPTY).out,
        "hold": run("hold", "walk", *EMPTY).out,
        "walk": run("walk", "walk", *EMPTY).out,
        "explain": run("explain", "walk", *EMPTY).out,
        "still": still,
        "strict": str(refused.value),
    }
    for name, text in told.items():
        said = next(line for line in text.splitlines() if "too weak" in line)
        assert "33 %" in said, name
    for name in ("solve", "hold", "walk", "explain", "still"):
        assert "42.3 N" in told[name]
    for name in ("solve", "hold"):
        assert "held throughout" not in told[name]
        assert "Static" not in told[name]
    strong = run("hold", "walk").out
    assert "at most 37 % of their strength, at 33 % of the cycle" in strong


def test_a_walk_is_explained_as_walking(run: Callable[..., Ran]) -> None:
    """Its moment is named, weight alone and what inertia adds, and nothing of it stands still; nor is what hangs pressed."""
    told = run("explain", "walk", "--step", "1").out
    assert "walking: left heel strikes (0 % of the cycle)" in told
    assert "the weight alone is 0.79 BW, 497 N" in told
    assert "Nothing presses the joint" in told
    plain = run("explain", "walk", "--step", "1", "--plain").out
    for text in (told, plain):
        for wrong in ("standing", "stance hip", "Gravity pulls", "Static"):
            assert wrong not in text.replace("standing on one leg slightly less", "")
    other = run("explain", "walk", "--step", "2").out
    assert "another moment of the cycle (0 % of it, here 24 %): their forces are not compared" in other


CANE = ["--set", "hands.right.holds=cane", "--set"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["walk", "--set", "posture.lean=10 deg"], "walk.toml: posture.lean: is not walked with: the measured motion"),
        (["walk", "--set", "model.pressure=horseshoe"], "walk.toml: model.pressure: is not used while walking"),
        (["level-stance", "--set", "walk.seen=passing"], "level-stance.toml: walk.seen: nobody walks here"),
        (["walk", *CANE, "hands.right.force=1e308 N"], "hands.right.force: found 1.59e+307 %BW (1e+308 N); allowed: at most"),
        (["level-stance", *CANE, "hands.right.force=1e308 N"], "hands.right.force: found 1.59e+307 %BW (1e+308 N); allowed:"),
    ],
)  # fmt: skip
def test_what_a_walk_would_not_use_or_nobody_could_press_is_refused(
    run: Callable[..., Ran], arguments: list[str], said: str
) -> None:
    ran = run("check", *arguments)
    assert ran.code == 1
    assert said in ran.err
    assert len(ran.err) < 200
    assert ran.err.count("\n") == 1


def test_every_unused_key_is_one_of_the_scene_s() -> None:
    """And a posture said as it is by default is no reason to refuse a walk."""
    rows = {f"{table}.{name}" for table, names in UNUSED.items() for name in names}
    assert len(rows) > 12
    assert "posture.stance" not in rows
    refuse_walking(load_scene("walk", ["posture.lean=0 deg", "model.pressure=lune"]), "walk")


def test_a_cane_out_of_reach_names_file_step_key_and_range(monkeypatch: pytest.MonkeyPatch) -> None:
    """The step that asked for it is named, and a push with which the hand would reach."""
    monkeypatch.setattr("viz3d.solution.refuse_walk.most_push", lambda *_: 60)
    pushed = "steps=[{name = 'a', hold = '1 s'}, {name = 'b', hold = '1 s', set = {'hands.right.holds' = 'cane', 'hands.right.force' = '90 %BW'}}]"
    with pytest.raises(SceneError) as refused:
        Script(load_scene("walk", [pushed]), "walk.toml").shots()
    told = str(refused.value)
    assert (
        "walk.toml: steps.2.set.hands.right.force: the right hand, pressing with 90 %BW, cannot reach its cane" in told
    )
    assert "at most about 60 %BW" in told
    assert "cm" not in told


def test_a_ground_force_too_small_to_place_or_beyond_the_sole_has_no_place(run: Callable[..., Ran]) -> None:
    """Just after heel strike none is stated; from a twentieth of the cycle on, while the foot carries, each is."""
    table = list(csv.DictReader(io.StringIO(run("walk", "walk", "--csv", "--frames", "100").out)))
    key = "pressure_under_sole_ahead_of_ankle_from_5_percent_BW_m"
    places = [float(row[key]) for row in table if row[key]]
    assert len(places) > 50
    assert -0.07 < min(places) < max(places) < 0.20
    carries = [row for row in table if float(row["ground_up_BW"]) >= 0.05]
    assert not [row for row in table if row[key] and row not in carries]
    assert not [row for row in carries if float(row["cycle_percent"]) >= 4.9 and not row[key]]


def test_a_walker_s_cane_is_fitted_and_asked_about_standing() -> None:
    """What is measured on a cane and drawn in exercises is of a body that stands, whoever it was taken from."""
    walker, stander = load_scene("walk-limp"), load_scene("level-stance", ["person.painful_hip=left"])
    assert fit_of(walker).handle == pytest.approx(fit_of(stander).handle, abs=1e-9)
    assert fit_of(walker).elbow == pytest.approx(fit_of(stander).elbow, abs=1e-9)
    assert case(walker, None, [{"posture.lean": "5 deg"}]).walk is None
