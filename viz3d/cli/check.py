"""``viz3d check``: is this file a scene, and can it be held?"""

from __future__ import annotations

import math

from viz3d.cli.options import Changes, Language, SceneNames, spoken
from viz3d.cli.say import say


def check(scene: SceneNames, changes: Changes = None, language: Language = None) -> None:
    """Check scene files without drawing anything."""
    from pathlib import Path

    from viz3d.scene.pace import paced
    from viz3d.scene.reader import find_scene, load_scene
    from viz3d.scene.reading import READABLE
    from viz3d.scene.timeline import duration
    from viz3d.solution.claims import verdicts
    from viz3d.solution.decisions import decisions
    from viz3d.solution.script import Script
    from viz3d.solution.solved import HELD
    from viz3d.stage.sheets import check_words
    from viz3d.stage.theme import theme_of

    for name in scene:
        loaded = paced(load_scene(name, spoken(changes, language)))
        check_words(loaded, theme_of(loaded))
        script = Script(loaded, str(find_scene(name)))
        lost = sum(int((x.solved.status != HELD).sum()) for x in script.shots())
        note = "" if lost == 0 else f"; {lost} of them could not be held"
        say(f"{Path(name).name}: good; {len(loaded.steps)} steps, {duration(loaded):g} s{note}")
        for step in loaded.steps:
            words, time = len(step.caption.split()), step.hold
            if words > READABLE * time + 1e-9:
                say(f"  note: step '{step.name}': {words} words in {time:g} s; {READABLE:g} words a second can be read")
        found_so = verdicts(script)
        if found_so:
            say(f"  {sum(one.holds for one in found_so)} of {len(found_so)} claims of its captions hold")
        for one in found_so:
            if not one.holds:
                found = "has no answer" if math.isnan(one.found) else f"found {one.found:.3g} {one.unit}"
                found = found if one.claim.step is None else found.replace("%", "% of change")
                say(f"  note: step '{loaded.steps[one.step].name}': '{one.claim.text}' does not hold: {found}")
        for key in _stale(name, language):
            say(f"  note: {key} was changed since it was translated into {language}")
        decided = decisions(script)
        if decided:
            say(f"  {sum(one.right is not None for one in decided)} of {len(decided)} questions have one right answer")
        for k, asked in enumerate(decided):
            if asked.right is None:
                say(f"  note: question {k + 1}: {asked.held} of its claims hold: {asked.found}; exactly one must")


def _stale(name: str, language: str | None) -> list[str]:
    """Keys of a scene whose translation is older than they are."""
    from viz3d.scene.reader import find_scene
    from viz3d.scene.settled import own_record

    if language is None:
        return []
    path = find_scene(name)
    return [key.removeprefix(f"{path.stem}.") for key in own_record(path, language).stale()]
