"""Whether a person's own font file is whole.

Question answered: can every writer use this font, or is one of its tables damaged?

A damaged table shows only where a writer reads it, often after a picture is nearly done. So a font is read once as the
writers read it: opened, cut down to a few letters, written out again.
"""

from __future__ import annotations

import io
from functools import lru_cache
from pathlib import Path

from PIL import ImageFont

from viz3d.echo import plain
from viz3d.given import silenced

_NEEDED = ("cmap", "head", "hhea", "hmtx", "maxp", "name", "OS/2", "post")
_LETTERS = "".join(map(chr, range(0x20, 0x7F)))


def font_name(path: Path) -> str:
    """The name of a sound font; "" for a file that is none, or whose tables are damaged."""
    return _read(path, path.stat().st_mtime_ns)


@lru_cache(maxsize=32)
def _read(path: Path, stamp: int) -> str:
    """Read once for every state of the file."""
    del stamp
    try:
        with silenced("fontTools"):
            name, _ = ImageFont.truetype(str(path), 20).getname()
            width = ImageFont.truetype(str(path), 100).getlength(_LETTERS)
            _written_again(path)
    except Exception:  # the readers raise whatever a damaged table makes them raise
        return ""
    return plain(name or path.stem) if 0.0 < width < 100_000 else ""


def _written_again(path: Path) -> None:
    """Cut the font down to a few letters and write it, as the writers do."""
    from fontTools import subset
    from fontTools.ttLib import TTFont

    with TTFont(str(path), fontNumber=0) as font:
        for tag in _NEEDED:
            font[tag]
        if not font.getBestCmap():
            raise ValueError("no letters")
        options = subset.Options(notdef_outline=True, recommended_glyphs=True, layout_features=["*"], hinting=True)
        cut = subset.Subsetter(options)
        cut.populate(text=_LETTERS)
        cut.subset(font)
        font.save(io.BytesIO())
