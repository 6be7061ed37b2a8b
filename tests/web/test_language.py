"""Pages in a made-up language: every word of ours comes from the catalogue, in either register; longer words fit."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.web.conftest import PHONE, Opened, overlaps
from viz3d.scene.reader import load_scene
from viz3d.scene.schema import Scene
from viz3d.web.offline import write_page
from viz3d.words.pseudo import PSEUDO

NAME = "cane-opposite-hand"
TEXTS = """() => {
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), out = [];
  while (walker.nextNode()) {
    const { parentElement: e, data } = walker.currentNode;
    if (!["SCRIPT", "STYLE", "NOSCRIPT"].includes(e.tagName) && !e.closest("#who, #source, #title, #aim, #steps, #caption")) out.push(data);
  }
  for (const e of document.querySelectorAll("[aria-label]")) out.push(e.getAttribute("aria-label"));
  return out;
}"""
UNITS = {"BW", "cm", "MPa", "L", "R"}


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
    opened.page.locator(".question button").first.click()
    assert unworded(opened) == set()
    assert re.fullmatch(r"\d,\d\d BW", opened.text("#joint"))
    assert not opened.errors


def test_longer_words_fit(page: Path, open_page: Callable[..., Opened]) -> None:
    for size in ((1440, 900), PHONE):
        opened = open_page(page.as_uri(), size)
        assert opened.page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth")
        assert not overlaps(opened)
