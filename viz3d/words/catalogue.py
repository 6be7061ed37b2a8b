"""The catalogue: every text of ours in one file per language, two registers in it.

Question answered: which text belongs to this key, in this language and register?

An entry holds ``both``, or ``trade`` (for clinicians and students) and ``plain`` (for patients); each is a text, or a
table of plural forms named as the Unicode plural rules name them ("one", "other"), chosen by the value ``count``.
Placeholders stand in braces. ``symbol.*`` are signs of units, the same in every language. A second language is one
more file beside ``en.toml``; "qps" is made from English for tests.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

from babel import Locale

from viz3d.errors import TableError
from viz3d.tables import read_toml
from viz3d.words.pseudo import PSEUDO, stretched

REGISTERS = ("trade", "plain")
MOST_NAMED = 12
"""Keys that an error names before it counts the others."""
SOURCE = "en"
"""The language the others are made from: they have its keys."""
_PACKAGE = "viz3d.words"
_HOLE = re.compile(r"\{(\w+)\}")
_NUMBERS_OF_PSEUDO = "de"
"""The made-up language writes numbers as German does, so that none escapes the formatter unseen."""

Forms = Mapping[str, str]
"""Plural form -> text."""


@dataclass(frozen=True)
class Entry:
    """One key's texts by register and plural form, and the placeholders in them."""

    forms: Mapping[str, Forms]
    holes: frozenset[str]


def languages() -> list[str]:
    """Every language there is a file for, and the made-up one."""
    names = (f.name for f in resources.files(_PACKAGE).iterdir())
    return [*sorted(n.removesuffix(".toml") for n in names if re.fullmatch(r"[a-z]{2,3}\.toml", n)), PSEUDO]


@lru_cache
def locale_of(language: str) -> Locale:
    """Whose decimal sign and plural rules a language uses."""
    return Locale.parse(_NUMBERS_OF_PSEUDO if language == PSEUDO else language)


@lru_cache
def catalogue(language: str) -> Mapping[str, Entry]:
    """All entries of a language.

    Raises
    ------
    TableError : no such language; a text, a register, a plural form or a placeholder is missing.
    """
    if language == PSEUDO:
        return {key: _stretched(key, entry) for key, entry in catalogue(SOURCE).items()}
    if language not in languages():
        raise TableError(f"words: no language {language!r}; there are {', '.join(languages())}")
    entries = known_entries(language)
    if language != SOURCE:
        check_same(entries, catalogue(SOURCE), f"words/{language}.toml")
    return entries


def missing(language: str) -> dict[str, dict[str, Any]]:
    """What a language's file lacks: key -> the fields of the English entry, as they stand in its file.

    Raises
    ------
    TableError : no such language; an entry that is there is not whole.
    """
    if language not in languages():
        raise TableError(f"words: no language {language!r}; there are {', '.join(languages())}")
    if language == PSEUDO:
        return {}
    has = known_entries(language)
    english = read_toml(_PACKAGE, f"{SOURCE}.toml")
    return {key: fields_of(english, key) for key in catalogue(SOURCE) if key not in has}


def known_entries(language: str) -> dict[str, Entry]:
    """The entries that a language's file holds, whole or not.

    Raises
    ------
    TableError : an entry that is there is not whole.
    """
    return entries_of(read_toml(_PACKAGE, f"{language}.toml"), f"words/{language}.toml", locale_of(language))


def fields_of(tables: dict[str, Any], key: str) -> dict[str, Any]:
    """An entry's fields as they stand in its file's tables."""
    node = tables
    for part in key.split("."):
        node = node[part]
    return {name: node[name] for name in ("both", *REGISTERS, _SPARED) if name in node}


def letters_alike(text: str) -> str:
    """A text for looking words up in: without capitals, accents, and hyphens between its words.

    Examples
    --------
    >>> letters_alike("Neck-Shaft Ángle")
    'neck shaft angle'
    """
    bare = "".join(c for c in unicodedata.normalize("NFD", text.casefold()) if not unicodedata.combining(c))
    return " ".join(bare.replace("-", " ").split())


