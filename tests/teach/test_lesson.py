"""A lesson's whole pack read back: one number everywhere, texts as data, tags, links, grades, one line for errors."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Callable, Iterable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from pptx import Presentation

from tests.conftest import Ran
from tests.teach import test_fitting, test_slides
from tests.teach.pdf import Read, inked, read
from viz3d.errors import SceneError
from viz3d.output import pack as pack_room
from viz3d.output import paper, slides
from viz3d.output.pack import Pack, explained_text, numbers_csv, words_of
from viz3d.solution.script import Script
from viz3d.teach.explain import explain
from viz3d.teach.facts import facts, taught
from viz3d.teach.fitting import CAUTIONS
from viz3d.teach.handout import handout
from viz3d.teach.lesson import OpenedLesson, library_lessons, open_lesson
from viz3d.teach.lesson_deck import lesson_deck
from viz3d.teach.readability import grade
from viz3d.teach.worksheet import exercises_of
from viz3d.words.message import message
from viz3d.words.voice import Units

TRICKY = '=1+1 <b>&"cane"'
LESSON = f"""
format = 1
title = '{TRICKY}'
aim = "Which hand, and why."
prerequisites = ["What a moment is."]
plan = [{{ minutes = 4, what = "Predict and look." }}, {{ minutes = 6, what = "Worksheet." }}]
misunderstandings = [{{ says = "The cane pulls the joint apart.", answer = "It only takes load off." }}]
summary = ["Opposite hand."]
patient = ["load", "cane"]
exercises = ["abductor", "hand", "reading"]
seed = 3

[[scenes]]
scene = "cane-switch-hands"
steps = [1, 2, 5]

[[scenes]]
scene = "lean-over-hip"
"""


SPANISH = f"""
title = '{TRICKY}'
aim = "Qué mano, y por qué."
prerequisites = ["Qué es un momento."]
plan = [{{ what = "Prediga y mire." }}, {{ what = "Hoja de trabajo." }}]
misunderstandings = [{{ says = "El bastón separa la articulación.", answer = "Solo le quita carga." }}]
summary = ["Mano opuesta."]
"""
NUMBER = re.compile(r"\d[\d.,]* (?:BW|N·m|N|cm|mm)\b")


class Written(NamedTuple):
    """A lesson, its folder, its sheets."""

    opened: OpenedLesson
    folder: Path
    papers: dict[str, Read]

    @property
    def language(self) -> str:
        """Of all its words."""
        return self.opened.first.picture.language


def grey_pictures(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(slides, "slide_picture", test_slides.grey)
    patch.setattr(pack_room, "still_picture", lambda asked, _: (test_slides.grey(asked).png, f"alt of {asked.steps}"))
    patch.setattr(paper, "slide_picture", test_fitting.grey)


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> OpenedLesson:
    path = tmp_path_factory.mktemp("lesson") / "mine.toml"
    path.write_text(LESSON, encoding="utf-8")
    return open_lesson(str(path))


@pytest.fixture(scope="module")
def folder(opened: OpenedLesson, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("pack")
    with pytest.MonkeyPatch.context() as patch:
        grey_pictures(patch)
        pack = Pack(opened, out)
        pack.write()
        pack.index()
    return out


@pytest.fixture(scope="module")
def papers(folder: Path) -> dict[str, Read]:
    return {p.stem: read(p) for p in folder.glob("*.pdf")}


@pytest.fixture(scope="module", params=["en", "es"])
def written(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Written:
    """The same lesson in each language."""
    if request.param == "en":
        return Written(*(request.getfixturevalue(name) for name in ("opened", "folder", "papers")))
    path = tmp_path_factory.mktemp("spanish") / "mine.toml"
    (path.parent / "es").mkdir()
    path.write_text(LESSON, encoding="utf-8")
    (path.parent / "es" / "mine.toml").write_text(SPANISH, encoding="utf-8")
    out, opened = path.parent / "out", open_lesson(str(path), "es")
    with pytest.MonkeyPatch.context() as patch:
        grey_pictures(patch)
        pack = Pack(opened, out)
        pack.write()
        pack.index()
    return Written(opened, out, {p.stem: read(p) for p in out.glob("*.pdf")})


def shown(opened: OpenedLesson) -> list[tuple[Any, int]]:
    return [(one, k) for one in opened.chosen for k in one.shown]


def squeezed(text: str) -> str:
    """Without what a page's lines break at."""
    return re.sub(r"[\s\u00ad\ufffe\u2010-]", "", text)


