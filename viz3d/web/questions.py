"""Questions of a page: predict first, then see; every answer solved.

Question answered: what could a student predict about this scene, what is right, and why?

First come the author's own, then those that the scene's steps raise, then some of leaning and pressing that the page
can show. A page holds keys of words and numbers; only what the author wrote is text.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

import numpy as np

from viz3d.questions.vary import case_of
from viz3d.scene.claims import IS, QUANTITIES
from viz3d.scene.schema import Scene
from viz3d.solution.claims import SEEN, Verdict, value_at
from viz3d.solution.decisions import Decision, decisions, right_choice
from viz3d.solution.script import Script, Shot
from viz3d.statics.loads import GROUND
from viz3d.web.table import NONE, OPPOSITE, SAME, cane_key, with_cane
from viz3d.web.why import Account, account_of, why

CHOICES = ("falls", "stays", "rises")
_STEPS, _ALL = 3, 6
"""Most questions made of steps; most in all beside the author's."""
_LEAN, _PUSH = 10.0, 0.10
"""Degrees leaned, and body weights pressed, in questions that the scene's steps do not raise."""


def questions_of(scene: Scene, file: str, step: int, hands: list[str], strict: bool = True) -> list[dict[str, Any]]:
    """A page's questions: prompt, choices, the right one, its numbers, its why, and what shows both situations.

    Parameters
    ----------
    step : index of the step whose other inputs the page holds. hands : those whose poses the page can show.
    strict : refuse an author's question without exactly one right answer; else leave it out.

    Raises
    ------
    SceneError : an author's question without exactly one right answer.
    """
    script = Script(scene, file)
    shots = script.shots()
    decided = decisions(script, shots)
    asked = [(k, one) for k, one in enumerate(decided) if strict or one.right is not None]
    own = [_authored(script, shots, one, k + 1) for k, one in asked]
    if scene.walk is not None:
        return [one | {"id": _name(one)} for one in own]
    made = _of_steps(scene, shots, {one.step for _, one in asked})[:_STEPS]
    made += _of_poses(scene, script.at(step), step, hands)[: _ALL - len(made)]
    return [one | {"id": _name(one)} for one in own + made]


def _name(asked: Mapping[str, Any]) -> str:
    """What a browser keeps an answer under: what is asked, and which answer is right; numbers may move on."""
    told = {key: value for key, value in asked.items() if key not in ("why", "found")}
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()[:12]


# ---- what the author asks ------------------------------------------------------------------------------------


def _authored(script: Script, shots: list[Shot], one: Decision, number: int) -> dict[str, Any]:
    right = right_choice(script, one, number)
    verdict = one.verdicts[right]
    assert verdict is not None  # a right choice has a claim that holds
    claim = verdict.claim
    before = one.step if claim.step is None else claim.step - 1
    first, then = (_account(shots, k) for k in (before, one.step))
    return {
        "text": one.question.prompt, "choices": [c.says for c in one.question.choices], "right": right,
        "own": one.question.why, "found": _found(shots, one, verdict), "why": why(first, then),
        "alone": claim.step is None, "look": [{"step": before}, {"step": one.step}],
    }  # fmt: skip


def _found(shots: list[Shot], one: Decision, verdict: Verdict) -> dict[str, Any]:
    """The claim's quantity in numbers: of the step asked about, after that of the step it is compared with."""
    claim = verdict.claim
    steps = [one.step] if claim.verb == IS or claim.step is None else [claim.step - 1, one.step]
    values = [value_at(shots, k, claim.what) for k in steps]
    name = claim.what.replace(" ", "_")
    return {"name": f"page.question.of.{name}", "unit": QUANTITIES[claim.what], "values": values}


# ---- what the steps raise --------------------------------------------------------------------------------------


def _of_steps(scene: Scene, shots: list[Shot], told: set[int]) -> list[dict[str, Any]]:
    """A question for every step that changes one hip's load as none before it did, but for those told."""
    asked, known = [], set()
    for k in range(1, len(scene.steps)):
        if not scene.steps[k].set or k in told:
            continue
        (a, _), (b, _) = (_shot(shots, n) for n in (k - 1, k))
        if a.scene.posture.stance != b.scene.posture.stance or a.scene.model != b.scene.model:
            continue
        first, then = (_account(shots, n) for n in (k - 1, k))
        sizes = tuple(round(one.joint, 1) for one in (first, then))
        if sizes in known:
            continue
        known.add(sizes)
        names = {"before": scene.steps[k - 1].name, "after": scene.steps[k].name}
        asked.append(_made("step", first, then, [{"step": k - 1}, {"step": k}], names))
    return [one for one in asked if one is not None]


def _shot(shots: list[Shot], step: int) -> tuple[Shot, int]:
    shot = next(x for x in shots if step in x.rows)
    return shot, shot.row(step)


def _account(shots: list[Shot], step: int) -> Account:
    shot, row = _shot(shots, step)
    return account_of(shot.scene, shot.solved, row)


# ---- leaning and pressing --------------------------------------------------------------------------------------


def _of_poses(scene: Scene, now: Scene, step: int, hands: list[str]) -> list[dict[str, Any]]:
    """Leaning, and pressing with either hand, where no step of the scene does the same."""
    moved = {key for one in scene.steps for key in one.set}
    stance = now.posture.stance
    other = "left" if stance == "right" else "right"
    asked = []
    for hand, ask, lean, push in (
        (NONE, f"lean_{stance}", _LEAN, 0.0), (OPPOSITE, f"cane_{other}", 0.0, _PUSH),
        (SAME, f"same_{stance}", 0.0, _PUSH),
    ):  # fmt: skip
        if hand in hands and (cane_key(now, hand) or "posture.lean") not in moved:
            asked.append(_of_pose(now, step, hand, ask, (float(np.radians(lean)), push)))
    return [one for one in asked if one is not None]


def _of_pose(now: Scene, step: int, hand: str, ask: str, end: tuple[float, float]) -> dict[str, Any] | None:
    variant = with_cane(now, hand)
    case = case_of(variant, step)
    values = {"posture.lean": np.array([0.0, end[0]])}
    key = cane_key(variant, hand)
    if key is not None:
        values[key] = np.array([0.0, end[1]]) * case.weight
    solved = case.solved(values)
    if not case.allowed(solved).all():
        return None
    look = [{"hand": hand, "lean": 0.0, "force": 0.0}, {"hand": hand, "lean": end[0], "force": end[1]}]
    first, then = (account_of(case.scene, solved, row) for row in (0, 1))
    if GROUND in then.turns:  # on both feet leaning and pressing have other meanings
        return None
    return _made(ask, first, then, look, {}, "lean" if key is None else "force")


def _made(
    ask: str, first: Account, then: Account, look: list[dict[str, Any]], values: dict[str, str], moving: str = "force"
) -> dict[str, Any] | None:
    """Does the load fall, stay or rise? None where a situation has no load."""
    if not np.isfinite([first.joint, then.joint]).all() or first.joint <= 0.0:
        return None
    change = 100.0 * (then.joint - first.joint) / first.joint
    right = 1 if abs(change) < SEEN else 0 if change < 0 else 2
    return {
        "ask": f"page.question.{ask}", "values": values, "choices": [f"page.question.{c}" for c in CHOICES],
        "right": right, "told": f"page.question.it_{CHOICES[right]}", "why": why(first, then), "look": look,
        "moving": moving,
    }  # fmt: skip
