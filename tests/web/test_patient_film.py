"""A person who cannot program makes a film for a patient from nothing on the live page: every click, and the film played."""

from __future__ import annotations

import subprocess
from pathlib import Path

import imageio_ffmpeg
import pytest
from playwright.sync_api import Browser

from tests.web.conftest import Opened, patient
from tests.web.server import serving
from tests.web.test_live import waited


class Walk:
    """What is done, in order, as a person would be told it; a click opens what is shut on the way."""

    def __init__(self, opened: Opened) -> None:
        self.opened, self.page = opened, opened.page
        self.done: list[str] = []

    def click(self, told: str, place: str, solved: bool = False) -> None:
        self._note(told)
        if not solved:
            self.page.locator(place).first.click()
            return
        waited(self.opened, lambda: self.page.locator(place).first.click(force=place.startswith("[id=")))

    def choose(self, told: str, place: str, value: str) -> None:
        self._note(told)
        self.page.select_option(place, value)
        self.page.evaluate("() => viz.desk.queue")

    def slide(self, told: str, place: str, value: float) -> None:
        self._note(told)
        waited(self.opened, lambda: self.opened.slide(place, value))

    def type(self, told: str, place: str, text: str) -> None:
        self._note(told)
        self.page.fill(place, text)
        self.page.eval_on_selector(place, "e => e.blur()")
        self.page.evaluate("() => viz.desk.queue")

    def _note(self, told: str) -> None:
        self.done.append(told)


def walked(opened: Opened, sex: str, stature: float, mass: float) -> Walk:
    """From the page as it opens to a scene of two steps, dressed and upright."""
    walk = Walk(opened)
    walk.click("New scene", "#blank", solved=True)
    walk.type("title", "#edit-title", "Your cane")
    walk.click("Body, hip and model", "details:has(#body-inputs) > summary")
    if sex == "male":
        walk.click("male", "[id='sex-male']", solved=True)
    walk.slide("height", "#person-stature", stature)
    walk.slide("mass", "#person-mass", mass)
    walk.click("cane in the right hand", "[id='hand-right-cane']", solved=True)
    walk.click("Put this pose here", "#step-replace-0", solved=True)
    walk.type("name of step 1", "#step-name-0", "The cane only touches")
    walk.slide("push", "#hands-right-force", 15)
    walk.click("Add this pose as a step", "#add-step", solved=True)
    walk.type("name of step 2", "#step-name-1", "Leaning on the cane")
    walk.type("caption of step 2", "#step-caption-1", "The cane takes load off the hip.")
    walk.click("Picture and film", "details:has(#edit-picture) > summary")
    walk.choose("look: patient", "#edit-picture-dress", "patient")
    walk.choose("shape: upright", "#edit-picture-size", "1080x1920")
    return walk


@pytest.mark.long
@pytest.mark.parametrize("person", [("female", 166, 64), ("male", 175, 82)], ids=["known", "grown"])
def test_a_patient_film_from_nothing(browser: Browser, tmp_path: Path, person: tuple[str, float, float]) -> None:
    """With a person whose bones are there, and with one who has to be grown first."""
    (tmp_path / "kept").mkdir()
    with serving("level-stance", tmp_path / "kept") as (address, _):
        page = patient(browser.new_page(viewport={"width": 1366, "height": 768}))
        opened = Opened(page)
        page.on("pageerror", lambda e: opened.errors.append(str(e)))
        page.set_default_timeout(240_000)
        page.goto(address)
        page.wait_for_function("() => window.viz && viz.settled > 0")
        begun = page.evaluate("() => performance.now()")
        walk = walked(opened, *person)
        if person[0] == "female":  # whose clothes are there; nobody waits for another's before asking for the film
            page.wait_for_function("() => viz.page.figure.body.worn && document.body.dataset.bones === 'true'")
        made = page.evaluate("() => performance.now()")
        with page.expect_download(timeout=590_000) as wait:
            walk.click("Film", "#downloads button:has-text('Film')")
        film = tmp_path / "film.mp4"
        wait.value.save_as(film)
        ended = page.evaluate("() => performance.now()")
        assert not opened.errors
        print("\n".join(f"{k + 1}. {told}" for k, told in enumerate(walk.done)))
        print(f"edited in {(made - begun) / 1000:.0f} s by script, filmed in {(ended - made) / 1000:.0f} s")
        assert ended - begun < 600_000
        check_played(film, browser)


def check_played(film: Path, browser: Browser) -> None:
    """Every frame is read back, and a browser plays it to its end."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", str(film), "-f", "null", "-"]
    assert subprocess.run(command, capture_output=True, text=True, check=True).stderr == ""
    page = patient(browser.new_page())
    page.goto(film.as_uri())
    page.evaluate("() => Object.assign(document.querySelector('video'), { muted: true, playbackRate: 4 }).play()")
    page.wait_for_function("() => document.querySelector('video').ended")
    seen = page.evaluate(
        "() => { const v = document.querySelector('video'); return [v.videoWidth, v.videoHeight, v.duration]; }"
    )
    assert seen == [1080, 1920, pytest.approx(4 + 2.5 + 4, abs=0.1)]
    page.close()
