"""``viz3d walk``: what a hip carries over one cycle of measured walking."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from viz3d.cli.options import AsJson, Changes, Language, SceneName, spoken, step_index
from viz3d.cli.say import say

if TYPE_CHECKING:
    from viz3d.scene.schema import Scene
    from viz3d.solution.walk import Walked
    from viz3d.words.voice import Voice

_ROWS = 20
"""Rows that are printed of a cycle."""


def walk(
    scene: SceneName,
    motion: Annotated[
        Path | None,
        typer.Option("--motion", metavar="FILE", help="A motion of your own (CSV, or C3D with joint angles)."),
    ] = None,
    side: Annotated[str, typer.Option("--hip", help="left or right (default: the scene's stance).")] = "",
    frames: Annotated[int, typer.Option("--frames", help="Frames of the cycle, 40 to 1000.")] = 100,
    pace: Annotated[float, typer.Option("--pace", help="How many times faster it is walked, 0.01 to 1.5.")] = 1.0,
    cutoff: Annotated[float | None, typer.Option("--cutoff", help="Cutoff of the motion, 2 to 20 Hz.")] = None,
    rule: Annotated[
        str, typer.Option("--double-stance", help="smooth or measured: how two feet share (default: the scene's).")
    ] = "",
    swing: Annotated[
        str, typer.Option("--swing", help="by-force or as-measured: the body's swing forward.")
    ] = "by-force",
    step: Annotated[int | None, typer.Option("--step", help="Step walked, from 1 (default: the last).")] = None,
    changes: Changes = None,
    language: Language = None,
    columns: Annotated[bool, typer.Option("--columns", help="Print what a motion's file holds, and stop.")] = False,
    as_json: AsJson = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print CSV, one row a frame.")] = False,
    out: Annotated[Path | None, typer.Option("--out", metavar="FILE.csv", help="Write the CSV into a file.")] = None,
) -> None:
    """Walk the scene's person through one cycle of a measured motion: ground, moments, muscles and joint force."""
    from viz3d.motion.library import named_motion
    from viz3d.scene.reader import load_scene
    from viz3d.scene.walk import WalkTable
    from viz3d.solution.changed import changed_walk
    from viz3d.solution.inputs import body_of, model_of
    from viz3d.solution.refuse_walk import refuse_walking, telling_reach
    from viz3d.solution.walk import solve_walk
    from viz3d.solution.walk_records import walk_record
    from viz3d.solution.walking import asked_of
    from viz3d.words.message import joined

    if columns:
        _tell_columns()
        return
    _refuse(side, frames, pace, cutoff, swing, as_json + as_csv, out)
    loaded, name, index = _in_force(load_scene(scene, spoken(changes, language)), step)
    refuse_walking(loaded, scene, step=index)
    body, table = body_of(loaded), loaded.walk or WalkTable()
    file = motion if motion or table.motion is None else loaded.own_file("walk.motion", table.motion)
    with telling_reach(loaded, scene, body, index):
        how = frames, pace, cutoff, swing == "by-force"
        changed = changed_walk(body, named_motion(file), asked_of(loaded, body), *how)
    solved = side or loaded.posture.stance, model_of(loaded), rule or table.double_stance, changed
    walked = solve_walk(body, changed.cycle, *solved)
    voice = loaded.picture.voice
    record = walk_record(walked, Path(scene).stem, voice)
    record |= {"step": name} if name else {}
    if out is not None:
        _write(out, record)
    if as_json:
        print(json.dumps(record, indent=2, allow_nan=False))
    elif as_csv:
        say(_csv(record).rstrip("\n"))
    elif out is None:
        _print(voice.say(joined("join.colon", [loaded.title, *([name] if name else [])])), walked, record, voice)
    else:
        say(f"wrote {out}")


def _in_force(whole: Scene, step: int | None) -> tuple[Scene, str, int]:
    """The scene in force at a step, the last where none is named, its name ("" for the only walk), and its index."""
    from viz3d.scene.segments import scene_at

    if step is None and whole.walk is None:
        return whole, "", 0
    index = step_index(whole, step, last=True)
    return scene_at(whole, index), whole.steps[index].name if len(whole.steps) > 1 else "", index


def _tell_columns() -> None:
    """What stands in a motion's file."""
    from viz3d.motion.assemble import HEADS
    from viz3d.motion.columns import COLUMNS, UNITS, sided_names, written

    say(f"lines before the table: # name: value, with the names {', '.join(HEADS)}")
    say("columns (a side not given is the other one half a cycle later; _sd behind a name: its standard deviation):")
    say("  time_s (needed)")
    for column in COLUMNS:
        units = UNITS[column.dimension]
        names = ", ".join(written(key, next(iter(units))) for key in sided_names(column))
        others = f" (or {', '.join(list(units)[1:])})" if len(units) > 1 else ""
        say(f"  {names}{others}{' (needed)' if column.needed else ''}")


def _refuse(
    side: str, frames: int, pace: float, cutoff: float | None, swing: str, printed: int, out: Path | None
) -> None:
    from viz3d.body.names import SIDES
    from viz3d.errors import InputError, OutOfRange

    if printed > 1:
        raise InputError("choose one of --json and --csv")
    if side and side not in SIDES:
        raise InputError(f"--hip: found {side}; allowed: left, right")
    if swing not in ("by-force", "as-measured"):
        raise InputError(f"--swing: found {swing}; allowed: by-force, as-measured")
    if out is not None and out.suffix.lower() != ".csv":
        raise InputError(f"--out: found {out.name}; this command writes .csv")
    for name, value, low, high in (
        ("--frames", frames, 40, 1000),
        ("--pace", pace, 0.01, 1.5),
        ("--cutoff", cutoff, 2, 20),
    ):
        if value is not None and not low <= value <= high:
            raise OutOfRange(name, f"{value:g}", f"{low:g} to {high:g}")
    if frames % 2:
        raise OutOfRange("--frames", str(frames), "an even number, so that both halves of the cycle are alike")


