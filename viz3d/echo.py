"""Words are data: what was found is repeated harmlessly, and one rule says which signs no text may hold.

Question answered: how is a piece of what a person handed in shown in an error, or on a terminal?
"""

from __future__ import annotations

import re

ECHO = 80
"""Signs of what was found that an error repeats."""

_ODD = re.compile("[^\\t\\n\\r\u0020-\u007e\u00a0-\u202c\u202f-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]|\\r(?!\\n)")
"""Control signs of both sets, overrides of writing's direction, halves of surrogate pairs, and what no XML may hold; a
return that ends no line."""


def shown(value: object) -> str:
    """What was found, for an error's line: on one line, at most :data:`ECHO` signs, control signs spelled out.

    Examples
    --------
    >>> shown("a\\x1b[31m")
    "'a\\\\x1b[31m'"
    >>> len(shown("9" * 1000)) <= ECHO
    True
    """
    if isinstance(value, str):
        return _short(repr(value[: 2 * ECHO]), len(value) > 2 * ECHO)
    if isinstance(value, int) and abs(value) >= 10**ECHO:  # longer numbers cannot even be written
        return f"a number of more than {ECHO} digits"
    try:
        return _short(repr(value))
    except (RecursionError, ValueError):
        return f"a {type(value).__name__} that cannot be written out"


def harmless(text: str) -> str:
    """A text as a terminal may get it: control signs and halves of surrogate pairs spelled out.

    Examples
    --------
    >>> harmless("a\\x1b]0;b\\x07")
    'a\\\\x1b]0;b\\\\x07'
    """
    return _ODD.sub(lambda sign: sign[0].encode("unicode_escape").decode(), text)


def cell(value: object) -> object:
    """A table's cell: a text that a spreadsheet would take for a formula is marked as text, numbers stay numbers.

    Examples
    --------
    >>> cell("=1+1"), cell(-1.0), cell("-")
    ("'=1+1", -1.0, "'-")
    """
    return f"'{value}" if isinstance(value, str) and value.startswith(("=", "+", "-", "@", "\t", "\r")) else value


def plain(text: str) -> str:
    """A name as an error's line holds it: harmless, at most :data:`ECHO` signs."""
    return _short(harmless(" ".join(text[: 4 * ECHO].split())))


def _short(text: str, cut: bool = False) -> str:
    return f"{text[: ECHO - 3]}..." if cut or len(text) > ECHO else text


def odd_sign(value: object) -> str | None:
    """The first text among tables, lists and texts that holds a sign no text may hold; None where all is well."""
    left = [value]
    while left:
        one = left.pop()
        if isinstance(one, str) and _ODD.search(one):
            return one
        if isinstance(one, dict):
            left += [*one, *one.values()]
        elif isinstance(one, list | tuple):
            left += one
    return None
