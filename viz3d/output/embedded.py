"""Fonts inside a picture: the letters that it writes, and no others, so that it looks the same on every computer.

Question answered: which piece of the font does a picture need in it, as a style sheet?

One ``@font-face`` a weight, WOFF 1.0 in a data address. Without kerning, as the pictures of pixels are; scripts whose
letters join keep all their features. The same words give the same bytes.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Iterable

from fontTools import subset
from fontTools.ttLib import TTFont

from viz3d.stage.drawing import Words
from viz3d.stage.type import WEIGHTS, Face, needs_shaping

NUMBERS = {"Regular": 400, "Medium": 500, "SemiBold": 600, "Bold": 700}
"""Weight -> its number in style sheets."""


def font_style(words: Iterable[Words], face: Face) -> str:
    """A style sheet with the letters of some words."""
    letters: dict[str, set[str]] = {}
    shaped = False
    for one in words:
        letters.setdefault(one.weight, set()).update(one.text)
        shaped = shaped or needs_shaping(one.text)
    return "".join(_rule(face, weight, letters[weight], shaped) for weight in WEIGHTS if letters.get(weight))


def _rule(face: Face, weight: str, letters: set[str], shaped: bool) -> str:
    options = subset.Options()
    options.flavor, options.recalc_timestamp, options.notdef_outline = "woff", False, True
    options.layout_features = ["*"] if shaped else []
    options.name_IDs, options.hinting = [1, 2], False
    found = TTFont(face.file(weight), recalcTimestamp=False)
    cutter = subset.Subsetter(options)
    cutter.populate(text="".join(sorted(letters)))
    cutter.subset(found)
    found.flavor = "woff"
    packed = io.BytesIO()
    found.save(packed, reorderTables=True)
    data = base64.b64encode(packed.getvalue()).decode("ascii")
    name = face.name.replace("'", "").replace("\\", "")
    return (
        f"@font-face{{font-family:'{name}';font-weight:{NUMBERS[weight]};"
        f"src:url(data:font/woff;base64,{data}) format('woff')}}"
    )
