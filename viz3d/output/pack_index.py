"""The page that lists a pack: aim, plan, what people often say, files, glossary, sources, cautions.

Question answered: what does an educator see who opens the folder?

One HTML file without scripts; every text is escaped.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from importlib import resources
from string import Template
from typing import Protocol

from viz3d.output.together import MAKER
from viz3d.stage.palette import palette
from viz3d.tables import load_rows, read_toml
from viz3d.teach.lesson import OpenedLesson
from viz3d.words.cautions import full_caution, moving
from viz3d.words.message import Message, Said, message
from viz3d.words.voice import Voice


class Listed(Protocol):
    """A file of the pack."""

    @property
    def group(self) -> str:
        """For whom."""

    @property
    def told(self) -> Message:
        """What it is."""

    @property
    def name(self) -> str:
        """Its file."""

    @property
    def alt(self) -> str:
        """What a picture shows."""


_GROUPS = ("for_lecture", "for_students", "for_patients", "for_you")


def index_page(opened: OpenedLesson, entries: Sequence[Listed], readability: Message) -> str:
    """The whole page."""
    lesson, voice = opened.lesson, opened.first.picture.voice
    say = voice.say
    parts = [f"<h1>{escape(lesson.title)}</h1>"]
    if lesson.aim:
        parts.append(f"<p class=aim>{escape(lesson.aim)}</p>")
    parts.append("<div class=files>")
    for group in _GROUPS:
        files = [e for e in entries if e.group == group]
        if files:
            links = "".join(f'<li><a href="{escape(e.name)}">{escape(say(e.told))}</a></li>' for e in files)
            parts.append(f"<section><h2>{escape(say(message(f'pack.{group}')))}</h2><ul>{links}</ul></section>")
    parts.append("</div>")
    parts += _pictures(entries, voice)
    parts += _list("prerequisites", list(lesson.prerequisites), voice)
    parts += _list("plan", [message("pack.minutes", minutes=p.minutes, what=p.what) for p in lesson.plan], voice)
    said = [message("pack.answered", says=m.says, answer=m.answer) for m in lesson.misunderstandings]
    parts += _list("misunderstandings", list(said), voice)
    parts += _list("summary", list(lesson.summary), voice)
    parts += _glossary(voice)
    sources = sorted({row.source for row in load_rows("viz3d.teach", "evidence.toml").values() if row.source})
    parts += _list("sources", list(sources), voice)
    what = moving(one.scene.walk is not None for one in opened.chosen)
    cautions = "".join(f"<li>{escape(line)}</li>" for line in voice.lines(list(full_caution(what=what))))
    parts.append(f"<section class=caution><h2>{escape(say(message('deck.limits')))}</h2><ul>{cautions}</ul></section>")
    parts.append(f"<p class=small>{escape(say(readability))}</p>")
    return _page(lesson.title, voice.language, "\n".join(parts))


def _pictures(entries: Sequence[Listed], voice: Voice) -> list[str]:
    """The pictures, small, each a link to its file."""
    shown = [e for e in entries if e.group == "pictures"]
    if not shown:
        return []
    told = "".join(
        f'<li><a href="{escape(e.name)}"><img src="{escape(e.name)}" alt="{escape(e.alt)}" loading="lazy" width="1920"'
        f' height="1080">{escape(voice.say(e.told))}</a></li>'
        for e in shown
    )
    return [f"<section class=pictures><h2>{escape(voice.say(message('pack.pictures')))}</h2><ul>{told}</ul></section>"]


def _list(key: str, items: list[Said], voice: Voice) -> list[str]:
    if not items:
        return []
    told = "".join(f"<li>{escape(line)}</li>" for line in voice.lines(items))
    return [f"<section><h2>{escape(voice.say(message(f'pack.{key}')))}</h2><ul>{told}</ul></section>"]


def _glossary(voice: Voice) -> list[str]:
    say = voice.say
    parts = ("term", "everyday", "meaning")
    heads = "".join(f"<th scope=col>{escape(say(message(f'glossary.{part}')))}</th>" for part in parts)
    rows = []
    for key in read_toml("viz3d.teach", "glossary.toml")["terms"]:
        cells = (escape(say(message(f"glossary.{key}.{part}"))) for part in parts)
        rows.append(f"<tr><td>{'</td><td>'.join(cells)}</td></tr>")
    head = f"<h2>{escape(say(message('glossary.head')))}</h2>"
    table = f"<table><thead><tr>{heads}</tr></thead><tbody>{''.join(rows)}</tbody></table>"
    return [f"<section>{head}{table}</section>"]


def _page(title: str, language: str, body: str) -> str:
    style = Template(resources.files("viz3d.output").joinpath("pack_index.css").read_text(encoding="utf-8"))
    told = style.substitute(palette("light"))
    return (
        f'<!doctype html>\n<html lang="{escape(language)}">\n<head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width,initial-scale=1"><meta name="generator" content="{MAKER}">'
        f"<title>{escape(title)}</title>"
        f"<style>{told}</style></head>\n<body><main>\n{body}\n</main></body></html>\n"
    )
