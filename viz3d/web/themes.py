"""Light and dark pages: the pictures' colours of both backdrops, as a page's style and as what its scripts draw with.

Question answered: which colours does a scene's page have on either backdrop, and which comes first?
"""

from __future__ import annotations

from typing import Any

from viz3d.scene.schema import Scene
from viz3d.stage.theme import theme_of, usual_theme

BACKDROPS = ("light", "dark")
DEVICE = "device"
"""The backdrop that the person's device asks for."""
_NAMES = {
    "paper": "paper_top", "paper-2": "paper_bottom", "card": "card", "line": "card_line", "ink": "ink", "soft": "soft",
    "joint": "joint", "weight": "weight", "focus": "hand",
}  # fmt: skip
"""Names of colours in the style sheets, and what the palette calls them."""


def themes_of(scene: Scene) -> dict[str, Any]:
    """Colours by backdrop, the scene's own palette on its own backdrop; ``first``: that of the scene, or the device's.

    Raises
    ------
    InputError : the scene's palette or font cannot be used.
    """
    own = theme_of(scene)
    colours = {name: usual_theme(name).colours for name in BACKDROPS} | {
        name: own.colours for name in BACKDROPS if name == own.backdrop
    }
    chosen = "backdrop" in scene.picture.model_fields_set and own.backdrop in BACKDROPS
    return {"first": own.backdrop if chosen else DEVICE} | colours


def theme_style(themes: dict[str, Any]) -> str:
    """Both backdrops' colours as style rules; before any script runs, those that the device asks for."""
    light, dark = (_rule(name, themes[name]) for name in BACKDROPS)
    return (
        f":root{{{light}}}\n:root[data-theme=dark]{{{dark}}}\n"
        f"@media (prefers-color-scheme:dark){{:root:not([data-theme]){{{dark}}}}}\n"
    )


def _rule(backdrop: str, colours: dict[str, str]) -> str:
    named = "".join(f"--{name}:{colours[of]};" for name, of in _NAMES.items())
    return f"color-scheme:{backdrop};{named}"
