"""A solved walk as plain records: what JSON, CSV and the printed table share.

Every field carries its unit in its name; a value that does not exist is null. BW is mass x 9.80665. Moments are those
that the body's own tissue makes.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from viz3d.arrays import Array
from viz3d.body.muscles import muscle_lines
from viz3d.body.names import RIGHT, SIDES
from viz3d.body.segments import lengths
from viz3d.motion.change import CHANGES, ONCE, change_rows
from viz3d.solution.changed import AskedWalk, ChangedWalk
from viz3d.solution.gait import SOLE
from viz3d.solution.solved import HELD, TOO_WEAK
from viz3d.solution.strain import hardest
from viz3d.solution.walk import Walked
from viz3d.solution.walk_beside import FIRST, SECOND, activation, compared, extreme, phase
from viz3d.statics.ground import centre_of_mass
from viz3d.tables import UNSURE, Row, load_rows
from viz3d.words.cautions import full_caution
from viz3d.words.message import (
    Message,
    angle,
    fraction,
    length,
    message,
    moment,
    newtons,
    number,
    seconds,
    small_length,
)  # fmt: skip
from viz3d.words.voice import USUAL, Voice

PLACED = 0.05
"""Ground force on a foot, body weights, under which it is too small to say where it acts. Just after heel strike the
assumed sharing of two feet puts it beyond the sole even then: that is no place, either."""


def columns(walked: Walked) -> dict[str, Array]:
    """Every column of a walk's table, (F,) each, frames from the studied side's heel strike on."""
    frames, k = walked.cycle.frames, SIDES.index(walked.side)
    order = np.argsort(phase(walked), kind="stable")
    weight, kg = float(walked.body.weight[0]), float(walked.body.mass[0])
    foot = walked.floor.force[:frames, k] / weight
    outward = 1.0 if walked.side == RIGHT else -1.0
    moment, above = walked.moment_below[:frames] / kg, walked.moment_above[:frames] / kg
    load, centre = walked.load, centre_of_mass(walked.moving)[:frames]
    hips = np.degrees(walked.cycle.angles.hips[:frames, k])
    place = walked.floor.place[:frames, k] - walked.posed.joints[f"{walked.side}_ankle"][:frames]
    heel, toe = np.array([SOLE[:, 0].min(), SOLE[:, 0].max()]) * float(lengths(walked.body).foot[0])
    under = (place[:, 0] >= heel) & (place[:, 0] <= toe)
    down = walked.cycle.stands[:frames, k] & (foot[:, 1] >= PLACED) & under
    found = {
        "cycle_percent": 100.0 * phase(walked),
        "time_s": phase(walked) * float(walked.cycle.period[0]),
        "hip_flexion_deg": hips[:, 0], "hip_adduction_deg": hips[:, 1], "hip_rotation_deg": hips[:, 2],
        "ground_forward_BW": foot[:, 0], "ground_up_BW": foot[:, 1], "ground_outward_BW": outward * foot[:, 2],
        "pressure_under_sole_ahead_of_ankle_from_5_percent_BW_m": np.where(down, place[:, 0], np.nan),
        "flexion_moment_Nm_per_kg": moment[:, 0], "abduction_moment_Nm_per_kg": moment[:, 1],
        "rotation_moment_Nm_per_kg": moment[:, 2],
        "flexion_moment_from_above_Nm_per_kg": above[:, 0], "abduction_moment_from_above_Nm_per_kg": above[:, 1],
        "rotation_moment_from_above_Nm_per_kg": above[:, 2],
        "inertia_forward_BW": _inertia(walked)[:frames, 0] / weight,
        "inertia_up_BW": _inertia(walked)[:frames, 1] / weight,
        "muscle_force_BW": load.muscle_force[:frames] / weight,
        **_strength(walked),
        "joint_force_BW": walked.joint_bw[:frames],
        "joint_forward_BW": load.joint_force[:frames, 0] / weight, "joint_up_BW": load.joint_force[:frames, 1] / weight,
        "joint_inward_BW": -load.joint_force[:frames, 2] / weight,
        "joint_angle_deg": np.degrees(load.joint_angle[:frames]),
        "peak_pressure_MPa": walked.pressure.peak[:frames] * 1e-6,
        "centre_up_m": centre[:, 1], "centre_right_m": centre[:, 2],
    }  # fmt: skip
    if load.muscles is not None:
        for name in dict.fromkeys(line.of for line in muscle_lines()):
            found[f"active_{name}"] = activation(walked, name)[:frames]
    return {name: values[order] for name, values in found.items()}


def _strength(walked: Walked) -> dict[str, Array]:
    """What the muscles need of their strength, what they lack and, of one abductor, what it needs and can make."""
    frames, kg, load = walked.cycle.frames, float(walked.body.mass[0]), walked.load
    found = {"effort": walked.strain.effort[:frames], "missing_Nm_per_kg": walked.strain.missing[:frames] / kg}
    if load.muscles is not None:
        return found
    needed = np.where(load.abducts, load.active_moment, 0.0)[:frames] / kg
    has = np.broadcast_to(walked.hip.abductor_torque / kg, needed.shape)
    return {"abductors_need_Nm_per_kg": needed, "abductors_have_Nm_per_kg": has, **found}


def _inertia(walked: Walked) -> Array:
    return next(load.force for load in walked.load.loads if load.key == "inertia")


def walk_record(walked: Walked, name: str, voice: Voice = USUAL) -> dict[str, Any]:
    """A whole answer: who, which motion, the frames, the peaks, the comparisons, what was done to the motion."""
    cycle, table = walked.cycle, columns(walked)
    motion = cycle.motion
    at = table["cycle_percent"] / 100.0
    (first, early), (second, late) = (extreme(table["joint_force_BW"], at, w, 1.0) for w in (FIRST, SECOND))
    return {
        "scene": name,
        "hip": walked.side,
        "model": walked.model.kind,
        "motion": {"title": motion.title, "source": motion.source, "licence": motion.licence,
                   "notes": list(motion.notes)},
        "speed_m_per_s": cycle.speed,
        "stride_m": cycle.speed * float(cycle.period[0]),
        "cycle_s": float(cycle.period[0]),
        "peaks": {"first_BW": _plain(first), "first_percent": _plain(100.0 * early), "second_BW": _plain(second),
                  "second_percent": _plain(100.0 * late)},
        "status": HELD if walked.strain.held else TOO_WEAK,
        "hardest": _hardest(walked),
        "balance": _balance(walked),
        "residual_Nm": float(walked.residual_moment.max()),
        "residual_N": float(walked.residual_force.max()),
        "residual_W": float(walked.energy_gap.max()),
        "frames": {name: [_plain(v) for v in values] for name, values in table.items()},
        "beside": [
            {"what": voice.say(message(f"walk.beside.{c.key}")), "unit": c.unit, "ours": _plain(c.ours), "low": c.low,
             "high": c.high, "inside": c.inside, "source": c.source, "status": c.status}
            for c in compared(walked)
        ],
        "done_to_the_motion": [voice.say(line) for line in done(walked)],
        "assumed": assumed(walked),
        "leaves_out": [voice.say(line) for line in leaves_out()],
    }  # fmt: skip


def _hardest(walked: Walked) -> dict[str, float | None]:
    """The moment of the cycle at which the muscles have most to do; no share where they cannot make it."""
    most = hardest(walked.strain, phase(walked))
    return {"cycle_percent": 100.0 * most.phase, "effort": _plain(most.effort), "missing_Nm": most.missing}


def strength_words(walked: Walked) -> Message:
    """Whether the muscles can make every moment of the cycle."""
    most, frames = hardest(walked.strain, phase(walked)), walked.cycle.frames
    when = fraction(most.phase)
    if most.held:
        return message("walk.strength_held", share=fraction(most.effort), phase=when)
    count = int(walked.strain.weak[:frames].sum())
    return message("walk.strength_weak", count=count, frames=frames, phase=when, moment=moment(most.missing))


def _balance(walked: Walked) -> dict[str, float] | None:
    """How a changed walk keeps its balance; None for the measured one."""
    if walked.changed is None or walked.changed.asked.nothing:
        return None
    found = walked.changed.balance
    return {"sway_m": found.sway, "trunk_leans_forward_deg": math.degrees(-found.lean),
            "pressure_left_aside_m": found.aside, "pressure_left_ahead_m": found.ahead}  # fmt: skip


def _plain(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def done(walked: Walked) -> list[Message]:
    """What was done to the measured motion before it was this body's walk."""
    cycle = walked.cycle
    planted, motion = cycle.planted, cycle.motion
    changed = max(float(v[:4].max()) for v in planted.changed.values())
    lines = [
        message("walk.done.person"),
        message("walk.done.borrowed"),
        message("walk.done.scaled", leg=length(motion.leg), speed=number(motion.speed)),
        message("walk.done.smoothed", cutoff=number(cycle.cutoff, 1)),
        message("walk.done.planted", angle=angle(changed), slid=small_length(max(planted.slid.values())),
                sunk=small_length(max(planted.sunk.values()))),
        message("walk.done.shared"),
        message("walk.done.placed", least=fraction(PLACED)),
        message("walk.done.muscles"),
    ]  # fmt: skip
    if motion.one_sided:
        lines.insert(2, message("walk.done.one_sided"))
    if walked.changed is not None:
        lines += _changed(walked.changed)
    if cycle.swing is not None:
        lines.insert(5, message("walk.done.swing", moved=small_length(cycle.swing)))
    return lines


