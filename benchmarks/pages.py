"""How fast the live page answers and draws, and how soon the offline page shows its first picture, in one run.

    .venv/bin/python benchmarks/pages.py

Needs what the tests of pages need (a browser). Bounds: 30 ms median and 100 ms at the 95th percentile from a slider to
new numbers over 50 moves; a whole picture at most 1.5 times a redraw of the same meshes alone; first picture within 2 s.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests.web.conftest import launched
from viz3d.scene.reader import load_scene
from viz3d.web.offline import write_page

MOVES = 50
REDRAW = """() => {
  const f = viz.page.figure, gl = f.renderer.getContext(), px = new Uint8Array(4), N = 20;
  const end = () => gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, px);
  f.aim(); f.renderer.render(f.scene, f.camera); end();
  let t = performance.now();
  for (let i = 0; i < N; i++) { f.renderer.render(f.scene, f.camera); end(); }
  const bare = (performance.now() - t) / N;
  t = performance.now();
  for (let i = 0; i < N; i++) { f.waiting = true; viz.page.again(); f.paint(); end(); f.waiting = false; }
  return [bare, (performance.now() - t) / N];
}"""


def main() -> None:
    server = subprocess.Popen(
        [sys.executable, "-m", "viz3d", "live", "cane-opposite-hand", "--no-browser"], stdout=subprocess.PIPE, text=True
    )
    try:
        address = re.search(r"http://\S+", server.stdout.readline())[0]  # type: ignore[index,union-attr]
        with sync_playwright() as driver, tempfile.TemporaryDirectory() as folder:
            browser = launched(driver)
            page = browser.new_page(viewport={"width": 1440, "height": 900})
            page.goto(address)
            page.wait_for_function("() => viz.settled > 0 && document.body.dataset.bones === 'true'", timeout=60_000)
            page.wait_for_timeout(1500)
            took = []
            for k in range(MOVES):
                before = page.evaluate("() => viz.settled")
                page.eval_on_selector(
                    "#posture-lean", "(e, v) => { e.value = v; e.dispatchEvent(new Event('input', { bubbles: true })); }",
                    (k % 25) / 2 + 0.5,
                )  # fmt: skip
                page.wait_for_function("n => viz.settled > n", arg=before)
                took.append(page.evaluate("() => viz.took"))
                page.wait_for_timeout(200)
            took.sort()
            median, late = took[MOVES // 2], took[int(0.95 * MOVES)]
            print(f"slider to numbers: median {median:.0f} ms (asked 30), 95th percentile {late:.0f} ms (asked 100)")
            bare, whole = page.evaluate(REDRAW)
            print(f"whole picture {whole:.0f} ms, its meshes alone {bare:.0f} ms: {whole / bare:.2f} (asked 1.5)")
            path = Path(folder) / "a.html"
            write_page(load_scene("cane-opposite-hand"), path, "x")
            first = []
            for _ in range(5):
                one = browser.new_page()
                one.goto(path.as_uri())
                one.wait_for_selector("body[data-ready=yes]")
                first.append(one.evaluate("() => performance.now()") / 1000)
                one.close()
            print(
                f"offline page ({path.stat().st_size / 1e6:.1f} MB): first picture after {min(first):.2f} s (asked 2)"
            )
            browser.close()
    finally:
        server.terminate()
        server.wait(20)


if __name__ == "__main__":
    main()
