"""What each translated text was made from, so that a change of the English is noticed.

Question answered: which texts of a language are older than the English that they translate?

Beside a language's texts lies a record: a line a text, with its key and two short digests, of the English and of its
translation as they were when somebody *settled* that the one says what the other says. Where the English differs from
its digest and the translation does not, the translation is stale. Where the translation differs too, or is new, it was
looked at: settling notes it. A stale text that may stay as it is, because its English was only polished, is settled by
its key. Nobody writes such a file by hand; ``viz3d words --language es --settle`` does.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

from viz3d.tables import read_toml
from viz3d.words.catalogue import SOURCE, catalogue, fields_of, known_entries

FILE = "settled.txt"
"""The record in a folder of translated scenes or lessons; the catalogue's is named for its language."""
_PACKAGE = "viz3d.words"
_DIGITS = 8
_HEAD = (
    "# Written by 'viz3d words --language {language} --settle': key, digest of the English, digest of its translation."
)
Marks = tuple[str, str]
"""Digests of a text and of its translation."""


@dataclass(frozen=True)
class Record:
    """The texts that one record is about, and where it lies.

    Parameters
    ----------
    pairs : key -> the English and its translation. whole : the record is about nothing else.
    """

    language: str
    path: Path
    pairs: Mapping[str, tuple[Any, Any]]
    whole: bool = True

    def stale(self) -> list[str]:
        """Keys whose English has changed, but not their translation."""
        was = self._was()
        now = {key: was[key] for key in self.pairs if key in was}
        return [key for key, marks in now.items() if self._stale(key, marks)]

    def unsettled(self) -> list[str]:
        """Keys that the record lacks, that were translated anew, or that are no more."""
        was, stale = self._was(), set(self.stale())
        gone = set(was) - set(self.pairs) if self.whole else set()
        return [*(k for k, pair in self.pairs.items() if k not in stale and was.get(k) != _marks(*pair)), *sorted(gone)]

    def settled(self, still: str = "") -> str:
        """The record anew, as text; ``still``: a key, or the beginning of keys, whose stale translations may stay."""
        was = self._was()
        kept = {} if self.whole else was
        stale = {key for key in self.stale() if not (still and f"{key}.".startswith(f"{still}."))}
        now = {key: was[key] if key in stale else _marks(*pair) for key, pair in self.pairs.items()}
        lines = (f"{key} {' '.join(marks)}" for key, marks in sorted({**kept, **now}.items()))
        return "\n".join([_HEAD.format(language=self.language), *lines]) + "\n"

    def _stale(self, key: str, was: Marks) -> bool:
        now = _marks(*self.pairs[key])
        return now[0] != was[0] and now[1] == was[1]

    def _was(self) -> dict[str, Marks]:
        """The record as it lies there; without lines that are none, as merging leaves them."""
        if not self.path.is_file():
            return {}
        text = self.path.read_text(encoding="utf-8-sig", errors="replace")  # keys and digests need no other letters
        lines = (line.split() for line in text.splitlines() if line[:1] != "#")
        return {line[0]: (line[1], line[2]) for line in lines if len(line) == 3}


def catalogue_record(language: str) -> Record:
    """The record of a language's file of the catalogue.

    Raises
    ------
    TableError : no such language; an entry is not whole.
    """
    english, own = (read_toml(_PACKAGE, f"{name}.toml") for name in (SOURCE, language))
    there = catalogue(SOURCE)
    pairs = {key: (fields_of(english, key), fields_of(own, key)) for key in known_entries(language) if key in there}
    return Record(language, Path(str(resources.files(_PACKAGE))) / f"settled-{language}.txt", pairs)


def _marks(english: Any, translated: Any) -> Marks:
    one, other = (json.dumps(text, sort_keys=True, ensure_ascii=False) for text in (english, translated))
    return _digest(one), _digest(other)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:_DIGITS]
