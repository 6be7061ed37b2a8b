"""``viz3d match``: which two interventions do the same to the joint?"""

from __future__ import annotations

import json
from typing import Annotated

import typer

from viz3d.cli.options import (
    AsJson,
    By,
    Changes,
    Language,
    SceneName,
    StartStep,
    spoken,
    step_index,
    typed_force,
    typed_value,
)
from viz3d.cli.say import say


def match(
    scene: SceneName,
    this: Annotated[str, typer.Option("--this", metavar="INPUT=VALUE", help='Like lean="10 deg" or cane="10 %BW".')],
    by: By = "cane",
    changes: Changes = None,
    language: Language = None,
    step: StartStep = None,
    as_json: AsJson = False,
) -> None:
    """Find how much of one thing does the same to the joint as a given amount of another."""
    from viz3d.echo import shown
    from viz3d.errors import InputError
    from viz3d.questions.hold import find_match
    from viz3d.questions.tell import match_messages
    from viz3d.questions.vary import case_of, named_input
    from viz3d.scene.reader import load_scene
    from viz3d.words.cautions import in_short

    loaded = load_scene(scene, spoken(changes, language))
    index = step_index(loaded, step)
    word, equals, text = this.partition("=")
    word = word.strip().lower()
    if not equals:
        raise InputError(f'--this: found {shown(this)}; write INPUT=VALUE, like lean="10 deg"')
    case, what = named_input(case_of(loaded, index), word)
    weight = case.weight
    quantity = text.strip().strip("\"'")
    if what.dimension == "force":
        value = typed_force("--this", quantity).newtons(weight)
    else:
        value = typed_value("--this", quantity, what.dimension)
    found = find_match(loaded, index, word, value, by, scene)
    if as_json:
        unit = {"force": "N", "angle": "rad", "length": "m", "mass": "kg"}[found.input.dimension]
        record = {"scene": loaded.title, "this": this, "joint_force_bw": found.joint_bw, "start_bw": found.start_bw,
                  "by": found.input.key, "unit": unit, "values": found.values}  # fmt: skip
        print(json.dumps(record, indent=2, allow_nan=False))
        return
    for told in (*match_messages(value, found, weight), in_short()):
        say(loaded.picture.voice.say(told))