@lru_cache
def letters_of(language: str) -> str:
    """Every letter that a language's texts need, once, for fonts to be asked about.

    Raises
    ------
    TableError : no such language.
    """
    texts = (text for entry in catalogue(language).values() for some in entry.forms.values() for text in some.values())
    return "".join(sorted({letter for text in texts for letter in text}))


def entries_of(tables: dict[str, Any], file: str, locale: Locale) -> dict[str, Entry]:
    """The entries of a language file's tables by dotted key.

    Raises
    ------
    TableError : an entry is not whole.
    """
    out: dict[str, Entry] = {}
    _collect(tables, "", file, locale, out)
    return out


def check_same(entries: Mapping[str, Entry], source: Mapping[str, Entry], file: str) -> None:
    """Refuse a language that lacks a key or a placeholder of the source language, or has one more.

    Raises
    ------
    TableError : names the keys.
    """
    odd = sorted(set(entries) ^ set(source))
    if odd:
        named = ", ".join(odd[:MOST_NAMED])
        more = f" and {len(odd) - MOST_NAMED} more" if len(odd) > MOST_NAMED else ""
        language = file.rpartition("/")[2].partition(".")[0]
        told = f"'viz3d words --language {language} --missing' lists them with their English"
        raise TableError(f"{file}: keys missing or unknown: {named}{more}; {told}")
    for key, entry in entries.items():
        if entry.holes != source[key].holes:
            raise TableError(f"{file}: {key}: placeholders {sorted(entry.holes)}; {sorted(source[key].holes)} expected")


_SPARED = "spared"
"""Field of an entry: placeholders that its plain text leaves out, because patients are spared the number."""


def holes_of(text: str) -> frozenset[str]:
    """The placeholders of a text."""
    return frozenset(_HOLE.findall(text))


def _collect(node: dict[str, Any], prefix: str, file: str, locale: Locale, out: dict[str, Entry]) -> None:
    for key, child in node.items():
        dotted = f"{prefix}{key}"
        if not isinstance(child, dict):
            raise TableError(f"{file}: {dotted}: a bare text; write both = ..., or trade = ... and plain = ...")
        if {"both", *REGISTERS} & set(child):
            out[dotted] = _entry(child, f"{file}: {dotted}", locale)
        else:
            _collect(child, f"{dotted}.", file, locale, out)


def _entry(fields: dict[str, Any], where: str, locale: Locale) -> Entry:
    if set(fields) - {_SPARED} not in ({"both"}, set(REGISTERS)):
        raise TableError(f"{where}: found {sorted(fields)}; both, or trade and plain expected")
    forms = {r: _forms(fields.get(r, fields.get("both")), where, locale) for r in REGISTERS}
    spared = {"trade": frozenset[str](), "plain": frozenset(fields.get(_SPARED, ()))}
    holes = {holes_of(t) | _plural_hole(some) | spared[r] for r, some in forms.items() for t in some.values()}
    if len(holes) != 1:
        raise TableError(f"{where}: its texts have different placeholders: {sorted(map(sorted, holes))}")
    return Entry(forms, holes.pop())


def _plural_hole(forms: Forms) -> frozenset[str]:
    return frozenset({"count"} if len(forms) > 1 else ())


def _forms(found: Any, where: str, locale: Locale) -> Forms:
    if isinstance(found, str):
        return {"other": found}
    wanted = {*locale.plural_form.tags, "other"}
    if not isinstance(found, dict) or set(found) != wanted or not all(isinstance(v, str) for v in found.values()):
        raise TableError(f"{where}: found {found!r}; a text, or one for each of {', '.join(sorted(wanted))} expected")
    return dict(found)


def _stretched(key: str, entry: Entry) -> Entry:
    if key.startswith(("symbol.", "join.", "unit.")):
        return entry
    return Entry({r: {f: stretched(t) for f, t in some.items()} for r, some in entry.forms.items()}, entry.holes)
