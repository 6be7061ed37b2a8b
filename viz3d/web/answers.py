"""What the live page is told: a situation, a chart, a scene file with changes.

Question answered: given an opened scene and what was changed on the page, what does the page show?
"""

from __future__ import annotations

import copy
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import tomli_w
from pydantic import ValidationError

from viz3d.errors import InputError
from viz3d.questions.vary import case_of
from viz3d.scene.explain import explain
from viz3d.scene.picture import Step
from viz3d.scene.posture import AIDS
from viz3d.scene.reader import parse_scene
from viz3d.scene.rows import eased_rows, is_posing, rows
from viz3d.scene.schema import Scene
from viz3d.scene.segments import changed, changes_at, scene_at
from viz3d.scene.timeline import step_values
from viz3d.scene.translated import spoken
from viz3d.solution.gait import POINTS
from viz3d.solution.inputs import body_of
from viz3d.solution.script import Script, Shot, solve_scene
from viz3d.solution.solved import Solved
from viz3d.web.axes import PHASE
from viz3d.web.bones import Bones
from viz3d.web.cast import body_told
from viz3d.web.controls import SIZES, controls_of, hand_slider, hands_of
from viz3d.web.packing import packed
from viz3d.web.state import state_of
from viz3d.web.table import Grid
from viz3d.web.walk_table import walk_grid

_SETTABLE = ("person", "posture", "hands", "strength", "model", "load", "walk")
_FILES = ("person.bones", "walk.motion")
"""Keys that name files, of which there are none here."""
_HANDS = tuple(f"hands.{side}.{what}" for side in ("left", "right") for what in ("force", "mass"))
_SWEEP = 41
"""Points of a chart."""


@dataclass(frozen=True)
class Opened:
    """A scene as its file says, and as one standing still."""

    data: dict[str, Any]
    scene: Scene
    flat: Scene

    @cached_property
    def steps(self) -> list[dict[str, Any]]:
        """The scene's steps as values of the page's inputs."""
        return _steps(self.scene)


def situation_of(known: Opened, scene: Scene) -> dict[str, Any]:
    """Everything the page shows of one situation."""
    solved = solve_scene(scene)
    grid = None if scene.walk is None else walk_grid(scene, 0)
    state = state_of(scene, solved) if grid is None else grid.state
    choices: dict[str, str] = {
        "posture.stance": scene.posture.stance, "model.muscles": scene.model.muscles, "person.sex": scene.person.sex,
    }  # fmt: skip
    if grid is None:
        choices["feet"] = "both" if scene.posture.lifted < 1.0 else "one"
    if scene.walk is not None:
        choices["walk.change"] = scene.walk.change
    return {
        "layout": state.layout, "row": state.rows[0].tolist(), "about": state.about,
        "cycle": None if grid is None else _cycle(grid, solved), "told": body_told(scene, state.plan),
        "controls": controls_of(scene, solved.body), "hands": hands_of(scene, solved.body), "bones": Bones.key(scene),
        "choices": choices,
        "steps": known.steps, "title": known.scene.title, "aim": known.scene.aim,
    }  # fmt: skip


def _cycle(grid: Grid, solved: Solved) -> dict[str, Any]:
    """A walk's whole cycle, the moment of it that a page begins with, and how long it takes as it is shown, s."""
    assert solved.course is not None  # every walk has one
    times = solved.course[0]
    return packed(grid) | {"phase": grid.start[PHASE], "seconds": float(times[POINTS] - times[0])}


def flattened(scene: Scene) -> Scene:
    """The scene as it stands at its start, without its steps."""
    return scene.model_copy(update={"steps": [Step(name="As it stands")]})


def with_changes(scene: Scene, changes: dict[str, str]) -> Scene:
    """A scene with the page's changes.

    Raises
    ------
    InputError : a key that no page may set. SceneError : values that make no scene.
    """
    for key in changes:
        if not _settable(key):
            raise InputError(f"{key}: cannot be set on this page")
    try:
        return changed(scene, changes)
    except ValidationError as error:
        raise explain(Path("scene"), error) from error


def saved_text(known: Opened, changes: dict[str, str]) -> str:
    """A scene file's text: the opened one with keys changed."""
    return tomli_w.dumps(tables_with(known, changes))


