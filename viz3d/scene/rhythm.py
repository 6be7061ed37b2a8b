"""Rhythm: what a film shows while something changes, and what once it rests.

Question answered: at each frame, how near has the camera come to the hip, and which numbers are said?

Before a step changes a number, all words but the joint's go, and the camera comes nearer to the hip. Once the change is
complete it goes back, and the words return one group after the other: the cause first, the muscle's answer last. All of
it happens inside the holds, in shares of them, so that no step begins at another time than its scene says. Holds too
short to read in keep the words away; changes between such holds are seen from where the camera stands.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.scene.picture import Step
from viz3d.scene.schema import Scene
from viz3d.scene.segments import scene_at
from viz3d.scene.timeline import eased, frame_times

_COME, _GO = (1.4, 0.25, 0.42), (2.4, 0.34, 0.52)
"""Longest approach and retreat, seconds; share of a hold between two changes, and of the film's first or last one."""
_LEAST = 0.75
"""A shorter approach or retreat is none, seconds."""
_FADE = 0.4
"""How long words take to go, seconds."""
_RETURN = (0.16, 0.5, 2.6)
"""Words return from the first to the second share of a hold, and take no longer than this, seconds."""
_READ = 1.5
"""In shorter holds no words return, seconds."""


@dataclass(frozen=True)
class Rhythm:
    """Per frame of a film, (N,) each.

    ``near``: 0 where the camera always stands to 1 nearest. ``told``: share of the words that are there; those that go
    (``going``) go together, those that return do so one group after the other.
    """

    near: Array
    told: Array
    going: NDArray[np.bool_]


def changes_numbers(step: Step) -> bool:
    """True where a step changes what is solved, in a time that can be watched."""
    return bool(step.set) and step.change > 0.0


def may_come_nearer(scene: Scene) -> list[bool]:
    """Per step, where the camera may: a person from head to floor stays whole, the socket is seen from close by."""
    pictures = [scene_at(scene, k).picture for k in range(len(scene.steps))]
    return [p.framed != "whole" and p.view != "joint" for p in pictures]


def rhythm_of(scene: Scene) -> Rhythm:
    """The rhythm of a scene's film."""
    pushes = may_come_nearer(scene)
    times, steps = frame_times(scene), scene.steps
    near, told, leaves = np.zeros(len(times)), np.ones(len(times)), np.ones(len(times))
    begin = 0.0
    for k, step in enumerate(steps):
        rest, end = begin + step.change, begin + step.change + step.hold
        own, soon = (times >= begin) & (times < end), k + 1 < len(steps) and changes_numbers(steps[k + 1])
        if changes_numbers(step):
            short = soon and step.hold < _READ
            told[own] = 0.0 if short else _returned(times[own] - rest, step.hold)
            come, go = _lasts(steps, k) if pushes[k] and step.view is None and step.frame is None else (0.0, 0.0)
            near = np.maximum(near, _near(times, begin, rest, come, go))
            leaves = np.minimum(leaves, _left(times, begin - max(come, _FADE), begin))
        begin = end
    going = (leaves < 1.0) & (told > 0.0)
    return Rhythm(near, np.where(going, leaves, told), going)


def _returned(since: Array, hold: float) -> Array:
    """Share of the words that are back, 0 to 1, so many seconds after the change."""
    first = _RETURN[0] * hold
    lasts = min(_RETURN[1] * hold - first, _RETURN[2])
    return np.clip((since - first) / max(lasts, 1e-9), 0.0, 1.0)


def _left(times: Array, first: float, begin: float) -> Array:
    """Share of the words that are still there before a change, from 1 to 0 as they go."""
    return np.where(times < begin, np.clip(1.0 - (times - first) / _FADE, 0.0, 1.0), 1.0)


def _lasts(steps: list[Step], k: int) -> tuple[float, float]:
    """How long the camera comes nearer before step k's change and goes back after it, seconds; 0 for not at all."""
    before = steps[k - 1].hold if k else 0.0
    inner = [0 <= n < len(steps) and changes_numbers(steps[n]) for n in (k - 1, k + 1)]
    come = min(_COME[0], _COME[1 if inner[0] else 2] * before)
    go = min(_GO[0], _GO[1 if inner[1] else 2] * steps[k].hold)
    return (come, go) if min(come, go) >= _LEAST else (0.0, 0.0)


def _near(times: Array, begin: float, rest: float, come: float, go: float) -> Array:
    """How near the camera is for one change, (N,)."""
    if come == 0.0:
        return np.zeros_like(times)
    return np.where(times < rest, eased((times - begin + come) / come), 1.0 - eased((times - rest) / go))
