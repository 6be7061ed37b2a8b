"""Decks read back: every number is the solver's, texts are text boxes and data, pictures say what they show."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from pptx import Presentation
from pptx.util import Inches, Pt

from tests.conftest import Ran
from viz3d.errors import SceneError
from viz3d.output import slide_pictures, slides
from viz3d.output.slide_pictures import Drawn
from viz3d.output.still import draw_still
from viz3d.scene.reader import library_scenes, load_scene
from viz3d.scene.schema import Scene
from viz3d.solution.script import Script
from viz3d.stage.type import wrap
from viz3d.teach.deck import Chosen, SlidePicture, deck_of
from viz3d.teach.explain import explain
from viz3d.teach.facts import facts, taught
from viz3d.words.message import force
from viz3d.words.voice import Units, Voice

NAMES = ("cane-opposite-hand", "bag-sides")
TRICKY = 'A <b>"cane"</b> & =HYPERLINK("x")'


def grey(asked: SlidePicture, progress: Any = None) -> Drawn:
    """A small picture in the place of a drawn one: what is written around it is looked at here."""
    out, size = io.BytesIO(), (60, 120) if asked.whole else (192, 108)
    Image.new("RGB", size, "grey").save(out, format="PNG")
    return Drawn(out.getvalue(), f"alt of {asked.steps} {asked.layers} {asked.whole}", size, 93)


@pytest.fixture(autouse=True)
def undrawn(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    if "long" not in request.keywords:
        monkeypatch.setattr(slides, "slide_picture", grey)


@cache
def scenes(name: str) -> tuple[Scene, str]:
    return load_scene(name), name


def opened(path: Path) -> Any:
    return Presentation(str(path))


def texts(page: Any) -> list[str]:
    """Every text of a slide: boxes, groups, tables."""
    out = []
    for shape in page.shapes:
        if shape.shape_type == 6:
            out += [s.text_frame.text for s in shape.shapes if s.has_text_frame and s.text_frame.text]
        elif shape.has_text_frame:
            out += [p.text for p in shape.text_frame.paragraphs if p.text]
        elif shape.has_table:
            out += [c.text for r in shape.table.rows for c in r.cells]
    return out


@pytest.fixture(scope="module")
def deck(tmp_path_factory: pytest.TempPathFactory) -> Any:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(slides, "slide_picture", grey)
        path = tmp_path_factory.mktemp("deck") / "a.pptx"
        return opened(slides.write_slides(deck_of([Chosen(*scenes(n)) for n in NAMES]), path))


def test_every_number_of_the_tables_is_the_solver_s(deck: Any) -> None:
    voice, found = Voice(), 0
    tables = [s.table for page in deck.slides for s in page.shapes if s.has_table]
    for name, table in zip(NAMES, tables, strict=True):
        scene, file = scenes(name)
        script = Script(scene, file)
        for k, row in enumerate(list(table.rows)[1:]):
            told = {f.key: f.said(voice) for f in facts(taught(script, k))}
            cells = [c.text for c in row.cells]
            assert cells[0] == scene.steps[k].name
            assert cells[1] == told["moment"]
            assert cells[2] == told["muscle_force"].split(", ")[0]
            assert cells[3] == told["joint_force"]
            found += 1
    assert found == sum(len(scenes(n)[0].steps) for n in NAMES)


def test_no_number_with_a_unit_is_from_elsewhere(deck: Any) -> None:
    """Whatever has a unit of force or moment on a slide or in its notes is said of one of the scenes' solutions."""
    voice, known = Voice(), "500 N"  # the scale bar
    for name in NAMES:
        scene, file = scenes(name)
        script = Script(scene, file)
        for k in range(len(scene.steps)):
            one = explain(scene, k, file)
            known += " ".join(f.said(voice).replace("−", "") for f in facts(taught(script, k)))
            known += " ".join(line for part in one.parts for line in voice.lines(list(part.told)))
        known += f" {scene.aim} {' '.join(s.caption + s.name for s in scene.steps)}"
    count = 0
    for page in deck.slides:
        for text in [*texts(page), page.notes_slide.notes_text_frame.text]:
            for number in re.findall(r"\d[\d.]* (?:BW|N·m|N|cm)\b", text):
                assert number in known, (number, text)
                count += 1
    assert count > 100


