"""``viz3d words``: the glossary, in the trade's and in plain words; what a language lacks, what is old in it."""

from __future__ import annotations

import textwrap
from typing import Annotated

import typer

from viz3d.cli.say import say

_WIDE = 96
"""Letters of a line."""


def words(
    word: Annotated[
        str | None,
        typer.Argument(metavar="[WORD]", help="Only terms that hold this word (default: all); with --settle, a key."),
    ] = None,
    language: Annotated[
        str, typer.Option("--language", help="Language of the words, as picture.language names it.")
    ] = "en",
    missing: Annotated[
        bool,
        typer.Option("--missing", help="List what a language lacks, in English, and what is older than its English."),
    ] = False,
    settle: Annotated[
        bool,
        typer.Option("--settle", help="Note what was translated anew; WORD: a key whose old text may stay."),
    ] = False,
    of: Annotated[
        str | None, typer.Option("--of", metavar="FILE", help="A scene or lesson of your own to look at, not ours.")
    ] = None,
) -> None:  # fmt: skip
    """Say what the words of the pictures mean: the trade's word, the plain one, and a sentence."""
    from viz3d.cli.options import known_language
    from viz3d.errors import InputError

    known_language(language)
    if of is not None and not (missing or settle):
        raise InputError("--of goes with --missing or --settle: it names the file that they look at")
    if missing or settle:
        from viz3d.cli import translations

        if settle:
            translations.settle(language, of, word or "")
        if missing:
            translations.missing(language, of)
        return
    _say_glossary(word, language)


def _say_glossary(word: str | None, language: str) -> None:
    from viz3d.echo import shown
    from viz3d.errors import InputError
    from viz3d.words import cautions
    from viz3d.words.glossary import glossary
    from viz3d.words.message import message
    from viz3d.words.voice import Voice

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
