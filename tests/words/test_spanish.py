"""Spanish is whole: every entry, every scene, every lesson; written for its language, plain where patients read it."""

from __future__ import annotations

import itertools
import re
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from fontTools.ttLib import TTFont

from tests.conftest import Ran
from tests.words.test_fits import REGISTERS, SIZES, boxes
from viz3d.errors import SceneError, TableError
from viz3d.output.pack import words_of
from viz3d.scene import translated
from viz3d.scene.reader import library_folder, library_scenes, load_scene
from viz3d.scene.translated import OF_LESSONS, OF_SCENES, in_language
from viz3d.solution.script import Script
from viz3d.stage.sheets import lay_out
from viz3d.stage.type import INTER
from viz3d.teach.explain import explain
from viz3d.teach.fitting import fitting_sheet
from viz3d.teach.handout import handout
from viz3d.teach.lesson import library_lessons, open_lesson
from viz3d.teach.readability import grade
from viz3d.words import catalogue as room
from viz3d.words.catalogue import catalogue, letters_of, missing

UNREAD = "Texto aún no leído por un profesional clínico."
"""Stands in everything for patients until a clinician has read it."""
TRADE = re.compile(
    r"abduct|aduct|palanca|\bmomentos?\b|descarga de peso|oblicu|lúnula|femor|fémur|acetáb|medial|lateral(?!es|\b)|monopod|facet"
    r"|equilibrio est|trocánt|ilíac|isqui|\bsacr|estátic|cocontrac|residu|equivalente|cotilo|offset|ilion", re.I,
)  # fmt: skip
FOR_STUDENTS = ("exercise.", "worksheet.", "glossary.", "input_word.")
NO_WORDS = ("symbol.", "unit.", "input_word.", "term.bw", "glossary.body_weight.term")
"""Signs, and words that the command line takes."""
COMMON = {
    "Pelvis",
    "Tibia",
    "Psoas",
    "psoas",
    "Plan",
    "BW",
    "min",
    "vertical",
    "newtons",
    "contralateral",
    "ipsilateral",
    "Contralateral",
}
"""Words that are the same in both languages, alone."""
FILES = sorted(p for p in library_folder().rglob("*.toml") if p.parent.name != "es")


