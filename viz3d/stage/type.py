"""Type: the font a picture uses and how wide its words are.

Question answered: how much room does this text take at this size, and can the font write it?

Metrics come from the same font file that the writers use, so a label measured here fits where it is drawn. Text in
scripts that join or run right to left is shaped before it is measured. Pillow reads the font; nothing is drawn here.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from PIL import ImageFont, features

from viz3d.echo import shown
from viz3d.errors import InputError
from viz3d.stage.font_check import font_name

WEIGHTS = ("Regular", "Medium", "SemiBold", "Bold")
SUFFIXES = (".otf", ".ttf")
LARGEST = 40_000_000
"""Largest font file read, bytes."""


@dataclass(frozen=True)
class Face:
    """A font: its name, and one file for each of ``WEIGHTS``."""

    name: str
    files: tuple[Path, ...]

    def file(self, weight: str) -> Path:
        """The file of a weight."""
        return self.files[WEIGHTS.index(weight)]


INTER = Face("Inter", tuple(Path(__file__).with_name("fonts") / f"Inter-{w}.otf" for w in WEIGHTS))
"""The shipped font."""


def face_of(path: Path) -> Face:
    """A person's own font file, used for every weight.

    Raises
    ------
    InputError : it is not a font, or too large.
    """
    allowed = "picture.font: found {}; allowed: a font file (.otf or .ttf) of at most 40 MB"
    if path.suffix.lower() not in SUFFIXES or path.stat().st_size > LARGEST:
        raise InputError(allowed.format(shown(path.name)))
    name = font_name(path)
    if not name:
        raise InputError(allowed.format(f"{shown(path.name)}, which is damaged or is none"))
    return Face(name, (path,) * len(WEIGHTS))


@lru_cache(maxsize=512)
def font(face: Face, weight: str, size: int, shaped: bool = False) -> ImageFont.FreeTypeFont:
    """The font at a whole pixel size."""
    engine = ImageFont.Layout.RAQM if shaped else ImageFont.Layout.BASIC
    return ImageFont.truetype(str(face.file(weight)), size, layout_engine=engine)


@lru_cache(maxsize=4096)
def needs_shaping(text: str) -> bool:
    """True for text whose letters join, stack or run from right to left."""
    return any(unicodedata.bidirectional(c) in ("R", "AL", "AN") or unicodedata.category(c) == "Mn" for c in text)


@lru_cache(maxsize=8192)
def text_width(text: str, size: float, weight: str = "Regular", face: Face = INTER) -> float:
    """Advance width in pixels."""
    return float(font(face, weight, 100, needs_shaping(text)).getlength(text)) * size / 100.0


def wrap(text: str, width: float, size: float, weight: str = "Regular", face: Face = INTER) -> list[str]:
    """Break text into lines no wider than ``width``: between words, or anywhere in scripts without spaces."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size, weight, face) <= width:
            lines[-1] = longer
        else:
            lines += _broken(word, width, size, weight, face)
    return lines


def _broken(word: str, width: float, size: float, weight: str, face: Face) -> list[str]:
    """A word that is too wide by itself, cut where it must be."""
    pieces, rest = [], word
    while text_width(rest, size, weight, face) > width and len(rest) > 1:
        fits = max(
            1, next(n for n in range(len(rest), 0, -1) if n == 1 or text_width(rest[:n], size, weight, face) <= width)
        )
        pieces.append(rest[:fits])
        rest = rest[fits:]
    return [*pieces, rest]


def shortened(lines: list[str], room: float, size: float, weight: str, face: Face) -> str:
    """The first of several lines, with an ellipsis where words are missing."""
    if len(lines) < 2:
        return lines[0] if lines else ""
    first = lines[0]
    while first and text_width(f"{first} …", size, weight, face) > room:
        first = first[:-1]
    return f"{first.rstrip()} …"


@lru_cache(maxsize=8)
def _letters(path: Path) -> frozenset[int]:
    from fontTools.ttLib import TTFont

    with TTFont(str(path), lazy=True, fontNumber=0) as opened:
        return frozenset(opened.getBestCmap() or {})


def check_letters(face: Face, texts: dict[str, str]) -> None:
    """Refuse words that a font cannot write.

    Parameters
    ----------
    texts : where in the scene -> words.

    Raises
    ------
    InputError : names the place, the letter and the way out.
    """
    for where, text in texts.items():
        if face == INTER and text.isascii():
            continue  # the shipped font has them all: no need to read it
        have = _letters(face.file("Regular"))
        for letter in text:
            if letter.isspace() or unicodedata.category(letter) == "Cf" or ord(letter) in have:
                continue
            raise InputError(
                f"{where}: the font {face.name} has no {shown(letter)}; name a font file that has it, beside the scene:"
                " picture.font"
            )
        if needs_shaping(text) and not features.check("raqm"):
            raise InputError(f"{where}: this Pillow cannot shape right-to-left text; install Pillow with Raqm")
