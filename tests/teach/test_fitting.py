"""The cane fitting sheet read back: its numbers are the solution's and the published estimate's, its tags are whole."""

from __future__ import annotations

import dataclasses
import io
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.conftest import Ran
from tests.teach.pdf import inked, read
from viz3d.output import paper
from viz3d.output.paper import write_paper
from viz3d.output.slide_pictures import Drawn, slide_picture
from viz3d.scene.reader import load_scene
from viz3d.teach.deck import SlidePicture
from viz3d.teach.fitting import fit_of, fitting_sheet
from viz3d.words.message import Amount
from viz3d.words.voice import Units, Voice

PLAIN = Voice("en", "plain")


def grey(asked: SlidePicture, progress: Any = None) -> Drawn:
    """A small picture in the place of a drawn one."""
    out = io.BytesIO()
    Image.new("RGB", (60, 150), "grey").save(out, format="PNG")
    spots = {"handle": [[0.1, 0.5], [0.0, 0.5]], "tip": [[0.3, 1.0], [0.1, 1.0]]}
    return Drawn(out.getvalue(), "a person with a cane", (60, 150), 150, spots)


def grey_from_the_left(asked: SlidePicture, progress: Any = None) -> Drawn:
    """The same, with the cane on the reader's right."""
    spots = {"handle": [[0.9, 0.5], [1.0, 0.5]], "tip": [[0.7, 1.0], [0.9, 1.0]]}
    return dataclasses.replace(grey(asked), spots=spots)


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_the_sheet_says_what_was_solved_and_is_tagged(
    size: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(paper, "slide_picture", grey)
    scene = load_scene("cane-opposite-hand")
    found, fit = read(write_paper(fitting_sheet(scene), tmp_path / "a.pdf", size)), fit_of(scene)
    for value, dimension in (
        (fit.handle, "whole_length"), (0.45 * 1.66 + 0.087, "whole_length"), (0.02, "whole_length"),
        (0.15, "whole_length"), (fit.elbow, "whole_angle"), (0.94, "fraction"),
    ):  # fmt: skip
        assert PLAIN.number(Amount(value, dimension)) in found.text
    for line in ("This sheet is for learning only", "licensed clinician", "a fall", "rubber tip", "come first"):
        assert line in found.text
    assert " N" not in found.text.replace(" N·m", " N")
    assert "BW" not in found.text
    assert (found.title, found.language, found.tagged) == ("How a cane fits", "en", True)
    assert found.alts == ["a person with a cane"]
    assert {"H1", "H2", "L", "LI", "P", "Figure"} <= set(found.kinds)
    assert len(found.pages) <= 2
    assert found.size == pytest.approx((595.3, 841.9) if size == "a4" else (612, 792), abs=0.5)


def test_handle_and_elbow_are_those_of_people_with_canes_as_high_as_the_wrist_crease() -> None:
    """Kumar, Roe & Scremin 1995, abstract, method II: elbow 25.4 degrees (sd 6.1), 20 to 30 in 49 of 52 people.

    Where a palm rests on a handle was derived from that mean: ours within 1.5 degrees of it is the derivation kept, no
    check from outside. That each of six unlike people is between 20 and 30 is one. The sheet's estimate is of people in
    shoes.
    """
    elbows = []
    for sex, mass, stature in (
        ("female", "64 kg", "1.66 m"), ("male", "90 kg", "1.85 m"), ("female", "52 kg", "1.52 m"),
        ("male", "78 kg", "1.75 m"), ("female", "90 kg", "1.60 m"), ("male", "70 kg", "1.65 m"),
    ):  # fmt: skip
        scene = load_scene("level-stance", [f"person.sex={sex}", f"person.mass={mass}", f"person.stature={stature}"])
        fit = fit_of(scene)
        assert fit.side == "right"
        assert 0.0 < fit.estimate - fit.handle < 0.035
        assert math.radians(20) < fit.elbow < math.radians(30)
        assert fit.is_usual
        assert 0.45 < fit.handle / scene.person.stature < 0.53
        elbows.append(math.degrees(fit.elbow))
    assert float(np.mean(elbows)) == pytest.approx(25.4, abs=1.5)


def test_an_elbow_that_is_not_usual_is_said_to_be_checked() -> None:
    """The tip stands as far aside for a small person: her arm is nearly straight."""
    leaf = fitting_sheet(load_scene("level-stance", ["person.stature=1.30 m", "person.mass=40 kg"]))
    told = next(block for block in leaf.blocks if block.kind == "beside").right[0]
    assert "have the height and the place of the tip checked" in " ".join(leaf.voice.lines(list(told.items)))


@pytest.mark.parametrize("hip", ["left", "right"])
@pytest.mark.parametrize("language", ["en", "es"])
def test_one_page_holds_it_and_no_word_reaches_into_a_margin(
    hip: str, language: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """20 mm stay free at each side, whichever hand the cane is in."""
    monkeypatch.setattr(paper, "slide_picture", grey if hip == "left" else grey_from_the_left)
    scene = load_scene("cane-opposite-hand", [f"person.painful_hip={hip}", f"picture.language={language}"])
    pages = inked(write_paper(fitting_sheet(scene), tmp_path / "a.pdf", "letter"))
    assert len(pages) == 1
    assert pages[0].left >= 19.5
    assert pages[0].right <= 215.9 - 19.5


def test_inches_and_the_longer_language(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(paper, "slide_picture", grey)
    scene = load_scene("cane-opposite-hand", ["picture.length=in", "picture.language=qps"])
    found = read(write_paper(fitting_sheet(scene), tmp_path / "a.pdf"))
    handle = Amount(fit_of(scene).handle, "whole_length")
    assert Voice("qps", "plain", Units(length="in")).number(handle) in found.text
    assert found.language == "qps"
    assert len(found.pages) <= 2
    assert "clinician" not in found.text


def test_the_command_refuses_what_it_cannot_write(run: Callable[..., Ran]) -> None:
    assert run("fit", "level-stance", "--paper", "b5").err == "viz3d: --paper: found 'b5'; allowed: a4, letter\n"
    assert "this command writes .pdf" in run("fit", "level-stance", "--out", "a.doc").err
    tall = run("fit", "no-such-scene")
    assert (tall.code, tall.err.count("\n")) == (1, 1)


@pytest.mark.long
def test_the_marks_stand_where_the_picture_shows_them(tmp_path: Path) -> None:
    """Handle and tip, as shares of the drawn picture, against the cane's own pixels."""
    fit = fit_of(load_scene("cane-opposite-hand"))
    drawn = slide_picture(SlidePicture(fit.scene, "scene", (0,), ("bones", "cane"), whole=True))
    pixels = np.asarray(Image.open(io.BytesIO(drawn.png)))
    high, wide = pixels.shape[:2]
    seen = pixels[..., 3] > 128
    (x, y), _ = drawn.spots["handle"]
    rows = np.flatnonzero(seen.any(axis=1))
    floor = drawn.spots["tip"][0][1] * high
    crown = float(rows.min())
    assert (floor - y * high) / (floor - crown) == pytest.approx(fit.handle / 1.66, abs=0.02)
    column = np.flatnonzero(seen[:, round(x * wide)])
    assert column.max() == pytest.approx(floor, abs=0.02 * high)
