"""No sentence outside the catalogue: constants of code that hold two words or more are refused."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import viz3d
from viz3d.words.catalogue import catalogue

ROOT = Path(viz3d.__file__).parent
ROOMS = ("stage", "teach", "output", "web", "questions", "solution")
TWO_WORDS = re.compile(r"[A-Za-z]{2,}[,;:]? [A-Za-z]{2,}")
REFUSING = re.compile(r"(Error|OutOfRange|_refused|_refuse)$")
MARKUP = re.compile(r'<|="|\w+=\w+|-src ')
OF_ERRORS = {"refuse.py", "refuse_walk.py", "guard.py"}
"""Modules whose every sentence is part of an error."""
ERROR = "part of an error's one line"
ALLOWED = {
    "free body": "a card's name in scene files",
    "elbow crutch": "what a hand holds, in scene files",
    "frontal set": "a model, in scene files",
    "muscle lever": "what a claim is about, in scene files",
    "three-axis set": "a model, in scene files",
    "As it stands": "a step's name, in scenes",
    "arrow joint": "name of a column",
    "arrow muscle": "name of a column",
    "it holds ": ERROR,
    "list fewer inputs in page.controls": ERROR,
    "there is no such download": ERROR,
    ": no solution for this person: ": ERROR,
    "curve so far": "role of a mark",
    "curve now": "role of a mark",
    "picture.font: found {}; allowed: a font file (.otf or .ttf) of at most 40 MB": ERROR,
    "offset points": "a unit of the chart library",
    "body outline": "name of a node in glTF files",
    "camera light": "a kind of light of the drawing library",
    "QTI Package": "the standard's name of a kind of package",
    "comparison film": "kind of file in a manifest",
    "viz3d bones": "the program that made a mesh file",
    ", Arial, sans-serif": "names of fonts",
    "No space left": "what the encoder says",
    "no message": ERROR,
    "the video encoder stopped: ": ERROR,
    ": the disk is full; free some space or choose another place with --out": ERROR,
    ": cannot be written: ": ERROR,
    ": cannot write there; choose another place with --out": ERROR,
    "drawing needs OpenGL; update the graphics driver of this computer": ERROR,
    "drawing needs OpenGL; on Debian and Ubuntu run: sudo apt-get install -y ": ERROR,
}
"""Constant -> why it is no text of ours that anybody reads in a picture, page or answer."""


def sentences(path: Path) -> list[str]:
    """Constants with two or more words, but for docstrings and what errors say."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    spared = {*docstrings(tree), *refusals(tree)}
    return [
        f"{path.relative_to(ROOT)}:{node.lineno}: {node.value[:90]!r}"
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in spared
        if TWO_WORDS.search(node.value) and not MARKUP.search(node.value) and node.value not in ALLOWED
    ]


def docstrings(tree: ast.Module) -> list[int]:
    """Strings that stand as statements."""
    return [id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr)]


def refusals(tree: ast.Module) -> list[int]:
    """Strings inside a raise, or inside a call that makes an error."""
    out = []
    for node in ast.walk(tree):
        called = node.func if isinstance(node, ast.Call) else None
        name = called.id if isinstance(called, ast.Name) else called.attr if isinstance(called, ast.Attribute) else ""
        if isinstance(node, ast.Raise) or REFUSING.search(name):
            out += [id(n) for n in ast.walk(node)]
    return out


@pytest.mark.parametrize("room", ROOMS)
def test_no_sentence_outside_the_catalogue(room: str) -> None:
    found = [
        line for path in sorted((ROOT / room).rglob("*.py")) if path.name not in OF_ERRORS for line in sentences(path)
    ]
    assert found == []


def test_every_allowance_is_needed() -> None:
    text = "".join(p.read_text(encoding="utf-8") for room in ROOMS for p in (ROOT / room).rglob("*.py"))
    assert [a for a in ALLOWED if a not in text] == []


def keys_named(tree: ast.Module) -> list[tuple[str, bool]]:
    """Keys that calls of ``message`` and ``joined`` name: whole, or the first part of one made from parts."""
    out = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("message", "joined") and node.args:
            first = node.args[0]
            choices = [first.body, first.orelse] if isinstance(first, ast.IfExp) else [first]
            for one in choices:
                if isinstance(one, ast.Constant):
                    out.append((str(one.value), True))
                elif isinstance(one, ast.JoinedStr) and isinstance(one.values[0], ast.Constant):
                    out.append((str(one.values[0].value), False))
    return out


def test_every_key_named_in_code_exists() -> None:
    known = catalogue("en")
    named = [k for p in ROOT.rglob("*.py") for k in keys_named(ast.parse(p.read_text(encoding="utf-8")))]
    assert len(named) > 100
    for key, whole in named:
        assert key in known if whole else any(k.startswith(key) for k in known), key
