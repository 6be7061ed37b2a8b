"""What people hand in is looked at before it is parsed, and is repeated and printed harmlessly."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Ran
from viz3d import atomic
from viz3d.body.own import FEMUR, FILE, PELVIS, read_own
from viz3d.echo import ECHO, cell, harmless, odd_sign, shown
from viz3d.errors import InputError, SceneError, Unreadable
from viz3d.given import file_bytes, inside, json_value, toml_tables
from viz3d.output.memory import check_memory, needed
from viz3d.scene.reader import find_scene, load_scene, parse_scene
from viz3d.shapes.order import EXAMPLE, read_order
from viz3d.stage.theme import own_palette

Run = Callable[..., Ran]
HOSTILE = {
    "a key of 3,000 parts": (b"a" + b".a" * 3_000 + b" = 1", "a key of more than 12 parts"),
    "the same in quotes": (b'"a"' + b' . "a"' * 3_000 + b" = 1", "a key of more than 12 parts"),
    "500 brackets": (b"a = " + b"[" * 500 + b"]" * 500, "more than 24 brackets in brackets"),
    "500 tables": (b"a = " + b"{b = " * 500 + b"1" + b"}" * 500, "more than 24 brackets in brackets"),
    "5,000 digits": (b"a = " + b"9" * 5_000, "a number or word of more than 100 signs"),
    "5,000 hex digits": (b"a = 0x" + b"f" * 5_000, "a number or word of more than 100 signs"),
    "a null byte": (b"a = '\0'", "cannot be read"),
    "an escaped null": (b'a = "\\u0000"', "control characters cannot be used"),
    "an escape sequence": (b'a = "\\u001b[31m"', "control characters cannot be used"),
    "no UTF-8": (b"a = '\xff'", "is not a text file in UTF-8"),
    "a text without an end": (b'a = """' + b'\\"""' * 3_000, "is not TOML: line 1 cannot be read"),
}


@pytest.mark.parametrize(("text", "said"), HOSTILE.values(), ids=HOSTILE)
def test_one_guard_stands_before_every_file(tmp_path: Path, text: bytes, said: str) -> None:
    path = tmp_path / FILE
    path.write_bytes(text)
    for read in (parse_scene, read_order, own_palette, lambda p: read_own(p.parent)):
        with pytest.raises((InputError, SceneError), match=said) as refused:
            read(path)
        assert len(str(refused.value)) < 400


def test_the_guard_keeps_the_parser_from_taking_gigabytes() -> None:
    """The text that took 1.7 GB is refused in a process that may have no more than that by a long way."""
    code = (
        "import resource; from viz3d.given import toml_tables; from viz3d.errors import Unreadable\n"
        "resource.setrlimit(resource.RLIMIT_AS, (600_000_000, 600_000_000))\n"
        "try: toml_tables(b'a' + b'.a' * 120_000 + b' = 1')\n"
        "except Unreadable as error: print(error)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "line 1 holds a key of more than 12 parts\n"


def test_a_byte_order_mark_is_allowed_everywhere(tmp_path: Path, level_text: str) -> None:
    mark, path = b"\xef\xbb\xbf", tmp_path / "mine.toml"
    path.write_bytes(mark + level_text.encode())
    assert load_scene(str(path)).title == "Standing on the left leg"
    path.write_bytes(mark + EXAMPLE.encode())
    assert read_order(path)["units"] == "mm"
    path.write_bytes(mark + b'joint = "#6F4D9E"')
    assert own_palette(path) == {"joint": "#6F4D9E"}
    assert json_value(mark + b"[1]") == [1]


@pytest.mark.parametrize(
    ("text", "said"),
    [(b"[NaN]", "holds NaN"), (b'"\\ud800"', "control characters"), (b"[" * 500, "brackets"), (b"{", "not JSON")],
)
def test_messages_are_guarded_too(text: bytes, said: str) -> None:
    with pytest.raises(Unreadable, match=said):
        json_value(text)


def test_ordinary_files_pass_the_guard() -> None:
    deep = (
        "a.b.c = "
        + "[" * 20
        + "1"
        + "]" * 20
        + '\nd = """\n[[[[ # not counted ]]]]\n"""\n# a.a.a.a.a.a.a.a.a.a.a.a.a.a.a\ne = 1.5e-3'
    )
    assert toml_tables(deep.encode())["e"] == 1.5e-3


def test_what_is_repeated_is_short_and_harmless(run: Run) -> None:
    for value in ("x" * 10_000, "9" * 10_000, "\x1b[31m" * 900):
        assert len(shown(value)) <= ECHO
        assert "\x1b" not in shown(value)
    assert shown(int("f" * 5000, 16)) == "a number of more than 80 digits"
    done = run("solve", "level-stance", "--set", f"person.mass={'x' * 9_000}")
    assert done.code == 1
    assert len(done.err) < 300


@pytest.mark.parametrize("name", ["", ".", "..", "/", "a" * 300, "a\0b", "/dev/zero"])
def test_names_that_no_scene_can_have(name: str) -> None:
    with pytest.raises(SceneError, match=r"no such scene file|is a folder"):
        find_scene(name)
    assert inside(Path(), f"../{name}x") is None


def test_devices_are_not_read() -> None:
    with pytest.raises(Unreadable, match="is no plain file"):
        file_bytes(Path("/dev/zero"), 100)
    with pytest.raises(Unreadable, match="is a folder"):
        file_bytes(Path("/"), 100)


@pytest.mark.parametrize("field", ["socket_radius", "offset", "points", "hip_spacing"])
@pytest.mark.parametrize("value", ["nan", "inf", "true", "'wide'", None])
def test_a_bone_record_needs_every_number(tmp_path: Path, field: str, value: str | None) -> None:
    measures = "head_radius offset neck_shaft_angle version trochanter_height centre_edge_angle socket_inclination socket_version socket_radius"
    lines = ["format = 1", "[person]", "hip_spacing = 0.17", "pelvic_width = 0.24", "thigh_length = 0.4"]
    for side in ("left", "right"):
        lines += [f"[{side}_hip]", *(f"{name} = 20" for name in measures.split())]
    lines += ["[points.pelvis]", "anterior_spine = [0.1, 0.1, 0.1]"]
    for name in (PELVIS, FEMUR):
        (tmp_path / name).write_bytes(b"ply")
    (tmp_path / FILE).write_text("\n".join(lines))
    assert read_own(tmp_path).socket_radius == {"left": 20, "right": 20}
    key = "anterior_spine" if field == "points" else field
    spoilt = [line for line in lines if value is not None or not line.startswith(f"{key} ") or field == "points"]
    put = f"{key} = [0.1, {value or '{}'}, 0.1]" if field == "points" else f"{key} = {value}"
    (tmp_path / FILE).write_text("\n".join(put if line.startswith(f"{key} ") else line for line in spoilt))
    with pytest.raises(InputError, match=f"{key}: found .*; allowed: (a number|three numbers)"):
        read_own(tmp_path)


def test_a_picture_that_takes_too_much_memory_is_refused_before_it_is_drawn(run: Run, tmp_path: Path) -> None:
    check_memory((3840, 2160))
    assert needed((7680, 7680)) > 8e9
    for command, out in (("still", "a.png"), ("bones", "a.png"), ("film", "a.mp4")):
        done = run(command, "level-stance", "--set", "picture.size=7680x7680", "--out", out)
        assert done.code == 1
        assert "of memory; allowed: up to 9 million pixels, or any size as .svg or .pdf" in done.err
    assert list(tmp_path.iterdir()) == []


# ---- small inputs -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["solve", ""], 1, "no such scene file"),
        (["solve", "."], 1, ".: is a folder, not a scene file"),
        (["solve", "a" * 300], 1, "no such scene file"),
        (["compare", "level-stance:²", "level-stance"], 1, "level-stance:²: no such scene file"),
        (["bring", "/"], 1, "exists already"),
        (["still", "level-stance", "--out", "a\udcffb.svg"], 1, "names that are not UTF-8, cannot be used"),
        (["solve", "level-stance", "--set", "title=\x1b[31m"], 1, "control characters"),
        (["new", "a" * 300], 1, "File name too long"),
        (["still", "level-stance", "--out", "a" * 300 + ".svg"], 1, "File name too long"),
        (["spread", "level-stance", "--people", "9" * 12], 1, "allowed: 64 to 65536"),
        (["spread", "level-stance", "--seed", "-1"], 2, "--seed"),
    ],
    ids=lambda value: " ".join(value)[:40] if isinstance(value, list) else None,
)
def test_small_inputs_get_one_line(run: Run, tmp_path: Path, words: list[str], code: int, said: str) -> None:
    done = run(*words)
    assert (done.code, done.out) == (code, "")
    assert said in done.err
    assert "\x1b" not in done.err
    if code == 1:
        assert done.err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_a_step_may_be_typed_with_zeros_in_front() -> None:
    assert load_scene("level-stance", ["picture.step=01"]).picture.step == 1


def shell(folder: Path, line: str) -> subprocess.CompletedProcess[str]:
    """A shell's line, with the command in its variable P."""
    whole = {**os.environ, "P": f"{sys.executable} -m viz3d", "PYTHONPATH": str(Path(__file__).resolve().parents[2])}
    return subprocess.run(["sh", "-c", line], cwd=folder, env=whole, capture_output=True, text=True, check=False)


@pytest.mark.skipif(
    os.name != "posix", reason="a shell closes streams and removes the folder it stands in on POSIX systems only"
)
@pytest.mark.parametrize(
    ("line", "code", "said"),
    [
        ("$P solve level-stance >&-", 1, "viz3d: standard output is closed\n"),
        ("$P solve level-stance >/dev/full", 1, "viz3d: No space left on device\n"),
        ("mkdir gone && cd gone && rmdir ../gone && $P solve level-stance >/dev/null", 0, ""),
        (
            "mkdir gone && cd gone && rmdir ../gone && $P chart level-stance --out a.csv",
            1,
            "viz3d: a.csv: cannot be written: No such",
        ),
    ],
)
def test_streams_and_folders_that_are_gone(tmp_path: Path, line: str, code: int, said: str) -> None:
    if "/dev/full" in line and not Path("/dev/full").exists():
        pytest.skip("this system has no device that is always full")
    done = shell(tmp_path, line)
    assert done.returncode == code
    assert done.stderr.startswith(said)
    assert done.stderr.count("\n") == (1 if code else 0)


# ---- words are data -----------------------------------------------------------------------------------


@pytest.mark.parametrize("sign", ["\x00", "\x01", "\x1b", "\x7f", "\x9b", "\u202e", "\ud800", "\uffff"])
def test_one_rule_refuses_control_characters(sign: str) -> None:
    assert odd_sign({"a": [f"x{sign}"]}) == f"x{sign}"
    assert sign not in harmless(f"x{sign}")
    with pytest.raises(SceneError, match="control characters"):
        load_scene("level-stance", [f"title=a{sign}b"])


def test_ordinary_signs_of_every_script_pass() -> None:
    assert odd_sign(["e\u0301 \u202bשלום\u202c 骨盆 🦴 a\tb\nc\r\n"]) is None


def test_table_cells_that_a_spreadsheet_would_work_out_are_text(run: Run, tmp_path: Path, level_text: str) -> None:
    for start in ("=", "+", "-", "@", "\t"):
        (tmp_path / "mine.toml").write_text(level_text.replace('name = "', f'name = "{start}', 1))
        (row,) = csv.DictReader(io.StringIO(run("solve", "mine", "--csv").out))
        assert row["step"].startswith(f"'{start}")
        assert float(row["joint_force_N"]) > 0
    assert cell(-1.5) == -1.5


@pytest.mark.skipif(os.name != "posix", reason="rights of files are POSIX's")
@pytest.mark.parametrize(("mask", "mode"), [(0o022, 0o644), (0o027, 0o640), (0o077, 0o600), (0o002, 0o664)])
def test_new_files_follow_the_umask(tmp_path: Path, mask: int, mode: int) -> None:
    before = os.umask(mask)
    try:
        with atomic.atomic_write(tmp_path / "a.txt") as part:
            part.write_text("x")
    finally:
        os.umask(before)
    assert (tmp_path / "a.txt").stat().st_mode & 0o777 == mode


# ---- numbers that do not exist ------------------------------------------------------------------------

WEAK = ["--set", "posture.inclination=22 deg", "--set", "strength.left_abductors=5 %"]
TOO_WEAK = ["solve", "muscle-set", *WEAK, "--json"]


@pytest.mark.parametrize(
    "words",
    [
        ["solve", "limp", "--set", "model.muscles=three-axis set", "--json"],
        TOO_WEAK,
        ["hold", "muscle-set", "--set", "posture.inclination=22 deg", "--json"],
    ],
)
def test_no_number_is_said_where_there_is_none(run: Run, words: list[str]) -> None:
    done = run(*words)
    assert done.code == 0, done.err
    json.loads(done.out, parse_constant=lambda name: pytest.fail(f"JSON holds {name}"))
    assert "nan" not in done.out.lower().replace("dominant", "")


def test_the_reason_is_said_where_weak_muscles_leave_no_force(run: Run) -> None:
    (found,) = json.loads(run(*TOO_WEAK).out)["situations"]
    assert found["joint_force_N"] is None
    assert "the muscles cannot make this moment" in found["reasons"]["joint_force_N"]
    assert found["shown"]["joint"]["lines"] == ["no force to state: the muscles cannot make this moment"]


@pytest.mark.parametrize("out", ["a.svg", "a.png", "a.csv"])
@pytest.mark.parametrize(
    "words",
    [
        ["level-stance", "--over", "lean", "--show", "relief"],
        ["level-stance", "--over", "lean", "--and", "drop", "--show", "relief"],
    ],
)
def test_a_chart_of_nothing_is_an_empty_chart(run: Run, tmp_path: Path, words: list[str], out: str) -> None:
    done = run("chart", *words, "--out", out)
    assert done.code == 0, done.err
    data = (tmp_path / out).read_bytes()
    assert data
    if out != "a.png":
        assert b"nan" not in data.lower()
    if out == "a.csv":
        assert data.splitlines()[1].endswith(b",")
