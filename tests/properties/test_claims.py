"""Captions that compare state it as a claim, and every claim of our scenes agrees with the solved numbers."""

from __future__ import annotations

import re
from typing import Any

import pytest
from pydantic_core import PydanticCustomError

from viz3d.errors import SceneError
from viz3d.scene.claims import Claim, parse_claim
from viz3d.scene.reader import library_scenes, load_scene
from viz3d.solution.claims import Verdict, verdicts
from viz3d.solution.script import Script, solve_scene

COMPARES = re.compile(
    r"\b(more|less|lower|higher|rises?|falls?|shorter|longer|shortens|third|half|tenths|down|off the|close|twice"
    r"|changes little|level|as the|harder|against|takes|back upright|back at once|tilts|centimetres)\b",
    re.I,
)
"""Words by which a caption says something about a number."""
NO_NUMBER = {
    "The cane stands on the painful side, not yet pressed.", "Now the cane is in the right hand, far from the hip.",
    "The body's weight pulls the pelvis down on the right.", "The abductors on the left hold it level.",
    "Let go, and change hands.",
    "The right foot is down again.", "Half the ground force goes over to it.",
}  # fmt: skip
"""Captions with such a word that say where a thing is, or what was done, not what came out."""


@pytest.mark.parametrize("name", library_scenes())
def test_what_our_captions_claim_is_so(name: str) -> None:
    scene = load_scene(name)
    for step in scene.steps:
        if COMPARES.search(step.caption) and step.caption not in NO_NUMBER:
            assert step.claims, f"{step.name}: {step.caption!r} states no claim"
    for one in verdicts(Script(scene)):
        assert one.holds, f"{scene.steps[one.step].name}: {one.claim.text}: found {one.found:.3g} {one.unit}"


def test_the_crutch_beside_the_painful_hip_makes_the_muscle_pull_more() -> None:
    """Statics: from that side the push turns the pelvis the way the weight does."""
    pulls = {}
    for left in (0, 10):
        for right in (0, 10):
            pushes = [f"hands.left.force={left} %BW", f"hands.right.force={right} %BW"]
            scene = load_scene("elbow-crutches", pushes)
            pulls[left, right] = solve_scene(scene.model_copy(update={"steps": scene.steps[:1]})).load.muscle_force[0]
    assert pulls[10, 0] > pulls[0, 0] > pulls[10, 10] > pulls[0, 10]


@pytest.mark.parametrize(
    ("line", "found", "holds"),
    [
        ("joint falls from step 1", -3.0, True), ("joint falls from step 1", -0.5, False),
        ("joint rises from step 1", -3.0, False), ("joint rises from step 2 by 5 to 15 %", 10.0, True),
        ("joint rises from step 2 by 5 to 15 %", 16.0, False), ("muscle changes from step 1 by at most 7 %", -6.9, True),
        ("muscle changes from step 1 by at most 7 %", 7.1, False), ("muscle lever is 4 to 5 cm", 4.5, True),
        ("pressure is at least 2 MPa", 1.9, False), ("obliquity is at most -1 deg", -5.0, True),
        ("effort is 60 to 70%", 65.0, True), ("joint falls from step 1", float("nan"), False),
    ],
)  # fmt: skip
def test_a_claim_is_read_and_judged(line: str, found: float, holds: bool) -> None:
    claim = parse_claim(line)
    assert isinstance(claim, Claim)
    assert Verdict(0, claim, found).holds is holds


@pytest.mark.parametrize(
    "line", ["", "joint", "joint drops from step 1", "joint falls", "joint falls from step one", "lever is 9 to 11 m",
             "lever is 11 to 9 cm", "joint falls from step 1 by 3 N", "joint is nan to 3 BW", "x" * 5000],
)  # fmt: skip
def test_what_is_no_claim_is_refused(line: str) -> None:
    with pytest.raises(PydanticCustomError) as error:
        parse_claim(line)
    assert len(error.value.message()) < 400


def test_a_claim_that_does_not_hold_is_reported(run: Any) -> None:
    told = run("check", "level-stance", "--set", "posture.lean=15 deg")
    assert told.code == 0
    assert "'joint is at least 2 BW' does not hold: found 1.71 BW" in told.out


def test_a_claim_about_a_step_that_is_not_there_is_refused() -> None:
    scene = load_scene("lean-over-hip")
    steps = [s.model_copy(update={"claims": ["joint falls from step 3"]}) for s in scene.steps]
    with pytest.raises(SceneError, match=r"steps.1.claims: found step 3 .* allowed: another of the 2 steps"):
        verdicts(Script(scene.model_copy(update={"steps": steps})))
