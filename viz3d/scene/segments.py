"""Segments: the stretches of a timeline in which one scene is in force.

Question answered: which scene is in force at step k, and where does the timeline pass from one to the next?

A step may change more than the pose: who stands there, what a hand holds, which hip is studied, the muscle model, the
view, the layers. From such a step on another scene is in force, here made from the one before by changing its keys. A
scene is taken apart once: the segments stay with it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from viz3d.scene.quantities import READ
from viz3d.scene.rows import eased_rows
from viz3d.scene.schema import Scene

MOST_SHAPES = 8
CUT_KEYS = ("person.", "strength.", "model.", "posture.", "hands.", "walk.")
"""What a step may change besides posing inputs begins so."""

LOOKS = {"picture.view": "view", "picture.frame": "frame", "picture.layers": "layers"}
"""What of a picture a step changes, and the step's own key for it."""


@dataclass(frozen=True)
class Segment:
    """``scene`` is in force from step ``first`` to step ``last``, counted from 0; -1 is before the first step."""

    scene: Scene
    first: int
    last: int

    @property
    def steps(self) -> range:
        """The steps at which it is in force."""
        return range(max(self.first, 0), self.last + 1)


def segments_of(scene: Scene) -> list[Segment]:
    """The segments in order; the first begins at -1 where even the first step passes into another scene.

    Raises
    ------
    StepError : a change that makes no scene.
    """
    if scene.memory.segments is None:
        scene.memory.segments = _segments(scene)
    return list(scene.memory.segments)


class StepError(Exception):
    """A step's changes make no scene; ``cause`` is what the validator found."""

    def __init__(self, step: int, cause: Exception) -> None:
        super().__init__(str(cause))
        self.step, self.cause = step, cause


def _segments(scene: Scene) -> list[Segment]:
    segments, now = [Segment(scene, -1, -1)], scene
    for k in range(len(scene.steps)):
        changes = changes_at(scene, k)
        try:
            new = changed(now, changes) if changes else now
        except ValueError as error:
            raise StepError(k, error) from error
        if new != now:
            segments.append(Segment(new, k, k))
        segments[-1] = Segment(new, segments[-1].first, k)
        now = new
    lasting = scene.steps[0].change > 0.0
    return segments if segments[0].last >= 0 or lasting else segments[1:]


def changes_at(scene: Scene, step: int) -> dict[str, Any]:
    """What a step changes besides the pose: dotted key -> value; of a walk everything, at once."""
    one = scene.steps[step]
    cut = {k: v for k, v in one.set.items() if k not in eased_rows() or scene.walk is not None}
    for key in list(cut):
        if key.endswith(".holds"):  # a hand that takes something new up starts with what this step gives it
            with_it = {key.replace("holds", n): one.set.get(key.replace("holds", n)) for n in ("force", "mass")}
            cut |= {k: v for k, v in with_it.items() if v is not None}
    look = {key: getattr(one, name) for key, name in LOOKS.items()}
    return cut | {k: v for k, v in look.items() if v is not None}


def on_the_spot(scene: Scene) -> Scene:
    """A scene whose walker stays in the middle of the picture, for what goes along with people itself."""
    if scene.walk is None:
        return scene
    steps = [s.model_copy(update={"set": {k: v for k, v in s.set.items() if k != "walk.seen"}}) for s in scene.steps]
    walk = scene.walk.model_copy(update={"seen": "on the spot"})
    return scene.model_copy(update={"walk": walk, "steps": steps})


def scene_at(scene: Scene, step: int) -> Scene:
    """The scene in force at a step."""
    return next(s.scene for s in segments_of(scene) if s.first <= step <= s.last)


def names_what_is(scene: Scene, step: int) -> bool:
    """True where a step's name fits wherever it is seen from.

    Where steps look from several places, one that changes nothing else may be named for where it looks from.
    """
    return bool(scene.steps[step].set) or all(one.view is None for one in scene.steps)


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
