"""``viz3d words``: the glossary, in the trade's words and in plain ones."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Annotated

import typer

from viz3d.cli.say import say

_WIDE = 96
"""Letters of a line."""


def words(
    word: Annotated[
        str | None, typer.Argument(metavar="[WORD]", help="Only terms that hold this word (default: all).")
    ] = None,
    language: Annotated[
        str, typer.Option("--language", help="Language of the words, as picture.language names it.")
    ] = "en",
    missing: Annotated[
        bool, typer.Option("--missing", help="List the entries that a language lacks, in English, ready to translate.")
    ] = False,
) -> None:
    """Say what the words of the pictures mean: the trade's word, the plain one, and a sentence."""
    from viz3d.cli.options import known_language
    from viz3d.echo import shown
    from viz3d.errors import InputError
    from viz3d.words import cautions
    from viz3d.words.glossary import glossary
    from viz3d.words.message import message
    from viz3d.words.voice import Voice

    known_language(language)
    if missing:
        _say_missing(language)
        return
    voice, group = Voice(language), ""
    found = [term for term in glossary(language) if word is None or term.holds(word)]
    if not found:
        raise InputError(f"found {shown(word)}; no term holds it; 'viz3d words' lists them all")
    for term in found:
        if term.group != group:
            if group:
                say()
            group = term.group
            say(voice.say(message(f"words.{group}")))
        both = message("words.pair", trade=term.trade, plain=term.plain)
        say(f"  {term.trade if term.trade == term.plain else voice.say(both)}")
        if term.meaning:
            say(textwrap.fill(term.meaning, _WIDE, initial_indent=" " * 6, subsequent_indent=" " * 6))
    say()
    say(voice.say(cautions.SHORT))


def _say_missing(language: str) -> None:
    """The entries that a language lacks, as its file would hold them, under the table each belongs to."""
    import json

    from viz3d.words.catalogue import SOURCE, catalogue, missing

    lacking, table = missing(language), ""
    say(f"# {language}.toml lacks {len(lacking)} of {len(catalogue(SOURCE))} entries")
    for key, fields in lacking.items():
        head, _, last = key.rpartition(".")
        if head != table:
            table = head
            say(f"\n[{table}]")
        for name, text in fields.items():
            say(f"{last}.{name} = {json.dumps(text, ensure_ascii=False)}")
    for line in _library_lacks(language):
        say(f"# {line}")


def _library_lacks(language: str) -> Iterator[str]:
    """What keeps scenes and lessons that come with viz3d from being told in a language, a line a file."""
    from viz3d.errors import SceneError
    from viz3d.scene.reader import library_folder, parse_scene
    from viz3d.scene.translated import OF_LESSONS, OF_SCENES, texts_in
    from viz3d.words.catalogue import SOURCE, languages
    from viz3d.words.pseudo import PSEUDO

    if language in (SOURCE, PSEUDO):
        return
    for path in sorted(library_folder().rglob("*.toml")):
        if path.parent.name not in languages():
            data = parse_scene(path)
            try:
                texts_in(language, data, path, OF_LESSONS if "scenes" in data else OF_SCENES)
            except SceneError as error:
                yield str(error)
