"""Questions on the live page: those of the scene, decided by the numbers that it has now.

Question answered: what could be predicted of the scene as it stands, and what does the page set to show it?
"""

from __future__ import annotations

from typing import Any

import numpy as np

from viz3d.scene.schema import Scene
from viz3d.scene.segments import scene_at
from viz3d.web.axes import NONE, OPPOSITE, SAME, cane_changes, pressed, with_cane
from viz3d.web.questions import questions_of

_HANDS = [NONE, OPPOSITE, SAME]


def asked_of(scene: Scene) -> dict[str, Any]:
    """The questions of a scene as a page asks them; ``left_out``: how many of the author's have no right answer now."""
    now = scene_at(scene, 0)
    found = questions_of(scene, "scene", 0, _HANDS, strict=False)
    own = sum("text" in one for one in found)
    return {
        "questions": [one | {"look": [_shown(now, way) for way in one["look"]]} for one in found],
        "left_out": len(scene.questions) - own,
    }


def _shown(now: Scene, way: dict[str, Any]) -> dict[str, Any]:
    """One situation of a question: a step, or what is taken in hand at once and what is moved smoothly."""
    if "step" in way:
        return way
    forces = dict.fromkeys(pressed(with_cane(now, way["hand"])), f"{100.0 * way['force']:g} %BW")
    lean = f"{np.degrees(way['lean']):g} deg"
    return {"cut": cane_changes(now, way["hand"]), "set": {"posture.lean": lean} | forces}
