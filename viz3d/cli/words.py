"""``viz3d words``: the glossary, in the trade's words and in plain ones."""

from __future__ import annotations

import textwrap
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
) -> None:
    """Say what the words of the pictures mean: the trade's word, the plain one, and a sentence."""
    from viz3d.echo import shown
    from viz3d.errors import InputError
    from viz3d.words import cautions
    from viz3d.words.catalogue import languages
    from viz3d.words.glossary import glossary
    from viz3d.words.message import message
    from viz3d.words.voice import Voice

    if language not in languages():
        raise InputError(f"--language: found {shown(language)}; allowed: {', '.join(languages())}")
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