def test_titles_notes_and_pictures_are_whole(deck: Any) -> None:
    assert deck.slide_width * 9 == pytest.approx(deck.slide_height * 16, rel=1e-3)
    assert deck.core_properties.title == scenes(NAMES[0])[0].title
    for page in deck.slides:
        assert page.shapes.title is not None
        assert page.shapes.title.text_frame.text
        assert page.notes_slide.notes_text_frame.text
        for shape in page.shapes:
            if shape.shape_type == 13:
                assert shape._element.nvPicPr.cNvPr.get("descr").startswith("alt of")
            if shape.has_text_frame and shape.text_frame.text:
                sizes = [r.font.size for p in shape.text_frame.paragraphs for r in p.runs]
                assert min(sizes) >= Pt(16)
                assert shape.left >= 0
                assert shape.left + shape.width <= deck.slide_width
                assert shape.top + shape.height <= deck.slide_height + Inches(0.01)


def test_captions_and_build_sentences_are_editable_text(deck: Any) -> None:
    said = {text for page in deck.slides for text in texts(page)}
    for name in NAMES:
        for step in scenes(name)[0].steps:
            assert step.caption in said
    assert "The weight of the body less the stance leg acts at its centre of mass." in said
    joints = [
        shape for page in deck.slides for shape in page.shapes if shape.shape_type == 6 and shape.name == "Sketch"
    ]
    assert len(joints) == len(NAMES)
    assert all(g._element.nvGrpSpPr.cNvPr.get("descr").startswith("Free body") for g in joints)


def test_arrows_of_the_sketch_are_to_scale(deck: Any) -> None:
    """The joint's arrow against the bar, both measured on the slide."""
    scene, file = scenes(NAMES[0])
    at = taught(Script(scene, file), len(scene.steps) - 1)
    [group] = [s for page in list(deck.slides)[:2] for s in page.shapes if s.shape_type == 6]
    arrow = next(s for s in group.shapes if s.name == "joint")
    long = ((arrow.end_x - arrow.begin_x) ** 2 + (arrow.end_y - arrow.begin_y) ** 2) ** 0.5
    bars = [abs(s.end_x - s.begin_x) for s in group.shapes if s.shape_type == 9 and s.begin_y == s.end_y]
    assert long / max(bars) == pytest.approx(at.joint_force / 500.0, rel=1e-3)


