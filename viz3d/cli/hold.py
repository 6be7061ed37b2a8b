"""``viz3d hold``: can each step be held, and what is the least that helps?"""

from __future__ import annotations

import dataclasses
import json
import math
from typing import TYPE_CHECKING

from viz3d.cli.options import AsJson, Changes, Language, SceneName, spoken
from viz3d.cli.progress import progress
from viz3d.cli.say import say

if TYPE_CHECKING:
    from viz3d.questions.hold import Limit


def hold(
    scene: SceneName,
    changes: Changes = None,
    language: Language = None,
    as_json: AsJson = False,
) -> None:
    """Say for every step whether it can be held, and the least cane force, lean or drop that would help."""
    from viz3d.questions.hold import find_limit
    from viz3d.questions.tell import limit_messages
    from viz3d.questions.vary import case_of
    from viz3d.scene.reader import load_scene
    from viz3d.solution.records import leaves_out
    from viz3d.words.cautions import in_short, moving

    loaded = load_scene(scene, spoken(changes, language))
    limits = []
    with progress("trying remedies", quiet=False) as report:
        for k in range(len(loaded.steps)):
            if report:
                report("step", k, len(loaded.steps))
            limits.append(find_limit(loaded, k, file=scene))
    if as_json:
        rows = []
        for step, limit in zip(loaded.steps, limits, strict=True):
            missing = limit.missing if math.isfinite(limit.missing) else None
            remedies = [dataclasses.asdict(r) for r in limit.remedies]
            row = {"step": step.name, "status": limit.status, "missing": missing, "remedies": remedies}
            rows.append(row | _hardest(limit))
        record = {"scene": loaded.title, "steps": rows, "leaves_out": leaves_out(loaded)}
        print(json.dumps(record, indent=2, allow_nan=False))
        return
    voice = loaded.picture.voice
    for k, (step, limit) in enumerate(zip(loaded.steps, limits, strict=True)):
        first, *more = limit_messages(step.name, limit, case_of(loaded, k, scene).weight)
        say(voice.say(first))
        for told in more:
            say(f"  {voice.say(told)}")
    say(voice.say(in_short(moving([loaded.walk is not None]))))


def _hardest(limit: Limit) -> dict[str, float | None]:
    """The hardest moment of a walk's cycle; nothing for a body that stands."""
    if limit.hardest is None:
        return {}
    effort = limit.hardest.effort
    return {"hardest_percent": 100.0 * limit.hardest.phase, "hardest_effort": effort if math.isfinite(effort) else None}
