"""How soon pages show their first picture and how fast they answer, in one run on an idle machine.

    .venv/bin/python benchmarks/pages.py [card]

Card: drawn by the machine's graphics card instead of in software, as on most people's machines; what draws is printed. Needs what the tests of pages need (a browser). Bounds: first picture of the offline and of the live page within 2 s; from
a slider to a finished picture, muscles shown, 100 ms at the 95th percentile over 60 moves. A picture is finished when
its pixels can be read back. The live page is measured once its bones have come.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, Page, Playwright, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests.web.conftest import ARGUMENTS, CHROMIUM, launched
from viz3d.scene.reader import load_scene
from viz3d.web.offline import write_page

SCENE = "cane-opposite-hand"
MOVES = 60
SIZES = {"desk": (1366, 768), "phone": (390, 844)}
RENDERER = """() => {
  const gl = document.createElement("canvas").getContext("webgl2");
  if (!gl) return "nothing";
  return gl.getParameter((gl.getExtension("WEBGL_debug_renderer_info") || {}).UNMASKED_RENDERER_WEBGL || gl.RENDERER);
}"""
FIRST = """() => new Promise(done => {
  const look = () => {
    const f = viz.page?.figure;
    if (!f?.body || !(f.renderer.info.render.frame > 0)) { requestAnimationFrame(look); return; }
    f.renderer.getContext().readPixels(0, 0, 1, 1, 6408, 5121, new Uint8Array(4));
    done(performance.now());
  };
  look();
})"""
MOVED = """async ([place, values]) => {
  const box = document.querySelector(place), f = viz.page.figure, gl = f.renderer.getContext(), px = new Uint8Array(4);
  const tick = () => new Promise(done => setTimeout(done, 0));
  const took = [], script = [];
  for (const value of values) {
    const [begun, settled] = [performance.now(), viz.settled];
    box.value = value;
    box.dispatchEvent(new Event("input", { bubbles: true }));
    script.push(performance.now() - begun);
    while (settled !== undefined && viz.settled === settled) await tick();
    while (f.waiting) await tick();
    gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, px);
    took.push(performance.now() - begun);
    await new Promise(done => setTimeout(done, 120));
  }
  return [took, script];
}"""


def by_card(driver: Playwright) -> Browser:
    """A browser that draws with the graphics card."""
    plain = [one for one in ARGUMENTS if "swiftshader" not in one and not one.startswith("--use-")]
    return driver.chromium.launch(executable_path=CHROMIUM, args=[*plain, "--use-gl=angle", "--use-angle=gl-egl"])


def told(what: str, page: Page, place: str) -> None:
    """Move a slider again and again and print how long pictures took."""
    values = [(k % 25) / 2 for k in range(1, MOVES + 1)]
    took, script = page.evaluate(MOVED, [place, values])
    late, median = sorted(took)[int(0.95 * MOVES)], sorted(took)[MOVES // 2]
    print(
        f"{what}: slider to picture {late:.0f} ms at the 95th percentile (asked 100), median {median:.0f};"
        f" of it before the next frame {sorted(script)[MOVES // 2]:.0f} ms",
        flush=True,
    )


def first(what: str, browser: Browser, address: str, size: tuple[int, int], times: int) -> Page:
    """Open a page a few times, print the soonest first picture, give back the last one."""
    took = []
    for k in range(times):
        page = browser.new_page(viewport={"width": size[0], "height": size[1]})
        page.set_default_timeout(120_000)
        page.goto(f"{address}#everything", wait_until="commit")
        page.wait_for_function("() => window.viz && viz.page")
        took.append(page.evaluate(FIRST) / 1000)
        if k < times - 1:
            page.close()
    print(f"{what}: first picture after {min(took):.2f} s (asked 2), of {[round(t, 2) for t in took]}", flush=True)
    return page


def main() -> None:
    with sync_playwright() as driver, tempfile.TemporaryDirectory() as folder:
        browser = by_card(driver) if "card" in sys.argv else launched(driver)
        page = browser.new_page()
        print("drawn by", page.evaluate(RENDERER))
        page.close()
        path = Path(folder) / "a.html"
        write_page(load_scene(SCENE), path, "x")
        print(f"offline page: {path.stat().st_size / 1e6:.1f} MB")
        for name, size in SIZES.items():
            page = first(f"offline, {name}", browser, path.as_uri(), size, 4)
            told(f"offline, {name}", page, "#lean")
            page.close()
        live(browser)
        browser.close()


def live(browser: Browser) -> None:
    """The same of the live page."""
    command = [sys.executable, "-m", "viz3d", "live", SCENE, "--no-browser", "--port", "0"]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    try:
        address = re.search(r"http://\S+", server.stdout.readline())[0]  # type: ignore[index,union-attr]
        for name, size in SIZES.items():
            page = first(f"live, {name}", browser, address, size, 4)
            page.wait_for_function("() => viz.settled > 0 && document.body.dataset.bones === 'true'")
            page.wait_for_timeout(2000)
            told(f"live, {name}", page, "#posture-lean")
            page.close()
    finally:
        server.terminate()
        server.wait(20)


if __name__ == "__main__":
    main()
