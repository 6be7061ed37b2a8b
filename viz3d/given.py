"""What people hand in: files looked up safely, and text scanned before any parser sees it.

Question answered: may this be read at all, and may it be parsed?

Parsers need memory and time far beyond the text's own size for keys of thousands of parts, brackets in brackets and
numbers of thousands of digits. One pass over the signs refuses those first, the same for scenes, orders, palettes, bone
records and the live page's messages.
"""

from __future__ import annotations

import contextlib
import json
import logging
import re
import stat
import tomllib
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from viz3d.echo import odd_sign, plain, shown
from viz3d.errors import Unreadable

MOST_PARTS = 12
"""Parts of a dotted key; ours have at most four."""
MOST_NESTED = 24
"""Brackets within brackets; ours have at most three."""
MOST_SIGNS = 100
"""Signs of a number or word outside quotes: whatever fits is a finite number in SI."""
_TOML_TEXT = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*+"{3,5}' r"|'''(?:[^']|'(?!''))*+'{3,5}" r'|"(?:[^"\\\n]|\\.)*+"' r"|'[^'\n]*+'",
    re.DOTALL,
)
_JSON_TEXT = re.compile(r'"(?:[^"\\]|\\.)*+"', re.DOTALL)
_BETWEEN = re.compile(r"#[^\n]*+|[^\"'#\[\]{}.=,\n]++|[\[\]{}.=,\n]")


@contextlib.contextmanager
def silenced(library: str) -> Iterator[None]:
    """Keep a library from logging what it thinks of a damaged file: we say it, or refuse the file."""
    logger, quiet = logging.getLogger(library), logging.NullHandler()
    before = logger.propagate
    logger.addHandler(quiet)
    logger.propagate = False
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        logger.propagate = before
        logger.removeHandler(quiet)


def inside(folder: Path, name: str) -> Path | None:
    """What a name means inside a folder; None where it leads elsewhere, or no disk can hold such a name."""
    try:
        path = (folder / name).resolve()
        return path if path.is_relative_to(folder.resolve()) else None
    except (OSError, ValueError, RuntimeError):  # too long, unwritable, or links in a ring
        return None


def is_file(path: Path) -> bool:
    """True for a file that can be looked up; names that no disk can hold are none."""
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def file_bytes(path: Path, most: int) -> bytes:
    """A small file's bytes.

    Raises
    ------
    Unreadable : larger than ``most`` bytes, no plain file, or it cannot be read.
    """
    allowed = f"allowed: a file of at most {most / 1e3:,.0f} kB".replace(",", " ")
    try:
        about = path.stat()
        if stat.S_ISREG(about.st_mode):
            with path.open("rb") as file:
                raw = file.read(most + 1)
            if len(raw) <= most:
                return raw
            large = max(about.st_size, len(raw))
            raise Unreadable(f"is {large / 1e6:.1f} MB" if large > 1e6 else f"is {large / 1e3:.0f} kB", allowed)
    except OSError as error:
        raise Unreadable(f"cannot be read: {error.strerror}") from error
    raise Unreadable("is a folder" if stat.S_ISDIR(about.st_mode) else "is no plain file", allowed)


def toml_tables(raw: bytes) -> dict[str, Any]:
    """The tables of a TOML text; a byte-order mark is allowed.

    Raises
    ------
    Unreadable : not UTF-8, not TOML, or built to exhaust its reader.
    """
    text = _decoded(raw)
    _scan(text, _TOML_TEXT, "\"'")
    try:
        tables = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise Unreadable(*_not_toml(text, str(error))) from error
    _refuse_odd(tables)
    return tables


def json_value(raw: bytes) -> Any:
    """The value of a JSON text; a byte-order mark is allowed, NaN and infinities are not.

    Raises
    ------
    Unreadable : not UTF-8, not JSON, or built to exhaust its reader.
    """
    text = _decoded(raw)
    _scan(text, _JSON_TEXT, '"')
    try:
        value = json.loads(text, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        raise Unreadable("is not JSON") from error
    _refuse_odd(value)
    return value


def _refuse_constant(name: str) -> None:
    raise Unreadable(f"holds {name}", "allowed: numbers that are finite")


def _refuse_odd(value: object) -> None:
    odd = odd_sign(value)
    if odd is not None:
        raise Unreadable(f"holds {shown(odd)}", "control characters cannot be used")


def _decoded(raw: bytes) -> str:
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Unreadable("is not a text file in UTF-8") from error


def _scan(text: str, quoted: re.Pattern[str], quotes: str) -> None:
    """Refuse what a parser would need far more than the text's own size for.

    Where a text in quotes does not end, the scan does: a parser stops there too.
    """
    at, nested, dots, word = 0, 0, 0, 0
    while at < len(text):
        sign = text[at]
        match = (quoted if sign in quotes else _BETWEEN).match(text, at)
        if match is None:
            if sign in quotes:
                return
            at += 1
            continue
        at, word = match.end(), 0
        if sign in "[{":
            nested += 1
        elif sign in "]}":
            nested -= 1
        elif sign == ".":
            dots += 1
        elif sign not in "\"'#=,\n":
            word = max(map(len, match[0].split()), default=0)
        if sign in "[]{}=,\n":
            dots = 0
        if nested > MOST_NESTED or dots >= MOST_PARTS or word > MOST_SIGNS:
            raise Unreadable(*_too_much(text, match.start(), nested, dots))


def _too_much(text: str, at: int, nested: int, dots: int) -> tuple[str, str]:
    line = text.count("\n", 0, at) + 1
    if nested > MOST_NESTED:
        return f"line {line} holds more than {MOST_NESTED} brackets in brackets", ""
    if dots >= MOST_PARTS:
        return f"line {line} holds a key of more than {MOST_PARTS} parts", ""
    return f"line {line} holds a number or word of more than {MOST_SIGNS} signs", "longer texts stand in quotes"


def _not_toml(text: str, message: str) -> tuple[str, str]:
    """What is wrong with a text that is not TOML, and what to do, in plain words."""
    where = re.search(r"line (\d+)", message)
    lines = text.rstrip("\n").split("\n")
    number = min(int(where[1]), len(lines)) if where else len(lines)
    whole = lines[number - 1].strip()
    line = plain(whole if len(whole) <= 60 else f"{whole[:60]}...")
    if message.startswith(("Cannot declare", "Cannot overwrite")):
        hand = re.match(r"\[hands\.|hands\.|holds\b|(left|right)\s*=", line)
        once = "one hand holds one thing" if hand else "each table, and each key in it, is written once"
        return f"line {number}: {line} stands there a second time", once
    quotes = 'every text and every quantity stands in straight quotes, like mass = "64 kg"'
    return f"is not TOML: line {number} cannot be read: {line}", quotes
