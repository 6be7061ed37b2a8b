"""Solved situations as plain records: what JSON, CSV and the printed table share.

Question answered: which fields does an answer have, in which units, and why is a value missing?

Every field carries its unit in its name. A value that does not exist is null, and ``reasons`` says why;
there is never a NaN. BW is mass x 9.80665 without carried loads. Angles in degrees.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from viz3d.body.segment_tables import SEGMENTS
from viz3d.kinematics.posture import Posture
from viz3d.scene.rows import rows
from viz3d.scene.schema import FORMAT, Scene
from viz3d.solution.muscle_records import muscle_record, plain, vector
from viz3d.solution.notes import notes
from viz3d.solution.script import Shot
from viz3d.solution.solved import HELD, WOULD_FALL, Solved
from viz3d.statics.equivalent import ABDUCTOR, ADDUCTOR
from viz3d.statics.hip import NO_MUSCLE, HipLoad, effort
from viz3d.words.cautions import full_caution, moving
from viz3d.words.message import Message, message
from viz3d.words.voice import USUAL, Voice


def muscle_name(solved: Solved, i: int) -> str:
    """Which equivalent muscle holds: "abductor", "adductor" or "none"."""
    if not abs(float(solved.load.muscle_force[i])) >= 1e-9 * float(solved.body.weight.flat[0]):
        return NO_MUSCLE
    return ABDUCTOR if bool(solved.load.abducts[i]) else ADDUCTOR


def situation(solved: Solved, i: int, name: str = "", voice: Voice = USUAL) -> dict[str, Any]:
    """One situation as a record with units in its keys; ``voice`` says its few sentences."""
    load, stance, cane, p = solved.load, solved.stance, solved.cane, solved.posture
    has_cane = bool(p.has_cane[i].any())
    side = solved.side(i)
    other = "left" if side == "right" else "right"
    weight = float(np.broadcast_to(solved.body.weight, solved.times.shape)[i])
    joint = float(load.joint_magnitude[i])
    muscle = muscle_name(solved, i)
    replaced = bool(np.broadcast_to(solved.hip.replaced, solved.times.shape)[i])
    record: dict[str, Any] = {
        "step": name,
        "time_s": float(solved.times[i]),
        "stance_side": "both" if p.share[i] < 1.0 else side,
        "hip": side,
        "status": str(solved.status[i]),
        "shortfall": _shortfall(solved, i),
        **_moment_of_cycle(solved, i),
        "model": model_words(solved),
        "assumed": list(solved.assumed),
        **_posed(p, i),
        "stance_share": float(p.share[i]),
        "leg_inclination_deg": math.degrees(stance.inclination[i]),
        "cane_side": (side if cane.hand[i] == 0 else other) if has_cane else None,
        "cane_force_N": cane.force[i],
        "cane_line_distance_m": cane.distance[i],
        "free_body_weight_N": float(load.weight[i]),
        "own_weight_N": float(solved.own_weight[i]),
        "own_weight_lever_m": float(solved.own_moment_arm[i]),
        "centre_of_pressure_m": float(stance.pressure_shift[i]),
        "external_moment_Nm": float(load.external_moment[i]),
        "passive_moment_Nm": float(load.passive[i]),
        "antagonist_moment_Nm": float(load.against[i]),
        "active_moment_Nm": float(load.active_moment[i]),
        "effort": float(effort(solved.hip, load)[i]),
        "weight_lever_m": float(load.weight_moment_arm[i]),
        "muscle": muscle,
        "muscle_force_N": _muscle_force(solved, i, muscle),
        "muscle_lever_m": abs(float(load.muscle.moment_arm[i])),
        "joint_force_N": joint,
        "joint_force_bw": joint / weight,
        "joint_angle_deg": math.degrees(load.joint_angle[i]),
        "joint_on_socket_N": _force(load, i, 1.0),
        "joint_on_head_N": _force(load, i, -1.0),
        "hip_centre_m": vector(solved.hip_centre[i]),
        "loads": _loads(solved, i),
        "pressure_surface": "lune" if solved.socket is None else "horseshoe",
        "peak_pressure_MPa": float(solved.peak_pressure[i]) * 1e-6,
        "horseshoe": None if replaced else _horseshoe(solved, i),
        "residual_N": float(solved.residual_force[i]),
        "residual_Nm": float(solved.residual_moment[i]),
        **_relief(solved, i),
        **muscle_record(solved, i),
    }
    given = bool(np.isfinite(p.inclination[i]))
    record["reasons"] = _reasons(record, has_cane, given, _cannot_share(solved, i), replaced)
    return {key: _said(value, voice) for key, value in record.items()}


def _cannot_share(solved: Solved, i: int) -> bool:
    """True where a muscle set cannot make the moment, whatever else is wrong."""
    set_ = solved.load.muscles
    return set_ is not None and not bool(set_.shared.feasible[i]) and bool(np.isfinite(set_.demand[i]).all())


def model_words(solved: Solved) -> Message:
    """What stands for the muscles."""
    return message(f"model.{solved.model.kind.replace(' ', '_')}")


def _said(value: Any, voice: Voice) -> Any:
    """A field with its messages said, and null where there is no number."""
    if isinstance(value, dict):
        return {key: _said(one, voice) for key, one in value.items()}
    if isinstance(value, list):
        return [_said(one, voice) for one in value]
    return voice.say(value) if isinstance(value, Message) else plain(value)


def _muscle_force(solved: Solved, i: int, muscle: str) -> float:
    force = float(solved.load.muscle_force[i])
    return force if muscle != NO_MUSCLE or math.isnan(force) else 0.0


def _force(load: HipLoad, i: int, sign: float) -> dict[str, float | None]:
    forward, up, lateral = (sign * float(v) + 0.0 for v in load.joint_force[i])
    return {"lateral": plain(lateral), "up": plain(up), "forward": plain(forward)}


def _on(above: bool) -> Message:
    """The free body a force acts on."""
    return message("free_body.above" if above else "free_body.below")


def _loads(solved: Solved, i: int) -> list[dict[str, Any]]:
    """Every force on the two free bodies, so that anyone can close their equilibrium: outside, muscle, joint."""
    out = [
        {
            "force": x.key, "on": _on(x.above),
            "side": None if x.right is None else ("right" if x.right[i] else "left"),
            "point_m": vector(x.point[i]), "force_N": vector(x.force[i]),
        }
        for x in solved.loads
    ]  # fmt: skip
    line, hip = solved.load.muscle, solved.hip_centre[i]
    pull, joint = solved.turned(solved.load.muscle_pull)[i], solved.turned(solved.load.joint_force)[i]
    origin, insertion = (solved.in_world(p)[i] for p in (line.origin, line.insertion))
    inner = (("muscle", origin, pull, insertion), ("joint", hip, joint, hip))
    for name, above, force, below in inner:
        for on, at, sign in ((_on(True), above, 1.0), (_on(False), below, -1.0)):
            out.append({"force": name, "on": on, "side": solved.side(i),
                        "point_m": vector(at), "force_N": vector(sign * force)})  # fmt: skip
    return out


def _horseshoe(solved: Solved, i: int) -> dict[str, Any] | None:
    found = solved.socket
    if found is None:
        return None
    centre = [plain(float(v)) for v in found.centre[i]]
    return {
        "peak_MPa": plain(float(found.peak[i]) * 1e-6),
        "mean_MPa": plain(float(found.mean[i]) * 1e-6),
        "area_mm2": plain(float(found.area[i]) * 1e6),
        "centre_m": dict(zip(("forward", "up", "lateral"), centre, strict=True)),
    }


def _relief(solved: Solved, i: int) -> dict[str, Any]:
    """What the cane relieves: slope with its split, re-balanced slope, chord; NaN where there is none."""
    cane = solved.cane
    return {
        "relief": cane.held.total[i],
        "relief_unweighting": cane.held.unweighting[i],
        "relief_leverage": cane.held.leverage[i],
        "relief_rebalanced": cane.rebalanced[i],
        "relief_chord": cane.chord[i],
    }


def _posed(posture: Posture, i: int) -> dict[str, float | None]:
    """The angles, lengths and masses of the posture's inputs, units in their keys; null where balance finds them."""
    signs = {"angle": ("deg", math.degrees(1.0)), "length": ("m", 1.0), "mass": ("kg", 1.0)}
    found: dict[str, float | None] = {}
    for row in rows().values():
        column, dimension = row.of.column, row.of.dimension
        if column and dimension in signs and (values := getattr(posture, column)).ndim == 1:
            unit, size = signs[dimension]
            found[f"{column}_{unit}"] = float(values[i] * size) if math.isfinite(values[i]) else None
    return found


