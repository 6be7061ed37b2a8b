"""From a scene, or from bare arrays, to one solved batch.

Question answered: for every situation of this scene, what does the hip carry, is it held, and what does
the cane relieve?

Balance (:mod:`viz3d.kinematics.frontal`), the free body above the hip (:mod:`viz3d.statics.hip`), its
check from below (:mod:`viz3d.statics.limb`) and the socket's pressure (:mod:`viz3d.contact.lune`) for N
situations at once. ``Solved`` is the only thing that pictures, tables and files read.
SI; lateral axis of the stance side. Called by the command line, the stage and the tests.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viz3d.body.person import (
    LEFT,
    RIGHT,
    Array,
    Body,
    Hip,
    hip_spacing_from_pelvis,
    make_body,
    stance_hip,
)
from viz3d.contact.lune import LunePressure, lune_pressure
from viz3d.errors import SceneError
from viz3d.kinematics.chain import Pose, pose
from viz3d.kinematics.frontal import Stance, stand
from viz3d.kinematics.posture import STANCE_HAND, SWING_HAND, Posture, make_posture, posture_rows
from viz3d.scene.schema import HipMeasures, Scene
from viz3d.scene.timeline import Timeline, at_steps, at_times, frame_times
from viz3d.statics.hip import HipLoad, Relief, held_relief, hip_load, torque_margin
from viz3d.statics.limb import limb_free_body
from viz3d.tables import UNSURE

MODEL = "equivalent muscle"
HELD, WOULD_FALL, TOO_WEAK = "held", "would_fall", "too_weak"
_SLOPE_STEP = 1e-4
"""Cane force step of the re-balanced slope, body weights."""


@dataclass(frozen=True)
class Cane:
    """What the cane does, N situations; NaN where there is no cane."""

    hand: NDArray[np.int64]
    """Index of the hand it is counted for: the cane's, the opposite one first."""
    force: Array
    distance: Array
    """D, from the stance hip to the cane's line, opposite side positive."""
    held: Relief
    rebalanced: Array
    chord: Array


@dataclass(frozen=True)
class Solved:
    """N solved situations."""

    body: Body
    hip: Hip
    posture: Posture
    stance: Stance
    load: HipLoad
    pressure: LunePressure
    cane: Cane
    status: NDArray[np.str_]
    shortfall: Array
    """N m missing where too weak, m outside the foot where it would fall, NaN where held."""
    residual_force: Array
    residual_moment: Array
    posed: Pose
    assumed: tuple[str, ...]
    times: Array
    step: NDArray[np.intp]

    @property
    def joint_bw(self) -> Array:
        """Joint force in body weights, without carried loads."""
        return self.load.joint_magnitude / self.body.weight

    def side(self, index: int) -> str:
        """The studied hip's side."""
        return RIGHT if self.posture.on_right[index] else LEFT


def solve_batch(
    body: Body, posture: Posture, times: Array | None = None, step: NDArray[np.intp] | None = None
) -> Solved:
    """Solve N situations.

    Parameters
    ----------
    body : batch of N or 1. posture : N postures.
    times, step : labels to carry along.
    """
    stance = stand(body, posture)
    hip = stance_hip(body, posture.on_right)
    load = hip_load(body, hip, stance)
    posed = pose(body, stance)
    below = limb_free_body(body, stance, posed, load)
    joint = load.joint_magnitude
    edge = hip.centre_edge_angle - posture.obliquity
    pulled = ~(load.joint_force[:, 1] > 0.0)
    radius = np.where(pulled, np.nan, hip.cartilage_radius)
    pressure = lune_pressure(joint, load.joint_angle, radius, edge)
    margin = torque_margin(hip, load)
    falls = stance.falls | pulled
    weak = margin < -1e-9 * body.weight * body.hip_spacing
    status = np.where(falls, WOULD_FALL, np.where(weak, TOO_WEAK, HELD))
    shortfall = np.where(falls, stance.fall_miss, np.where(weak, -margin, np.nan))
    count = len(posture)
    return Solved(
        body, hip, posture, stance, load, pressure, _cane(body, stance, load), status, shortfall,
        np.linalg.norm(below.head_force + load.joint_force, axis=1),
        np.abs(below.moment_left),
        posed, _assumed(body, posture),
        np.zeros(count) if times is None else times,
        np.arange(count) if step is None else np.asarray(step, dtype=np.intp),
    )  # fmt: skip


def joint_force(body: Body, posture: Posture) -> Array:
    """Joint force magnitude only, N newtons: the fast path of slopes and sweeps."""
    stance = stand(body, posture)
    return hip_load(body, stance_hip(body, posture.on_right), stance).joint_magnitude


