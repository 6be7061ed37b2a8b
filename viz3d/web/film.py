"""A scene's whole film for a page: every step, with its changes of body, hands, hip, view and layers.

Question answered: which rows does a page need to play this scene, and what does it show of them when?

A clip is a stretch with one scene in force, as in films; where films dissolve from one to the next, a page changes over
in the middle. Rows that lie on a straight line between others are left out.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.output.gltf_file import needed_keys
from viz3d.scene.pace import paced
from viz3d.scene.rows import value_of
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import at_times, frame_times
from viz3d.solution.script import Clip, Script, Shot
from viz3d.stage.compose import compose
from viz3d.web.axes import HAND, PUSHES, RANGES, control_keys, own_hand, words_of
from viz3d.web.cast import Cast
from viz3d.web.packing import coded
from viz3d.web.state import State, state_of

_RATE = 10
"""Samples a second."""
_STRAIGHT = 3e-4
"""Share of a column's size by which a row that is left out may miss the line between its neighbours."""


def film_of(scene: Scene, file: str, cast: Cast) -> dict[str, Any] | None:
    """The scene's film as clips and steps; none where it has a single step. Its bodies join the cast."""
    scene = paced(scene)
    if len(scene.steps) < 2:
        return None
    rate = scene.picture.model_copy(update={"frames_per_second": _RATE})
    script = Script(scene.model_copy(update={"picture": rate}), file)
    times = frame_times(script.scene)
    shots, clips = script.film()
    ends = np.cumsum([s.change + s.hold for s in scene.steps])
    steps = [
        {"name": s.name, "caption": s.caption, "begin": float(e - s.change - s.hold), "held": float(e - s.hold)}
        for s, e in zip(scene.steps, ends, strict=True)
    ]
    known = {key for s in script.scenes for word in words_of(s) for key in control_keys(word, s)}
    shown = {k: (state_of(s.scene, s.solved), _body(cast, s)) for k, s in enumerate(shots)}
    return {
        "clips": [_clip(clip, shots[clip.shot], *shown[clip.shot], times) for clip in clips],
        "steps": steps, "end": float(ends[-1]), "more": any(set(s.set) - known for s in scene.steps),
    }  # fmt: skip


def _body(cast: Cast, shot: Shot) -> int:
    return cast.add(shot.scene, shot.body, compose(shot.scene, shot.solved))


def _clip(clip: Clip, shot: Shot, state: State, body: int, times: Array) -> dict[str, Any]:
    rows = np.searchsorted(shot.rows, np.arange(clip.first, clip.end))
    own = times[clip.first : clip.end]
    columns = {name: values[rows] for name, values in state.columns.items()}
    moving = [name for name, values in columns.items() if np.ptp(values, axis=0).max() > 0.0]
    kept = _needed(own, [columns[name] for name in moving])
    picture = clip.scene.picture
    return {
        "from": float(times[clip.first + clip.transition // 2]) if clip.first else 0.0, "times": own[kept].tolist(),
        "fixed": [[n, np.round(v[0], 9).tolist()] for n, v in columns.items() if n not in moving],
        "layout": [[name, columns[name].shape[1]] for name in moving],
        "rows": coded(np.concatenate([columns[n][kept] for n in moving], axis=1) if moving else np.zeros(0)),
        "about": state.about, "body": body, "hand": own_hand(shot.scene), "view": picture.view, "frame": picture.frame,
        "layers": list(picture.shown), "poses": _poses(shot.scene, own[kept], state.plan.body_weight),
    }  # fmt: skip


def _needed(times: Array, columns: list[Array]) -> NDArray[np.intp]:
    """Rows that straight lines between them give all others back from."""
    if not columns or len(times) < 3:
        return np.arange(len(times)) if columns else np.array([0])
    sized = [values / max(float(np.abs(values).max()), 1e-9) for values in columns]
    return np.unique(needed_keys(times, np.concatenate(sized, axis=1), _STRAIGHT))


def _poses(scene: Scene, times: Array, weight: float) -> dict[str, list[float]]:
    """Control -> what it stands at, for each of these times; only controls that the scene has."""
    inputs = at_times(scene, weight, times).inputs
    out = {}
    for word in words_of(scene):
        keys = control_keys(word, scene) if word != HAND else ()
        if not keys:
            continue
        size = weight if word in PUSHES else 1.0
        fixed = None if keys[0] in inputs else value_of(scene, keys[0])
        values = inputs[keys[0]] / size if keys[0] in inputs else np.full(len(times), fixed, dtype=float)
        if np.isfinite(values).all():
            out[word] = np.round(np.clip(values, RANGES[word].low, RANGES[word].high), 6).tolist()
    return out
