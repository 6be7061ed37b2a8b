"""Every bad input: one clear line, non-zero exit, no half file."""

from __future__ import annotations

import errno
import os
import signal
from collections import namedtuple
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import held_film
from viz3d.output import files, gl
from viz3d.scene.reader import load_scene
from viz3d.scene.segments import MOST_SHAPES

CANE = "cane-opposite-hand"
CASES = [
    (["solve", "level-stance", "--set", "person.wieght=60 kg"], ["level-stance.toml: person.wieght", "unknown key"]),
    (["solve", "level-stance", "--set", "person.mas=60 kg"], ["did you mean person.mass?"]),
    (
        ["solve", "level-stance", "--set", "person.mass=60 cm"],
        ["person.mass", "'cm' is not a unit of mass", "kg, g, lb"],
    ),
    (["solve", "level-stance", "--set", "person.mass=60"], ["person.mass", "without a unit"]),
    (["solve", "level-stance", "--set", "person.mass=-60 kg"], ["person.mass", "'-60 kg'", "20 kg to 300 kg"]),
    (["solve", "level-stance", "--set", "person.mass=nan kg"], ["person.mass", "nan kg"]),
    (["solve", "level-stance", "--set", "person.mass=1e999 kg"], ["person.mass", "finite"]),
    (["solve", "level-stance", "--set", "person.left_hip.abductor_lever=0 mm"], ["abductor_lever", "10 mm to 100 mm"]),
    (
        ["solve", "level-stance", "--set", "person.left_hip.centre_edge_angle=-10 deg"],
        ["centre_edge_angle", "0 deg to 70"],
    ),
    (["solve", CANE, "--set", "hands.right.force=130 %BW"], ["hands.right.force", "130 %BW", "100 %BW"]),
    (["solve", CANE, "--set", "hands.right.force=9 kN"], ["hands.right.force", "100 %BW"]),
    (["solve", CANE, "--set", "hands.right.tip_beside_toe=45 cm"], ["cannot reach", "cm too far"]),
    (["solve", CANE, "--set", "posture.lean=30 deg"], ["cannot reach"]),
    (["solve", "level-stance", "--set", "format=2"], ["format", "found 2", "newer viz3d"]),
    (["solve", "level-stance", "--set", "posture.stance=both"], ["posture.stance", "'left' or 'right'"]),
    (["solve", "level-stance", "--set", "posture.share=60 %"], ["posture.lifted"]),
    (["solve", "level-stance", "--set", "hands.left.holds=cane"], ["hands.left", "needs 'force'"]),
    (
        ["solve", CANE, "--set", "hands.right.force=balance", "--set", "posture.inclination=10 deg"],
        ["posture.inclination", "would have to carry -1"],
    ),
    (["solve", CANE, "--set", "posture.inclination=4 deg"], ["balance", "one follows from the other"]),
    (["solve", "weight-shift", "--set", "posture.obliquity=-5 deg"], ["posture.obliquity"]),
    (["solve", "level-stance", "--set", "nonsense"], ["KEY=VALUE"]),
    (["solve", "level-stanse"], ["no such scene", "did you mean level-stance?"]),
    (["solve", "level-stance", "--json", "--csv"], ["one of --json and --csv"]),
    (["still", "level-stance", "--step", "4"], ["picture.step: found 4", "1 step\n"]),
    (["still", "level-stance", "--out", "a.jpg"], ["a.jpg", ".png, .svg"]),
    (["still", "level-stance", "--set", "picture.size=100x100"], ["picture.size"]),
    (["film", "level-stance", "--out", "a.avi"], ["a.avi", ".mp4"]),
]


@pytest.mark.parametrize(("arguments", "wanted"), CASES, ids=[" ".join(c[0])[-48:] for c in CASES])
def test_one_clear_line(run: Any, tmp_path: Path, arguments: list[str], wanted: list[str]) -> None:
    done = run(*arguments)
    assert done.code == 1
    assert done.out == ""
    assert done.err.count("\n") == 1
    for text in wanted:
        assert text in done.err
    assert [p for p in tmp_path.rglob("*") if p.is_file()] == []


def scene_file(tmp_path: Path, content: bytes) -> str:
    path = tmp_path / "mine.toml"
    path.write_bytes(content)
    return str(path)


@pytest.mark.parametrize(
    ("content", "wanted"),
    [
        (b"", "is empty"),
        (b"   \n", "is empty"),
        (bytes(range(256)) * 4, "not a text file"),
        (b"x" * 50_000_000, "50.0 MB"),
        (b"title = [", "is not TOML"),
        (b'title = "no format"', "format: missing"),
        (b"format = 1", "title: missing"),
    ],
    ids=["empty", "blank", "binary", "50 MB", "broken", "no format", "bare"],
)
def test_bad_files(run: Any, tmp_path: Path, content: bytes, wanted: str) -> None:
    done = run("check", scene_file(tmp_path, content))
    assert done.code == 1
    assert wanted in done.err
    assert done.err.count("\n") == 1


def test_nan_in_a_file(run: Any, tmp_path: Path, level_text: str) -> None:
    done = run("check", scene_file(tmp_path, level_text.replace('"64 kg"', "nan").encode()))
    assert done.code == 1
    assert "person.mass" in done.err


