"""What the live page says of a scene that is being edited: can its captions be read in their time, are they true?

Question answered: which captions does the solution not bear out, and which are too long for their hold?

A caption whose claims the numbers do not bear out is flagged, and left out of everything that is made of the scene.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, get_args

import numpy as np

from viz3d.scene.claims import QUANTITIES
from viz3d.scene.picture import Film, Picture, Step
from viz3d.scene.reading import reading_time
from viz3d.scene.schema import Scene
from viz3d.solution.claims import Verdict, verdicts
from viz3d.solution.script import Script
from viz3d.solution.solved import HELD
from viz3d.web.editing import PICTURE_KEYS, Tables
from viz3d.web.poses import begin_of, difference, poses_of

SIZES = ("1920x1080", "1080x1080", "1080x1920")
"""Shapes of pictures that the page offers."""
CLAIMED = ("joint", "muscle", "lever", "pressure", "effort", "obliquity")
"""Quantities that the page offers for claims."""


def draft_of(data: Tables, scene: Scene) -> dict[str, Any]:
    """What the editor shows of a scene: its tables, its texts, its steps with their poses, its picture's settings."""
    begin = begin_of(data)
    poses = [difference(begin, pose) for pose in poses_of(data)] or [{}]
    steps = [_step(step, pose) for step, pose in zip(scene.steps, poses, strict=True)]
    picture = {key: getattr(scene.picture, key) for key in PICTURE_KEYS} | {"frame": scene.picture.framed}
    return {
        "data": data, "title": scene.title, "aim": scene.aim, "steps": steps,
        "picture": picture, "film": {"captions": scene.film.captions},
    }  # fmt: skip


def _step(step: Step, pose: dict[str, str]) -> dict[str, Any]:
    return {
        "name": step.name, "caption": step.caption, "change": step.change, "hold": step.hold,
        "needs": reading_time(step.caption), "claims": step.claims, "pose": pose, "sets": sorted(step.set),
    }  # fmt: skip


def offered() -> dict[str, Any]:
    """What the editor's choices are: settings of pictures and films, quantities of claims."""
    fields = {key: _choices(Picture, key) for key in PICTURE_KEYS} | {"size": list(SIZES)}
    return {"picture": fields, "film": {"captions": _choices(Film, "captions")},
            "claims": {what: QUANTITIES[what] for what in CLAIMED}}  # fmt: skip


def _choices(table: type[Picture | Film], key: str) -> list[str]:
    hint = table.model_fields[key].annotation
    flat = [word for part in (get_args(hint) or ()) for word in (get_args(part) or (part,))]
    return [word for word in flat if isinstance(word, str)]


def judged(scene: Scene) -> dict[str, Any]:
    """Joint force of every step, and what its claims found."""
    script = Script(scene)
    found: list[dict[str, Any]] = [{"claims": []} for _ in scene.steps]
    for shot in script.shots():
        weight = np.broadcast_to(shot.solved.body.weight, shot.solved.times.shape)
        for k in shot.rows:
            joint = float(shot.solved.load.joint_magnitude[shot.row(k)])
            found[k] |= {
                "joint": joint if math.isfinite(joint) else None, "weight": float(weight[shot.row(k)]),
                "held": bool(shot.solved.status[shot.row(k)] == HELD),
            }  # fmt: skip
    for one in verdicts(script):
        found[one.step]["claims"].append(_verdict(one))
    return {"steps": found}


def _verdict(one: Verdict) -> dict[str, Any]:
    return {
        "text": one.claim.text, "holds": one.holds, "found": one.found if math.isfinite(one.found) else None,
        "unit": one.unit,
    }  # fmt: skip


def unsupported(scene: Scene) -> list[int]:
    """Steps, from 0, whose captions the solution does not bear out."""
    return sorted({one.step for one in verdicts(Script(scene)) if not one.holds})


def without_captions(data: Tables, steps: list[int], names: Mapping[int, str]) -> Tables:
    """A scene's tables without what these steps, from 0, say and claim; ``names``: what they are called instead."""
    said = ("caption", "narration", "claims")
    whole = data.get("steps", [])
    kept = [
        {k: v for k, v in step.items() if k not in said} | {"name": names[n]} if n in steps else step
        for n, step in enumerate(whole)
    ]
    return data | {"steps": kept} if kept else data
