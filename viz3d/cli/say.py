"""Printing for every terminal: signs it cannot show are spelled out instead of crashing."""

from __future__ import annotations

import io
import sys
from typing import TextIO

PLAIN = {
    "−": "-", "–": "-", "—": "-", "·": " ", "°": " deg", "×": "x", "…": "...", "’": "'", "‘": "'", "“": '"',
    "”": '"', "→": "->", "≤": "<=", "≥": ">=", "±": "+/-", "³": "^3", "²": "^2", "▲": "^", "▼": "v",
}  # fmt: skip


def prepare_streams() -> None:
    """Let standard output and error replace what their encoding lacks."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def encodable(text: str, stream: TextIO) -> str:
    """The text as this stream can show it."""
    coding = stream.encoding or "ascii"
    try:
        text.encode(coding)
        return text
    except UnicodeEncodeError:
        for sign, plain in PLAIN.items():
            try:
                sign.encode(coding)
            except UnicodeEncodeError:
                text = text.replace(sign, plain)
        return text.encode(coding, "replace").decode(coding)


def say(text: str = "") -> None:
    """Print a line to standard output."""
    print(encodable(text, sys.stdout))


def say_error(text: str) -> None:
    """Print an error or a notice, one line, to standard error."""
    print(encodable(f"viz3d: {' '.join(text.split())}", sys.stderr), file=sys.stderr)
