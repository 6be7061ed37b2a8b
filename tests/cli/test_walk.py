"""``viz3d walk``: what it prints and writes, and every line in which it refuses a motion."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import viz3d
from tests.conftest import Ran

USUAL = Path(viz3d.__file__).parent / "motion" / "data" / "one_adult.csv"
SET = 'model.muscles="three-axis set"'


@pytest.fixture(scope="module")
def lines() -> list[str]:
    return USUAL.read_text(encoding="utf-8").splitlines()


def test_table_tells_peaks_measurements_and_what_was_done(run: Callable[..., Ran]) -> None:
    ran = run("walk", "level-stance", "--set", SET)
    assert ran.code == 0, ran.err
    for part in (
        "Licence: MIT", "first peak", "residual between", "Bergmann et al. 2016", "from memory", "outside",
        "One measured person's motion on this body", "above 6.0 Hz", "they slide", "not running, stairs",
    ):  # fmt: skip
        assert part in ran.out, part
    assert "nan" not in ran.out.lower()


def test_a_step_s_walk_is_told_and_set_beside_usual_ones(run: Callable[..., Ran]) -> None:
    """The last step's where none is named, and that what stands beside it was measured on people who walked as usual."""
    last, first = (run("walk", "walk-limp", "--frames", "40", *more).out for more in ((), ("--step", "1")))
    assert "The limp from the back" in last.splitlines()[0]
    assert "thorax 9.1°" in last
    assert "walked as usual, as this walk does not" in last
    assert "none of which is an input" in first
    assert "thorax 9.1°" not in first
    single = next(line for line in first.splitlines() if "Bergmann et al. 2001, J Biomech 34:859" in line)
    assert "–" in single
    assert "side " not in single
    assert "this scene has 3 steps" in run("walk", "walk-limp", "--step", "4").err


def test_json_and_csv_hold_the_same_frames(run: Callable[..., Ran], tmp_path: Path) -> None:
    record = json.loads(run("walk", "level-stance", "--json", "--frames", "60", "--out", str(tmp_path / "a.csv")).out)
    table = list(csv.DictReader(io.StringIO(run("walk", "level-stance", "--csv", "--frames", "60").out)))
    assert len(table) == 60
    joint = [float(row["joint_force_BW"]) for row in table]
    assert joint == pytest.approx(record["frames"]["joint_force_BW"], rel=1e-8)
    assert max(joint[:24]) == pytest.approx(record["peaks"]["first_BW"], rel=1e-8)
    assert 1.5 < max(joint) < 5.0
    assert record["motion"]["licence"]
    assert (tmp_path / "a.csv").read_text().count("\n") == 61


def test_columns_are_told_with_units(run: Callable[..., Ran], lines: list[str]) -> None:
    told = run("walk", "level-stance", "--columns").out
    heads = next(line for line in lines if not line.startswith("#")).split(",")
    for head in heads:
        assert head.removesuffix("_sd") in told, head


def changed(lines: list[str], column: str, change: Callable[[np.ndarray], np.ndarray]) -> list[str]:
    """The motion with one column's numbers changed."""
    start = next(k for k, line in enumerate(lines) if not line.startswith("#"))
    k = lines[start].split(",").index(column)
    rows = [line.split(",") for line in lines[start + 1 :]]
    for row, value in zip(rows, change(np.array([float(r[k]) for r in rows])), strict=True):
        row[k] = f"{value:.6g}"
    return [*lines[: start + 1], *(",".join(row) for row in rows)]


def without(lines: list[str], column: str) -> list[str]:
    start = next(k for k, line in enumerate(lines) if not line.startswith("#"))
    k = lines[start].split(",").index(column)
    return [x if x.startswith("#") else ",".join(c for i, c in enumerate(x.split(",")) if i != k) for x in lines]


def jumping(values: np.ndarray) -> np.ndarray:
    return np.where(np.arange(len(values)) == 40, values + 60.0, values)


def gapped(lines: list[str]) -> list[str]:
    row = lines[50].split(",")
    row[3] = ""
    return [*lines[:50], ",".join(row), *lines[51:]]


