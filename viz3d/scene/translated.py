"""A scene's or a lesson's own texts in another language: a file of texts in a folder named for the language.

Question answered: which title, aim, step names, captions and questions does this file have in that language?

``es/cane.toml`` beside ``cane.toml`` is written like it, but holds texts only: whoever translates can neither change
nor lose a number, the file it belongs to stays as short as it was, and another language is another folder. Every text
of the one has its text in the other, in the same order, and no more: else the keys are named and nothing is made. A
file that says its own ``picture.language`` needs no texts in that one. A step whose translated caption takes longer to
read stays that much longer.
"""

from __future__ import annotations

import copy
import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from viz3d.errors import InputError, SceneError, Unreadable
from viz3d.given import file_bytes, inside, is_file, toml_tables
from viz3d.scene.reading import reading_time
from viz3d.units import parse_quantity
from viz3d.words.catalogue import SOURCE, catalogue, languages
from viz3d.words.pseudo import PSEUDO

OF_SCENES = (
    "title", "aim", "steps.*.name", "steps.*.caption", "steps.*.narration", "questions.*.prompt",
    "questions.*.choices.*", "questions.*.why",
)  # fmt: skip
OF_LESSONS = (
    "title", "aim", "prerequisites.*", "plan.*.what", "misunderstandings.*.says", "misunderstandings.*.answer",
    "summary.*",
)  # fmt: skip
"""Keys whose values are texts; a star stands for a place in a list, counted from 1."""
LARGEST, _NAMED = 250_000, 12
_USUAL_HOLD = 2.0


def texts_file(path: Path, language: str) -> Path:
    """Where the texts of a scene or lesson file in a language are looked for."""
    return path.parent / language / path.name


def own_language(data: dict[str, Any]) -> str:
    """The language that a file's texts are written in."""
    picture = data.get("picture")
    named = picture.get("language", SOURCE) if isinstance(picture, dict) else SOURCE
    return str(named).strip().lower()


def in_language(
    data: dict[str, Any], path: Path, language: str | None, keys: tuple[str, ...] = OF_SCENES, own: str | None = None
) -> dict[str, Any]:
    """A file's tables with its texts in a language; as they are where it is the file's own or none of ours.

    Parameters
    ----------
    own : the language that the file is written in; None: as its ``picture.language`` says.

    Raises
    ------
    TableError : the catalogue lacks entries in this language. SceneError : there are no such texts, or not all.
    """
    if language is None or language in (own or own_language(data), PSEUDO) or language not in languages():
        return data
    catalogue(language)
    out = copy.deepcopy(data)
    for key, text in texts_in(language, data, path, keys).items():
        _put(out, key, text)
    for step in out.get("steps", []):
        _hold_while_read(step)
    return out


def texts_in(language: str, data: dict[str, Any], path: Path, keys: tuple[str, ...]) -> dict[str, str]:
    """Every text of a file in another language, by its key.

    Raises
    ------
    SceneError : there are none, or not all, or more.
    """
    wanted = dict(_texts(data, keys))
    file = texts_file(path, language)
    if not is_file(file) or inside(path.parent, f"{language}/{path.name}") is None:
        allowed = f"write them into {language}/{path.name} beside it, as in the file itself: {_some(wanted)}"
        raise SceneError(path, "picture.language", f"found {language}, and no texts in that language", allowed)
    given = dict(_leaves(_read(file)))
    _check(file, given, wanted, language)
    return given


def text_pairs(language: str, data: dict[str, Any], path: Path, keys: tuple[str, ...]) -> dict[str, tuple[str, str]]:
    """Each text of a file with its translation, by its key; those that have none are left out.

    Raises
    ------
    SceneError : the file of translations cannot be read.
    """
    file = texts_file(path, language)
    given = dict(_leaves(_read(file))) if is_file(file) else {}
    return {key: (text, given[key]) for key, text in _texts(data, keys) if key in given}


def spoken(data: dict[str, Any], path: Path, language: str | None) -> dict[str, Any]:
    """A scene's tables with its texts in a language, which they then name; as they are for None.

    Raises
    ------
    TableError, SceneError : as :func:`in_language`.
    """
    picture = data.get("picture", {})
    if language in (None, own_language(data)) or not isinstance(picture, dict):
        return data
    return {**in_language(data, path, language), "picture": {**picture, "language": language}}


def _read(file: Path) -> dict[str, Any]:
    try:
        return toml_tables(file_bytes(file, LARGEST))
    except Unreadable as error:
        raise SceneError(file, "", error.found, error.allowed, called=_called(file)) from error


def _called(file: Path) -> str:
    """A file of texts as an error names it: it is called as what it translates, but for its folder."""
    return f"{file.parent.name}/{file.name}"


def _check(file: Path, given: dict[str, Any], wanted: dict[str, str], language: str) -> None:
    for key, value in given.items():
        if key not in wanted:
            told = f"its texts: {_some(wanted)}"
            raise SceneError(file, key, "is no text of the file it translates", told, called=_called(file))
        if not isinstance(value, str) or not value.strip():
            raise SceneError(file, key, "holds no text", f"write {key} in {language}", called=_called(file))
    lacking = [key for key in wanted if key not in given]
    if lacking:
        raise SceneError(file, "", f"lacks {_some(lacking)}", f"write them in {language}", called=_called(file))


def _texts(data: dict[str, Any], keys: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Every text that is not empty, by key."""
    for key, value in _leaves(data):
        if re.sub(r"\.\d+", ".*", key) in keys and isinstance(value, str) and value:
            yield key, value


def _leaves(node: Any, key: str = "") -> Iterator[tuple[str, Any]]:
    """Every value that is no table and no list; a choice's own text stands for the choice."""
    if isinstance(node, dict):
        for name, child in node.items():
            spared = name == "says" and ".choices." in key
            yield from _leaves(child, key if spared else f"{key}.{name}" if key else name)
    elif isinstance(node, list):
        for n, child in enumerate(node, 1):
            yield from _leaves(child, f"{key}.{n}")
    else:
        yield key, node


def _put(data: dict[str, Any], key: str, text: str) -> None:
    """Put a text in its place."""
    *folders, last = key.split(".")
    node: Any = data
    for part in folders:
        node = node[int(part) - 1] if isinstance(node, list) else node[part]
    place = int(last) - 1 if isinstance(node, list) else last
    if isinstance(node[place], dict):
        node[place]["says"] = text
    else:
        node[place] = text


def _hold_while_read(step: dict[str, Any]) -> None:
    """Let a step stay until its caption is read; what cannot be read as a time is refused later."""
    needed = math.ceil(10.0 * reading_time(str(step.get("caption", ""))) - 1e-9) / 10.0
    try:
        hold = parse_quantity(str(step["hold"]), "time") if "hold" in step else _USUAL_HOLD
    except InputError:
        return
    if hold < needed:
        step["hold"] = f"{needed:g} s"


def _some(keys: Any) -> str:
    """The first of some keys, and how many more there are."""
    named = list(keys)
    more = f" and {len(named) - _NAMED} more" if len(named) > _NAMED else ""
    return ", ".join(named[:_NAMED]) + more
