"""The plain Python functions, and the page inline in a real notebook kernel."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

import viz3d
from tests.web.conftest import Opened
from tests.web.server import PATIENCE
from viz3d.errors import InputError
from viz3d.solution.script import solve_scene


def test_python_functions_do_what_the_commands_do(tmp_path: Path) -> None:
    scene = viz3d.load("cane-opposite-hand", {"person.mass": "80 kg", "picture.size": "640x360"})
    found = viz3d.solve(scene)
    assert [s["joint_force_bw"] for s in found] == pytest.approx(solve_scene(scene).joint_bw)
    assert viz3d.still(scene, tmp_path / "a.svg", step=1).stat().st_size > 10_000
    assert viz3d.compare([(scene, 1), (scene, 2)], tmp_path / "c.svg").is_file()
    assert viz3d.film(scene, tmp_path / "a.glb").read_bytes()[:4] == b"glTF"
    assert viz3d.page(scene, tmp_path / "a.html").stat().st_size > 1_000_000
    with pytest.raises(InputError, match=r"a\.doc: found '\.doc'; allowed: \.png, \.svg, \.pdf"):
        viz3d.still(scene, tmp_path / "a.doc")
    with pytest.raises(InputError, match="this scene has 2 steps"):
        viz3d.page(scene, tmp_path / "b.html", step=7)
    with pytest.raises(AttributeError):
        _ = viz3d.nothing


def test_the_page_shows_inline_in_a_notebook(tmp_path: Path, open_page: Callable[..., Opened]) -> None:
    book = nbformat.v4.new_notebook(
        cells=[nbformat.v4.new_code_cell("import viz3d\nviz3d.view(viz3d.load('lean-over-hip'))")]
    )
    NotebookClient(book, timeout=PATIENCE, kernel_name="python3").execute()
    (output,) = book.cells[0].outputs
    frame = output["data"]["text/html"]
    assert frame.startswith('<iframe sandbox="allow-scripts"')
    inside = html.unescape(re.search(r'srcdoc="(.*?)"></iframe>', frame, re.DOTALL)[1])
    assert inside.startswith("<!DOCTYPE html>")
    (tmp_path / "book.html").write_text(f"<!DOCTYPE html><body>{frame}</body>", encoding="utf-8")
    opened = open_page((tmp_path / "book.html").as_uri(), ready=False)
    framed = opened.page.frames[1]
    framed.wait_for_selector("body[data-ready=yes]")
    assert framed.text_content("#joint") == "2.52 BW"
    framed.eval_on_selector("#lean", "e => { e.value = 15; e.dispatchEvent(new Event('input')); }")
    assert framed.text_content("#joint") == "1.71 BW"