def _cane(body: Body, stance: Stance, load: HipLoad) -> Cane:
    posture = stance.posture
    has = posture.has_cane
    hand = np.where(has[:, SWING_HAND], SWING_HAND, STANCE_HAND).astype(np.int64)
    none = ~has.any(axis=1)
    row = np.arange(len(hand))
    push = stance.hand_force[row, hand]
    force = np.copysign(np.linalg.norm(push, axis=1), push[:, 1])
    held = held_relief(stance, load, hand)
    rebalanced, chord = np.full(len(hand), np.nan), np.full(len(hand), np.nan)
    if not bool(none.all()):
        rebalanced, chord = _rebalanced(body, stance, load, hand, force)

    def blank(values: Array) -> Array:
        return np.where(none, np.nan, values)

    from viz3d.kinematics.frontal import cane_line_distance

    distance = cane_line_distance(stance)[row, hand]
    relief = Relief(blank(held.total), blank(held.unweighting), blank(held.leverage))
    return Cane(hand, blank(force), blank(distance), relief, blank(rebalanced), blank(chord))


def _rebalanced(
    body: Body, stance: Stance, load: HipLoad, hand: NDArray[np.int64], force: Array
) -> tuple[Array, Array]:
    """Slope −d|R|/dC with the body re-balanced, and the chord from zero force; same arm pose."""
    row, posture = np.arange(len(hand)), stance.posture
    step = _SLOPE_STEP * np.broadcast_to(body.weight, force.shape)

    def at(value: Array) -> Array:
        forces = np.where(np.isnan(posture.cane_force), 0.0, posture.cane_force).copy()
        forces[row, hand] = value
        return joint_force(body, dataclasses.replace(posture, cane_force=forces))

    slope = -(at(force + step) - at(force - step)) / (2.0 * step)
    with np.errstate(divide="ignore", invalid="ignore"):
        chord = np.where(force > 0.0, (at(np.zeros_like(force)) - load.joint_magnitude) / force, np.nan)
    free = np.isnan(posture.inclination)
    return np.where(free, slope, np.nan), np.where(free, chord, np.nan)


def _assumed(body: Body, posture: Posture) -> tuple[str, ...]:
    rows = posture_rows()
    names = ["lean_pivot", "centre_of_pressure"]
    if bool(((posture.lifted > 0) & (posture.clearance == rows["swing_clearance"].value)).any()):
        names.append("swing_clearance")
    if bool(posture.has_cane.any()):
        names += ["palm_on_handle", "shoulder_glide"]
    lines = [rows[n].line() for n in names if rows[n].status in UNSURE]
    return (*body.assumed, *lines)


HIP_MEASURES = (
    "head_radius", "neck_shaft_angle", "version", "offset", "trochanter_height", "centre_edge_angle", "abductor_lever",
)  # fmt: skip


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
    if p.pelvic_width is not None:
        spacing = hip_spacing_from_pelvis(p.pelvic_width, p.spacing_rule)

    def hip(measures: HipMeasures, side: str) -> dict[str, ArrayLike | None]:
        values: dict[str, ArrayLike | None] = {
            n: change.get(f"person.{side}_hip.{n}", getattr(measures, n)) for n in HIP_MEASURES
        }
        values["abductor_torque"] = None if torque is None else torque * mass
        values["strength"] = change.get(f"strength.{side}_abductors", getattr(scene.strength, f"{side}_abductors"))
        return values

    return make_body(
        p.sex,
        mass,
        change.get("person.stature", p.stature),
        change.get("person.hip_spacing", spacing),
        hip(p.left_hip, LEFT),
        hip(p.right_hip, RIGHT),
        p.segments,
    )


def posture_of(scene: Scene, timeline: Timeline) -> Posture:
    """The scene's posture at every sample of a timeline."""
    inputs, count = timeline.inputs, len(timeline.times)
    same, other = (RIGHT, LEFT) if scene.posture.stance == RIGHT else (LEFT, RIGHT)
    hands = [getattr(scene.hands, side) for side in (same, other)]
    sides = (same, other)

    def tip(value: float | None) -> float:
        return np.nan if value is None else value

    return make_posture(
        count,
        on_right=scene.posture.stance == RIGHT,
        lean=inputs["posture.lean"],
        obliquity=inputs["posture.obliquity"],
        share=inputs["posture.share"],
        lifted=inputs["posture.lifted"],
        clearance=inputs["posture.clearance"],
        inclination=np.nan if scene.posture.inclination is None else scene.posture.inclination,
        has_cane=[h.holds == "cane" for h in hands],
        cane_force=np.stack([inputs[f"hands.{s}.force"] for s in sides], axis=-1),
        cane_tip=[tip(h.tip_beside_toe) for h in hands],
        cane_tilt=[h.tilt for h in hands],
        bag_mass=np.stack([inputs[f"hands.{s}.mass"] for s in sides], axis=-1),
        placed_on_two=scene.posture.lifted == 0.0,
    )


