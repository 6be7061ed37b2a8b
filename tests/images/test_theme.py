"""Colours, patterns, fonts and words: everyone can tell the roles apart, and every letter is written or refused."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from itertools import combinations
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import matplotlib
import numpy as np
import pypdfium2
import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from PIL import Image

from tests.conftest import Ran
from tests.images.conftest import WIDE, scenes_by_file
from viz3d.errors import InputError
from viz3d.output.files import source_line
from viz3d.output.paint import Painter
from viz3d.output.still import draw_builds, draw_still
from viz3d.scene.reader import library_scenes, load_scene
from viz3d.solution.script import Script, solve_scene
from viz3d.stage.alt import alt_text
from viz3d.stage.builds import builds_of
from viz3d.stage.compose import compose
from viz3d.stage.drawing import Words
from viz3d.stage.palette import ROLES, contrast, palette, pressure_map
from viz3d.stage.sheets import lay_out
from viz3d.stage.theme import VISIONS, check_palette, role_distances, theme_of, usual_theme
from viz3d.stage.type import INTER, WEIGHTS, face_of, text_width, wrap

DEJAVU = Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf"


def own_scene(folder: Path, *lines: str, name: str = "mine") -> Path:
    """A copy of a library scene in a folder of its own, with lines put under [picture]."""
    text = library_scenes()["level-stance"].read_text(encoding="utf-8")
    path = folder / f"{name}.toml"
    path.write_text(text + '\n[picture]\nsize = "960x540"\n' + "\n".join(lines) + "\n", encoding="utf-8")
    return path


@pytest.mark.parametrize("backdrop", ["light", "dark"])
def test_roles_stay_apart_in_every_vision(backdrop: str) -> None:
    """CIEDE2000 of all pairs, by a colour science library; vision simulated by Machado 2009, severity 1."""
    colours = palette(backdrop)
    worst = min(min(role_distances(colours[a], colours[b]).values()) for a, b in combinations(ROLES, 2))
    assert worst > 13.0
    assert set(role_distances(colours["joint"], colours["hand"])) == set(VISIONS)


def test_print_tells_roles_apart_without_colour() -> None:
    theme = usual_theme("print")
    assert len({theme.pattern(r) for r in ROLES}) == len(ROLES)
    for colour in theme.colours.values():
        assert len({colour[1:3], colour[3:5], colour[5:7]}) == 1  # a grey
    grey = pressure_map(grey=True)
    assert np.ptp(grey, axis=1).max() < 1e-3  # no hue: what the published matrices leave
    assert (np.diff(grey[:, 0]) < 0).all()


@pytest.mark.parametrize("backdrop", ["light", "dark", "print"])
def test_usual_palettes_pass_their_own_check(backdrop: str) -> None:
    theme = usual_theme(backdrop)
    check_palette(theme.colours, theme.patterns, backdrop)
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)  # WCAG 2.2, the largest there is


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('joint = "#1B716A"', r"mine.toml: weight #1B716A and joint #1B716A are 0.0 apart in normal vision"),
        ('joint = "#1C726B"', r"weight #1B716A and joint #1C726B are 0\.\d apart in"),
        ('joint = "#E0D0F0"', r"joint #E0D0F0 on paper_top #F5F2EB has a contrast of 1\.\d; allowed: at least 4.5"),
        ('jiont = "#000000"', r"'jiont' is not a colour's name; allowed: weight, muscle"),
        ('joint = "red"', r"joint: found 'red'; allowed: a colour like"),
        ("joint = 3", r"joint: found 3; allowed"),
        ("joint =", "is not TOML: line 1 cannot be read"),
    ],
)
def test_own_palettes_are_checked(tmp_path: Path, text: str, told: str) -> None:
    (tmp_path / "mine.toml").write_text(text, encoding="utf-8")
    scene = load_scene(str(own_scene(tmp_path, 'palette = "mine.toml"', name="scene")))
    with pytest.raises(InputError, match=told):
        theme_of(scene)


def test_an_own_palette_is_used(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text('joint = "#6A4AA3"', encoding="utf-8")
    scene = load_scene(str(own_scene(tmp_path, 'palette = "mine.toml"', name="scene")))
    theme = theme_of(scene)
    assert theme.colours["joint"] == "#6A4AA3"
    assert theme.colours["weight"] == palette("light")["weight"]


@pytest.mark.parametrize("name", ["../mine.toml", "/etc/hostname", "none.toml"])
def test_files_outside_the_scenes_folder_are_refused(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "inner"
    folder.mkdir()
    (tmp_path / "mine.toml").write_text("", encoding="utf-8")
    scene = load_scene(str(own_scene(folder, f'palette = "{name}"')))
    with pytest.raises(InputError, match="allowed: a file inside the scene file's folder"):
        theme_of(scene)


def test_letters_a_font_lacks_are_named(tmp_path: Path) -> None:
    scene = load_scene("level-stance", ["title=股関節にかかる力"])
    with pytest.raises(InputError, match=r"title: the font Inter has no '股'; name a font file"):
        lay_out(scene, solve_scene(scene), (960, 540))
    shutil.copy(DEJAVU, tmp_path / "other.ttf")
    path = own_scene(tmp_path, 'font = "other.ttf"')
    hebrew = load_scene(str(path), ["title=הירך נושאת משקל"])
    sheet = lay_out(hebrew, solve_scene(hebrew), (960, 540))
    assert sheet.theme.face.name == "DejaVu Sans"
    (tmp_path / "not.ttf").write_text("no font", encoding="utf-8")
    with pytest.raises(InputError, match=r"picture.font: found 'not.ttf', which is damaged or is none"):
        face_of(tmp_path / "not.ttf")


@pytest.mark.parametrize(
    ("title", "letter"), [("Er sagte „Hüfte“, ‚so‘ ‹da›", ""), ("A hip 😀", "😀"), ("股関節", "股")]
)
def test_check_judges_letters_as_a_still_does(
    tmp_path: Path, level_text: str, run: Callable[..., Ran], title: str, letter: str
) -> None:
    first = next(x for x in level_text.splitlines() if x.startswith("title"))
    (tmp_path / "own.toml").write_text(level_text.replace(first, f'title = "{title}"'), encoding="utf-8")
    checked = run("check", "own.toml")
    drawn = run("still", "own.toml", "--set", "picture.size=640x360", "--out", "a.svg")
    assert checked.code == drawn.code == (1 if letter else 0), (checked.err, drawn.err)
    assert checked.err == drawn.err
    if letter:
        assert f"has no '{letter}'" in checked.err


def test_low_quotation_marks_are_the_high_ones_let_down() -> None:
    for weight in WEIGHTS:
        with TTFont(str(INTER.file(weight))) as opened:
            glyphs, letters = opened.getGlyphSet(), opened.getBestCmap()

            def box(letter: str, glyphs: Any = glyphs, letters: Any = letters) -> tuple[float, ...]:
                pen = BoundsPen(glyphs)
                glyphs[letters[ord(letter)]].draw(pen)
                return tuple(pen.bounds)

            low, high, comma = box("„"), box("”"), box(",")
            assert (low[0], low[2], low[1]) == (high[0], high[2], comma[1])
            assert low[3] - low[1] == high[3] - high[1]
            assert box("‹")[2] - box("‹")[0] < 0.8 * (box("«")[2] - box("«")[0])


def test_chinese_with_a_named_font_is_painted(tmp_path: Path) -> None:
    """A font made here: one letter's outline under a Chinese code point."""
    with TTFont(str(DEJAVU)) as opened:
        for table in opened["cmap"].tables:
            if table.isUnicode():
                table.cmap[ord("股")] = "B"
        opened.save(str(tmp_path / "cjk.ttf"))
    scene = load_scene(str(own_scene(tmp_path, 'font = "cjk.ttf"')), ["title=" + "股" * 60])
    sheet = lay_out(scene, solve_scene(scene), (960, 540))
    title = next(m for m in sheet.drawing(0).over if isinstance(m, Words))
    assert title.text.startswith("股股")
    assert text_width(title.text, title.size, "Bold", sheet.theme.face) < sheet.cards.left
    painter = Painter((960, 540), np.full((540, 960, 3), 255, dtype=np.uint8), sheet.theme.face)
    painter.marks([title], "#FFFFFF")
    assert (painter.pixels() < 128).any()