def _moment_of_cycle(solved: Solved, i: int) -> dict[str, float]:
    """Which moment of a walk this is, and which is hardest for the muscles; NaN for a body that stands."""
    none = float("nan")
    if solved.gait is None:
        return {"cycle_percent": none, "hardest_percent": none, "hardest_effort": none}
    most = solved.gait.hardest
    return {
        "cycle_percent": round(100.0 * float(solved.gait.phase[i]), 6),
        "hardest_percent": round(100.0 * most.phase, 6),
        "hardest_effort": most.effort,
    }


def _shortfall(solved: Solved, i: int) -> dict[str, Any] | None:
    if solved.status[i] == HELD:
        return None
    value = float(solved.shortfall[i])
    at = {} if solved.gait is None else {"cycle_percent": round(100.0 * solved.gait.hardest.phase, 6)}
    if solved.status[i] == WOULD_FALL:
        if solved.load.joint_force[i, 1] <= 0.0:
            return {"value": float(-solved.load.joint_force[i, 1]), "unit": "N", "meaning": message("reason.pulled")}
        return {"value": value * 100, "unit": "cm", "meaning": message("missing.outside")}
    spatial = solved.load.muscles is not None and solved.load.muscles.demand.shape[1] > 1
    return {
        "value": value,
        "unit": "N m",
        "meaning": message("missing.muscles" if spatial else "missing.abductors"),
        **at,
    }


_WHATEVER = {
    "shortfall": "held", "muscles": "one", "specific_tension_N_cm2": "one", "passive_tissue": "one",
    "moments_left_Nm": "one", "sagittal": "not_spatial",
}  # fmt: skip
"""Field -> why it is missing, whatever else is."""
_OF_STRENGTH = ("effort", "cycle_percent", "hardest_percent", "hardest_effort")


def _reasons(record: dict[str, Any], has_cane: bool, given: bool, weak: bool, replaced: bool) -> dict[str, Message]:
    why: dict[str, str] = {}
    stands = not math.isfinite(record["hardest_percent"])
    for key, value in record.items():
        if value is not None and not (isinstance(value, float) and not math.isfinite(value)):
            continue
        if key in _OF_STRENGTH:
            why[key] = "stands" if stands and key != "effort" else "no_strength"
        elif key in _WHATEVER:
            why[key] = _WHATEVER[key]
        elif replaced and key in ("horseshoe", "peak_pressure_MPa"):
            why[key] = "replaced"
        elif key == "horseshoe":
            why[key] = "not_facets"
        elif key.startswith("cane_") or (key.startswith("relief") and not has_cane):
            why[key] = "no_cane"
        elif weak:
            why[key] = "too_weak_set"
        elif key == "peak_pressure_MPa":
            why[key] = "pulled" if record["joint_on_socket_N"]["up"] <= 0 else "no_edge"
        elif key.startswith("relief"):
            why[key] = "no_change" if given else "no_force"
        else:
            why[key] = "no_balance"
    return {key: message(f"reason.{name}") for key, name in why.items()}


def person_record(scene: Scene, solved: Solved) -> dict[str, Any]:
    """The person as used, with every default filled in."""
    body = solved.body
    record: dict[str, Any] = {
        "sex": scene.person.sex,
        "mass_kg": float(body.mass[0]),
        "stature_m": float(body.stature[0]),
        "body_weight_N": float(body.weight[0]),
        "painful_hip": scene.person.painful_hip,
        "segments": body.segment_table,
        "hip_spacing_m": float(body.hip_spacing[0]),
    }
    for side in ("left", "right"):
        hip = body.hip(side)
        lever = float(hip.abductor_lever[0])
        record[f"{side}_hip"] = {
            "head_radius_m": float(hip.head_radius[0]),
            "neck_shaft_angle_deg": math.degrees(hip.neck_shaft_angle[0]),
            "version_deg": math.degrees(hip.version[0]),
            "offset_m": float(hip.offset[0]),
            "trochanter_height_m": float(hip.trochanter_height[0]),
            "centre_edge_angle_deg": math.degrees(hip.centre_edge_angle[0]),
            "abductor_lever_measured_m": None if math.isnan(lever) else lever,
            "abductor_torque_Nm": float(hip.abductor_torque[0]),
            "socket_out_m": float(hip.socket_out[0]),
            "socket_up_m": float(hip.socket_up[0]),
            "leg_shorter_m": float(hip.shortening[0]),
        }
    changed = {name: float(kg) for name, kg in zip(SEGMENTS, body.added[0], strict=True) if kg}
    record["mass_changes_kg"] = changed
    return record


def scene_record(name: str, scene: Scene, shots: list[Shot]) -> dict[str, Any]:
    """One scene's whole answer, as ``viz3d solve --json`` prints it; ``shots`` hold its steps.

    A situation's ``person`` is null where the first step's stands there.
    """
    situations, voice = [], scene.picture.voice
    for k, step in enumerate(scene.steps):
        shot = next(x for x in shots if k in x.rows)
        other = shot.scene.person != shots[0].scene.person
        one = situation(shot.solved, shot.row(k), step.name, voice)
        one["notes"] = [voice.say(told) for told in notes(shot.scene, shot.solved, shot.row(k))]
        one["person"] = person_record(shot.scene, shot.solved) if other else None
        if not other:
            one["reasons"]["person"] = voice.say(message("reason.first_step"))
        situations.append(one)
    return {
        "scene": name,
        "format": FORMAT,
        "person": person_record(shots[0].scene, shots[0].solved),
        "situations": situations,
        "language": voice.language,
        "leaves_out": leaves_out(scene),
    }


def leaves_out(scene: Scene) -> list[str]:
    """What the model leaves out, in a scene's own words: said wherever numbers go out."""
    return [
        scene.picture.voice.say(one) for one in full_caution(scene.model.counts_more, moving([scene.walk is not None]))
    ]
