"""What a language lacks, what is older in it than its English, and the note that both say the same.

Everything is printed as a language's file would hold it; what is no entry of such a file stands behind a "#".
"""

from __future__ import annotations

import json
import shlex
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from viz3d.cli.say import say

if TYPE_CHECKING:
    from viz3d.words.settled import Record


def missing(language: str, file: str | None) -> None:
    """Print what a language lacks, then what is stale in it.

    Raises
    ------
    SceneError, TableError : a file that cannot be read.
    """
    if file is None:
        _say_lacking(language)
    for line in _files_lack(language, file):
        say(f"# {line}")
    for record in _records(language, file):
        _say_stale(record, file)


def settle(language: str, file: str | None, still: str) -> None:
    """Write records anew; what stays stale is printed.

    Parameters
    ----------
    still : a key, or the beginning of keys, whose translations say what the changed English says as they are.

    Raises
    ------
    InputError : nothing of that key is stale, or the language is no translation. SceneError, TableError,
        RenderError : a file cannot be read or written.
    """
    from viz3d.echo import shown
    from viz3d.errors import InputError
    from viz3d.output.files import written_whole
    from viz3d.words.catalogue import SOURCE, languages
    from viz3d.words.pseudo import PSEUDO

    if language in (SOURCE, PSEUDO):
        others = ", ".join(name for name in languages() if name not in (SOURCE, PSEUDO))
        raise InputError(f"found {language}, which is no translation; --settle notes those of --language {others}")
    if file is not None:
        _refuse_unfinished(language, file)
    records = list(_records(language, file))
    stale = [key for record in records for key in record.stale()]
    if still and not any(f"{key}.".startswith(f"{still}.") for key in stale):
        command = _command(language, "", file)
        raise InputError(f"found {shown(still)}; nothing stale has this key; '{command} --missing' lists what is stale")
    for record in records:
        text = record.settled(still)
        if record.pairs and not (record.path.is_file() and record.path.read_bytes() == text.encode()):
            with written_whole(record.path) as part:
                part.write_text(text, encoding="utf-8", newline="\n")
            say(f"wrote {record.path}")
        _say_stale(record, file)


def _say_lacking(language: str) -> None:
    """The entries that a language lacks, as its file would hold them, under the table each belongs to."""
    from viz3d.words.catalogue import SOURCE, catalogue
    from viz3d.words.catalogue import missing as missing_entries

    lacking, table = missing_entries(language), ""
    say(f"# {language}.toml lacks {len(lacking)} of {len(catalogue(SOURCE))} entries")
    for key, fields in lacking.items():
        head, _, last = key.rpartition(".")
        if head != table:
            table = head
            say(f"\n[{table}]")
        for name, text in fields.items():
            say(f"{last}.{name} = {_quoted(text)}")


def _say_stale(record: Record, file: str | None) -> None:
    """Stale texts with the English of today, and how many there are to settle."""
    stale, changed = record.stale(), len(record.unsettled())
    for key in stale:
        english, own = record.pairs[key]
        command = _command(record.language, key, file)
        say(f"# {key}: older than its English; translate it anew, or '{command} --settle' if it may stay")
        for name, text in (("en", english), (record.language, own)):
            say(f"#   {name}: {_quoted(text)}")
    if changed:
        command = _command(record.language, "", file)
        say(f"# {record.path.name}: {changed} texts are new or translated anew; '{command} --settle' notes it")


def _command(language: str, key: str, file: str | None) -> str:
    own = ["--of", shlex.quote(file)] if file is not None else []
    return " ".join(["viz3d words", *([key] if key else []), "--language", language, *own])


def _records(language: str, file: str | None) -> list[Record]:
    from viz3d.scene.reader import find_scene
    from viz3d.scene.settled import library_records, own_record

    if file is None:
        return list(library_records(language))
    return [own_record(find_scene(file), language)]


def _files_lack(language: str, file: str | None) -> Iterator[str]:
    """What keeps scenes and lessons from being told in a language, a line a file."""
    from viz3d.errors import SceneError
    from viz3d.scene.reader import find_scene
    from viz3d.scene.settled import library_files
    from viz3d.words.catalogue import SOURCE
    from viz3d.words.pseudo import PSEUDO

    if language in (SOURCE, PSEUDO):
        return
    for path in library_files() if file is None else [find_scene(file)]:
        try:
            _refuse_unfinished(language, path)
        except SceneError as error:
            yield str(error)


def _refuse_unfinished(language: str, file: str | Path) -> None:
    """Refuse a scene or lesson that cannot be told in a language.

    Raises
    ------
    SceneError : it cannot be read, or its texts in that language are not whole.
    """
    from viz3d.scene.reader import find_scene, parse_scene
    from viz3d.scene.translated import OF_LESSONS, OF_SCENES, texts_in

    path = find_scene(file) if isinstance(file, str) else file
    data = parse_scene(path)
    texts_in(language, data, path, OF_LESSONS if "scenes" in data else OF_SCENES)


def _quoted(text: Any) -> str:
    return json.dumps(text, ensure_ascii=False)