def test_right_to_left_is_shaped() -> None:
    """A Hebrew word ends at the left: its first letter's ink lies right of its last letter's."""
    face = face_of(DEJAVU)

    def ink(text: str) -> np.ndarray:
        painter = Painter((400, 60), np.full((60, 400, 3), 255, dtype=np.uint8), face)
        painter.marks([Words(10, 40, text, 30, "#000000")], "#FFFFFF")
        return painter.pixels()[..., 0] < 128

    both = ink("\u05d0i\u05dc")  # alef, a Latin i, lamed: a strong mix that only shaping puts in order
    assert both.any()
    lamed, alef = ink("\u05dc"), ink("\u05d0")
    word = ink("\u05d0\u05dc")
    first_columns = word[:, : 10 + int(text_width("\u05dc", 30, face=face))]
    assert abs(int(first_columns.sum()) - int(lamed.sum())) < abs(int(first_columns.sum()) - int(alef.sum()))


def test_long_words_are_cut_not_spilled() -> None:
    lines = wrap("a" * 200, 300.0, 20.0)
    assert "".join(lines) == "a" * 200
    assert all(text_width(x, 20.0) <= 300.0 for x in lines)


@scenes_by_file
def test_numbers_are_the_same_strings_everywhere(tmp_path: Path, name: str, run: Callable[..., Ran]) -> None:
    """SVG, PDF, alt text and ``solve --json`` against the plan: the very same strings."""
    scene = load_scene(name, [*WIDE, "picture.size=960x540", 'picture.insets=["forces", "socket", "figure"]'])
    scene = scene.model_copy(
        update={"steps": [s.model_copy(update={"view": None, "frame": None, "layers": None}) for s in scene.steps]}
    )
    svg, pdf = tmp_path / "a.svg", tmp_path / "a.pdf"
    draw_builds(scene, [(svg, ("bones", "weight", "lever", "muscle", "joint", "cane", "pressure", "numbers"))], name)
    draw_still(scene, pdf, name)
    root = ElementTree.parse(svg).getroot()
    space = "{http://www.w3.org/2000/svg}"
    written = ["".join(t.itertext()) for t in root.iter(f"{space}text")]
    page = pypdfium2.PdfDocument(pdf)[0]
    printed = re.sub(r"\s+", " ", page.get_textpage().get_text_range())
    answer = json.loads(run("solve", name, "--json", *(x for c in WIDE for x in ("--set", c))).out)
    shown = answer["situations"][-1]["shown"]
    whole, last = Script(load_scene(name, WIDE)).shot_at(len(scene.steps) - 1)
    assert shown == compose(whole.scene, whole.solved).shown(last)
    look, last = Script(scene).shot_at(len(scene.steps) - 1)
    plan = compose(look.scene, look.solved)
    alt = alt_text(plan, last)
    idle = {a.key for a in plan.arrows if a.is_idle(last)}
    for key, item in shown.items():
        owner = key.replace("_lever", "")  # what does not push has no lever arm in the picture
        if owner in idle or not item["lines"]:
            continue
        if key == "peak_pressure" and plan.replaced:  # a hip without cartilage
            assert any("no pressure stated" in w for w in written)
            continue
        first = item["lines"][0]
        assert any(first in w for w in written), (key, first)
        assert first in printed, (key, first)
    for key in ("weight", "joint", "peak_pressure", "weight_lever"):
        assert shown[key]["lines"][0] in alt


