"""Command lines put together at random: exit 0, 1 or 2, one line of trouble, and numbers that are some."""

from __future__ import annotations

import contextlib
import io
import json
import random
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.attacks.mutants import NASTY, pushed, scene_text
from tests.attacks.watch import check_numbers, check_text, failures, pieces, quick
from tests.conftest import hearing_again
from viz3d.cli import main
from viz3d.scene.reader import library_scenes

INPUTS = ("lean", "drop", "cane", "bag", "mass", "lever", "", "Lean", "\x1b[2J", "x" * 300)
SHOWN = ("joint", "muscle", "lever", "pressure", "relief", "nan")
ODD = (
    "",
    " ",
    ".",
    "..",
    "/",
    "-",
    "--",
    "a" * 300,
    "a\udcffb",
    "\x1b[31m",
    "é",
    "=1",
    "0",
    "-1",
    "01",
    "²",
    "1e3",
    "9" * 30,
)
STEPS = ("1", "2", "0", "-1", "99", "²", "x", "01", "9" * 30)
Words = list[str]


def _scene(rng: random.Random) -> str:
    if rng.random() < 0.85:
        return rng.choice(list(library_scenes()))
    if rng.random() < 0.5:
        Path("mine.toml").write_bytes(scene_text(rng.randrange(10**6)))
        return "mine"
    return rng.choice(ODD)


def _changes(rng: random.Random) -> Words:
    out = []
    for _ in range(rng.choice((0, 0, 0, 1, 1, 2))):
        key, value = pushed(rng)
        if rng.random() < 0.2:
            value = rng.choice(NASTY)
        out += ["--set", f"{key}={value}"[:5000]]
    return out


def _maybe(rng: random.Random, option: str, values: tuple[str, ...], chance: float = 0.5) -> Words:
    return [option, rng.choice(values)] if rng.random() < chance else []


def _flag(rng: random.Random, *options: str) -> Words:
    return [o for o in options if rng.random() < 0.35]


def _numbers(rng: random.Random) -> Words:
    name = rng.choice(("solve", "solve", "check", "hold", "target", "match", "raise", "spread"))
    words = [name, _scene(rng), *_changes(rng)]
    if name in ("solve", "check"):
        words += [
            *([_scene(rng)] if rng.random() < 0.2 else []),
            *(_flag(rng, "--json", "--csv") if name == "solve" else []),
        ]
    elif name == "target":
        words += [
            "--joint",
            rng.choice(("1.5 BW", "2 BW", "800 N", "0 BW", "-1 BW", "1e9 BW", "nan BW", "", "2")),
            *_maybe(rng, "--by", INPUTS),
        ]
        words += [*_maybe(rng, "--step", STEPS, 0.2), *_flag(rng, "--json")]
    elif name == "match":
        words += [
            "--this",
            rng.choice(
                (
                    'lean="10 deg"',
                    "cane=10 %BW",
                    "bag=5 kg",
                    "mass=80 kg",
                    "lever=4 cm",
                    "x",
                    "=",
                    "lean=",
                    "cane=nan N",
                )
            ),
        ]
        words += [*_maybe(rng, "--by", INPUTS), *_maybe(rng, "--step", STEPS, 0.2), *_flag(rng, "--json")]
    elif name == "raise":
        words += [
            *_maybe(rng, "--angle", ("0 deg", "45 deg", "90 deg", "-5 deg", "x")),
            *_maybe(rng, "--position", ("lying", "standing", "")),
        ]
        words += [*_maybe(rng, "--ankle-weight", ("0 kg", "5 kg", "1e5 kg")), *_flag(rng, "--json")]
    elif name == "spread":
        words += [
            "--people",
            rng.choice(("64", "65", "63", "-1", "100", "9" * 20)),
            *_maybe(rng, "--seed", ("0", "1", "-1", "9" * 30)),
        ]
        words += _flag(rng, "--json")
    return words


