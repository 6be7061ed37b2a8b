"""Words that a key chooses from, however they are typed: "Left", "elbow-crutch", "Three-axis set".

Question answered: which of a key's few words does a text mean that differs from it in capitals, spaces or hyphens?

Other words are not guessed: they stay as they are, so that the schema refuses them; :data:`MEANT` then names the one
to write. Called by every table of a scene before it is checked.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel

MEANT = {
    "woman": "female", "f": "female", "girl": "female", "man": "male", "m": "male", "boy": "male",
    "stick": "cane", "walking stick": "cane", "crutch": "elbow crutch", "forearm crutch": "elbow crutch",
    "walker": "frame", "walking frame": "frame", "rollator": "frame", "suitcase": "bag", "basket": "bag",
    "empty": "nothing", "none": "nothing", "l": "left", "r": "right", "no": "none", "neither": "none",
    "white": "light", "black": "dark", "grey": "print", "patient": "plain", "simple": "plain", "expert": "trade",
    "professional": "trade", "anterior": "front", "posterior": "back", "lateral": "side", "socket": "joint",
    "pounds": "lb", "kilograms": "kg", "inches": "in", "centimetres": "cm", "newtons": "N", "big": "large",
    "xray": "radiograph", "x ray": "radiograph", "one": "equivalent", "single": "equivalent", "yes": "shown",
    "off": "none", "hidden": "none", "clothed": "patient", "full": "whole", "whole body": "whole",
}  # fmt: skip
"""What people may type, capitals, spaces and hyphens aside, and the word to write for it."""


def bare(text: str) -> str:
    """A word without what does not matter: capitals, spaces around it, hyphens and underscores for spaces.

    Examples
    --------
    >>> bare(" Elbow-Crutch ")
    'elbow crutch'
    """
    return " ".join(re.split(r"[\s_-]+", text.strip().casefold()))


def chosen(typed: Any, words: tuple[str, ...]) -> Any:
    """The word of ``words`` that a text is; what is none of them as it came.

    Examples
    --------
    >>> chosen("Left", ("left", "right")), chosen("both", ("left", "right")), chosen(3, ("left",))
    ('left', 'both', 3)
    """
    if not isinstance(typed, str) or typed in words:
        return typed
    found = [word for word in words if bare(word) == bare(typed)]
    return found[0] if len(found) == 1 else typed


def nearest_word(typed: object, words: tuple[str, ...]) -> str:
    """The word of ``words`` to write for another that means it; "" for none."""
    word = MEANT.get(bare(typed), "") if isinstance(typed, str) else ""
    return word if word in words else ""


def with_words(table: type[BaseModel], data: Mapping[str, Any]) -> dict[str, Any]:
    """A table's data with every word that is chosen from a few as the schema writes it."""
    out = dict(data)
    for name, (words, inside) in choices_of(table).items():
        value = out.get(name)
        if inside is None:
            out.update({name: chosen(value, words)} if isinstance(value, str) else {})
        elif inside is list and isinstance(value, list):
            out[name] = [chosen(v, words) for v in value]
        elif inside is dict and isinstance(value, dict):
            renamed = {chosen(k, words): v for k, v in value.items()}
            out[name] = renamed if len(renamed) == len(value) else value
    return out


@cache
def choices_of(table: type[BaseModel]) -> dict[str, tuple[tuple[str, ...], type | None]]:
    """Field -> the words it chooses from, and what of them it holds: one (None), a list, or a table's keys."""
    found = {}
    for name, field in table.model_fields.items():
        words, inside = _words_in(field.annotation, None)
        if words:
            found[name] = (words, inside)
    return found


def _words_in(hint: Any, inside: type | None) -> tuple[tuple[str, ...], type | None]:
    """The words of the first choice in an annotation, and what holds it."""
    origin, parts = get_origin(hint), get_args(hint)
    if origin is Literal:
        return tuple(p for p in parts if isinstance(p, str)), inside
    if origin is dict:
        return _words_in(parts[0], dict)
    for part in parts:
        words, found = _words_in(part, list if origin is list else inside)
        if words:
            return words, found
    return (), inside