def test_alt_text_is_kept_in_every_file_and_tells_nothing_private(tmp_path: Path) -> None:
    scene = load_scene("cane-opposite-hand", ["picture.size=960x540", "person.mass=80 kg", "title=Mrs Example"])
    for suffix in ("png", "svg", "pdf"):
        draw_still(scene, tmp_path / f"a.{suffix}", "x")
    about = json.loads((tmp_path / "a.png.json").read_text(encoding="utf-8"))
    alt, source = about["alt_text"], source_line([scene])
    assert alt.count(". ") <= 2
    assert alt.endswith("MPa.")
    with Image.open(tmp_path / "a.png") as image:
        assert image.info["Description"] == alt
        assert image.info["Source"] == source
    svg = (tmp_path / "a.svg").read_text(encoding="utf-8")
    assert f'<desc id="alt">{alt}</desc>' in svg
    assert source in svg
    told = pypdfium2.PdfDocument(tmp_path / "a.pdf").get_metadata_dict()
    assert told["Subject"] == alt
    assert told["Creator"] == source
    assert "with the cane pushing the hand up by 0.15 BW; abductor pull" in alt
    for private in ("80 kg", "1.66", "Mrs", str(tmp_path), "/home", "/root"):
        assert private not in alt + source


def test_builds_write_a_numbered_set(tmp_path: Path, run: Callable[..., Ran]) -> None:
    scene = load_scene("level-stance", ["picture.size=640x360"])
    sets = builds_of(scene)
    assert [s[-1] for s in sets] == ["bones", "weight", "lever", "muscle", "joint", "pressure", "numbers"]
    assert "cane" in builds_of(load_scene("cane-same-hand"))[-1]
    ran = run("still", "level-stance", "--builds", "--set", "picture.size=640x360", "--out", "b.svg", "--quiet")
    assert (ran.code, ran.out) == (0, "")
    names = sorted(p.name for p in tmp_path.glob("*.svg"))
    assert names[0] == "b-01-bones.svg"
    assert names[-1] == "b-07-numbers.svg"
    counts = [len(list(ElementTree.parse(tmp_path / n).getroot().iter())) for n in names]
    assert counts == sorted(counts)
    own = load_scene("level-stance", ['picture.builds=[["bones"], ["bones", "joint"]]'])
    assert builds_of(own) == [("bones",), ("bones", "joint")]


def test_weights_have_files() -> None:
    face = usual_theme("light").face
    assert all(face.file(w).is_file() for w in WEIGHTS)