def _files(rng: random.Random) -> Words:
    name = rng.choice(("chart", "chart", "new", "bring", "schema", "scenes", "compare", "still", "film", "bones"))
    out = _maybe(
        rng,
        "--out",
        ("a.svg", "a.csv", "b", "a" * 300 + ".svg", "no/such/deep/a.csv", "a.exe", "/proc/a.svg", "", *ODD),
        0.7,
    )
    if name == "chart":
        over = [*_maybe(rng, "--over", INPUTS), *_maybe(rng, "--and", INPUTS, 0.2), *_maybe(rng, "--show", SHOWN)]
        return [
            name,
            _scene(rng),
            *over,
            *_changes(rng),
            *_maybe(rng, "--step", STEPS, 0.2),
            "--out",
            rng.choice(("a.svg", "a.csv", "a.csv", "a.csv")),
        ]
    if name == "new":
        return [name, rng.choice(ODD), *_maybe(rng, "--from", tuple(ODD))]
    if name == "bring":
        return [name, rng.choice((*ODD, "--example", "order.toml"))]
    if name in ("schema", "scenes"):
        return [name, *_flag(rng, "--json", "--help", "x")]
    if name == "compare":
        chosen = [f"{_scene(rng)}:{rng.choice(STEPS)}" for _ in range(rng.choice((0, 1, 5)))]
        return [name, *chosen, *_changes(rng), *out]
    wrong = {"still": "--step", "film": "--workers", "bones": "--of"}[name]
    return [name, rng.choice(ODD), wrong, rng.choice(ODD), *_changes(rng), *out]


def attack(folder: Path, seed: int) -> None:
    """One command line, run in ``folder``."""
    rng = random.Random(seed)
    with contextlib.chdir(folder):
        words = (_numbers if rng.random() < 0.7 else _files)(rng)
        if rng.random() < 0.1:
            words.insert(rng.randrange(len(words) + 1), rng.choice(ODD))
        words = [word.replace("\x00", "") for word in words]  # the system passes none on
        _obeyed(words)
        for path in folder.iterdir():
            if path.suffix in (".csv", ".svg"):
                check_text(path.read_text(encoding="utf-8"), path.name)
            if path.is_file():
                path.unlink()  # no command line finds what another one left
            assert not path.name.startswith(".") or path.is_dir(), path.name


def _obeyed(words: Words) -> None:
    out, err = io.StringIO(), io.StringIO()
    before = sys.argv
    sys.argv = ["viz3d", *words]
    try:
        with (
            quick(),
            hearing_again(),
            contextlib.redirect_stdout(out),
            contextlib.redirect_stderr(err),
            pytest.raises(SystemExit) as end,
        ):
            main()
    finally:
        sys.argv = before
    code, told = end.value.code or 0, err.getvalue()
    assert code in (0, 1, 2), words
    assert "Traceback" not in told, words
    assert "\x1b" not in told + out.getvalue(), words
    if code == 1:
        assert told.count("\n") == 1 and told.startswith("viz3d: "), (words, told)
        assert len(told) < 1200, (words, told[:300])
    if code == 0:
        _check_output(words, out.getvalue())


def _check_output(words: Words, text: str) -> None:
    if "--json" in words and words[0] in ("solve", "hold", "target", "match", "raise", "spread"):
        check_numbers(json.loads(text, parse_constant=_refused), " ".join(words)[:200])
    else:
        check_text(text, " ".join(words)[:200])


def _refused(name: str) -> None:
    raise AssertionError(f"JSON holds {name}")


Attack = Callable[[int], None]


@pytest.fixture
def in_folder(tmp_path: Path) -> Attack:
    return lambda seed: attack(tmp_path, seed)


def test_a_sample_of_command_lines(in_folder: Attack) -> None:
    assert not failures(range(1_000_000, 1_000_024), in_folder)


@pytest.mark.long
@pieces("commands", 5_000, 250)
def test_command_lines(seeds: range, in_folder: Attack) -> None:
    assert not failures(seeds, in_folder)
