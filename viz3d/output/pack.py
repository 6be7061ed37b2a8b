"""The folder of a lesson: deck, worksheet, answers, handouts, exercises, numbers, words, and a page that lists them.

Question answered: what does one command write for an educator, and can any two of its files tell another number?

Every file is made of the same solved scenes through the same voice.
"""

from __future__ import annotations

import contextlib
import csv
import hashlib
import io
import os
import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from viz3d.echo import cell
from viz3d.kept import keep, kept
from viz3d.output.assessment import write_package
from viz3d.output.captions import narration, webvtt
from viz3d.output.files import check_space, sources, written_whole
from viz3d.output.film import draw_film
from viz3d.output.pack_index import index_page
from viz3d.output.paper import write_paper
from viz3d.output.slide_pictures import still_picture
from viz3d.output.slides import check_slides, write_slides
from viz3d.output.together import LIST, brought_over
from viz3d.progress import Progress
from viz3d.scene.reader import scene_hash
from viz3d.scene.segments import scene_at
from viz3d.shapes.cache import user_folder
from viz3d.solution.script import Script
from viz3d.stage.builds import builds_of
from viz3d.tables import read_toml
from viz3d.teach.deck import Chosen, SlidePicture
from viz3d.teach.exercises.text import as_text
from viz3d.teach.explain import explain
from viz3d.teach.facts import facts, taught
from viz3d.teach.fitting import fitting_sheet
from viz3d.teach.handout import handout
from viz3d.teach.lesson import OpenedLesson
from viz3d.teach.lesson_deck import lesson_deck
from viz3d.teach.paper import Block, Leaf
from viz3d.teach.readability import FORMULAS, SCORED, ease, grade
from viz3d.teach.worksheet import answer_key, exercises_of, worksheet
from viz3d.words.message import Message, Said, message, number
from viz3d.words.voice import Voice

SI_UNITS = {"force": "N", "length": "m", "moment": "N m", "angle": "rad", "pressure": "Pa", "fraction": "1"}
"""Dimension of a fact -> its unit in tables of numbers."""


@dataclass(frozen=True)
class PackFile:
    """A file of the pack: for whom (a key of the catalogue), what it is, its name."""

    group: str
    told: Message
    name: str
    alt: str = ""
    """What a picture shows."""