def test_the_table_of_numbers_is_the_solver_s(written: Written) -> None:
    opened, folder, _ = written
    rows = list(csv.reader(io.StringIO((folder / "numbers.csv").read_bytes().decode())))[1:]
    voice, k = opened.first.picture.voice, 0
    for one, step in shown(opened):
        for fact in facts(taught(Script(one.scene, one.file), step)):
            _, name, _, printed, si, _ = rows[k]
            assert printed.lstrip("'") == fact.said(voice)
            assert float(si) == pytest.approx(fact.value.value, rel=1e-8)
            assert name == one.scene.steps[step].name
            k += 1
    assert k == len(rows) > 50


def test_no_file_holds_a_number_of_its_own(written: Written) -> None:
    """Numbers with a unit in slides and sheets are among those of the explanations, the facts and the exercises."""
    opened, folder, papers = written
    voice = opened.first.picture.voice
    told = [line for one, k in shown(opened) for line in explain(one.scene, k, one.file).lines(voice)]
    told += [f.said(voice) for one, k in shown(opened) for f in facts(taught(Script(one.scene, one.file), k))]
    told += [(folder / "exercises.txt").read_text(encoding="utf-8"), "500 N"]
    told += [s.caption + s.name for one in opened.chosen for s in one.scene.steps]
    known = squeezed(" ".join(told))
    found = [papers[name].text for name in ("worksheet", "answers")]
    for page in Presentation(str(folder / "slides.pptx")).slides:
        found += [*test_slides.texts(page), page.notes_slide.notes_text_frame.text]
    found += [(folder / name).read_text(encoding="utf-8") for name in ("narration.txt", "explained.txt", "index.html")]
    found += [path.read_text(encoding="utf-8") for path in folder.glob("*.vtt")]
    count, sign = 0, "." if written.language == "es" else ","
    for text in found:
        for number in NUMBER.findall(text):
            assert squeezed(number) in known, (number, text)
            assert sign not in number
            count += 1
    assert count > 300


def test_answers_hold_every_step_of_every_solution(written: Written) -> None:
    opened, _, papers = written
    voice, answers = opened.first.picture.voice, squeezed(papers["answers"].text)
    asked = squeezed(papers["worksheet"].text)
    for one in exercises_of(opened):
        for line in voice.lines([*one.working, *(c.mistake for c in one.choices if c.mistake is not None)]):
            assert squeezed(line) in answers, line
            assert squeezed(line) not in asked
        for choice in one.choices:
            assert squeezed(voice.say(choice.said)) in asked
    first = opened.chosen[0]
    for line in explain(first.scene, first.shown[-1], first.file).parts[3].told:
        assert squeezed(voice.say(line)) in answers


def test_sheets_are_tagged_titled_and_in_their_language(written: Written) -> None:
    papers, say = written.papers, written.opened.first.picture.voice.say
    assert len(papers) == 6
    for name, found in papers.items():
        assert found.tagged, name
        assert found.language == written.language
        assert found.title
        assert "H1" in found.kinds
        assert found.alts, name
    assert papers["worksheet"].title == say(message("worksheet.title", title=TRICKY))
    assert TRICKY in papers["worksheet"].text
    assert papers["handout-letter"].size == pytest.approx((612, 792), abs=0.5)


def check_pages_are_full(sheets: Iterable[Path]) -> None:
    """Nothing reaches into a margin; all pages but a last one are used to three quarters, and that to a fifth."""
    for sheet in sheets:
        pages = inked(sheet)
        for n, page in enumerate(pages, 1):
            width, height = page.size
            assert page.left >= 19.5, sheet
            assert page.right <= width - 19.5, sheet
            assert page.bottom > height * (0.75 if n < len(pages) or sheet.stem == "worksheet" else 0.2), (sheet, n)


def test_sheets_for_students_fill_their_pages(written: Written) -> None:
    check_pages_are_full(written.folder / name for name in ("worksheet.pdf", "answers.pdf"))


def test_the_handout_is_short_plain_and_names_no_force(written: Written) -> None:
    opened, _, papers = written
    leaf = handout(opened)
    found = grade(words_of(leaf), written.language)
    print(f"grade {found:.1f}")
    assert 0.0 < found <= 8.0
    for paper_size in ("a4", "letter"):
        one = papers[f"handout-{paper_size}"]
        assert len(one.pages) <= 2
        assert re.findall(r"\d[\d.,]* ?(?:N|BW|kg|%|lbf)\b", one.text) == []
        cautions = [message(f"handout.caution.{name}") for name in CAUTIONS]
        for line in leaf.voice.lines([*cautions]):
            assert squeezed(line) in squeezed(one.text)
    assert leaf.letters >= 14