def _csv(record: dict[str, Any]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(record["frames"])
    rows = zip(*record["frames"].values(), strict=True)
    writer.writerows(["" if v is None else f"{v:.9g}" for v in row] for row in rows)
    return text.getvalue()


def _write(path: Path, record: dict[str, Any]) -> None:
    from viz3d.atomic import atomic_write
    from viz3d.errors import InputError

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with atomic_write(path) as part:
            part.write_text(_csv(record), encoding="utf-8")
    except OSError as error:
        raise InputError(f"{path}: cannot be written: {error.strerror}") from error


_HEADS = (
    ("cycle", "cycle_percent", 7, 0, " %"), ("ground", "ground_up_BW", 10, 2, " BW"),
    ("flexion", "flexion_moment_Nm_per_kg", 12, 2, " N m/kg"),
    ("abduction", "abduction_moment_Nm_per_kg", 12, 2, " N m/kg"),
    ("rotation", "rotation_moment_Nm_per_kg", 12, 2, " N m/kg"), ("muscle", "muscle_force_BW", 9, 2, " BW"),
    ("joint", "joint_force_BW", 9, 2, " BW"), ("angle", "joint_angle_deg", 8, 1, "°"),
    ("peak", "peak_pressure_MPa", 9, 2, " MPa"),
)  # fmt: skip


_SIGNS = {"percent": "%", "deg": "°"}
"""Units of the comparisons that a sign stands for."""


def _print(title: str, walked: Walked, record: dict[str, Any], voice: Voice) -> None:
    """The table of one cycle, the peaks, the comparisons and what was done."""
    from viz3d.solution.walk_records import gait, strength_words
    from viz3d.words.message import message

    motion = walked.cycle.motion
    say(voice.say(message("walk.title", title=title, side=voice.say(message(f"walk.{walked.side}")))))
    say(voice.say(message("walk.motion", title=motion.title, source=motion.source, licence=motion.licence)))
    say(voice.say(gait(walked)))
    say()
    heads = [voice.say(message(f"walk.head.{name}")) for name, *_ in _HEADS]
    sizes = [max(size, len(head)) for (_, _, size, _, _), head in zip(_HEADS, heads, strict=True)]
    say(" ".join(f"{head:>{size}}" for head, size in zip(heads, sizes, strict=True)))
    table, count = record["frames"], walked.cycle.frames
    for k in range(0, count, max(1, count // _ROWS)):
        cells = []
        for (_, key, _, decimals, unit), size in zip(_HEADS, sizes, strict=True):
            value = table[key][k]
            cells.append(f"{'–' if value is None else voice.tick(value, decimals) + unit:>{size}}")
        say(" ".join(cells))
    say()
    _print_peaks(walked, record, voice)
    say(voice.say(strength_words(walked)))
    weak = sum(value is None for value in table["joint_force_BW"])
    if weak:
        say(voice.say(message("walk.weak", count=weak, frames=count)))
    _print_beside(record, voice)
    say(voice.say(message("walk.done_head")))
    for line in record["done_to_the_motion"]:
        say(f"  - {line}")
    for head, lines in (("assumed", record["assumed"]), ("leaves_out", record["leaves_out"])):
        say(voice.say(message(f"table.{head}")))
        for line in lines:
            say(f"  - {line}")


def _print_peaks(walked: Walked, record: dict[str, Any], voice: Voice) -> None:
    from viz3d.words.message import force, fraction, message

    weight, peaks = float(walked.body.weight[0]), record["peaks"]
    shown = {n: force((peaks[f"{n}_BW"] or float("nan")) * weight, weight) for n in ("first", "second")}
    times = {
        "early": fraction((peaks["first_percent"] or float("nan")) / 100.0),
        "late": fraction((peaks["second_percent"] or float("nan")) / 100.0),
    }
    left = f"{record['residual_N']:.0e} N, {record['residual_Nm']:.0e} N m, {record['residual_W']:.0e} W"
    say(voice.say(message("walk.peaks", **shown, **times, residual=left)))


def _print_beside(record: dict[str, Any], voice: Voice) -> None:
    from viz3d.solution.walk_beside import decimals
    from viz3d.words.message import message

    say(voice.say(message("walk.beside_head" if record["balance"] is None else "walk.beside_changed")))
    wide = max(42, *(len(one["what"]) for one in record["beside"]))
    for one in record["beside"]:
        few = decimals(one["unit"], one["ours"] or float("nan"), one["low"], one["high"])
        numbers = [("–" if one[n] is None else voice.tick(one[n], few)) for n in ("ours", "low", "high")]
        between = voice.say(message("spread.between", low=numbers[1], high=numbers[2]))
        band = numbers[1] if numbers[1] == numbers[2] else between
        unit = _SIGNS.get(one["unit"], one["unit"])
        place = "–" if one["inside"] is None else voice.say(message(f"walk.{'inside' if one['inside'] else 'outside'}"))
        memory = f", {voice.say(message('walk.memory'))}" if one["status"] == "from-memory" else ""
        say(f"  {one['what']:{wide}} {numbers[0]:>7}  {band:>16} {unit:7} {place:8} {one['source']}{memory}")