BAD: dict[str, tuple[Callable[[list[str]], list[str]], str]] = {
    "empty": (lambda x: [], "title: missing"),
    "only a head": (lambda x: x[:10], "holds no head line"),
    "one frame": (lambda x: x[:12], "holds 1 row; allowed: 20 to 5000"),
    "a gap in a row": (gapped, "line 51: root_right_m: a gap; allowed: a number in every row"),
    "a gap in time": (lambda x: [*x[:40], *x[45:]], "s after the row before; rows stand 0.0105 s apart"),
    "a jump": (lambda x: changed(x, "knee_flexion_right_deg", jumping), "knee_flexion_right jumps by 60.4 deg"),
    "half a cycle": (lambda x: x[:62], "the last row lies"),
    "degrees for radians": (lambda x: [y.replace("hip_flexion_right_deg", "hip_flexion_right_rad") for y in x], "is it in the unit"),
    "radians for degrees": (lambda x: changed(x, "knee_flexion_right_deg", np.radians), "changes by only 0.96 deg"),
    "radians for degrees of the hip": (lambda x: changed(x, "hip_flexion_right_deg", np.radians), "hip_flexion_right changes by only 0.7"),
    "no leg": (lambda x: ["# leg_length_m: 0" if y.startswith("# leg_length_m") else y for y in x], "leg_length_m: 0 m; allowed: 0.5 to 1.2 m"),
    "two legs": (lambda x: [x[0], "# leg_length_m: 0.8", *x[1:]], "leg_length_m: is said 2 times; allowed: once"),
    "semicolons": (lambda x: [y if y.startswith("#") else y.replace(",", ";") for y in x], "semicolons between the columns; separate columns with commas"),
    "millimetres for metres": (lambda x: changed(x, "root_up_m", lambda v: 1000 * v), "root_up"),
    "an unknown unit": (lambda x: [y.replace("root_up_m,", "root_up_inch,") for y in x], "unit 'inch'; allowed: m, cm, mm"),
    "an unknown column": (lambda x: [y.replace("pelvis_back_deg,", "pelvis_bakc_deg,") for y in x], "did you mean pelvis_back_deg?"),
    "a missing column": (lambda x: without(x, "knee_flexion_right_deg"), "missing columns: knee_flexion_right_deg"),
    "no time": (lambda x: without(x, "time_s"), "missing columns: time_s"),
    "no licence": (lambda x: [y for y in x if not y.startswith("# licence")], "licence: missing"),
    "another frame rate": (lambda x: [y.replace("95.19", "200") for y in x], "but time_s has 95.2 rows a second"),
    "feet through the floor": (lambda x: changed(x, "hip_flexion_right_deg", lambda v: -v), "off the floor by"),
    "200 000 rows": (lambda x: x[:11] + x[11:12] * 200_000, "MB; allowed: a file of at most 20 000 kB"),
    "many short rows": (lambda x: [*x[:10], "time_s,root_up_m", *["0,1"] * 6000], "missing columns"),
    "running": (lambda x: changed(x, "root_forward_m", lambda v: 3 * v), "root_forward: the speed: 3.95 m/s; allowed: 0.3 to 2.2"),
    "a foot that never leaves": (lambda x: [y.replace("toe_off_pct: 64", "toe_off_pct: 95") for y in x], "is down for 95 %"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_bad_motions_are_refused_in_one_line(
    name: str, lines: list[str], run: Callable[..., Ran], tmp_path: Path
) -> None:
    spoil, said = BAD[name]
    (tmp_path / "mine.csv").write_text("\n".join(spoil(lines)), encoding="utf-8")
    ran = run("walk", "level-stance", "--motion", "mine.csv", "--out", "out.csv")
    assert ran.code == 1
    assert said in ran.err
    assert ran.err.startswith("viz3d: ")
    assert ran.err.count("\n") == 1
    assert sorted(p.name for p in tmp_path.iterdir()) == ["mine.csv"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--motion", "no.csv"], "cannot be read"),
        (["--motion", "a.xlsx"], "allowed: .csv, .c3d"),
        (["--hip", "middle"], "allowed: left, right"),
        (["--frames", "41"], "an even number"),
        (["--frames", "10"], "allowed: 40 to 1000"),
        (["--pace", "0"], "allowed: 0.01 to 1.5"),
        (["--cutoff", "50"], "allowed: 2 to 20"),
        (["--double-stance", "half"], "allowed: smooth, measured"),
        (["--swing", "none"], "allowed: by-force, as-measured"),
        (["--out", "a.txt"], "this command writes .csv"),
        (["--json", "--csv"], "choose one"),
    ],
)
def test_bad_options_are_refused(arguments: list[str], said: str, run: Any) -> None:
    ran = run("walk", "level-stance", *arguments)
    assert ran.code == 1
    assert said in ran.err
    assert ran.err.count("\n") == 1
