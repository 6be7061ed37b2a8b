"""Sourced constants: one loader for every TOML table beside the code.

Question answered: what number is used, where does it come from, and how sure are we?

Each row states ``value, unit, meaning, source, where, status, range``. A missing field is an error, so a
number cannot slip in without its origin. ``status`` is one of

* ``published``: read in the source or in a page quoting it;
* ``derived``: computed from published figures by a stated rule;
* ``common-practice``: usual in the clinic, no source;
* ``from-memory``: recalled, to be checked before relying on it;
* ``assumed``: our own choice, with its reason in ``meaning``.

Rows that are from memory, common practice or assumed are listed with every result that used them.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

from viz3d.errors import TableError

FIELDS = ("value", "unit", "meaning", "source", "where", "status", "range")
STATUSES = ("published", "derived", "common-practice", "from-memory", "assumed")
UNSURE = ("common-practice", "from-memory", "assumed")
OTHERS = {
    "body/tables/bones/": "drawings: the bones' shapes, aids and the body's outline, millimetres",
    "body/tables/landmarks.toml": "drawings: places on the drawn bones",
    "body/tables/bony_points.toml": "drawings: places on the drawn bones",
    "body/tables/muscle_bodies.toml": "drawings: how muscles are drawn",
    "body/tables/implant.toml": "drawings: the parts of a replacement hip",
    "body/tables/muscle_places.toml": "drawings: where muscles are seen from each view",
    "body/tables/muscle_lines.toml": "lists: which lines make up the muscle set",
    "stage/palette.toml": "drawings: colours",
    "stage/plates.toml": "lists: which bones a plate shows",
    "teach/glossary.toml": "lists: terms of the glossary",
    "teach/pelvis_outline.toml": "drawings: the pelvis from the front, for sketches",
    "scenes/": "scenes, in the wheel",
    "words/": "words, one catalogue per language",
}
"""TOML files, or folders of them, that hold no constants: path in the library -> what they hold."""


@dataclass(frozen=True)
class Row:
    """One sourced constant, in SI units (or the unit stated)."""

    name: str
    value: Any
    unit: str
    meaning: str
    source: str
    where: str
    status: str
    range: tuple[float, float]

    def line(self) -> str:
        """The row as one line for a list of assumptions."""
        source = f"; {self.source}" if self.source else ""
        return f"{self.name} ({self.status}): {self.meaning}{source}"


@lru_cache
def read_toml(package: str, name: str) -> dict[str, Any]:
    """Read a TOML file that ships inside the package.

    Raises
    ------
    TableError : the file is missing or is not TOML.
    """
    try:
        text = resources.files(package).joinpath(name).read_text(encoding="utf-8")
        return tomllib.loads(text)
    except (FileNotFoundError, tomllib.TOMLDecodeError) as error:
        raise TableError(f"{package}/{name}: {error}") from error


@lru_cache
def load_values(package: str, name: str) -> dict[str, Any]:
    """The bare values of a constants table by (dotted) name, for formulas.

    Raises
    ------
    TableError : as :func:`load_rows`.

    Examples
    --------
    >>> load_values("viz3d.body.tables", "lengths.toml")["knee_height"]
    0.285
    """
    return {dotted: row.value for dotted, row in load_rows(package, name).items()}


def constant_tables() -> list[tuple[str, str]]:
    """Every constants table of the library as (package, file): each TOML file in it that is not of :data:`OTHERS`."""
    root = Path(str(resources.files("viz3d")))
    found = sorted(path.relative_to(root) for path in root.rglob("*.toml"))
    return [
        (".".join(("viz3d", *path.parent.parts)), path.name)
        for path in found
        if not any(path.as_posix().startswith(other) for other in OTHERS)
    ]


@lru_cache
def load_rows(package: str, name: str) -> dict[str, Row]:
    """Load every row of a constants table; sub-tables give dotted names.

    Raises
    ------
    TableError : a row lacks a field, or its status is unknown.
    """
    rows: dict[str, Row] = {}
    _collect(read_toml(package, name), "", name, rows)
    return rows


def _collect(node: dict[str, Any], prefix: str, file: str, rows: dict[str, Row]) -> None:
    for key, child in node.items():
        dotted = f"{prefix}{key}"
        if not isinstance(child, dict):
            raise TableError(f"{file}: {dotted}: a bare value; every constant needs {', '.join(FIELDS)}")
        if "value" in child or "status" in child:
            rows[dotted] = _row(dotted, child, file)
        else:
            _collect(child, f"{dotted}.", file, rows)


def _row(dotted: str, fields: dict[str, Any], file: str) -> Row:
    missing = [f for f in FIELDS if f not in fields]
    unknown = [f for f in fields if f not in FIELDS]
    if missing or unknown:
        raise TableError(f"{file}: {dotted}: missing {missing}, unknown {unknown}")
    if fields["status"] not in STATUSES:
        raise TableError(f"{file}: {dotted}: status {fields['status']!r}; allowed: {', '.join(STATUSES)}")
    low, high = fields["range"]
    texts = {f: fields[f] for f in FIELDS if f not in ("value", "range")}
    return Row(name=dotted, value=fields["value"], range=(float(low), float(high)), **texts)
