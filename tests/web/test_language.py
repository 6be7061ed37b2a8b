"""Pages in a made-up language: every word of ours comes from the catalogue, in either register; longer words fit."""

from __future__ import annotations

import re
import tomllib
import urllib.request
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.web.conftest import PHONE, Opened, overlaps
from tests.web.server import PATIENCE, send, serving
from viz3d.scene.reader import check_scene, library_scenes, load_scene
from viz3d.scene.rows import value_of
from viz3d.scene.schema import Scene
from viz3d.scene.segments import changed
from viz3d.solution.inputs import body_of
from viz3d.solution.script import solve_scene
from viz3d.web.controls import SIZES, controls_of, hands_of
from viz3d.web.offline import write_page
from viz3d.words.pseudo import PSEUDO

NAME = "cane-opposite-hand"
TEXTS = """() => {
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), out = [];
  while (walker.nextNode()) {
    const { parentElement: e, data } = walker.currentNode;
    if (!["SCRIPT", "STYLE", "NOSCRIPT"].includes(e.tagName) && !e.closest("#source, #title, #aim, #steps, #caption, .question legend, .paper")) out.push(data);
  }
  for (const e of document.querySelectorAll("[aria-label]")) out.push(e.getAttribute("aria-label"));
  return out;
}"""
UNITS = {"BW", "cm", "kg", "MPa"}


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("qps") / "page.html"
    write_page(made_up(load_scene(NAME)), path, NAME)
    return path


def made_up(scene: Scene) -> Scene:
    """The scene in the made-up language."""
    return scene.model_copy(update={"picture": scene.picture.model_copy(update={"language": PSEUDO})})


def unworded(opened: Opened) -> set[str]:
    """Words on the page that do not come from the catalogue: those without an accent."""
    words = {w for text in opened.page.evaluate(TEXTS) for w in re.findall(r"[^\W\d_]{2,}", text)}
    return {w for w in words if w.isascii()} - UNITS


@pytest.mark.parametrize("register", ["plain", "trade"])
def test_every_word_comes_from_the_catalogue(page: Path, open_page: Callable[..., Opened], register: str) -> None:
    opened = open_page(page.as_uri())
    assert opened.page.get_attribute("html", "lang") == PSEUDO
    opened.page.select_option("#words", register)
    for view in ("turned", "joint", "front"):
        opened.page.click(f"[data-view={view}]")
        opened.settled()
        assert unworded(opened) == set()
    opened.page.locator(".choice input").first.check()
    opened.page.locator(".question .primary").click()
    opened.page.wait_for_function("() => document.querySelector('.why table')")
    assert unworded(opened) == set()
    assert re.fullmatch(r"\d,\d\d BW", opened.text("#joint"))
    assert not opened.errors


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        pytest.param((), "Load on the joint", marks=pytest.mark.long),
        (("picture.words=trade",), "Joint reaction force"),
    ],
)
def test_a_page_opens_in_the_scenes_register_and_in_plain_words_where_it_gives_none(
    written: Callable[..., Path], open_page: Callable[..., Opened], changes: tuple[str, ...], name: str
) -> None:
    path = written(NAME, *changes)
    assert f'data-say="page.result">{name}<' in path.read_text(encoding="utf-8")  # before any script runs
    opened = open_page(path.as_uri())
    assert opened.text("#result-name") == name
    assert opened.page.input_value("#words") == ("trade" if changes else "plain")
    opened.page.select_option("#words", "plain" if changes else "trade")
    assert opened.text("#result-name") != name


