"""``viz3d spread``: between which values do ordinary people lie?"""

from __future__ import annotations

import dataclasses
import json
from typing import Annotated

import typer

from viz3d.cli.options import AsJson, Changes, SceneName, step_index
from viz3d.cli.say import say


def spread(
    scene: SceneName,
    changes: Changes = None,
    step: Annotated[int | None, typer.Option("--step", help="Step, from 1 (default: the last).")] = None,
    people: Annotated[int, typer.Option("--people", help="How many people to draw.")] = 4096,
    seed: Annotated[int, typer.Option("--seed", help="Seed of the random numbers.")] = 1,
    as_json: AsJson = False,
) -> None:
    """Print 5-95 % bands over people of this size, and which measurement drives each."""
    from viz3d.questions.spread import bands
    from viz3d.scene.reader import load_scene
    from viz3d.units import rounded

    loaded = load_scene(scene, changes or ())
    index = step_index(loaded, step, last=True)
    found = bands(loaded, index, people, seed, file=scene)
    if as_json:
        record = {"scene": loaded.title, "step": loaded.steps[index].name, "people": people, "seed": seed}
        print(json.dumps({**record, "bands": [dataclasses.asdict(b) for b in found]}, indent=2, allow_nan=False))
        return
    say(f"{loaded.title}: {loaded.steps[index].name}. {people} people drawn, seed {seed}; middle 90 %")
    for band in found:
        driver = next(iter(band.drivers.items()), None)
        why = (
            f"; most by {driver[0].split('.')[-1].replace('_', ' ')} ({rounded(100 * driver[1], 0)} %)"
            if driver
            else ""
        )
        say(f"{band.words:32} {rounded(band.here, 2):>6}   {rounded(band.low, 2):>6} to {rounded(band.high, 2)}{why}")
    say("Segment masses, posture and muscle insertions are not varied.")
