"""Our page scripts: linted, tested in node, and saying only words there are."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

from viz3d.web.parts import scripts, static
from viz3d.web.wording import page_words
from viz3d.words.catalogue import SOURCE

ROOT = Path(__file__).resolve().parents[2]
HERE = Path(__file__).resolve().parent
STATIC = ROOT / "viz3d" / "web" / "static"

ALLOWED = {"use strict", "elbow crutch", "arrow joint"}
"""Names of ours that hold a blank."""


def run(*command: str) -> str:
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=300)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_a_linter_finds_no_fault() -> None:
    linter = HERE / "node_modules" / "eslint" / "bin" / "eslint.js"
    found = run("node", str(linter), "-c", str(HERE / "eslint.config.mjs"), "--max-warnings", "0", "--format", "json",
                str(STATIC), str(HERE / "scripts"), str(HERE / "validate.js"), str(HERE / "eslint.config.mjs"))  # fmt: skip
    assert found.count('"filePath"') == len([*STATIC.glob("*.js"), *(HERE / "scripts").glob("*.js")]) + 2


def test_a_linter_finds_a_fault_where_there_is_one(tmp_path: Path) -> None:
    """The rules are in force: markup as text, an evaluated text, no strict mode."""
    linter = HERE / "node_modules" / "eslint" / "bin" / "eslint.js"
    bad = "var x = eval('1');\ndocument.body.innerHTML = x;\n"
    done = subprocess.run(
        ["node", str(linter), "-c", str(HERE / "eslint.config.mjs"), "--stdin", "--stdin-filename", str(STATIC / "bad.js")],
        cwd=ROOT, input=bad, capture_output=True, text=True, check=False, timeout=300,
    )  # fmt: skip
    assert done.returncode == 1
    for rule in ("strict", "no-var", "no-eval", "no-restricted-properties"):
        assert rule in done.stdout


def test_the_pure_functions_pass_their_own_tests() -> None:
    tests = sorted(str(p) for p in (HERE / "scripts").glob("*.test.js"))
    said = run("node", "--test", "--test-reporter", "tap", *tests)
    assert int(re.search(r"^# fail (\d+)", said, re.MULTILINE)[1]) == 0
    assert int(re.search(r"^# pass (\d+)", said, re.MULTILINE)[1]) >= 25


@pytest.mark.parametrize("mode", ["offline", "live"])
def test_every_script_is_strict_short_and_opens_from_a_file(mode: str) -> None:
    ours = scripts(mode)[1:]
    assert len(ours) > 15
    for text in ours:
        assert '"use strict";' in text.splitlines()[:4]
        assert len(text.splitlines()) <= 300
        assert not re.search(r"^\s*(import|export)\b", text, re.MULTILINE)


def test_every_script_is_read_by_a_page() -> None:
    read = {*scripts("offline"), *scripts("live")}
    assert [p.name for p in STATIC.glob("*.js") if p.read_text(encoding="utf-8") not in read] == []


def test_every_key_that_markup_and_scripts_say_has_words() -> None:
    texts = [static(p.name) for p in STATIC.iterdir() if p.suffix in (".js", ".html")]
    whole = {k for t in texts for k in re.findall(r"""["']((?:page|caution)\.[\w.]*\w)["']""", t)}
    begun = {k for t in texts for k in re.findall(r"`(page\.[\w.]*)\$\{", t)}
    told = (
        "page.unit.",
        "page.set.",
        "page.question.",
        "page.hand.",
        "page.name.",
        "page.chart.",
    )  # named by what Python tells
    for words in page_words(SOURCE).values():
        assert not whole - set(words)
        assert all(any(key.startswith(start) for key in words) for start in begun)
        said = whole | {k for k in words if k.startswith((*begun, *told))}
        said.add("caution.full.counted")  # put in where a scene counts antagonists or passive tissue
        said.add("page.level_walk")  # put in where a scene walks
        assert {k for k in words if k not in said} == set()


def test_markup_and_scripts_hold_no_words_of_their_own() -> None:
    """Between tags stands nothing but what is put in; scripts hold no sentence in quotes."""
    for name in ("page.html", "live.html"):
        bare = re.sub(r"@\w+@|<!DOCTYPE html>|&nbsp;|<[^>]*>", "", static(name))
        assert not re.search(r"[A-Za-z]{2}", bare), bare
        assert not re.search(r'(aria-label|title|alt|placeholder)="', static(name))
    for path in STATIC.glob("*.js"):
        text = re.sub(r"/\*.*?\*/|//[^\n]*", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        quoted = re.findall(r'"([^"\n]*)"', text)
        sentences = [q for q in quoted if re.search(r"[A-Za-z]{3,} [a-z]{2,}", q) and q not in ALLOWED]
        assert sentences == [], path.name
