"""Printing for every terminal: signs that it cannot show, or that would steer it, are spelled out."""

from __future__ import annotations

import contextlib
import errno
import io
import os
import shlex
import subprocess
import sys
from typing import TextIO

from viz3d.echo import harmless

PLAIN = {
    "−": "-", "–": "-", "—": "-", "·": " ", "°": " deg", "×": "x", "…": "...", "’": "'", "‘": "'", "“": '"',
    "”": '"', "→": "->", "≤": "<=", "≥": ">=", "±": "+/-", "³": "^3", "²": "^2", "▲": "^", "▼": "v",
}  # fmt: skip


class _Closed(io.StringIO):
    """Stands for a standard stream that was closed before we began: what is printed there is an error."""

    encoding = "utf-8"

    def write(self, text: str) -> int:
        raise OSError(errno.EBADF, "standard output is closed")


def prepare_streams() -> None:
    """Let standard output and error replace what their encoding lacks; what was closed stays taken, but is not ours."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
        elif stream is None:
            os.open(os.devnull, os.O_WRONLY)  # no file that we open later may get its number
            setattr(sys, name, _Closed() if name == "stdout" else io.StringIO())


def let_go_of_output() -> None:
    """Give up what standard output still holds, so that nothing complains of it at the end."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def encodable(text: str, stream: TextIO) -> str:
    """The text as this stream can show it, without signs that steer a terminal."""
    text, coding = harmless(text), stream.encoding or "ascii"
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


def as_typed(name: str) -> str:
    """A name as it is typed on a command line: in quotes where it holds spaces or what a shell reads as more."""
    return subprocess.list2cmdline([name]) if os.name == "nt" else shlex.quote(name)


def say(text: str = "") -> None:
    """Print a line to standard output."""
    print(encodable(text, sys.stdout))


def say_error(text: str) -> None:
    """Print an error or a notice, one line, to standard error."""
    print(encodable(f"viz3d: {' '.join(text.split())}", sys.stderr), file=sys.stderr)
