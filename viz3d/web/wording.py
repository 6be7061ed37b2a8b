"""The words of our pages, in both registers, so that a page can switch between them.

Question answered: what does a page say, and what stands in its markup before any script runs?

Elements name a key of the catalogue in ``data-say`` (their text) or ``data-label`` (for screen readers); the scripts
say the same keys. Called by the page writers.
"""

from __future__ import annotations

import html
import re

from viz3d.words.catalogue import REGISTERS
from viz3d.words.voice import Voice

FIRST = "plain"
"""The register that a page opens in."""
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


def worded(markup: str, language: str) -> str:
    """Markup with the words of every key that it names, in the register that a page opens in."""
    words = page_words(language)[FIRST]
    said = _SAID.sub(lambda found: found[1] + html.escape(words[found[2]]), markup)
    return _LABELLED.sub(lambda found: f'{found[0]} aria-label="{html.escape(words[found[1]])}"', said)
