"""Translations older than their English are noticed, named, and settled once somebody has looked."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Ran
from viz3d.scene.settled import library_records
from viz3d.words.settled import Record

SCENE = """
format = 1
title = "Leaning"
[person]
sex = "female"
mass = "64 kg"
stature = "1.66 m"
[posture]
stance = "left"
[[steps]]
name = "Over the hip"
caption = "{caption}"
"""
SPANISH = """
title = "Inclinarse"
[[steps]]
name = "Sobre la cadera"
caption = "{caption}"
"""


def test_no_text_of_ours_is_older_than_its_english() -> None:
    for record in library_records("es"):
        stale, changed = record.stale(), record.unsettled()
        assert record.pairs
        assert not stale, f"{record.path.name}: 'viz3d words --language es --missing' shows both texts of: {stale}"
        assert not changed, (
            f"{record.path}: 'viz3d words --language es --settle' notes that these were translated: {changed}"
        )


def test_what_changed_on_one_side_only_is_stale(tmp_path: Path) -> None:
    path = tmp_path / "settled.txt"
    before = {"a.one": ("Cat", "Gato"), "a.two": ("Dog", "Perro"), "b": ("Hen", "Gallina")}
    first = Record("es", path, before)
    assert (first.stale(), first.unsettled()) == ([], list(before))
    path.write_text(first.settled(), encoding="utf-8")
    assert (first.stale(), first.unsettled()) == ([], [])
    assert len(path.read_text(encoding="utf-8").splitlines()) == 4

    after = {"a.one": ("Cats", "Gato"), "a.two": ("Dogs", "Perros"), "b": ("Hen", "La gallina"), "c": ("Ox", "Buey")}
    now = Record("es", path, after)
    assert (now.stale(), now.unsettled()) == (["a.one"], ["a.two", "b", "c"])
    path.write_text(now.settled(), encoding="utf-8")
    assert (now.stale(), now.unsettled()) == (["a.one"], []), "a stale one stays so until somebody looks"
    path.write_text(now.settled(still="a"), encoding="utf-8")
    assert (now.stale(), now.unsettled()) == ([], [])
    fewer = Record("es", path, {"c": ("Ox", "Buey")})
    assert fewer.unsettled() == ["a.one", "a.two", "b"]
    path.write_text(Record("es", path, {"c": ("Oxen", "Bueyes")}, whole=False).settled(), encoding="utf-8")
    assert now.stale() == []
    assert now.unsettled() == ["c"]


def test_own_scenes_are_looked_at_too(tmp_path: Path, run: Callable[..., Ran]) -> None:
    own, spanish = tmp_path / "mine.toml", tmp_path / "es" / "mine.toml"
    spanish.parent.mkdir()
    own.write_text(SCENE.format(caption="Less load."), encoding="utf-8")
    spanish.write_text(SPANISH.format(caption="Menos carga."), encoding="utf-8")
    of = ("--language", "es", "--of", "mine.toml")
    assert "3 texts are new or translated anew" in run("words", *of, "--missing").out
    assert run("words", *of, "--settle").out == "wrote es/settled.txt\n"
    assert run("words", *of, "--missing").out == ""
    assert "note" not in run("check", "mine.toml", "--language", "es").out

    own.write_text(SCENE.format(caption="Much less load."), encoding="utf-8")
    told = run("words", *of, "--missing").out
    assert "# mine.steps.1.caption: older than its English" in told
    assert '#   en: "Much less load."\n#   es: "Menos carga."\n' in told
    assert "note: steps.1.caption was changed since" in run("check", "mine.toml", "--language", "es").out
    assert run("words", *of, "--settle").out == told
    wrong = run("words", "mine.title", *of, "--settle")
    assert (wrong.code, wrong.err.count("\n")) == (1, 1)
    assert "found 'mine.title'; nothing stale has this key" in wrong.err
    assert "'viz3d words --language es --of mine.toml --missing' lists" in wrong.err
    assert "'viz3d words mine.steps.1.caption --language es --of mine.toml --settle' if it may stay" in told
    assert run("words", "mine.steps.1.caption", *of, "--settle").out == "wrote es/settled.txt\n"
    assert run("words", *of, "--missing").out == ""
    record = tmp_path / "es" / "settled.txt"
    record.write_bytes(record.read_text(encoding="utf-8").encode("utf-16"))  # as some editors save it
    assert "3 texts are new" in run("words", *of, "--missing").out
    assert run("check", "mine.toml", "--language", "es").code == 0


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (["--language", "en", "--of", "mine.toml", "--settle"], "found en, which is no translation; --settle notes"),
        (
            ["--language", "es", "--of", "mine.toml", "--settle"],
            "es/mine.toml: lacks steps.1.caption; write them in es",
        ),
        (["--of", "mine.toml"], "--of goes with --missing or --settle"),
    ],
)
def test_nothing_is_settled_that_is_no_translation(
    tmp_path: Path, run: Callable[..., Ran], given: list[str], said: str
) -> None:
    own, spanish = tmp_path / "mine.toml", tmp_path / "es" / "mine.toml"
    spanish.parent.mkdir()
    own.write_text(SCENE.format(caption="Less load."), encoding="utf-8")
    spanish.write_text(SPANISH.format(caption="x").replace('caption = "x"\n', ""), encoding="utf-8")
    ran = run("words", *given)
    assert (ran.code, ran.err.count("\n")) == (1, 1)
    assert said in ran.err
    assert not (spanish.parent / "settled.txt").exists()


@pytest.mark.parametrize("language", ["en", "qps"])
def test_what_is_not_translated_is_never_old(language: str) -> None:
    assert list(library_records(language)) == []