def test_radiograph_lengths_need_a_calibration(run: Any) -> None:
    changes = ["--set", "person.left_hip.measured_on=radiograph", "--set", "person.left_hip.offset=44 mm"]
    done = run("solve", "level-stance", *changes)
    assert done.code == 1
    assert "calibration" in done.err
    assert run("solve", "level-stance", *changes, "--set", "person.left_hip.calibration=25 mm ball").code == 0


@pytest.mark.parametrize(
    ("setting", "said"),
    [
        (
            '"title" = "Another"',
            "steps.1.set.title: cannot be changed by a step; a step can change keys that begin with",
        ),
        ('"person.mass" = "800 kg"', "steps.1.set.person.mass: found '800 kg'; allowed: 20 kg to 300 kg"),
        ('"person.mas" = "80 kg"', "steps.1.set.person.mas: unknown key; did you mean person.mass?"),
        ('"hands.right.holds" = "cane"', "steps.1.set.hands.right: a hand with a cane needs 'force'"),
        ('"hands.right.force" = "5 %BW"', "the right hand holds nothing; it would have to hold a cane"),
    ],
)
def test_what_a_step_cannot_change(run: Any, tmp_path: Path, level_text: str, setting: str, said: str) -> None:
    done = run("check", scene_file(tmp_path, f"{level_text}set = {{ {setting} }}\n".encode()))
    assert done.code == 1
    assert said in done.err
    assert done.err.count("\n") == 1


def test_a_scene_shows_at_most_eight_bodies(run: Any, tmp_path: Path, level_text: str) -> None:
    more = "".join(f'[[steps]]\nname = "{k}"\nset = {{ "person.mass" = "{65 + k} kg" }}\n' for k in range(MOST_SHAPES))
    done = run("check", scene_file(tmp_path, f"{level_text}{more}".encode()))
    assert done.code == 1
    assert f"steps.{MOST_SHAPES + 1}.set: is body number 9 of this scene; allowed: 8" in done.err


def test_scene_text_is_data(tmp_path: Path, level_text: str) -> None:
    """Markup, templates and paths in a title stay text."""
    title = "<script>{{7*7}}</script> ../../etc/passwd $(id)"
    path = scene_file(tmp_path, level_text.replace("Standing on the left leg", title).encode())
    assert load_scene(path).title == title


def test_output_stays_a_plain_name(run: Any, tmp_path: Path) -> None:
    blocker = tmp_path / "file"
    blocker.write_text("")
    done = run("still", "level-stance", "--out", str(blocker / "deeper" / "a.svg"))
    assert done.code == 1
    assert "cannot write there" in done.err
    assert done.err.count("\n") == 1


def test_missing_gl_names_the_packages(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gl, "opens", lambda: False)
    monkeypatch.setattr(gl, "probe", gl.advice)
    for command in ("still", "film"):
        done = run(command, "level-stance")
        assert done.code == 1
        assert "libegl1 libgl1-mesa-dri" in done.err
        assert "solve" in done.err
        assert done.err.count("\n") == 1
    assert run("solve", "level-stance").code == 0


def test_missing_encoder(run: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("IMAGEIO_FFMPEG_EXE", str(tmp_path / "no-ffmpeg"))
    done = run("film", "level-stance")
    assert done.code == 1
    assert "encoder" in done.err
    assert not list(tmp_path.rglob("*.mp4"))


def test_full_disk_is_refused_early(run: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr(files.shutil, "disk_usage", lambda _: usage(1, 1, 1000))
    done = run("still", "level-stance", "--out", "a.svg")
    assert done.code == 1
    assert "MB free" in done.err
    assert not (tmp_path / "a.svg").exists()


def test_disk_that_fills_up_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(files.RenderError, match="disk is full"), files.written_whole(tmp_path / "a.png") as part:
        part.write_bytes(b"half")
        raise OSError(errno.ENOSPC, "No space left on device")
    assert list(tmp_path.iterdir()) == []


def test_a_full_disk_leaves_no_empty_scene(run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = Path.write_text

    def full(path: Path, text: str, *rest: Any, **more: Any) -> int:
        real(path, text[:10], *rest, **more)
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as less:
        less.setattr(Path, "write_text", full)
        done = run("new", "mine")
    assert (done.code, done.err) == (1, "viz3d: mine.toml: cannot be written: No space left on device\n")
    assert list(tmp_path.iterdir()) == []
    assert run("new", "mine").code == 0
    assert "already there" in run("new", "mine").err


@pytest.mark.skipif(os.name != "posix", reason="sends SIGINT, which only POSIX systems deliver to a child this way")
def test_stopping_a_film_leaves_nothing(tmp_path: Path) -> None:
    process = held_film(CANE, "--set", "picture.size=640x480", "--no-cache", "--out", str(tmp_path))
    assert [p for p in tmp_path.rglob("*.mp4") if p.is_file()]
    process.send_signal(signal.SIGINT)
    _, message = process.communicate()
    assert process.returncode == 130, message
    assert "stopped" in message
    assert "Traceback" not in message
    assert list(tmp_path.iterdir()) == []
