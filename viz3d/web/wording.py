"""The words of our pages, in both registers, so that a page can switch between them.

Question answered: what does a page say, and what stands in its markup before any script runs?

Elements name a key of the catalogue in ``data-say`` (their text) or ``data-label`` (for screen readers); the scripts
say the same keys. Called by the page writers.
"""

from __future__ import annotations

import html
import re
import tomllib
from functools import lru_cache
from importlib import resources
from typing import Any

REGISTERS = ("plain", "trade")
LANGUAGE = "en"
_SAID = re.compile(r'(data-say="([\w.]+)"[^>]*>)')
_LABELLED = re.compile(r'data-label="([\w.]+)"')


@lru_cache(maxsize=1)
def page_words() -> dict[str, dict[str, str]]:
    """Register -> key -> text."""
    tree = tomllib.loads(resources.files("viz3d.web").joinpath("words.toml").read_text(encoding="utf-8"))
    out: dict[str, dict[str, str]] = {name: {} for name in REGISTERS}
    _collect(tree, "", out)
    return out


def _collect(node: dict[str, Any], prefix: str, out: dict[str, dict[str, str]]) -> None:
    for key, child in node.items():
        if {"both", *REGISTERS} & set(child):
            for name in REGISTERS:
                out[name][prefix + key] = child.get("both") or child[name]
        else:
            _collect(child, f"{prefix}{key}.", out)


def worded(markup: str) -> str:
    """Markup with the plain words of every key that it names."""
    words = page_words()["plain"]
    said = _SAID.sub(lambda found: found[1] + html.escape(words[found[2]]), markup)
    return _LABELLED.sub(lambda found: f'{found[0]} aria-label="{html.escape(words[found[1]])}"', said)