def test_texts_are_data_in_every_file(folder: Path, papers: dict[str, Read]) -> None:
    deck = Presentation(str(folder / "slides.pptx"))
    assert TRICKY in [t for page in deck.slides for t in test_slides.texts(page)]
    with zipfile.ZipFile(folder / "exercises-qti.zip") as packed:
        assert "&lt;b&gt;&amp;" in packed.read("test.xml").decode()
    page = (folder / "index.html").read_text(encoding="utf-8")
    assert "<b>" not in page
    rows = csv.reader(io.StringIO((folder / "glossary.csv").read_bytes().decode()))
    assert all(len(row) == 3 and not any(c.startswith(("=", "+", "@")) for c in row) for row in rows)


class Links(HTMLParser):
    """Where a page's links lead."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [v for k, v in attrs if k == "href" and v]


def test_the_index_names_every_file_and_no_other(folder: Path) -> None:
    links = Links()
    links.feed((folder / "index.html").read_text(encoding="utf-8"))
    assert sorted(links.found) == sorted(p.name for p in folder.iterdir() if p.name != "index.html")


def test_slides_show_the_chosen_steps_only(opened: OpenedLesson, folder: Path) -> None:
    said = [t for page in Presentation(str(folder / "slides.pptx")).slides for t in test_slides.texts(page)]
    steps = opened.chosen[0].scene.steps
    assert steps[1].name in said
    assert steps[2].name not in said
    assert "What people often say" in said
    assert "“The cane pulls the joint apart.” It only takes load off." in said


@pytest.mark.parametrize(
    ("change", "error"),
    [
        (
            ('"lean-over-hip"', '"no-such"'),
            r"mine.toml: scenes\.2\.scene: found 'no-such': no such scene file, and .* name; 'viz3d scenes",
        ),
        (('"lean-over-hip"', '"../x/y"'), r"mine.toml: scenes\.2\.scene: found '../x/y'; allowed: a library scene"),
        (
            ('"lean-over-hip"', '"cane-switch-hands"'),
            r"scenes\.2\.scene: found 'cane-switch-hands'; scenes\.1 has that name",
        ),
        (('"lean-over-hip"', '"mine"'), r"scenes\.2\.scene: found 'mine'; that is a lesson, not a scene"),
        (('"lean-over-hip"', '"level-stance"\nsteps = [2]'), r"scenes\.2\.steps: found 2; level-stance has 1 step$"),
        (
            ('"lean-over-hip"', '"lean-over-hip"\nbuilds = "maybe"'),
            r"builds: found 'maybe'; allowed: true or false, without quotes",
        ),
        (("steps = [1, 2, 5]", "steps = [6]"), r"mine.toml: scenes\.1\.steps: found 6; cane-switch-hands has 5 steps"),
        (('"hand", "reading"', '"legs"'), r"mine.toml: exercises\.2: found 'legs'; allowed: 'abductor'"),
        (("seed = 3", "sede = 3"), r"mine.toml: sede: unknown key"),
        (("format = 1", "format = 7"), r"mine.toml: format: found 7"),
        (("minutes = 4", "minutes = 0"), r"mine.toml: plan\.1\.minutes: found 0"),
    ],
)
def test_what_is_no_lesson_is_told_in_one_line(change: tuple[str, str], error: str, tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(LESSON.replace(*change), encoding="utf-8")
    with pytest.raises(SceneError, match=error) as told:
        open_lesson(str(path))
    assert "\n" not in str(told.value)


def test_a_slide_text_too_long_names_its_key(
    opened: OpenedLesson, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    grey_pictures(monkeypatch)
    lesson = opened.lesson.model_copy(update={"summary": ["much to say " * 19] * 6})
    other = OpenedLesson(lesson, opened.file, opened.chosen, opened.names)
    with pytest.raises(
        SceneError, match=r"mine.toml: summary: 1368 letters do not fit on a slide: they make \d+ lines; \d+"
    ):
        Pack(other, tmp_path / "out").check()
    assert list(tmp_path.iterdir()) == []


def test_units_never_mix(tmp_path: Path) -> None:
    """All for students in the first scene's units, all for patients in their film's, in either language."""
    path = tmp_path / "mine.toml"
    other = LESSON.replace('"lean-over-hip"', '"cane-for-a-patient"')
    path.write_text(other.replace("seed = 3", 'seed = 3\npatient_film = "cane-for-a-patient"'), encoding="utf-8")
    (tmp_path / "es").mkdir()
    (tmp_path / "es" / "mine.toml").write_text(SPANISH, encoding="utf-8")
    for language in ("en", "es"):
        lesson = open_lesson(str(path), language)
        assert {one.scene.picture.voice.units for one in lesson.chosen} == {Units()}
        ours = Units("lbf", "lb", "in")
        assert lesson.at_home.picture.voice.units == lesson.patient_cut.scene.picture.voice.units == ours
        assert handout(lesson).voice.units == ours
        metric = open_lesson(str(path), language, [f"picture.{key}" for key in ("mass=kg", "length=cm", "force=kgf")])
        scenes = [one.scene for one in (*metric.chosen, metric.patient_cut)]
        assert {scene.picture.voice.units for scene in scenes} == {Units("kgf")}
    with pytest.raises(SceneError, match=r"found 'person.mass=80 kg'; a lesson's scenes take picture\.KEY=VALUE only"):
        open_lesson("cane", None, ["person.mass=80 kg"])


def test_a_bare_scene_is_a_lesson(run: Callable[..., Ran]) -> None:
    lesson = open_lesson("bag-sides")
    assert lesson.lesson.title == lesson.first.title
    assert lesson.lesson.patient == ["load", "carry"]
    wrong = run("lesson", "no-such-lesson")
    assert (wrong.code, wrong.err.count("\n")) == (1, 1)
    assert "no such lesson or scene" in wrong.err


@pytest.mark.parametrize("name", sorted(library_lessons()))
def test_lessons_that_come_with_it_open_and_are_whole(name: str) -> None:
    one = open_lesson(name)
    lesson = one.lesson
    assert lesson.aim
    assert lesson.prerequisites
    assert sum(item.minutes for item in lesson.plan) == 10
    assert len(lesson.misunderstandings) >= 3
    assert lesson.summary
    assert grade(words_of(handout(one))) <= 8.0


@pytest.mark.long
@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("name", sorted(library_lessons()))
def test_lessons_that_come_with_it_make_a_whole_pack(
    name: str, language: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    grey_pictures(monkeypatch)
    pack = Pack(open_lesson(name, language), tmp_path)
    assert all(path.stat().st_size > 100 for path in pack.write())
    for path in tmp_path.glob("handout-*.pdf"):
        pages = inked(path)
        assert [page.bottom > 0.7 * page.size[1] for page in pages] in ([True], [True, True]), path
    check_pages_are_full(tmp_path / sheet for sheet in ("worksheet.pdf", "answers.pdf"))
    for path in tmp_path.glob("cane-fitting-*.pdf"):
        assert len(read(path).pages) == 1


@pytest.mark.long
def test_the_longer_language_is_whole(opened: OpenedLesson, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    grey_pictures(monkeypatch)
    first = opened.chosen[0]
    picture = first.scene.picture.model_copy(update={"language": "qps"})
    scene = first.scene.model_copy(update={"picture": picture})
    other = OpenedLesson(opened.lesson, opened.file, (type(first)(scene, first.file, first.steps),), opened.names[:1])
    pack = Pack(other, tmp_path)
    pack.students()
    pack.patients()
    found = read(tmp_path / "handout-a4.pdf")
    assert len(found.pages) <= 3
    assert "clinician" not in found.text
    assert "moment" not in read(tmp_path / "answers.pdf").text


def test_the_lesson_of_the_readme_is_one(tmp_path: Path) -> None:
    readme = (Path(__file__).resolve().parents[2] / "README.md").read_text(encoding="utf-8")
    [block] = re.findall(r"^    format = 1\n(?:    .*\n|\n)+", readme, flags=re.M)
    path = tmp_path / "readme.toml"
    path.write_text(block.replace("\n    ", "\n").removeprefix("    "), encoding="utf-8")
    one = open_lesson(str(path))
    assert one.names == ("cane-switch-hands", "lean-over-hip")
    assert one.chosen[0].shown == (0, 1, 4)


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_walk_is_a_lesson_too(language: str) -> None:
    opened = open_lesson("walk-limp", language)
    assert len(lesson_deck(opened).slides) > 3
    assert explained_text(opened)
    assert numbers_csv(opened)
