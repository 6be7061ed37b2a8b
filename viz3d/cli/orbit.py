"""``viz3d orbit``: a window to turn a scene in."""

from __future__ import annotations

from viz3d.cli.options import Changes, Language, Quiet, SceneName, spoken
from viz3d.cli.progress import progress
from viz3d.cli.say import say
from viz3d.cli.still import Strict


def orbit(
    scene: SceneName,
    changes: Changes = None,
    language: Language = None,
    strict: Strict = False,
    quiet: Quiet = False,
) -> None:
    """Open a window to turn a scene in, with its timeline, layers and numbers."""
    from viz3d.output.orbit import make_orbit, need_a_display
    from viz3d.output.orbit_hand import Hand3D
    from viz3d.scene.reader import find_scene, load_scene

    loaded = load_scene(scene, spoken(changes, language))
    need_a_display()
    with progress("preparing bones", quiet) as report:
        made = make_orbit(loaded, str(find_scene(scene)), strict, report)
    for path in Hand3D(made).run():
        if not quiet:
            say(f"wrote {path}")
