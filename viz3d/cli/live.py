"""``viz3d live``: the page with sliders, on this machine."""

from __future__ import annotations

from typing import Annotated

import typer

from viz3d.cli.options import Changes, Language, spoken
from viz3d.cli.say import say

Begin = Annotated[str, typer.Argument(metavar="SCENE", help="Scene to begin with.")]
Port = Annotated[
    int | None,
    typer.Option("--port", min=0, max=65535, help="Port on this machine; 0: any free one. Always the same by default."),
]


def live(
    scene: Begin = "level-stance",
    changes: Changes = None,
    language: Language = None,
    port: Port = None,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Do not open a browser.")] = False,
) -> None:
    """Open a page with sliders in the browser: body, posture, cane, strength; everything solved as you move them."""
    import webbrowser

    from viz3d.scene.reader import load_data
    from viz3d.web.serving import serve

    loaded, data = load_data(scene, spoken(changes, language))

    def ready(address: str) -> None:
        say(f"viz3d live: {address}")
        say("It answers on this machine only. Stop it with Ctrl+C.")
        if not no_browser:
            webbrowser.open(address)

    serve(loaded, data, port, ready)
