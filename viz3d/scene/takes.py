"""Takes: the stretches of a timeline that show one body in one view.

Question answered: which scene is in force at step k, and where does the film pass from one to the next?

A step may change more than the pose: who stands there, what a hand holds, which hip is studied, the muscle model, the
view, the layers. From such a step on another scene is in force, here made from the first one by changing its keys.
Read by :mod:`viz3d.scene.reader`, :mod:`viz3d.solution` and the output room.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from viz3d.scene.inputs import POSING_KEYS
from viz3d.scene.quantities import READ
from viz3d.scene.schema import Scene

MOST_SHAPES = 8
CUT_KEYS = ("person.", "strength.", "model.", "posture.", "hands.")
"""What a step may change besides posing inputs begins so."""


@dataclass(frozen=True)
class Take:
    """``scene`` is in force from step ``first`` to step ``last``, counted from 0."""

    scene: Scene
    first: int
    last: int


def takes_of(scene: Scene) -> list[Take]:
    """The takes in order; the first begins at -1 where even the first step passes into another scene.

    Raises
    ------
    pydantic.ValidationError : a change that makes no scene.
    """
    takes, now = [Take(scene, -1, -1)], scene
    for k in range(len(scene.steps)):
        changes = changes_at(scene, k)
        new = changed(now, changes) if changes else now
        if new != now:
            takes.append(Take(new, k, k))
        takes[-1] = Take(new, takes[-1].first, k)
        now = new
    lasting = scene.steps[0].change > 0.0
    return takes if takes[0].last >= 0 or lasting else takes[1:]


def changes_at(scene: Scene, step: int) -> dict[str, Any]:
    """What a step changes besides the pose: dotted key -> value."""
    one = scene.steps[step]
    cut = {k: v for k, v in one.set.items() if k not in POSING_KEYS}
    for key in list(cut):
        if key.endswith(".holds"):  # a hand that takes something new up starts with what this step gives it
            with_it = {key.replace("holds", n): one.set.get(key.replace("holds", n)) for n in ("force", "mass")}
            cut |= {k: v for k, v in with_it.items() if v is not None}
    look = {"picture.view": one.view, "picture.layers": one.layers}
    return cut | {k: v for k, v in look.items() if v is not None}


def scene_at(scene: Scene, step: int) -> Scene:
    """The scene in force at a step."""
    return next(t.scene for t in takes_of(scene) if t.first <= step <= t.last)


def changed(scene: Scene, changes: Mapping[str, Any]) -> Scene:
    """A scene with keys set to what a person would type; a hand given something new holds nothing else.

    Raises
    ------
    pydantic.ValidationError : a value that is not allowed, or that does not fit the others.
    """
    data = dict(scene)
    for key in sorted(changes, key=lambda k: not k.endswith(".holds")):
        *folders, last = key.split(".")
        node = data
        for folder in folders:
            inner = node.get(folder)
            node[folder] = dict(inner) if isinstance(inner, BaseModel | dict) else {}
            node = node[folder]
        if last == "holds":
            node.clear()
        node[last] = changes[key]
    new = Scene.model_validate(data, context=READ)
    new.lies_in(scene.folder)
    return new
