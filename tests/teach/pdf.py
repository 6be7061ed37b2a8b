"""A PDF as a reader has it: words, title, language, tags, the words of its pictures."""

from __future__ import annotations

import ctypes
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pypdfium2 as pdfium
from pypdfium2 import raw

_FOOT = 18.0
"""Height of a page's foot, mm."""


@dataclass
class Read:
    """What a PDF says."""

    pages: list[str]
    title: str
    tagged: bool
    language: str
    alts: list[str]
    kinds: list[str]
    size: tuple[float, float]

    @property
    def text(self) -> str:
        """All words, lines joined."""
        return " ".join(" ".join(self.pages).replace("\ufffe", "").split())


def read(path: Path) -> Read:
    """Read a PDF back."""
    document = pdfium.PdfDocument(path)
    pages, alts, kinds = [], [], []
    for page in document:
        pages.append(page.get_textpage().get_text_range())
        tree = raw.FPDF_StructTree_GetForPage(page)
        for k in range(raw.FPDF_StructTree_CountChildren(tree)):
            walk(raw.FPDF_StructTree_GetChildAtIndex(tree, k), alts, kinds)
        raw.FPDF_StructTree_Close(tree)
    found = Read(
        pages, document.get_metadata_value("Title"), bool(raw.FPDFCatalog_IsTagged(document)),
        wide(raw.FPDFCatalog_GetLanguage, document), list(dict.fromkeys(alts)), kinds, document[0].get_size(),
    )  # fmt: skip
    document.close()
    return found


class Inked(NamedTuple):
    """Where a page's ink lies above its foot line, mm from its upper left corner; its size."""

    left: float
    right: float
    bottom: float
    size: tuple[float, float]


def inked(path: Path) -> list[Inked]:
    """The extent of what is printed on each page, foot lines aside."""
    out, document = [], pdfium.PdfDocument(path)
    for page in document:
        mm = 25.4 / 72.0
        width, height = (side * mm for side in page.get_size())
        dark = np.asarray(page.render(scale=1.0).to_numpy()).min(axis=2)[: round((height - _FOOT) / mm)] < 245
        rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
        out.append(Inked(columns.min() * mm, columns.max() * mm, rows.max() * mm, (width, height)))
    document.close()
    return out


def walk(element: Any, alts: list[str], kinds: list[str]) -> None:
    """Kinds of tags and alternative texts below an element."""
    if not element:
        return
    kinds.append(wide(raw.FPDF_StructElement_GetType, element))
    told = wide(raw.FPDF_StructElement_GetAltText, element)
    if told:
        alts.append(told)
    for k in range(max(0, raw.FPDF_StructElement_CountChildren(element))):
        walk(raw.FPDF_StructElement_GetChildAtIndex(element, k), alts, kinds)


def wide(call: Any, thing: Any) -> str:
    """A text that the library hands out as UTF-16."""
    size = int(call(thing, None, 0))
    buffer = (ctypes.c_ushort * (size // 2 + 1))()
    call(thing, buffer, size)
    return bytes(buffer)[:size].decode("utf-16-le").rstrip("\0")
