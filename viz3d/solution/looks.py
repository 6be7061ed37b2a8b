"""A scene whose steps change the body, the hands' things or the view: one solved batch for each.

Question answered: which body stands there at each step and in each frame, and what does its hip carry?

A look is one scene in force with its own solved rows; a film is a sequence of cuts, each showing some frames of a look.
Called by the command line and the output room.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viz3d.scene.schema import Scene
from viz3d.scene.takes import Take, takes_of
from viz3d.scene.timeline import frame_times
from viz3d.solution.solve import Solved, solve_scene

Frames = NDArray[np.intp]


@dataclass(frozen=True)
class Look:
    """One scene in force, without regard to its layers."""

    scene: Scene
    solved: Solved
    rows: Frames
    """Steps, or frames of the film, that ``solved`` holds, in rising order."""

    def row(self, index: int) -> int:
        """Where a step or a frame of the film stands in ``solved``."""
        return int(np.searchsorted(self.rows, index))


@dataclass(frozen=True)
class Cut:
    """A stretch of film: frames ``first`` to ``end`` (not included) of a look, with the layers of its scene.

    For the first ``opening`` frames it comes in while the cut before goes out.
    """

    look: int
    scene: Scene
    first: int
    end: int
    opening: int


def looks_at_steps(scene: Scene, file: str = "scene") -> list[Look]:
    """Every look, solved at the steps it is in force.

    Raises
    ------
    SceneError : as :func:`viz3d.solution.solve.solve_scene`.
    """
    looks, of = _distinct(takes_of(scene))
    out = []
    for k, look in enumerate(looks):
        steps = [s for n, take in enumerate(takes_of(scene)) if of[n] == k for s in range(take.first, take.last + 1)]
        steps = [s for s in steps if s >= 0]
        if steps:
            out.append(Look(look, solve_scene(look, file=file, steps=steps), np.array(steps)))
    return out


def look_at_step(scene: Scene, step: int, file: str = "scene") -> tuple[Look, int]:
    """The look in force at a step, and its row."""
    look = next(x for x in looks_at_steps(scene, file) if step in x.rows)
    return look, look.row(step)


def looks_of_film(scene: Scene, file: str = "scene") -> tuple[list[Look], list[Cut]]:
    """Every look, solved at the frames it is seen in, and the cuts of the film in order.

    Raises
    ------
    SceneError : as :func:`viz3d.solution.solve.solve_scene`.
    """
    takes, times = takes_of(scene), frame_times(scene)
    looks, of = _distinct(takes)
    ends = np.cumsum([s.change + s.hold for s in scene.steps])
    begins = np.concatenate([[0.0], ends[:-1]])
    cuts: list[Cut] = []
    for n, take in enumerate(takes):
        first = int(np.searchsorted(times, begins[take.first])) if n else 0
        change = scene.steps[take.first].change if n else 0.0
        opening = int(np.searchsorted(times, begins[take.first] + change)) - first if n else 0
        end = len(times)
        if n + 1 < len(takes):
            after = takes[n + 1].first
            end = int(np.searchsorted(times, begins[after] + scene.steps[after].change))
        cuts.append(Cut(of[n], take.scene, first, end, opening))
    out = []
    for k, look in enumerate(looks):
        seen = [np.arange(c.first, c.end) for c in cuts if c.look == k]
        rows = np.unique(np.concatenate(seen))
        out.append(Look(look, solve_scene(look, times[rows], file), rows))
    return out, cuts


def _distinct(takes: list[Take]) -> tuple[list[Scene], list[int]]:
    """The different scenes but for their layers, and which of them each take shows."""
    looks: list[Scene] = []
    of = []
    for take in takes:
        same = _without_layers(take.scene)
        if same not in looks:
            looks.append(same)
        of.append(looks.index(same))
    return looks, of


def _without_layers(scene: Scene) -> Scene:
    return scene.model_copy(update={"picture": scene.picture.model_copy(update={"layers": None})})