def solve_scene(scene: Scene, times: Array | None = None, file: str = "scene") -> Solved:
    """Solve a scene at its steps, or at given times.

    Raises
    ------
    SceneError : a hand cannot reach its cane, a cane carries more than the person weighs, or the other
        foot would be loaded while the pelvis is dropped.
    """
    weight = body_of(scene).weight[0]
    timeline = at_steps(scene, float(weight)) if times is None else at_times(scene, float(weight), times)
    body = body_of(scene, {k: v for k, v in timeline.inputs.items() if k.startswith("strength.")})
    posture = posture_of(scene, timeline)
    _refuse(scene, posture, float(weight), timeline.step, file)
    solved = solve_batch(body, posture, timeline.times, timeline.step)
    _refuse_reach(scene, solved, file)
    _refuse_pull(solved, file)
    return solved


def solve_film(scene: Scene, file: str = "scene") -> Solved:
    """Solve a scene at every frame of its film: one batch."""
    return solve_scene(scene, frame_times(scene), file)


def _step_key(scene: Scene, step: Array | NDArray[np.intp], at: int, key: str) -> str:
    index = int(step[at])
    return f"steps.{index + 1}.set.{key}" if key in scene.steps[index].set else key


def _refuse(scene: Scene, posture: Posture, weight: float, step: NDArray[np.intp], file: str) -> None:
    sides = ("right", "left") if posture.on_right[0] else ("left", "right")
    for hand in (STANCE_HAND, SWING_HAND):
        over = np.nonzero(np.nan_to_num(posture.cane_force[:, hand]) > weight)[0]
        if len(over):
            key = _step_key(scene, step, int(over[0]), f"hands.{sides[hand]}.force")
            found = posture.cane_force[over[0], hand]
            raise SceneError(
                file, key, f"found {found / weight * 100:.0f} %BW ({found:.0f} N)",
                f"allowed: at most the person's weight, 100 %BW ({weight:.0f} N)",
            )  # fmt: skip
    total = np.nan_to_num(posture.cane_force).sum(axis=1)
    both = np.nonzero(total > weight)[0]
    if len(both):
        raise SceneError(
            file, "hands", f"found {total[both[0]] / weight * 100:.0f} %BW on both canes together",
            "allowed: at most the person's weight, 100 %BW",
        )  # fmt: skip
    mixed = np.nonzero(
        ((posture.share < 1.0) & (posture.lifted > 0.0)) | ((posture.lifted < 1.0) & (posture.obliquity != 0.0))
    )[0]
    if len(mixed):
        raise SceneError(
            file, _step_key(scene, step, int(mixed[0]), "posture.share"),
            f"found {posture.share[mixed[0]] * 100:.0f} % with the other foot lifted or the pelvis tilted",
            'while both feet carry, posture.lifted must be "0 %" and posture.obliquity "0 deg"',
        )  # fmt: skip


def _refuse_pull(solved: Solved, file: str) -> None:
    """A force found by balance must be a push that the person could lean on."""
    found = solved.cane.force
    weight = np.broadcast_to(solved.body.weight, found.shape)
    rows = np.nonzero(np.isnan(solved.posture.cane_force).any(axis=1) & ~((found >= 0.0) & (found <= weight)))[0]
    if len(rows):
        tilt = np.degrees(solved.posture.inclination[rows[0]])
        raise SceneError(
            file, "posture.inclination", f"at {tilt:.1f} deg the cane would have to carry {found[rows[0]]:.0f} N",
            "choose an inclination that a push between 0 and the body's weight balances",
        )  # fmt: skip


def _refuse_reach(scene: Scene, solved: Solved, file: str) -> None:
    short = solved.stance.reach_short
    sides = ("right", "left") if solved.posture.on_right[0] else ("left", "right")
    rows = np.nonzero(short.max(axis=1) > 1e-6)[0]
    if len(rows):
        at = int(rows[np.argmax(short[rows].max(axis=1))])
        hand = int(np.argmax(short[at]))
        leaning = solved.posture.lean[at] != 0.0
        key = "posture.lean" if leaning else f"hands.{sides[hand]}.tip_beside_toe"
        raise SceneError(
            file, _step_key(scene, solved.step, at, key),
            f"the {sides[hand]} hand cannot reach the cane's handle: {max(short[at, hand] * 100, 0.1):.1f} cm too far"
            f" at {solved.times[at]:.1f} s (lean {np.degrees(solved.posture.lean[at]):.0f} deg)",
            "lean less, or bring a tip that is far out closer",
        )  # fmt: skip