def test_texts_are_data_and_the_same_deck_has_the_same_bytes(tmp_path: Path) -> None:
    scene, file = scenes(NAMES[0])
    steps = [scene.steps[0], scene.steps[1].model_copy(update={"name": TRICKY, "caption": TRICKY})]
    odd = scene.model_copy(update={"title": TRICKY, "steps": steps})
    made = [slides.write_slides(deck_of([Chosen(odd, file)], builds=False), tmp_path / n) for n in ("a.pptx", "b.pptx")]
    assert made[0].read_bytes() == made[1].read_bytes()
    said = [text for page in opened(made[0]).slides for text in texts(page)]
    assert said.count(TRICKY) >= 3
    with zipfile.ZipFile(made[0]) as parts:
        assert {i.date_time for i in parts.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert not any(b"Steve" in parts.read(n) for n in parts.namelist())


def test_a_text_that_does_not_fit_names_its_key(tmp_path: Path) -> None:
    scene, file = scenes(NAMES[0])
    long = scene.steps[1].model_copy(update={"caption": "every word of it counts " * 12 + "to the end"})
    wordy = scene.model_copy(update={"steps": [scene.steps[0], long]})
    with pytest.raises(SceneError, match=r"cane-opposite-hand: steps\[2\].caption: 298 letters do not fit on a slide"):
        slides.write_slides(deck_of([Chosen(wordy, file)], builds=False), tmp_path / "a.pptx")
    named = scene.steps[0].model_copy(update={"name": "a name that goes on " * 4})
    with pytest.raises(SceneError, match=r"steps\[1\].name: \d+ letters do not fit on a slide; about \d+ do"):
        slides.write_slides(
            deck_of([Chosen(scene.model_copy(update={"steps": [named]}), file)], False), tmp_path / "a.pptx"
        )
    assert list(tmp_path.iterdir()) == []


def test_another_language_and_other_units_fit_too(tmp_path: Path) -> None:
    scene, file = scenes(NAMES[0])
    picture = scene.picture.model_copy(update={"language": "qps", "force": "lbf", "length": "in"})
    other = scene.model_copy(update={"picture": picture})
    said = " ".join(
        t
        for page in opened(slides.write_slides(deck_of([Chosen(other, file)]), tmp_path / "a.pptx")).slides
        for t in texts(page)
    )
    at = taught(Script(scene, file), 1)
    assert Voice("qps", units=Units("lbf", "kg", "in")).number(force(at.joint_force, at.weight)) in said
    assert " N·m" not in said
    assert "The free body" not in said


def test_the_command_refuses_other_files(run: Callable[..., Ran]) -> None:
    assert "this command writes .pptx" in run("slides", "level-stance", "--out", "a.ppt").err
    assert run("slides", "no-such-scene").code == 1


@pytest.mark.long
@pytest.mark.parametrize("language", ["en", "es"])
def test_every_caption_has_room_above_the_small_print(language: str) -> None:
    """At 15 points or more, in the letters of the deck's font, which are wider than those of pictures."""
    wide = (slides.WIDTH - 2 * slides._SIDE) / 12700
    for name in library_scenes():
        scene = load_scene(name, [f"picture.language={language}"])
        if scene.picture.pixels[1] > scene.picture.pixels[0]:
            continue
        for k, step in enumerate(scene.steps):
            _, row, sheet, shown = slide_pictures._laid_out(SlidePicture(scene, name, (k,)))
            _, room = slide_pictures._band_of(sheet, slide_pictures._wordless(shown), row)
            sizes = [
                size for size in slides._CAPTIONS
                if len(wrap(step.caption, wide / 1.03, size, "SemiBold")) * size * slides._LEADING <= room / 2 + 1
            ]  # fmt: skip
            assert sizes, (name, k + 1, room, step.caption)
            print(name, k + 1, sizes[0])


@pytest.mark.long
def test_pictures_are_drawn_once_and_changed_words_draw_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    scene, file = scenes(NAMES[0])
    slides.write_slides(deck_of([Chosen(scene, file)]), tmp_path / "a.pptx")
    pictures = [s for page in opened(tmp_path / "a.pptx").slides for s in page.shapes if s.shape_type == 13]
    assert len(pictures) >= 10
    assert sum("weight less the left leg" in p._element.nvPicPr.cNvPr.get("descr", "") for p in pictures) >= 3
    sizes = {p.image.size for p in pictures}
    assert (1920, 1080) in sizes

    def refuse(*_: Any) -> None:
        raise AssertionError("drawn anew")

    monkeypatch.setattr(slide_pictures, "write_page", refuse)
    steps = [s.model_copy(update={"caption": f"{s.caption} Indeed."}) for s in scene.steps]
    words = scene.model_copy(update={"title": "Another title", "steps": steps})
    slides.write_slides(deck_of([Chosen(words, file)]), tmp_path / "b.pptx")
    said = [t for page in opened(tmp_path / "b.pptx").slides for t in texts(page)]
    assert "Another title" in said


@pytest.mark.long
@pytest.mark.parametrize("language", ["en", "es"])
def test_a_lesson_s_still_is_the_still(tmp_path: Path, language: str) -> None:
    """Words painted on the slide's picture make the picture that the command draws whole, to the last pixel."""
    scene = load_scene("replacement-hip", [f"picture.language={language}", "picture.step=2"])
    png, alt = slide_pictures.still_picture(SlidePicture(scene, "x", (1,)))
    draw_still(scene, tmp_path / "a.png", "x")
    with Image.open(tmp_path / "a.png") as whole, Image.open(io.BytesIO(png)) as painted:
        assert painted.text == whole.text
        assert alt == whole.text["Description"]
        away = np.abs(np.asarray(whole, dtype=int) - np.asarray(painted, dtype=int))
    print(f"largest difference {away.max()}, pixels that differ {int((away.max(axis=2) > 0).sum())}")
    assert away.max() <= 2