def tables_with(known: Opened, changes: dict[str, str]) -> dict[str, Any]:
    """A scene file's tables: the opened one's with keys changed."""
    data = copy.deepcopy(known.data)
    for key, value in sorted(changes.items(), key=lambda kv: not kv[0].endswith(".holds")):
        *folders, last = key.split(".")
        node = data
        for folder in folders:
            node = node.setdefault(folder, {})
        first = data.get("steps", [{}])[0].get("set", {})
        if last == "holds":
            node.clear()
            for other in [k for k in first if k.startswith(key.removesuffix(last)) and k != key]:
                del first[other]
        node[last] = value
        if key in first:  # the page begins where the first step is
            first[key] = value
    return data


def load_title(path: Path, language: str) -> str:
    """A library scene's title in a language."""
    return str(spoken(parse_scene(path), path, language)["title"])


def only_shot(scene: Scene) -> Shot:
    """A one-step scene's shot."""
    return Script(scene).shots()[0]


def at_first(scene: Scene) -> Scene:
    """The scene in force at its first step, with what that step sets."""
    now = scene_at(scene, 0)
    eased = {key: text for key, text in scene.steps[0].set.items() if key in eased_rows() and _there(key, now)}
    return changed(now, eased) if eased else now


def _steps(scene: Scene) -> list[dict[str, Any]]:
    """Each step as the page plays it: what it moves to smoothly, what it changes at once, what it is seen from."""
    if len(scene.steps) < 2:
        return []
    weight = float(body_of(scene).weight[0])
    values = step_values(scene, weight)
    posed = [key for key in values if any(key in s.set for s in scene.steps)]
    cut = sorted({k for n in range(len(scene.steps)) for k in changes_at(scene, n) if _settable(k)} - {*posed})
    told, current = [], dict.fromkeys(cut)
    walks = scene.walk is not None  # another walk takes a moment to be found: none on the way
    for k, step in enumerate(scene.steps):
        current |= {key: text for key, text in changes_at(scene, k).items() if key in current}
        now = scene_at(scene, k)
        pose = {}
        for key in (key for key in posed if _there(key, now)):
            unit, factor = _written(key, weight)
            pose[key] = f"{values[key][k] * factor:.6g} {unit}"
        gone = {key: None for key in posed if not _there(key, now)}
        told.append({
            "name": step.name, "caption": step.caption, "set": pose,
            "change": 0.0 if walks else step.change, "hold": step.hold + (step.change if walks else 0.0),
            "cut": current | gone, "view": now.picture.view, "frame": now.picture.frame,
            "layers": list(now.picture.shown),
        })  # fmt: skip
    return told


def _settable(key: str) -> bool:
    return key.split(".", maxsplit=1)[0] in _SETTABLE and key not in _FILES


def _there(key: str, scene: Scene) -> bool:
    """Whether an input of a hand belongs to what that hand holds; all others do."""
    if key not in _HANDS:
        return True
    _, side, what = key.split(".")
    held = getattr(scene.hands, side).holds
    return held == "bag" if what == "mass" else held in AIDS


_WRITTEN = {"angle": ("deg", float(np.degrees(1.0))), "mass": ("kg", 1.0), "fraction": ("%", 100.0),
            "length": ("mm", 1000.0)}  # fmt: skip
"""Unit that a quantity is written in, and its size against SI."""


def _written(key: str, weight: float) -> tuple[str, float]:
    """Unit that an input is written in, and its size against SI."""
    dimension = rows()[key].of.dimension
    return ("%BW", 100.0 / weight) if dimension == "force" else _WRITTEN[dimension]


def chart_of(scene: Scene, over: str) -> dict[str, Any]:
    """Joint force over one input of the page, everything else held."""
    weight = float(body_of(scene).weight[0])
    if over in _HANDS:
        side, what = over.split(".")[1:]
        slider = hand_slider(what, scene)
        unit, low, high = slider.unit, slider.low, slider.high
        if getattr(getattr(scene.hands, side), what) is None:
            return {"over": over, "points": []}
        factor = weight / 100.0 if what == "force" else SIZES[unit]
    else:
        found = next((c for c in controls_of(scene, body_of(scene)) if c["key"] == over), None)
        if found is None:
            return {"over": over, "points": []}
        unit, low, high = found["unit"], found["low"], found["high"]
        factor = SIZES[unit]
    x = np.linspace(low, high, _SWEEP)
    case = case_of(scene, 0)
    solved = case.solved({over: x * factor})
    force = solved.load.joint_magnitude
    ok = np.isfinite(force) & case.allowed(solved)
    weights = np.broadcast_to(solved.body.weight, force.shape)
    points = [[float(a), float(b), float(w)] for a, b, w, fine in zip(x, force, weights, ok, strict=True) if fine]
    return {"over": over, "unit": unit, "points": points, "posing": is_posing(over)}
