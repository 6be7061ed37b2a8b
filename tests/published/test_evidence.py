"""The page of evidence is what the solver says today, answers every published figure, and draws its pictures."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from viz3d.body.muscles import muscle_lines

DOCS = Path(__file__).resolve().parents[2] / "docs"


@pytest.fixture(scope="module")
def evidence() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_evidence", DOCS / "make_evidence.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_is_current(evidence: ModuleType) -> None:
    assert (DOCS / "evidence.md").read_text(encoding="utf-8") == evidence.page()
    for name in ("evidence-stance.png", "evidence-arms.png"):
        assert (DOCS / name).stat().st_size > 10_000


def test_every_figure_has_a_source_an_answer_and_a_word(evidence: ModuleType) -> None:
    asked = {row["ours"] for row in evidence.MEASURED["figure"]}
    assert asked == set(evidence.OURS)
    for row in evidence.MEASURED["figure"]:
        assert row["source"]
        assert {s.strip() for s in row["status"].split(";")} <= {"read", "quoted", "memory", "practice", "none"}
        said, _ = evidence.OURS[row["ours"]]()
        assert "nan" not in said
        assert evidence.verdict(row)
    assert set(evidence.SAID) == asked


def test_the_figures_that_carry_the_lessons(evidence: ModuleType) -> None:
    """Kotzar 1991: 2.1-2.8 BW on one leg; Woodhull 1985: hip 62 (13) mm ahead of the ankle; Dostal 1986 (from memory):
    every abductor abducts, and the order of their arms is theirs."""
    by_name = {row["ours"]: row for row in evidence.MEASURED["figure"] if row["what"] != "" and "low" in row}
    _, level = evidence.OURS["level"]()
    _, ahead = evidence.OURS["ahead"]()
    assert 2.1 <= level <= 2.8
    assert by_name["ahead"]["low"] <= ahead <= by_name["ahead"]["high"]
    ours, theirs = evidence.arms_of(evidence.MAN), evidence.MEASURED["arms"]["cm"]
    for name, (abduction, _, _) in theirs.items():
        assert ours[name][0] * abduction > 0.0, name
    assert {line.name for line in muscle_lines()} >= set(theirs)
