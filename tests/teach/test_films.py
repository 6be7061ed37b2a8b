"""Films of a lesson: those in the slides are whole and play, the one for patients is theirs in shape and words."""

from __future__ import annotations

import dataclasses
import io
import zipfile
from pathlib import Path

import av
import numpy as np
import pytest
from pptx import Presentation

from tests.teach import test_slides
from tests.words.test_scenes import TRADE
from tests.words.test_spanish import TRADE as SPANISH_TRADE
from viz3d.output import pack, slides
from viz3d.output.encode import encode_mp4
from viz3d.scene.schema import Scene
from viz3d.solution.claims import verdicts
from viz3d.solution.script import Script
from viz3d.stage.sheets import check_words
from viz3d.stage.theme import theme_of
from viz3d.teach.lesson import library_lessons, open_lesson
from viz3d.teach.lesson_deck import lesson_deck, narration_of
from viz3d.words.catalogue import SOURCE

TONES = np.linspace(20, 235, 12).round()
TOLD = {"en": TRADE, "es": SPANISH_TRADE}


def small_film(path: Path) -> Path:
    """Twelve even frames, each brighter than the one before."""
    marks = path.with_suffix(".txt")
    marks.write_text(";FFMETADATA1\n", encoding="utf-8")
    frames = (np.full((36, 64, 3), tone, dtype=np.uint8) for tone in TONES)
    encode_mp4(frames, (64, 36), 30, path, marks, None)
    return path


def tones(film: io.BytesIO) -> list[float]:
    with av.open(film) as opened:
        return [float(frame.to_ndarray(format="gray").mean()) for frame in opened.decode(video=0)]


def test_a_film_in_the_slides_is_whole_and_has_its_poster(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(slides, "slide_picture", test_slides.grey)
    film, lesson = small_film(tmp_path / "film.mp4"), open_lesson("carrying")
    deck = lesson_deck(lesson, {lesson.names[0]: film})
    path = slides.write_slides(deck, tmp_path / "a.pptx")
    [page] = [p for p in Presentation(str(path)).slides if any(s.shape_type == 16 for s in p.shapes)]
    [movie] = [s for s in page.shapes if s.shape_type == 16]
    assert page.shapes.title.text_frame.text == "Film: A bag on either side"
    assert page.notes_slide.notes_text_frame.text == deck.voice.say(narration_of(lesson.chosen[0]))
    [asked] = [s.picture for s in deck.slides if s.key == "film"]
    assert movie.poster_frame.blob == test_slides.grey(asked).png
    assert movie._element.nvPicPr.cNvPr.get("descr").startswith("alt of")
    assert b"p:video" in page.part.blob
    with zipfile.ZipFile(path) as parts:
        [name] = [n for n in parts.namelist() if n.endswith(".mp4")]
        inside = parts.read(name)
        assert b'ContentType="video/mp4"' in parts.read("[Content_Types].xml")
    assert inside == film.read_bytes()
    assert tones(io.BytesIO(inside)) == pytest.approx(TONES, abs=3.0)


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("name", sorted(library_lessons()))
def test_patients_have_a_film_of_their_own(name: str, language: str) -> None:
    cut = open_lesson(name, language).patient_cut
    picture = cut.scene.picture
    assert (picture.words, picture.dress, picture.pixels) == ("plain", "patient", (1080, 1920))
    assert picture.language == language
    for text in (cut.scene.title, *(s.name for s in cut.scene.steps), *(s.caption for s in cut.scene.steps)):
        assert text
        assert not TOLD[language].search(text), text
    check_words(cut.scene, theme_of(cut.scene))
    if language == SOURCE:
        found = verdicts(Script(cut.scene, cut.file))
        assert found
        assert all(one.holds for one in found)


def test_a_scene_that_was_not_made_for_patients_loses_its_captions_for_them() -> None:
    cut = open_lesson("level-stance").patient_cut.scene
    assert (cut.picture.words, cut.picture.pixels) == ("plain", (1080, 1920))
    assert [s.caption for s in cut.steps] == [""]
    assert open_lesson("cane-for-a-patient").patient_cut.scene.steps[0].caption


def test_a_film_that_would_be_the_same_is_not_drawn_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    drawn: list[str] = []

    def draw(scene: Scene, path: Path, *_: object, **__: object) -> None:
        drawn.append(f"{path.name} {scene.title}")
        path.write_text(scene.title, encoding="utf-8")
        Path(f"{path}.json").write_text("{}", encoding="utf-8")

    monkeypatch.setattr(pack, "draw_film", draw)
    monkeypatch.setattr(pack, "user_folder", lambda: tmp_path / "kept")
    lesson = open_lesson("carrying")
    pack.Pack(lesson, tmp_path / "out").film()
    assert drawn == ["film-bag-sides.mp4 A bag on either side", "film-for-patients.mp4 A bag and a sore hip"]
    pack.Pack(lesson, tmp_path / "out").film()
    assert len(drawn) == 2
    said = lesson.chosen[0].scene.model_copy(update={"title": "Another title"})
    other = dataclasses.replace(lesson, chosen=(dataclasses.replace(lesson.chosen[0], scene=said),))
    pack.Pack(other, tmp_path / "out").film()
    assert drawn[2:] == ["film-bag-sides.mp4 Another title"]
    (tmp_path / "out" / "film-for-patients.mp4").write_text("spoilt", encoding="utf-8")
    pack.Pack(other, tmp_path / "out").film()
    assert drawn[3:] == ["film-for-patients.mp4 A bag and a sore hip"]