def _changed(found: ChangedWalk) -> list[Message]:
    """What was changed about the measured walk, and how the body keeps its balance."""
    asked, balance, rows = found.asked, found.balance, change_rows()
    out = []
    if asked.change:
        told: dict[str, Any] = {c.part: angle(c.size) for c in CHANGES[asked.change]}
        if source := rows[CHANGES[asked.change][0].row].source:
            told["source"] = source
        key = f"walk.done.change_{asked.change.replace(' ', '_')}"
        out.append(message(key, side=message(f"walk.{asked.side}"), **told))
    if asked.faster != 1.0:
        out.append(message("walk.done.speed", share=fraction(asked.faster), source=rows["walk_ratio"].source))
    for side, push in asked.held.push.items():
        hand, leg = message(f"walk.{side}"), message(f"walk.{asked.side}")
        out.append(message("walk.done.cane", hand=hand, leg=leg, push=newtons(push)))
    if asked.held.bags or asked.held.backpack:
        out.append(message("walk.done.carried"))
    if not asked.nothing:
        sway, aside = small_length(balance.sway), small_length(balance.aside)
        out.append(message("walk.done.balance", sway=sway, aside=aside))
    if not asked.held.nothing:
        ahead = small_length(abs(balance.ahead))
        out.append(message("walk.done.lean", lean=angle(-balance.lean), ahead=ahead))
    return out


def assumed(walked: Walked) -> list[str]:
    """Constants in use that nobody measured, one line each."""
    rows = load_rows("viz3d.motion", "motion.toml")
    used = {} if walked.changed is None else _used(walked.changed.asked)
    return [*(row.line() for row in (rows | used).values() if row.status in UNSURE), *walked.body.assumed]


def _used(asked: AskedWalk) -> dict[str, Row]:
    """The rows of changes that a changed walk used."""
    held = asked.held
    name = asked.change.replace(" ", "_")
    once = any(course.shape == ONCE for course in CHANGES.get(asked.change, ()))
    kinds = {
        name: bool(name), "most_at": once, "walk_ratio": asked.faster != 1.0, "cane": bool(held.push),
        "bag": bool(held.bags),
    }  # fmt: skip
    return {key: row for key, row in change_rows().items() if kinds.get(key.split(".")[0], False)}


def leaves_out() -> list[Message]:
    """What the model leaves out."""
    return full_caution(what="walks")


def gait(walked: Walked) -> Message:
    """Speed, stride and time of a cycle."""
    cycle = walked.cycle
    stride = cycle.speed * float(cycle.period[0])
    return message("walk.gait", speed=number(cycle.speed), stride=number(stride), time=seconds(float(cycle.period[0])))
