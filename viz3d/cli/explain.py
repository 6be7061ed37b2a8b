"""``viz3d explain``: the balance in words and numbers."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Annotated, Any

import typer

from viz3d.cli.options import AsJson, Changes, Language, SceneName, spoken, step_index
from viz3d.cli.say import say

if TYPE_CHECKING:
    from viz3d.teach.explanation import Explanation
    from viz3d.words.voice import Voice

OneStep = Annotated[int | None, typer.Option("--step", help="Step to explain, from 1 (default: every step).")]
Plain = Annotated[bool, typer.Option("--plain", help="In plain words, for patients.")]


def explain(
    scene: SceneName,
    changes: Changes = None,
    language: Language = None,
    step: OneStep = None,
    plain: Plain = False,
    as_json: AsJson = False,
) -> None:
    """Explain a scene step by step: what pushes, how far, which way it turns, what muscle and joint must do."""
    from viz3d.scene.reader import find_scene, load_scene
    from viz3d.teach.explain import explain as explained

    loaded = load_scene(scene, [*spoken(changes, language), *(["picture.words=plain"] if plain else [])])
    chosen = range(len(loaded.steps)) if step is None else [step_index(loaded, step)]
    found = [explained(loaded, k, str(find_scene(scene))) for k in chosen]
    voice = loaded.picture.voice
    if as_json:
        print(json.dumps([_record(one, voice) for one in found], indent=2, ensure_ascii=False))
        return
    for line in _lines(found, voice):
        say(line)


def _lines(found: list[Explanation], voice: Voice) -> list[str]:
    """Every step's parts, then once what holds for all."""
    from viz3d.words.message import message

    out = [line for one in found for line in one.lines(voice)]
    out.append(voice.say(message("explain.rounded")))
    return [*out, *voice.lines(list(found[0].cautions))]


def _record(one: Explanation, voice: Voice) -> dict[str, Any]:
    """An explanation as fields, everything said."""
    return {
        "scene": one.title,
        "step": one.step,
        "person": voice.say(one.person),
        "parts": [
            {"part": p.key, "heading": voice.say(p.heading), "sentences": voice.lines(list(p.told))} for p in one.parts
        ],
        "numbers": [{"key": f.key, "name": voice.say(f.name), "value": f.said(voice)} for f in one.facts],
        "leaves_out": voice.lines(list(one.cautions)),
    }
