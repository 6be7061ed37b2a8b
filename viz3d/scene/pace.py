"""Pace: a timeline stretched so that its steps begin where the voice has got to.

Question answered: how long does each step hold, given the cues and the voice's length?

Between two cues the holds share what time there is; changes keep their length.
"""

from __future__ import annotations

import itertools

from viz3d.errors import InputError
from viz3d.scene.picture import Step
from viz3d.scene.schema import Scene


def paced(scene: Scene, voice: float | None = None) -> Scene:
    """The scene with holds that fit its cues and, after the last cue, the whole voice; unchanged where there are none.

    Parameters
    ----------
    voice : length of the voice, seconds; None for no voice.

    Raises
    ------
    InputError : cues that run backwards, that leave no time for a change, or that lie behind the voice's end.
    """
    cues = [(k, s.cue) for k, s in enumerate(scene.steps) if s.cue is not None]
    if not cues and voice is None:
        return scene
    for k, cue in cues:
        if voice is not None and cue > voice:
            raise InputError(f"steps.{k + 1}.cue: found {cue:g} s; the voice ends at {voice:.1f} s")
    marks = [(0, 0.0), *[(k, at) for k, at in cues if k > 0]]
    if cues and cues[0][0] == 0 and cues[0][1] > 0:
        raise InputError(f"steps.1.cue: found {cues[0][1]:g} s; the first step begins with the film, at 0 s")
    steps = list(scene.steps)
    for (k, start), (after, end) in itertools.pairwise(marks):
        steps[k:after] = _filled(steps[k:after], end - start, f"steps.{after + 1}.cue", f"{end:g} s")
    last, start = marks[-1]
    rest = sum(s.change + s.hold for s in steps[last:])
    if voice is not None and voice - start > rest:
        steps[last:] = _filled(steps[last:], voice - start, "film.voice", f"{voice:.1f} s")
    return scene.model_copy(update={"steps": steps})


def _filled(steps: list[Step], length: float, key: str, found: str) -> list[Step]:
    """Steps that last ``length`` seconds together, their changes untouched."""
    changes, holds = sum(s.change for s in steps), sum(s.hold for s in steps)
    left = length - changes
    if left < -1e-9:
        raise InputError(f"{key}: found {found}; the steps before it need {changes:g} s for their changes alone")
    share = [s.hold / holds if holds > 0 else float(k == len(steps) - 1) for k, s in enumerate(steps)]
    return [s.model_copy(update={"hold": max(0.0, left) * part}) for s, part in zip(steps, share, strict=True)]