class Pack:
    """A lesson's folder being written.

    Parameters
    ----------
    earlier : folder whose films are taken over where they would be the same; None: ``folder``.
    """

    def __init__(
        self, opened: OpenedLesson, folder: Path, progress: Progress | None = None, earlier: Path | None = None
    ) -> None:
        self.opened, self.folder, self.progress = opened, folder, progress
        self.earlier = earlier or folder
        self.voice = opened.first.picture.voice
        self.entries: list[PackFile] = []
        self.films: dict[str, Path] = {}
        """Scene's name -> its film, for the deck."""

    def check(self) -> None:
        """Refuse texts that no slide holds and exercises that nobody has, before anything is drawn.

        Raises
        ------
        InputError, SceneError : one line each.
        """
        check_slides(lesson_deck(self.opened))
        exercises_of(self.opened)

    def write(self) -> list[Path]:
        """Every file but pages and films, and then the index.

        Raises
        ------
        RenderError, InputError, SceneError : one line each.
        """
        check_space(self.folder)
        self.lecture()
        self.stills()
        self.students()
        self.patients()
        self.numbers_and_words()
        return [self.folder / entry.name for entry in self.entries]

    def add(self, group: str, told: Message, name: str) -> Path:
        """Note a file for the index; returns where it goes."""
        self.entries.append(PackFile(group, told, name))
        return self.folder / name

    def lecture(self) -> None:
        """The deck."""
        path = self.add("for_lecture", message("pack.slides"), "slides.pptx")
        write_slides(lesson_deck(self.opened, self.films), path, self.progress)

    def stills(self) -> None:
        """Every shown step as a picture of its own, and the pictures that build up to a first step."""
        voice = self.voice
        for used, chosen, name in zip(self.opened.lesson.scenes, self.opened.chosen, self.opened.names, strict=True):
            for asked, told, file in _stills(chosen, used.builds, name):
                png, alt = still_picture(asked, self.progress)
                with written_whole(self.folder / file) as part:
                    part.write_bytes(png)
                self.entries.append(PackFile("pictures", told, file, f"{voice.say(told)}. {alt}"))

    def film(self, frames: Progress | None = None) -> None:
        """A film of each scene, before the deck, which embeds them; and the one for patients.

        Raises
        ------
        RenderError, InputError, SceneError : one line each.
        """
        check_space(self.folder)
        for chosen, name in zip(self.opened.chosen, self.opened.names, strict=True):
            told = message("pack.film", scene=chosen.scene.title)
            self.films[name] = self._film("for_lecture", told, f"film-{name}.mp4", chosen, frames)
        cut = self.opened.patient_cut
        told = message("pack.patient_film", scene=cut.scene.title)
        self._film("for_patients", told, "film-for-patients.mp4", cut, frames)

    def _film(self, group: str, told: Message, name: str, chosen: Chosen, frames: Progress | None) -> Path:
        """One film, and the record of how it was made; one that was made before and would be the same is taken."""
        path, before = self.add(group, told, name), self.earlier / name
        record = user_folder() / "films" / f"{_film_key(chosen)}.sha256"
        if _is_there(before, record):
            brought_over(before, path)
            brought_over(Path(f"{before}.json"), Path(f"{path}.json"))
        else:
            draw_film(chosen.scene, path, chosen.file, bones=self.progress, frames=frames)
            with contextlib.suppress(OSError):
                record.parent.mkdir(parents=True, exist_ok=True)
                keep(record, _digest(path))
        self.add("for_you", message("pack.record", of=told), f"{name}.json")
        return path

    def students(self) -> None:
        """Worksheet, answers, exercises."""
        made = exercises_of(self.opened)
        self.paper("for_students", message("pack.worksheet"), "worksheet.pdf", worksheet(self.opened))
        self.paper("for_lecture", message("pack.answers"), "answers.pdf", answer_key(self.opened))
        if made:
            self.text("for_students", message("pack.exercises_text"), "exercises.txt", as_text(made, self.voice))
            path = self.add("for_students", message("pack.exercises_package"), "exercises-qti.zip")
            write_package(made, self.opened.lesson.title, path, self.voice)

    def patients(self) -> None:
        """Handouts, and how a cane fits where one is told of."""
        for paper in ("a4", "letter"):
            told = message(f"pack.handout_{paper}")
            self.paper("for_patients", told, f"handout-{paper}.pdf", handout(self.opened), paper)
            if "cane" in self.opened.lesson.patient:
                leaf = fitting_sheet(self.opened.at_home, self.opened.chosen[0].file)
                self.paper("for_patients", message(f"pack.fitting_{paper}"), f"cane-fitting-{paper}.pdf", leaf, paper)

    def numbers_and_words(self) -> None:
        """Numbers, glossary, explanations, narration, captions."""
        self.text("for_you", message("pack.numbers"), "numbers.csv", numbers_csv(self.opened))
        self.text("for_you", message("pack.glossary"), "glossary.csv", glossary_csv(self.voice))
        self.text("for_you", message("pack.explained"), "explained.txt", explained_text(self.opened))
        told = "\n".join(f"{c.scene.title}\n\n{narration(c.scene)}" for c in self.opened.chosen)
        self.text("for_lecture", message("pack.narration"), "narration.txt", told)
        for chosen, name in zip(self.opened.chosen, self.opened.names, strict=True):
            told_of = message("pack.captions", scene=chosen.scene.title)
            self.text("for_lecture", told_of, f"captions-{name}.vtt", webvtt(chosen.scene))

    def paper(self, group: str, told: Message, name: str, leaf: Leaf, paper: str = "a4") -> None:
        """A sheet."""
        write_paper(leaf, self.add(group, told, name), paper, self.progress)

    def text(self, group: str, told: Message, name: str, text: str) -> None:
        """A text file."""
        with written_whole(self.add(group, told, name)) as part:
            part.write_text(text, encoding="utf-8", newline="")

    def index(self) -> Path:
        """The page that lists what was written; returns its path."""
        path = self.folder / LIST
        with written_whole(path) as part:
            part.write_text(index_page(self.opened, self.entries, self.readability()), encoding="utf-8")
        return path

    def readability(self) -> Message:
        """The handout's school grade, by the formula named for its language."""
        leaf = handout(self.opened)
        formula = FORMULAS.get(leaf.voice.language)
        if formula is None:
            return message("pack.grade_unknown")
        told, language = words_of(leaf), leaf.voice.language
        if language in SCORED:
            points = number(min(ease(told), 100.0), 0)
            return message("pack.grade_scored", grade=number(grade(told, language), 0), formula=formula, points=points)
        return message("pack.grade", grade=number(grade(told, language), 1), formula=formula)


