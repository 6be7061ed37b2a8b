"""No sentence outside the catalogue: constants of code, scripts and pages that hold two words or more are refused."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import viz3d

ROOT = Path(viz3d.__file__).parent
ROOMS = ("stage", "output", "web", "questions", "solution")
TWO_WORDS = re.compile(r"[A-Za-z]{2,}[,;:]? [A-Za-z]{2,}")
PARENTS = (ast.Raise,)
REFUSING = re.compile(r"(Error|OutOfRange|_refused|_refuse|explain)$")

ALLOWED: dict[str, str] = {}
"""Constant -> why it is no text of ours that anybody sees in a picture, page or answer."""
LINES = re.compile(r"^(#|<|[a-z-]+: |\.|@|:)")


def sentences(path: Path) -> list[str]:
    """Constants with two or more words, but for docstrings and what errors say."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    spared = set(docstrings(tree)) | set(refusals(tree))
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in spared:
            if TWO_WORDS.search(node.value) and node.value not in ALLOWED:
                found.append(f"{path.relative_to(ROOT)}:{node.lineno}: {node.value[:90]!r}")
    return found


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
    found = [line for path in sorted((ROOT / room).glob("*.py")) for line in sentences(path)]
    assert found == []
