"""``viz3d scenes``: the library, with what each scene is for."""

from __future__ import annotations

from viz3d.cli.options import Language, spoken
from viz3d.cli.say import say


def scenes(language: Language = None) -> None:
    """List the scenes that come with viz3d."""
    import textwrap

    from viz3d.scene.reader import every_scene, load_scene

    for name, path in every_scene().items():
        loaded = load_scene(str(path), spoken(None, language))
        say(f"{name}")
        say(textwrap.fill(loaded.aim or loaded.title, 96, initial_indent="    ", subsequent_indent="    "))
