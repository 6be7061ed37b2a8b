"""``viz3d spread``: between which values do ordinary people lie?"""

from __future__ import annotations

import dataclasses
import json
from typing import Annotated

import typer

from viz3d.cli.options import AsJson, Changes, Language, SceneName, spoken, step_index
from viz3d.cli.progress import progress
from viz3d.cli.say import say


def spread(
    scene: SceneName,
    changes: Changes = None,
    language: Language = None,
    step: Annotated[int | None, typer.Option("--step", help="Step, from 1 (default: the last).")] = None,
    people: Annotated[int, typer.Option("--people", help="How many people to draw.")] = 4096,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Seed of the random numbers.")] = 1,
    as_json: AsJson = False,
) -> None:
    """Print 5-95 % bands over people of this size, and which measurement drives each."""
    from viz3d.questions.axes import axis_of
    from viz3d.questions.spread import bands
    from viz3d.questions.vary import case_of
    from viz3d.scene.reader import load_scene
    from viz3d.words.message import fraction, message, number
    from viz3d.words.voice import Units

    loaded = load_scene(scene, spoken(changes, language))
    index = step_index(loaded, step, last=True)
    with progress("solving people", quiet=False) as report:
        found = bands(loaded, index, people, seed, file=scene, progress=report)
    voice = loaded.picture.voice
    if as_json:  # the fields' names carry their units
        voice = dataclasses.replace(voice, units=Units())
    weight = case_of(loaded, index, scene).weight
    axes = {b.name: axis_of(b.name, voice, weight) for b in found}
    told = {name: voice.say(axis.label) for name, axis in axes.items()}
    if as_json:
        record = {"scene": loaded.title, "step": loaded.steps[index].name, "people": people, "seed": seed}
        print(
            json.dumps(
                {**record, "bands": [{**dataclasses.asdict(b), "words": told[b.name]} for b in found]},
                indent=2,
                allow_nan=False,
            )
        )
        return
    step_name = loaded.steps[index].name
    say(voice.say(message("spread.title", title=loaded.title, step=step_name, count=people, seed=str(seed))))
    wide = max(32, *map(len, told.values()))
    for band in found:
        driver = next(iter(band.drivers.items()), None)
        why = ""
        if driver:
            name = message(f"measure.{driver[0].rsplit('.', maxsplit=1)[-1]}")
            why = voice.say(message("spread.driver", name=name, share=fraction(driver[1])))
        here, low, high = (voice.number(number(v * axes[band.name].factor)) for v in (band.here, band.low, band.high))
        between = voice.say(message("spread.between", low=f"{low:>6}", high=high))
        say(f"{told[band.name]:{wide}} {here:>6}   {between}{why}")
    say(voice.say(message("spread.fixed")))
