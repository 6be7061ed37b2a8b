"""Type: the one shipped font and how wide its words are.

Question answered: how much room does this text take at this size?

Metrics come from the same font file that the writers use, so a label measured here fits where it is drawn.
Pillow reads the font; nothing is drawn in this room.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from PIL import ImageFont

WEIGHTS = ("Regular", "Medium", "SemiBold", "Bold")
FONT_NAME = "Inter"


def font_file(weight: str) -> Path:
    """The shipped font file of a weight."""
    return Path(__file__).with_name("fonts") / f"Inter-{weight}.otf"


@lru_cache(maxsize=256)
def font(weight: str, size: int) -> ImageFont.FreeTypeFont:
    """The font at a whole pixel size."""
    return ImageFont.truetype(str(font_file(weight)), size, layout_engine=ImageFont.Layout.BASIC)


@lru_cache(maxsize=4096)
def text_width(text: str, size: float, weight: str = "Regular") -> float:
    """Advance width in pixels."""
    return float(font(weight, 100).getlength(text)) * size / 100.0


def wrap(text: str, width: float, size: float, weight: str = "Regular") -> list[str]:
    """Break text into lines no wider than ``width``."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size, weight) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines
