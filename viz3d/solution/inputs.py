"""From a scene's words to the physics' arrays: the body, the posture over time, the muscle model.

Question answered: which body, standing how, with which muscles, does this scene describe?
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from viz3d.arrays import Array
from viz3d.body.names import LEFT, RIGHT
from viz3d.body.own import read_own
from viz3d.body.person import Body, Hip, make_body
from viz3d.body.segment_tables import SEGMENTS
from viz3d.body.spacing import hip_spacing_from_pelvis
from viz3d.kinematics.posture import Posture, make_posture, posture_rows
from viz3d.scene.person import HipMeasures
from viz3d.scene.posture import AIDS
from viz3d.scene.rows import InputRow, column_rows, hip_measures, value_of
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import Timeline
from viz3d.statics.model import MuscleModel

PARTS = {"belly": ("mid_trunk",), "chest": ("upper_trunk",), "hips": ("lower_trunk",),
         "thighs": ("left_thigh", "right_thigh")}  # fmt: skip
"""Plain names of body parts -> segments; every other name is a segment's own."""


def body_of(scene: Scene, varied: Mapping[str, Array] | None = None) -> Body:
    """The scene's person.

    Parameters
    ----------
    varied : dotted scene key -> (N,) SI values that replace the scene's, for instance ``person.mass``,
        ``person.left_hip.offset`` or ``strength.left_abductors`` (a fraction).
    """
    p, change = scene.person, varied or {}
    mass = change.get("person.mass", np.array([p.mass]))
    torque = scene.strength.torque_per_mass
    spacing: float | Array | None = p.hip_spacing
    if p.pelvic_width is not None and spacing is None:
        spacing = hip_spacing_from_pelvis(p.pelvic_width, p.spacing_rule)

    def hip(measures: HipMeasures, side: str) -> dict[str, Any]:
        values: dict[str, Any] = {n: change.get(f"person.{side}_hip.{n}", getattr(measures, n)) for n in hip_measures()}
        values["replacement"] = measures.replacement
        values["abductor_torque"] = None if torque is None else torque * mass
        values["shortening"] = getattr(p, f"{side}_leg_shorter")
        values["strength"] = change.get(f"strength.{side}_abductors", getattr(scene.strength, f"{side}_abductors"))
        return values

    return make_body(
        p.sex,
        mass,
        change.get("person.stature", p.stature),
        change.get("person.hip_spacing", spacing),
        p.pelvic_width,
        p.pelvis_form,
        hip(p.left_hip, LEFT),
        hip(p.right_hip, RIGHT),
        p.segments,
        _added(p.mass_changes, p.segments),
        None if p.bones is None else read_own(scene.bone_folder()),
    )


def with_strength(body: Body, inputs: Mapping[str, Array]) -> Body:
    """A body whose abductors are as strong as a timeline says at each sample."""

    def hip(side: str) -> Hip:
        return dataclasses.replace(body.hip(side), strength=inputs[f"strength.{side}_abductors"])

    return dataclasses.replace(body, left=hip(LEFT), right=hip(RIGHT))


def _added(changes: Mapping[Any, float], table: str) -> Array | None:
    """(1, segments) kg put on or taken off, from the scene's body parts; None for nothing."""
    if not changes:
        return None
    out = np.zeros((1, len(SEGMENTS)))
    whole = table == "dempster"
    for part, kilograms in changes.items():
        names = PARTS.get(part, (part,))
        if whole and part not in ("thighs",) and not part.endswith(("thigh", "shank", "foot")):
            names = ("head_arms_trunk",)
        for name in names:
            out[0, SEGMENTS.index(name)] += kilograms / len(names)
    return out


def model_of(scene: Scene) -> MuscleModel:
    """The scene's choice of muscle model."""
    m = scene.model
    power = np.inf if isinstance(m.power, str) else m.power
    return MuscleModel(
        m.muscles, power, m.specific_tension, scene.strength.muscles, m.gravity_line, m.pressure_ahead,
        m.co_contraction, m.passive_tissue,
    )  # fmt: skip


def posture_of(scene: Scene, timeline: Timeline) -> Posture:
    """The scene's posture at every sample of a timeline: each input's row fills its column."""
    sides = (RIGHT, LEFT) if scene.posture.stance == RIGHT else (LEFT, RIGHT)
    hands = [getattr(scene.hands, side) for side in sides]

    def values(row: InputRow) -> ArrayLike:
        given = timeline.inputs[row.key] if row.eased else value_of(scene, row.key)
        return np.nan if given is None else given

    columns = {}
    for name, some in column_rows().items():
        by_side = {row.side: values(row) for row in some}
        columns[name] = by_side[""] if "" in by_side else np.stack([by_side[s] for s in sides], axis=-1)
    frame = float(posture_rows()["frame_half_width"].value)
    return make_posture(
        len(timeline.times),
        on_right=scene.posture.stance == RIGHT,
        has_cane=[h.holds in AIDS for h in hands],
        placed_on_two=scene.posture.lifted == 0.0,
        grip_from_middle=[frame if h.holds == "frame" else np.nan for h in hands],
        **columns,
    )
