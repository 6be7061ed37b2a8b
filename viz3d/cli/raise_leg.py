"""``viz3d raise``: the leg held out sideways, lying or standing."""

from __future__ import annotations

import json
import math
from typing import Annotated

import typer

from viz3d.cli.options import AsJson, Changes, Language, SceneName, lowered, spoken, typed_value
from viz3d.cli.say import say


def raise_leg(
    scene: SceneName,
    angle: Annotated[str, typer.Option("--angle", help="How far the leg is held out.")] = "20 deg",
    position: Annotated[
        str, typer.Option("--position", help="lying (on the other side) or standing.", callback=lowered)
    ] = "lying",
    weight: Annotated[str, typer.Option("--ankle-weight", help="Mass at the ankle.")] = "0 kg",
    changes: Changes = None,
    language: Language = None,
    as_json: AsJson = False,
) -> None:
    """Moment, muscle force and joint force of an abduction exercise at the scene's stance hip."""
    from viz3d.body.limits import limits
    from viz3d.errors import OutOfRange
    from viz3d.scene.reader import load_scene
    from viz3d.solution.inputs import body_of
    from viz3d.solution.records import leaves_out
    from viz3d.statics.leg_raise import leg_raise
    from viz3d.words.cautions import full_row
    from viz3d.words.message import force, joined, length, message
    from viz3d.words.message import moment as turning

    loaded = load_scene(scene, spoken(changes, language))
    body, side = body_of(loaded), loaded.posture.stance
    held, extra = typed_value("--angle", angle, "angle"), typed_value("--ankle-weight", weight, "mass")
    for option, text, value, name, unit in (
        ("--angle", angle, math.degrees(held), "raised.angle", "deg"),
        ("--ankle-weight", weight, extra, "raised.ankle_mass", "kg"),
    ):
        low, high = limits()[name]
        if not low - 1e-9 <= value <= high + 1e-9:
            raise OutOfRange(option, text, f"{low:g} {unit} to {high:g} {unit}")
    found = leg_raise(body, body.hip(side), side, held, position, extra)
    bw = float(body.weight[0])
    muscle, joint = float(found.muscle_force[0]) / bw, float(found.joint_magnitude[0]) / bw
    moment, lever = float(found.moment[0]), float(found.moment_arm[0])
    hangs, voice = bool(found.hangs[0]), loaded.picture.voice
    hanging = voice.say(message("reason.hangs"))
    reasons = {"joint_force_bw": hanging} if hangs else {"joint_pulled_bw": voice.say(message("raise.pressed"))}
    record = {
        "scene": loaded.title,
        "side": side,
        "position": position,
        "angle_deg": math.degrees(held),
        "ankle_weight_kg": extra,
        "moment_Nm": moment,
        "muscle_force_bw": muscle,
        "muscle_lever_m": lever,
        "joint_force_bw": None if hangs else joint,
        "joint_pulled_bw": joint if hangs else None,
        "reasons": reasons,
        "leaves_out": leaves_out(loaded),
    }
    if as_json:
        print(json.dumps(record, indent=2, allow_nan=False))
        return
    told = message(f"raise.{'hangs' if hangs else 'result'}", moment=turning(moment), muscle=force(muscle * bw, bw),
                   lever=length(lever), joint=force(joint * bw, bw))  # fmt: skip
    caution = joined("join.space", [full_row("muscle"), full_row("teaching")])
    for one in (message(f"raise.{side}_{position}", title=loaded.title, angle=angle), told, caution):
        say(voice.say(one))