def texts(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        for child in node.values():
            yield from texts(child)
    elif isinstance(node, list):
        for child in node:
            yield from texts(child)
    else:
        yield str(node)


def test_no_entry_is_missing() -> None:
    lacking = list(missing("es"))
    assert not lacking, f"'viz3d words --language es --missing' lists them in English, ready to translate: {lacking}"


def test_no_entry_was_left_in_english() -> None:
    spanish, left = catalogue("es"), set()
    for key, entry in catalogue("en").items():
        for register, forms in entry.forms.items():
            for form, text in forms.items():
                words = set(re.findall(r"[^\W\d_]{2,}", re.sub(r"\{\w+\}", "", text))) - COMMON
                if words and not key.startswith(NO_WORDS) and spanish[key].forms[register].get(form) == text:
                    left.add(key)
    assert left == set()


def test_every_letter_has_its_drawing() -> None:
    drawn = {chr(c) for weight in ("Regular", "Bold") for c in TTFont(INTER.file(weight)).getBestCmap()}
    assert set("ñáéíóúü¿¡«»ÁÉÍÓÚÑ") <= drawn
    assert set(letters_of("es")) - {"\n"} <= drawn


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_every_scene_and_lesson_is_translated(path: Path) -> None:
    english = tomllib.loads(path.read_text(encoding="utf-8"))
    keys = OF_LESSONS if path.parent.name == "lessons" else OF_SCENES
    spanish = in_language(english, path, "es", keys)
    file = tomllib.loads((path.parent / "es" / path.name).read_text(encoding="utf-8"))
    assert not set(texts(file)) & set(texts(english))
    assert spanish["title"] == file["title"]
    assert [s.get("set") for s in spanish.get("steps", [])] == [s.get("set") for s in english.get("steps", [])]
    for one, other in zip(spanish.get("steps", []), english.get("steps", []), strict=True):
        words, hold = len(one["caption"].split()), float(one["hold"].split()[0])
        assert words <= 3.0 * hold + 1e-9
        assert hold >= float(other["hold"].split()[0])
        assert len(one["caption"]) <= 200


def test_numbers_have_a_comma_and_are_the_same() -> None:
    lines = {}
    for language in ("en", "es"):
        scene = load_scene("cane-opposite-hand", [f"picture.language={language}"])
        voice = scene.picture.voice
        lines[language] = " ".join(line for k in (0, 1) for line in explain(scene, k).lines(voice))
    numbers = {k: re.findall(r"\d+(?:[.,]\d+)?(?= (?:BW|N|cm|N·m)\b)", text) for k, text in lines.items()}
    assert [n.replace(",", ".") for n in numbers["es"]] == numbers["en"]
    assert len(numbers["es"]) > 60
    assert not any("." in n for n in numbers["es"])


def test_plain_texts_have_no_words_of_the_trade() -> None:
    for key, entry in catalogue("es").items():
        for text in entry.forms["plain"].values():
            if not key.startswith(FOR_STUDENTS):
                assert not TRADE.search(re.sub(r"\{\w+\}", "", text)), f"{key}: {text}"


def test_patients_are_told_that_no_clinician_has_read_it() -> None:
    plain = {key: entry.forms["plain"]["other"] for key, entry in catalogue("es").items()}
    cautions = {"caution.short", "caution.line", "caution.line_counted", "caution.line_walking", "caution.line_both",
                "caution.short_walking", "caution.short_both",
                "caution.full.teaching",
                "page.caution", "handout.caution.learning"}  # fmt: skip
    assert {key for key, text in plain.items() if UNREAD in text} == cautions
    lesson = open_lesson("cane", "es")
    assert UNREAD in words_of(handout(lesson))
    assert UNREAD in words_of(fitting_sheet(lesson.first, lesson.chosen[0].file))


def test_handouts_are_easy_to_read() -> None:
    for name in library_lessons():
        found = grade(words_of(handout(open_lesson(name, "es"))), "es")
        print(f"{name}: grade {found:.0f}")
        assert 0.0 < found <= 8.0


def test_texts_that_lack_are_named(tmp_path: Path) -> None:
    own = tmp_path / "mine.toml"
    own.write_text((library_folder() / "lean-over-hip.toml").read_text(encoding="utf-8"), encoding="utf-8")
    with pytest.raises(
        SceneError, match=r"mine.toml: picture.language: found es, and no texts in that language; .*es/m"
    ):
        load_scene(str(own), ["picture.language=es"])
    (tmp_path / "es").mkdir()
    given = tmp_path / "es" / "mine.toml"
    text = (library_folder() / "es" / "lean-over-hip.toml").read_text(encoding="utf-8")
    given.write_text(text.replace("why = ", "# "), encoding="utf-8")
    with pytest.raises(SceneError, match=r"mine.toml: lacks questions.1.why; write them in es"):
        load_scene(str(own), ["picture.language=es"])
    given.write_text(text + 'mass = "80 kg"\n', encoding="utf-8")
    with pytest.raises(SceneError, match=r"questions.1.mass: is no text of the file it translates"):
        load_scene(str(own), ["picture.language=es"])
    given.write_text(text, encoding="utf-8")
    assert load_scene(str(own), ["picture.language=es"]).title == "Inclinarse sobre la cadera dolorida"
    spanish = tmp_path / "es" / "propia.toml"
    spanish.write_text(own.read_text(encoding="utf-8") + '\n[picture]\nlanguage = "es"\n', encoding="utf-8")
    assert load_scene(str(spanish), ["picture.language=es"]).title == "Leaning over the painful hip"


def test_entries_that_lack_are_named(monkeypatch: pytest.MonkeyPatch, run: Callable[..., Ran]) -> None:
    whole_told = run("words", "--language", "es", "--missing").out
    assert whole_told.startswith("# es.toml lacks 0 of 1")
    assert whole_told.count("\n") == 1, "texts of scenes and lessons that lack"
    monkeypatch.setattr(translated, "texts_file", lambda path, language: path.with_name("none.toml"))
    assert "# cane.toml: picture.language: found es, and no texts" in run("words", "--language", "es", "--missing").out
    whole = room.read_toml

    def fewer(package: str, name: str) -> dict[str, Any]:
        tables = dict(whole(package, name))
        return {k: v for k, v in tables.items() if k not in ("phase", "plate")} if name == "es.toml" else tables

    monkeypatch.setattr(room, "read_toml", fewer)
    room.catalogue.cache_clear()
    try:
        with pytest.raises(
            TableError, match=r"phase.heel_strike.left, .* and \d+ more; 'viz3d words --language es --miss"
        ):
            load_scene("level-stance", ["picture.language=es"])
        assert set(missing("es")) == {k for k in catalogue("en") if k.startswith(("phase.", "plate."))}
        told = run("words", "--language", "es", "--missing").out
        assert '[phase.heel_strike]\nleft.both = "left heel strikes ({share} of the cycle)"' in told
        assert tomllib.loads(told)["phase"]["swing"]["left"]["plain"]
    finally:
        room.catalogue.cache_clear()


@pytest.mark.long
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", sorted(library_scenes()))
def test_every_picture_has_room_for_it(name: str, size: str) -> None:
    """Every step's still, in both registers: words on the page, whole, and apart."""
    for register in REGISTERS:
        scene = load_scene(name, ["picture.language=es", f"picture.size={size}", f"picture.words={register}"])
        script = Script(scene)
        for k in range(len(scene.steps)):
            look, row = script.shot_at(k)
            found = boxes(lay_out(look.scene, look.solved, look.scene.picture.pixels).drawing(row).over)
            wide, high = look.scene.picture.pixels
            assert len(found) >= 4
            for text, box in found:
                assert min(box.left, box.top) >= -1, text
                assert box.right <= wide + 1, text
                assert box.bottom <= high, text
                assert "…" not in text
            for (one, a), (other, b) in itertools.combinations(found, 2):
                assert not a.overlaps(b), (k, register, one, other)
