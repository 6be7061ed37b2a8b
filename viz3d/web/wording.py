"""The words of our pages, in both registers, so that a page can switch between them.

Question answered: what does a page say, and what stands in its markup before any script runs?

Elements name a key of the catalogue in ``data-say`` (their text) or ``data-label`` (for screen readers); the scripts
say the same keys. Called by the page writers.
"""

from __future__ import annotations

import html
import re
from typing import Any

from viz3d.scene.schema import Scene
from viz3d.words.catalogue import REGISTERS
from viz3d.words.voice import Voice

_SECTIONS = ("page.", "caution.full.")
"""Beginnings of the keys that pages say."""
_SAID = re.compile(r'(data-say="([\w.]+)"[^>]*>)')
_LABELLED = re.compile(r'data-label="([\w.]+)"')


def page_words(language: str) -> dict[str, dict[str, str]]:
    """Register -> key -> text, placeholders left in.

    Raises
    ------
    TableError : no such language.
    """
    return {name: _words(Voice(language, name)) for name in REGISTERS}


def _words(voice: Voice) -> dict[str, str]:
    return {f"{start}{key}": text for start in _SECTIONS for key, text in voice.section(start).items()}


def first_register(scene: Scene) -> str:
    """The register that a scene's page opens in: the scene's where it gives one, else plain words."""
    return scene.picture.words if "words" in scene.picture.model_fields_set else "plain"


def speech_of(scene: Scene) -> dict[str, Any]:
    """What a page's voice needs: language, register, words and the decimal sign."""
    language = scene.picture.language
    return {
        "language": language, "register": first_register(scene), "words": page_words(language),
        "point": Voice(language).decimal_sign,
    }  # fmt: skip


def worded(markup: str, scene: Scene) -> str:
    """Markup with the words of every key that it names, as a scene's page opens."""
    words = page_words(scene.picture.language)[first_register(scene)]
    said = _SAID.sub(lambda found: found[1] + html.escape(words[found[2]]), markup)
    return _LABELLED.sub(lambda found: f'{found[0]} aria-label="{html.escape(words[found[1]])}"', said)
