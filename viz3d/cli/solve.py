"""``viz3d solve``: the numbers of one or several scenes."""

from __future__ import annotations

import csv
import io
import json
from typing import Annotated, Any

import typer

from viz3d.cli.options import Changes, SceneNames
from viz3d.cli.say import say


def solve(
    scene: SceneNames,
    changes: Changes = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print JSON: one object, or an array for several scenes.")
    ] = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print CSV, one row per situation.")] = False,
) -> None:
    """Solve scenes and print what the hip carries at each step."""
    from pathlib import Path

    from viz3d.errors import InputError
    from viz3d.scene.reader import find_scene, load_scene
    from viz3d.solution.records import scene_record
    from viz3d.solution.script import Script
    from viz3d.stage.compose import compose

    if as_json and as_csv:
        raise InputError("choose one of --json and --csv")
    records = []
    for name in scene:
        loaded = load_scene(name, changes or ())
        shots = Script(loaded, str(find_scene(name))).shots()
        record = scene_record(Path(name).stem, loaded, shots)
        plans = [compose(shot.scene, shot.solved) for shot in shots]
        for k, situation in enumerate(record["situations"]):
            situation["shown"] = next(p.shown(x.row(k)) for p, x in zip(plans, shots, strict=True) if k in x.rows)
        records.append((loaded.title, record))
    if as_json:
        answers = [r for _, r in records]
        print(json.dumps(answers[0] if len(answers) == 1 else answers, indent=2, allow_nan=False))
    elif as_csv:
        say(_csv([r for _, r in records]).rstrip("\n"))
    else:
        for title, record in records:
            _print_table(title, record)


def _csv(records: list[dict[str, Any]]) -> str:
    rows = [{"scene": r["scene"], **_flat(s)} for r in records for s in r["situations"]]
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def _flat(situation: dict[str, Any]) -> dict[str, Any]:
    """A situation with one value per field; missing values are empty."""
    left_out = (
        "reasons",
        "joint_on_socket_N",
        "joint_on_head_N",
        "assumed",
        "muscles",
        "sagittal",
        "horseshoe",
        "shown",
        "person",
    )
    row = {k: "" if v is None else v for k, v in situation.items() if k not in left_out}
    if situation["shortfall"]:
        row["shortfall"] = f"{situation['shortfall']['value']:.6g} {situation['shortfall']['unit']}"
    return row


def _print_table(title: str, record: dict[str, Any]) -> None:
    person = record["person"]
    say(title)
    say(
        f"{person['sex']}, {person['mass_kg']:.4g} kg, {person['stature_m']:.2f} m;"
        f" BW = {person['body_weight_N']:.0f} N"
    )
    say()
    width = max(24, *(len(s["step"]) for s in record["situations"]))
    heads = (("joint", 8), ("angle", 6), ("muscle", 8), ("moment", 9), ("cane", 7), ("relief", 7), ("peak", 9))
    say(f"{'step':{width}}  " + " ".join(f"{name:>{size}}" for name, size in heads) + "  status")
    for s in record["situations"]:
        say(f"{s['step']:{width}}  {_row(s, _weight(s, record))}")
    say()
    for s in (s for s in record["situations"] if s["person"] is not None):
        other = s["person"]
        say(
            f"'{s['step']}' has another body: {other['sex']}, {other['mass_kg']:.4g} kg, {other['stature_m']:.2f} m;"
            f" BW = {other['body_weight_N']:.0f} N"
        )
    for s in (s for s in record["situations"] if s["relief"] is not None):
        _print_relief(s)
    for s in (s for s in record["situations"] if s["muscles"]):
        _print_muscles(s, _weight(s, record))
    if record["situations"][0]["assumed"]:
        say("Assumed or from memory:")
    for line in record["situations"][0]["assumed"]:
        say(f"  - {line}")
    say("What the model leaves out:")
    for line in record["leaves_out"]:
        say(f"  - {line}")


def _weight(s: dict[str, Any], record: dict[str, Any]) -> float:
    """Body weight of whoever stands there, N."""
    return float((s["person"] or record["person"])["body_weight_N"])


def _print_muscles(s: dict[str, Any], weight: float) -> None:
    """The muscles that pull, strongest first, and what the sagittal place is worth."""
    from viz3d import units

    if s["joint_force_N"] is None:
        return
    say(f"muscles at '{s['step']}' ({s['model']}; {s['specific_tension_N_cm2']:.0f} N/cm2 when fully active)")
    say(f"  {'muscle':30} {'force':>8} {'stress':>10} {'active':>7} {'share':>6}")
    for m in sorted(s["muscles"], key=lambda m: -m["force_N"]):
        if m["force_N"] < 0.005 * weight:
            continue
        name = m["name"].replace("_", " ")
        say(
            f"  {name:30} {units.show_newtons(m['force_N']):>8} {m['stress_N_cm2']:>5.1f} N/cm2"
            f" {units.show_percent(m['activation']):>6} {units.show_percent(m['share']):>6}"
        )
    if s["sagittal"]:
        g = s["sagittal"]
        place = "behind" if g["gravity_line_m"] < 0 else "ahead of"
        ends = [g["joint_force_bw_line_behind"], g["joint_force_bw_line_ahead"]]
        shown = ["too weak" if e is None else units.show_bw(e) for e in ends]
        say(
            f"  line of gravity {abs(g['gravity_line_m']) * 1e3:.0f} mm {place} the hip, flexion moment"
            f" {units.show_moment(g['flexion_moment_Nm'])}; moved {g['line_moved_m'] * 1e3:.0f} mm back or forward the"
            f" joint force is {shown[0]} or {shown[1]}"
        )
    say()


def _print_relief(s: dict[str, Any]) -> None:
    distance = s["cane_line_distance_m"]
    side = "on the opposite side of the hip" if distance > 0 else "outside the hip on the same side"
    say(f"relief at '{s['step']}': {s['relief']:.2f} newtons of joint force per newton on the cane")
    say(
        f"  = {s['relief_unweighting']:.2f} unweighting + {s['relief_leverage']:.2f} leverage (posture held);"
        f" {s['relief_rebalanced']:.2f} with the body re-balanced; cane line {abs(distance) * 100:.1f} cm {side}"
    )


def _row(s: dict[str, Any], weight: float) -> str:
    from viz3d import units

    cane = units.show_percent(s["cane_force_N"] / weight) if s["cane_force_N"] is not None else "-"
    relief = units.rounded(s["relief"], 2) if s["relief"] is not None else "-"
    peak = units.show_megapascals(s["peak_pressure_MPa"] * 1e6) if s["peak_pressure_MPa"] is not None else "-"
    known = s["joint_force_bw"] is not None
    joint = units.show_bw(s["joint_force_bw"]) if known else "-"
    angle = f"{units.rounded(s['joint_angle_deg'], 1)}°" if known else "-"
    muscle = units.show_bw(s["muscle_force_N"] / weight) if known else "-"
    status = s["status"].replace("_", " ")
    if s["shortfall"]:
        status += f" ({s['shortfall']['value']:.1f} {s['shortfall']['unit']} {s['shortfall']['meaning']})"
    return (
        f"{joint:>8} {angle:>6} {muscle:>8} {units.show_moment(s['external_moment_Nm']):>9} "
        f"{cane:>7} {relief:>7} {peak:>9}  {status}"
    )
