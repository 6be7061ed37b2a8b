"""The pieces of our pages: style, font, scripts.

Question answered: which text goes into a page, in which order?
"""

from __future__ import annotations

import base64
import io
from functools import lru_cache
from pathlib import Path

from viz3d.stage.type import INTER
from viz3d.web.three import three_script

_OURS = (
    "rows", "voice", "situation", "elements", "kept", "room", "labels", "polygon", "chart", "orbit", "forces", "turns",
    "pressure", "isobars", "floor", "worn", "body", "figure", "result", "scales", "notes", "theme", "paper", "page",
)  # fmt: skip
_OF_MODE = {
    "offline": ("timeline", "controls", "why", "veil", "questions", "offline"),
    "live": (
        "server",
        "inputs",
        "steps",
        "cycle",
        "charted",
        "drafts",
        "claims",
        "edit",
        "desk",
        "files",
        "why",
        "veil",
        "questions",
        "asked",
        "waits",
        "live",
    ),
}
"""Our scripts by name, in the order in which they are read."""
_LETTERS = "".join(map(chr, [*range(0x20, 0x7F), *range(0xA0, 0x180)])) + "–—‘’“”…−·°▲▼×²³₀₁₂→≤≥\u00a0"
_WEIGHTS = {"Regular": 400, "SemiBold": 600, "Bold": 700}


def static(name: str) -> str:
    """One of our own files."""
    return (Path(__file__).parent / "static" / name).read_text(encoding="utf-8")


def scripts(mode: str) -> list[str]:
    """Every script of a page, the drawing library first."""
    return [three_script(), *(static(f"{name}.js") for name in (*_OURS, *_OF_MODE[mode]))]


def page_style() -> str:
    """The font and the style sheets of our pages: wide, narrow, on paper."""
    return font_style() + "".join(static(f"{name}.css") for name in ("page", "edit", "narrow", "print"))


@lru_cache(maxsize=1)
def font_style() -> str:
    """The pictures' font, cut down to the letters of western and central European languages, as style rules."""
    from fontTools import subset
    from fontTools.ttLib import TTFont

    rules = []
    for weight, number in _WEIGHTS.items():
        options = subset.Options(flavor="woff", layout_features=["kern", "tnum"], hinting=False, notdef_outline=True)
        with TTFont(INTER.file(weight), recalcTimestamp=False) as font:
            cut = subset.Subsetter(options)
            cut.populate(text=_LETTERS)
            cut.subset(font)
            font.flavor = "woff"
            out = io.BytesIO()
            font.save(out)
        data = base64.b64encode(out.getvalue()).decode()
        rules.append(
            f"@font-face{{font-family:Inter;font-weight:{number};font-display:swap;"
            f"src:url(data:font/woff;base64,{data}) format('woff')}}\n"
        )
    return "".join(rules)
