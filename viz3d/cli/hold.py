"""``viz3d hold``: can each step be held, and what is the least that helps?"""

from __future__ import annotations

import dataclasses
import json

from viz3d.cli.options import AsJson, Changes, SceneName
from viz3d.cli.say import say


def hold(
    scene: SceneName,
    changes: Changes = None,
    as_json: AsJson = False,
) -> None:
    """Say for every step whether it can be held, and the least cane force, lean or drop that would help."""
    from viz3d.questions.hold import find_limit, limit_sentences
    from viz3d.scene.reader import load_scene
    from viz3d.solution.records import LEAVES_OUT

    loaded = load_scene(scene, changes or ())
    limits = [find_limit(loaded, k, file=scene) for k in range(len(loaded.steps))]
    if as_json:
        rows = []
        for step, limit in zip(loaded.steps, limits, strict=True):
            missing = limit.missing if limit.remedies else None
            remedies = [dataclasses.asdict(r) for r in limit.remedies]
            rows.append({"step": step.name, "status": limit.status, "missing": missing, "remedies": remedies})
        print(json.dumps({"scene": loaded.title, "steps": rows, "leaves_out": list(LEAVES_OUT)}, indent=2))
        return
    for step, limit in zip(loaded.steps, limits, strict=True):
        for line in limit_sentences(loaded, step.name, limit):
            say(line)
    say(f"{LEAVES_OUT[0]} {LEAVES_OUT[4]}")
