"""The table that ``viz3d solve`` prints: one row a situation, then relief, muscles, assumptions, cautions."""

from __future__ import annotations

import math
from typing import Any

from viz3d.cli.say import say
from viz3d.words import cautions
from viz3d.words.message import (
    Amount,
    Message,
    Said,
    angle,
    force,
    fraction,
    length,
    mass,
    message,
    moment,
    newtons,
    number,
    pressure,
    relief,
    small_length,
    stature,
)
from viz3d.words.voice import Voice

_HEADS = (("joint", 8), ("angle", 6), ("muscle", 8), ("moment", 9), ("cane", 7), ("relief", 9), ("peak", 9))
_MUSCLE_HEADS = (("force", 8), ("stress", 11), ("active", 7), ("share", 6))
_BESIDES = (("passive", "passive"), ("against", "antagonist"), ("active", "active"))
_NONE = "-"


def print_table(title: str, record: dict[str, Any], voice: Voice, brief: bool = False) -> None:
    """Print one scene's record; ``brief``: its rows and the caution in one line, nothing else."""
    situations = record["situations"]
    say(title)
    say(voice.say(_person(record["person"])))
    say()
    width = max(24, *(len(s["step"]) for s in situations))
    heads = [(voice.say(message(f"table.{name}")), size) for name, size in _HEADS]
    sizes = [max(size, len(head)) for head, size in heads]
    told = " ".join(f"{head:>{size}}" for (head, _), size in zip(heads, sizes, strict=True))
    say(f"{voice.say(message('table.step')):{width}}  {told}  {voice.say(message('table.status'))}")
    for s in situations:
        cells = [voice.say(v) for v in _cells(s, _weight(s, record))]
        row = " ".join(f"{cell:>{size}}" for cell, size in zip(cells, sizes, strict=True))
        say(f"{s['step']:{width}}  {row}  {voice.say(_status(s))}")
    if brief:
        say(voice.say(cautions.short(cautions.moving(s["cycle_percent"] is not None for s in situations))))
    else:
        _print_more(record, voice)


def _print_more(record: dict[str, Any], voice: Voice) -> None:
    """What stands below the rows: other bodies, notes, relief, muscles, assumptions, cautions."""
    situations = record["situations"]
    say()
    for s in (s for s in situations if s["person"] is not None):
        say(voice.say(message("table.other_body", step=s["step"], person=_person(s["person"]))))
    for s in situations:
        for line in s["notes"]:
            say(f"{s['step']}: {line}")
    for s in (s for s in situations if s["passive_moment_Nm"] or s["antagonist_moment_Nm"]):
        parts = {n: moment(s[f"{k}_moment_Nm"]) for n, k in _BESIDES}
        say(voice.say(message("table.besides", step=s["step"], **parts)))
    for s in (s for s in situations if s["relief"] is not None):
        _print_relief(s, voice)
    for s in (s for s in situations if s["muscles"] and s["joint_force_N"] is not None):
        _print_muscles(s, _weight(s, record), voice)
    _print_notes(record, voice)


def _print_notes(record: dict[str, Any], voice: Voice) -> None:
    """What was assumed, and what the model leaves out."""
    assumed = record["situations"][0]["assumed"]
    for head, lines in (("assumed", assumed), ("leaves_out", record["leaves_out"])):
        if lines:
            say(voice.say(message(f"table.{head}")))
        for line in lines:
            say(f"  - {line}")


def _person(person: dict[str, Any]) -> Message:
    size = {"mass": mass(person["mass_kg"]), "stature": stature(person["stature_m"])}
    return message(f"table.{person['sex']}", weight=newtons(person["body_weight_N"]), **size)


def _weight(s: dict[str, Any], record: dict[str, Any]) -> float:
    """Body weight of whoever stands there, N."""
    return float((s["person"] or record["person"])["body_weight_N"])


