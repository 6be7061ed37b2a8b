"""``viz3d target``: how much of one thing gives a wanted joint force?"""

from __future__ import annotations

import json
from typing import Annotated

import typer

from viz3d.cli.options import AsJson, By, Changes, Language, SceneName, StartStep, spoken, step_index, typed_force
from viz3d.cli.say import say


def target(
    scene: SceneName,
    joint: Annotated[str, typer.Option("--joint", metavar="FORCE", help='Joint force wanted, like "1.5 BW".')],
    by: By = "cane",
    changes: Changes = None,
    language: Language = None,
    step: StartStep = None,
    as_json: AsJson = False,
) -> None:
    """Find the cane force, lean, bag, body mass or lever arm that gives a wanted joint force."""
    from viz3d.questions.target import find_target
    from viz3d.questions.tell import target_messages
    from viz3d.questions.vary import case_of
    from viz3d.scene.reader import load_scene
    from viz3d.solution.records import leaves_out
    from viz3d.words.cautions import in_short

    loaded = load_scene(scene, spoken(changes, language))
    index = step_index(loaded, step)
    weight = case_of(loaded, index).weight
    wanted = typed_force("--joint", joint).newtons(weight) / weight
    answer = find_target(loaded, index, by, wanted, scene)
    voice = loaded.picture.voice
    lines = [voice.say(told) for told in target_messages(answer, weight)]
    if not as_json:
        for line in lines:
            say(line)
        say(voice.say(in_short()))
        return
    record = {
        "scene": loaded.title,
        "input": answer.input.key,
        "unit": {"force": "N", "angle": "rad", "length": "m", "mass": "kg"}[answer.input.dimension],
        "wanted_bw": answer.wanted_bw,
        "start_bw": answer.start_bw,
        "roots": answer.roots,
        "held": answer.held,
        "best": {"value": answer.best_value, "joint_force_bw": answer.best_bw},
        "sentences": lines,
        "leaves_out": leaves_out(loaded),
    }
    print(json.dumps(record, indent=2, allow_nan=False))