def _film_key(chosen: Chosen) -> str:
    """What a film depends on: the scene with its words, our sources; never the same where it names files of its own."""
    scene = chosen.scene
    own = (scene.picture.font, scene.picture.palette, scene.film.voice, scene.person.bones)
    once = os.urandom(8).hex() if any(own) else ""
    return hashlib.sha256(f"{scene_hash(scene)} {sources()} {once}".encode()).hexdigest()[:40]


def _digest(path: Path) -> bytes:
    return hashlib.sha256(path.read_bytes()).hexdigest().encode()


def _is_there(path: Path, record: Path) -> bool:
    """True where a file is the one that was recorded, with its manifest beside it."""
    return path.is_file() and Path(f"{path}.json").is_file() and kept(record) == _digest(path)


def _stills(chosen: Chosen, builds: bool, name: str) -> Iterator[tuple[SlidePicture, Message, str]]:
    """A scene's pictures, what each is called and its file: the build-up of its first step, then every step."""
    scene, first = chosen.scene, chosen.shown[0]
    stages = builds_of(scene_at(scene, first))[:-1] if builds else []
    for n, layers in enumerate(stages, 1):
        told = message("pack.build", scene=scene.title, number=n)
        yield SlidePicture(scene, chosen.file, (first,), layers, n), told, f"build-{name}-{n:02d}-{layers[-1]}.png"
    for step in chosen.shown:
        told = message("pack.still", scene=scene.title, step=scene.steps[step].name)
        yield SlidePicture(scene, chosen.file, (step,)), told, f"still-{name}-{step + 1}.png"


def words_of(leaf: Leaf) -> str:
    """All sentences of a sheet, one a line, its headings left out."""
    return "\n".join(leaf.voice.say(told) for told in _told(leaf.blocks))


def _told(blocks: Sequence[Block]) -> Iterator[Said]:
    for block in blocks:
        head = block.kind in ("title", "heading", "caution")
        yield from (x for x in (*([] if head else [block.told]), *block.items) if x)
        yield from _told(block.left)
        yield from _told(block.right)


def numbers_csv(opened: OpenedLesson) -> str:
    """Every quantity of every shown step: as printed everywhere, and in SI."""
    voice = opened.first.picture.voice
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    heads = ("scene", "step", "quantity", "printed", "si", "unit")
    writer.writerow([voice.say(message(f"pack.{head}")) for head in heads])
    for chosen in opened.chosen:
        script = Script(chosen.scene, chosen.file)
        for step in chosen.shown:
            for fact in facts(taught(script, step)):
                unit = SI_UNITS[fact.value.dimension]
                row = (
                    chosen.scene.title, chosen.scene.steps[step].name, voice.say(fact.name), fact.said(voice),
                    f"{fact.value.value:.9g}", unit,
                )  # fmt: skip
                writer.writerow([cell(value) for value in row[:4]] + list(row[4:]))
    return out.getvalue()


def glossary_csv(voice: Voice) -> str:
    """Term, plain words, meaning."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([voice.say(message(f"glossary.{head}")) for head in ("term", "everyday", "meaning")])
    for key in read_toml("viz3d.teach", "glossary.toml")["terms"]:
        writer.writerow(
            [cell(voice.say(message(f"glossary.{key}.{part}"))) for part in ("term", "everyday", "meaning")]
        )
    return out.getvalue()


def explained_text(opened: OpenedLesson) -> str:
    """Every shown step explained."""
    voice, lines = opened.first.picture.voice, list[str]()
    for chosen in opened.chosen:
        for step in chosen.shown:
            lines += explain(chosen.scene, step, chosen.file).lines(voice)
    return "\n".join([*lines, voice.say(message("explain.rounded"))]) + "\n"


def folder_name(title: str) -> str:
    """A folder's name from a lesson's title.

    Examples
    --------
    >>> folder_name("The cane: which hand, how hard?")
    'the-cane-which-hand-how-hard'
    >>> folder_name("¿Qué mano para el bastón?")
    'que-mano-para-el-baston'
    """
    plain = "".join(c for c in unicodedata.normalize("NFKD", title) if not unicodedata.combining(c))
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-") or "lesson"