def _cells(s: dict[str, Any], weight: float) -> list[Said]:
    """The numbers of one row, under ``_HEADS``."""
    known = s["joint_force_bw"] is not None
    return [
        force(s["joint_force_bw"] * weight, weight) if known else _NONE,
        angle(math.radians(s["joint_angle_deg"])) if known else _NONE,
        force(s["muscle_force_N"], weight) if known else _NONE,
        moment(s["external_moment_Nm"]),
        fraction(s["cane_force_N"] / weight) if s["cane_force_N"] is not None else _NONE,
        relief(s["relief"]) if s["relief"] is not None else _NONE,
        pressure(s["peak_pressure_MPa"] * 1e6) if s["peak_pressure_MPa"] is not None else _NONE,
    ]


def _status(s: dict[str, Any]) -> Message:
    told, short = message(f"status.{s['status']}"), s["shortfall"]
    if s["cycle_percent"] is not None:
        return _walking_status(s, told)
    if not short:
        return told
    missing = {"value": number(short["value"], 1), "unit": short["unit"], "meaning": short["meaning"]}
    return message("status.short", status=told, **missing)


def _walking_status(s: dict[str, Any], told: Message) -> Message:
    """Which moment of the cycle a row is, whether the whole cycle is held, and its hardest moment."""
    short = s["shortfall"]
    values: dict[str, Said] = {
        "status": told, "at": fraction(s["cycle_percent"] / 100.0), "phase": fraction(s["hardest_percent"] / 100.0),
    }  # fmt: skip
    if not short:
        return message("status.walk_held", share=fraction(s["hardest_effort"]), **values)
    missing = {"value": number(short["value"], 1), "unit": short["unit"], "meaning": short["meaning"]}
    return message("status.walk_short", **values, **missing)


def _print_relief(s: dict[str, Any], voice: Voice) -> None:
    distance = s["cane_line_distance_m"]
    parts = {n: relief(s[f"relief_{n}"]) for n in ("unweighting", "leverage", "rebalanced")}
    side = "opposite" if distance > 0 else "same"
    say(voice.say(message("table.relief_at", step=s["step"], relief=relief(s["relief"]))))
    say(f"  {voice.say(message(f'table.split_{side}', distance=length(abs(distance)), **parts))}")


def _print_muscles(s: dict[str, Any], weight: float, voice: Voice) -> None:
    """The muscles that pull, strongest first, and what the sagittal place is worth."""
    tension = Amount(s["specific_tension_N_cm2"] * 1e4, "whole_stress")
    say(voice.say(message("table.muscles", step=s["step"], model=s["model"], tension=tension)))
    heads = [(voice.say(message(f"table.{name}")), size) for name, size in _MUSCLE_HEADS]
    sizes = [max(size, len(head)) for head, size in heads]
    first = voice.say(message("table.muscle"))
    say(f"  {first:30} " + " ".join(f"{head:>{size}}" for (head, _), size in zip(heads, sizes, strict=True)))
    for m in sorted(s["muscles"], key=lambda m: -m["force_N"]):
        if m["force_N"] < 0.005 * weight:
            continue
        shown = (newtons(m["force_N"]), Amount(m["stress_N_cm2"] * 1e4, "stress"), fraction(m["activation"]),
                 fraction(m["share"]))  # fmt: skip
        row = " ".join(f"{voice.say(v):>{size}}" for v, size in zip(shown, sizes, strict=True))
        name = voice.say(message(f"muscle.{m['name']}"))
        say(f"  {name:30} {row}")
    over = s["moments_left_Nm"]
    if max(abs(v or 0.0) for v in over.values()) > 0.05:
        left = {"flexion": moment(over["flexion"]), "rotation": moment(over["internal_rotation"])}
        say(f"  {voice.say(message('table.left_over', **left))}")
    if s["sagittal"]:
        say(f"  {voice.say(_sagittal(s['sagittal'], weight))}")
    say()


def _sagittal(found: dict[str, Any], weight: float) -> Message:
    """What it is worth where the line of gravity passes."""
    place = "behind" if found["gravity_line_m"] < 0 else "ahead"
    ends = [found["joint_force_bw_line_behind"], found["joint_force_bw_line_ahead"]]
    back, forward = (message("status.too_weak") if e is None else force(e * weight, weight) for e in ends)
    return message(
        f"table.{place}", distance=small_length(abs(found["gravity_line_m"])), back=back, forward=forward,
        moment=moment(found["flexion_moment_Nm"]), moved=small_length(found["line_moved_m"]),
    )  # fmt: skip