def test_a_page_writes_in_the_scenes_units(written: Callable[..., Path], open_page: Callable[..., Opened]) -> None:
    opened = open_page(written(NAME, "picture.force=lbf", "picture.length=in").as_uri())
    solved = solve_scene(load_scene(NAME))
    pounds = solved.load.joint_magnitude[0] / 4.4482216152605
    assert opened.text("#joint") == f"{pounds:.0f} lbf"
    assert opened.text("#unit option:checked") == "pounds-force"
    inches = float(solved.own_moment_arm[0]) / 0.0254
    assert opened.text("#numbers tr[data-key=weight] td:last-child") == f"{inches:.1f} in"
    assert "4 in" in opened.text("#scale")
    opened.page.select_option("#unit", "BW")
    assert opened.text("#joint") == f"{solved.joint_bw[0]:.2f} BW"


@pytest.mark.long
def test_a_page_in_spanish_writes_the_solvers_numbers(
    written: Callable[..., Path], open_page: Callable[..., Opened]
) -> None:
    """The same numbers, with a comma; no word of it is English, the scene's own included."""
    opened = open_page(written(NAME, "picture.language=es").as_uri())
    solved = solve_scene(load_scene(NAME))
    assert opened.page.get_attribute("html", "lang") == "es"
    assert opened.text("#joint") == f"{solved.joint_bw[0]:.2f} BW".replace(".", ",")
    lever = float(solved.own_moment_arm[0]) / 0.01
    assert opened.text("#numbers tr[data-key=weight] td:last-child") == f"{lever:.1f} cm".replace(".", ",")
    assert opened.text("#peak") == f"{float(solved.peak_pressure[0]) * 1e-6:.2f} MPa".replace(".", ",")
    shown = opened.page.inner_text("body").replace(opened.text("#source"), "")
    assert "Texto aún no leído por un profesional clínico." in shown
    assert re.findall(r".*\d\.\d.*", shown) == []
    assert not re.search(r"\b(the|and|of|with|hip|cane)\b", shown)


@pytest.mark.long
def test_the_live_page_opens_the_library_in_its_own_language(tmp_path: Path) -> None:
    with serving("lean-over-hip", tmp_path, "--language", "es") as (address, _):
        code, told = send(address, "open", {"library": "bag-sides"})
        assert code == 200
        assert told["speech"]["language"] == "es"
        assert told["draft"]["title"] == "Una bolsa a cada lado"
        with urllib.request.urlopen(address, timeout=PATIENCE) as page:
            assert "Dos muletas de codo" in page.read().decode()


def test_longer_words_fit(page: Path, open_page: Callable[..., Opened]) -> None:
    for size in ((1440, 900), PHONE):
        opened = open_page(page.as_uri(), size)
        assert opened.page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth")
        assert not overlaps(opened)


@pytest.mark.parametrize("person", [{"mass": "64 kg", "stature": "1.66 m"}, {"mass": "141 lb", "stature": "5 ft 5 in"}])
def test_sliders_count_as_the_person_was_typed(person: dict[str, str]) -> None:
    """Every slider's ends are allowed, and what it says now is what the scene holds."""
    path = library_scenes()["bag-sides"]
    text = path.read_text(encoding="utf-8")
    data = tomllib.loads(text)
    data["person"] = {"sex": "female", **person}
    scene = check_scene(data, path)
    body = body_of(scene)
    found = {c["key"]: c for c in controls_of(scene, body)}
    pounds = "lb" in person["mass"]
    units = {key: c["unit"] for key, c in found.items()}
    assert units["person.mass"] == ("lb" if pounds else "kg")
    assert units["person.stature"] == ("in" if pounds else "cm")
    hands = hands_of(scene, body)
    assert {h["unit"] for h in hands.values() if h["holds"] == "bag"} == {"lb" if pounds else "kg"}
    assert found["person.mass"]["value"] == pytest.approx(141.0 if pounds else 64.0)
    assert found["person.stature"]["value"] == pytest.approx(65.0 if pounds else 166.0)
    for key, c in found.items():
        for end in ("low", "high", "value"):
            held = changed(scene, {key: f"{c[end]} {c['unit']}"})
            assert value_of(held, key) == pytest.approx(c[end] * SIZES[c["unit"]], abs=1e-9), key
