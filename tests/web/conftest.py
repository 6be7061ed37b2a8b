"""A headless browser, and pages opened in it with everything they ask for noted."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Playwright, sync_playwright

from tests.web.server import PATIENCE

ARGUMENTS = [
    "--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--no-first-run",
    "--ignore-gpu-blocklist", "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--disable-quic",
]  # fmt: skip
CHROMIUM = "/usr/bin/chromium"
AXE = Path(__file__).parent / "node_modules" / "axe-core" / "axe.min.js"
DESKTOP, TABLET, PHONE = (1440, 900), (820, 1180), (390, 844)


@dataclass
class Opened:
    """A page, what it asked the network for, and what went wrong in it."""

    page: Page
    asked: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    def text(self, place: str) -> str:
        return (self.page.text_content(place) or "").strip()

    def slide(self, place: str, value: float) -> None:
        """Move a slider as a person does."""
        self.page.eval_on_selector(
            place, "(e, v) => { e.value = v; e.dispatchEvent(new Event('input', { bubbles: true })); }", value
        )

    def settled(self) -> None:
        self.page.wait_for_selector("body[data-ready=yes]")
        self.page.evaluate("() => new Promise(r => requestAnimationFrame(() => requestAnimationFrame(r)))")


def launched(driver: Playwright, *more: str) -> Browser:
    return driver.chromium.launch(executable_path=CHROMIUM, args=[*ARGUMENTS, *more], timeout=1000 * PATIENCE)


def patient(page: Page) -> Page:
    """A page that waits long for what should happen: a busy machine is only slower."""
    page.set_default_timeout(1000 * PATIENCE)
    return page


@pytest.fixture(scope="session")
def driver() -> Iterator[Playwright]:
    with sync_playwright() as running:
        yield running


@pytest.fixture(scope="session")
def browser(driver: Playwright) -> Iterator[Browser]:
    one = launched(driver)
    yield one
    one.close()


@pytest.fixture
def open_page(browser: Browser) -> Iterator[Callable[..., Opened]]:
    """Open an address in a fresh page of a size; ``predict``: with everything kept back that gives answers away."""
    pages: list[Page] = []

    def call(
        address: str, size: tuple[int, int] = DESKTOP, ready: bool = True, predict: bool = False, **more: Any
    ) -> Opened:
        page = patient(browser.new_page(viewport={"width": size[0], "height": size[1]}, **more))
        pages.append(page)
        opened = Opened(page)
        page.on("request", lambda r: opened.asked.append(r.url))
        page.on("pageerror", lambda e: opened.errors.append(str(e)))
        page.on("console", lambda m: opened.errors.append(m.text) if m.type == "error" else None)
        page.goto(address if predict else f"{address}#everything")
        if ready:
            opened.settled()
        return opened

    yield call
    for page in pages:
        page.close()


@pytest.fixture(scope="session")
def written(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Path]:
    """A scene's offline page, written once a session."""
    from viz3d.scene.reader import load_scene
    from viz3d.web.offline import write_page

    folder = tmp_path_factory.mktemp("pages")

    @functools.cache
    def call(name: str, *changes: str) -> Path:
        path = folder / f"{name}-{len(list(folder.iterdir()))}.html"
        write_page(load_scene(name, changes), path, name)
        return path

    return call


def overlaps(opened: Opened) -> list[str]:
    """Pairs of labels that cover each other, the scale or the legend."""
    boxes = opened.page.evaluate(
        "() => Array.from(document.querySelectorAll('.tag, #scale, #legend')).filter(e => e.offsetHeight).map(e => {"
        " const b = e.getBoundingClientRect(); return [e.textContent, b.left, b.top, b.right, b.bottom]; })"
    )
    return [
        f"{a[0]} / {b[0]}"
        for k, a in enumerate(boxes)
        for b in boxes[:k]
        if a[1] < b[3] - 0.5 and b[1] < a[3] - 0.5 and a[2] < b[4] - 0.5 and b[2] < a[4] - 0.5
    ]


def faults(opened: Opened) -> list[str]:
    """What an accessibility checker finds, however slight."""
    opened.page.evaluate(AXE.read_text(encoding="utf-8"))  # not as an element: the page's policy would refuse it
    found = opened.page.evaluate("async () => (await axe.run(document)).violations")
    return [f"{v['id']}: {v['nodes'][0]['html'][:120]}" for v in found]
