"""A scene that walks, solved as pictures need it.

Question answered: which solved batch is a walk at the times of a film?

The cycle is solved once (:mod:`viz3d.solution.walk`), then the frames nearest to the asked times are taken. What stands
in for a standing scene's balance is read off the walk: where hip, ground and weight are. Weight and inertia of the body
above the hip are one force here, along the line on which the two together act in the frontal plane, so that arrows,
lever arms and the force polygon close as they do for standing.
"""

from __future__ import annotations

import dataclasses
import hashlib
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array, Frames
from viz3d.body.names import LEFT, RIGHT, SIDES
from viz3d.body.person import Body
from viz3d.body.segment_tables import LEG, SEGMENTS
from viz3d.body.segments import lengths
from viz3d.errors import OutOfReach
from viz3d.kinematics.chain import Pose, frame
from viz3d.kinematics.frontal import Stance
from viz3d.kinematics.masses import leg_pair
from viz3d.kinematics.posture import Posture, make_posture, posture_rows
from viz3d.kinematics.standing import along
from viz3d.motion.hands import Held
from viz3d.motion.library import named_motion
from viz3d.motion.table import Motion
from viz3d.scene.inputs import newtons
from viz3d.scene.posture import AIDS
from viz3d.scene.schema import Scene
from viz3d.scene.walk import WalkTable
from viz3d.solution.beside import Beside
from viz3d.solution.changed import AskedWalk, ChangedWalk, changed_walk
from viz3d.solution.gait import gait_of
from viz3d.solution.passing import passing
from viz3d.solution.solved import HELD, TOO_WEAK, Solved
from viz3d.solution.walk import Walked, solve_walk
from viz3d.solution.walk_beside import phase
from viz3d.solution.walk_records import assumed
from viz3d.statics.hip import HipLoad
from viz3d.statics.limb import LimbCheck
from viz3d.statics.loads import GROUND, INERTIA, WEIGHT, Load, in_space
from viz3d.statics.model import MuscleModel
from viz3d.statics.moving import hip_frame
from viz3d.units import GRAVITY

_DRAWN, _MOST_CYCLES = 100, 60
"""Points of a cycle in a curve, and cycles of one."""
_ROUGH = 40
"""Frames of a walk of which only the reach is asked."""
FINE = 400
"""Frames that a cycle is solved at: a film's moments lie within an eighth of a percent of one."""


def walked_scene(scene: Scene, body: Body, model: MuscleModel, times: Array, step: NDArray[np.intp]) -> Solved:
    """The solved batch of a walking scene at some times.

    Parameters
    ----------
    times : (N,) s on the scene's timeline. step : (N,) labels to carry along.

    Raises
    ------
    MotionError : the motion cannot be walked by this body.
    """
    table = cast(WalkTable, scene.walk)
    path = None if table.motion is None else scene.own_file("walk.motion", table.motion)
    found = _changed(scene, body, named_motion(path))
    cycle = found.cycle
    walked = solve_walk(body, cycle, scene.posture.stance, model, table.double_stance, found)
    at = phase(walked)
    period = float(cycle.period[0])
    shown = table.cycle_shown or (period / table.shown_at if table.shown_at else np.inf)
    frames = np.round(FINE * (table.phase + times / shown))
    order = np.argsort(at)
    rows = order[frames.astype(np.intp) % FINE]
    shown = shown if np.isfinite(shown) else period
    solved = _solved(walked, rows, at[rows], times, step)
    course = _course(walked.joint_bw[order], times, float(at[rows[0]]), shown)
    solved = dataclasses.replace(solved, course=course)
    return passing(solved, frames / FINE, table.cycles_passed) if table.passes else solved


def asked_of(scene: Scene, body: Body) -> AskedWalk:
    """What a scene changes about its walk, and what it holds."""
    table, hands = scene.walk or WalkTable(), scene.hands
    held = {side: getattr(hands, side) for side in SIDES}
    weight = float(body.weight[0])
    canes = {side: hand for side, hand in held.items() if hand.holds in AIDS}
    changed_side = scene.posture.stance if scene.person.painful_hip == "none" else scene.person.painful_hip
    return AskedWalk(
        "" if table.change == "none" else table.change,
        changed_side,
        table.speed,
        Held(
            {side: newtons(hand.force, weight) for side, hand in canes.items()},
            {side: hand.tip_beside_toe for side, hand in canes.items() if hand.tip_beside_toe is not None},
            {side: hand.mass for side, hand in held.items() if hand.mass},
            scene.load.backpack,
        ),
    )


def most_push(scene: Scene, body: Body, side: str) -> int | None:
    """About the most that a hand reaches its cane with, %BW in fives; None where it never does."""
    path = None if scene.walk is None or scene.walk.motion is None else scene.own_file("walk.motion", scene.walk.motion)
    asked, motion, weight = asked_of(scene, body), named_motion(path), float(body.weight[0])

    def reaches(percent: int) -> bool:
        held = dataclasses.replace(asked.held, push={**asked.held.push, side: 0.01 * percent * weight})
        try:
            changed_walk(body, motion, dataclasses.replace(asked, held=held), _ROUGH)
        except OutOfReach:
            return False
        return True

    good, bad = -1, int(np.ceil(20.0 * asked.held.push[side] / weight))
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if reaches(5 * middle) else (good, middle)
    return None if good < 0 else 5 * good


def _changed(scene: Scene, body: Body, motion: Motion) -> ChangedWalk:
    """The changed walk of a scene, worked out once for the scenes that walk alike."""
    asked = asked_of(scene, body)
    table = b"".join(values.tobytes() for values in motion.values.values())
    key = (f"{scene.person!r} {scene.folder}", hashlib.sha256(table).hexdigest(), repr(asked))
    if key not in _KEPT:
        while len(_KEPT) >= _MOST_KEPT:
            _KEPT.pop(next(iter(_KEPT)))
        _KEPT[key] = changed_walk(body, motion, asked, FINE)
    return _KEPT[key]


_MOST_KEPT = 8
_KEPT: dict[tuple[str, str, str], ChangedWalk] = {}
"""Walks of late, by who walks how."""


def _course(joint: Array, times: Array, phase_: float, shown: float) -> tuple[Array, Array]:
    """Whole cycles round some times, from the heel strike before the first: times, s, and joint force, BW.

    Parameters
    ----------
    joint : (FINE,) of one cycle from heel strike on. phase_ : of the first time. shown : a cycle's time as shown, s.
    """
    start = float(times[0]) - phase_ * shown
    cycles = min(_MOST_CYCLES, max(1, int(np.ceil((float(times[-1]) - start) / shown - 1e-9))))
    step = FINE // _DRAWN
    drawn = np.append(np.tile(joint[::step], cycles), joint[0])
    return start + shown * np.arange(len(drawn)) / _DRAWN, drawn


def _first(body: Body) -> Body:
    """The first person of a batch: strength does not change on the way."""
    left, right = (dataclasses.replace(body.hip(side), strength=body.hip(side).strength[:1]) for side in (LEFT, RIGHT))
    return dataclasses.replace(body, left=left, right=right)


def _solved(walked: Walked, rows: Frames, at: Array, times: Array, step: NDArray[np.intp]) -> Solved:
    count, body = len(rows), walked.body
    posture = _posture(walked, count)
    load = _taken(_one_weight(walked.load), rows)
    stance = _stance(walked, posture, rows)
    gait = gait_of(walked, rows)
    status, missing = (HELD, np.nan) if gait.hardest.held else (TOO_WEAK, gait.hardest.missing)
    return Solved(
        body, walked.hip, posture, posture, walked.model, stance, load, _taken(walked.pressure, rows),
        Beside(body, walked.hip, stance, load, walked.model, False), np.full(count, status),
        np.full(count, missing), walked.residual_force[rows], walked.residual_moment[rows],
        _taken(_with_things(walked), rows), walked.moving.centre[rows], _below(walked, rows), tuple(assumed(walked)),
        times, step, at, gait=gait,
    )  # fmt: skip


def _taken(value: Any, rows: Frames) -> Any:
    """The rows of every array of N in a record, whatever it is made of."""
    if isinstance(value, np.ndarray):
        return value[rows] if value.ndim and len(value) == FINE else value
    if isinstance(value, dict):
        return {key: _taken(one, rows) for key, one in value.items()}
    if isinstance(value, tuple):
        return tuple(_taken(one, rows) for one in value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return type(value)(*(_taken(getattr(value, f.name), rows) for f in dataclasses.fields(value)))
    return value


def _one_weight(load: HipLoad) -> HipLoad:
    """The load with weight and inertia as one force of the frontal plane."""
    heavy = [x for x in load.loads if x.role in (WEIGHT, INERTIA)]
    others = [x for x in load.loads if x.role not in (WEIGHT, INERTIA)]
    force = np.sum([x.force for x in heavy], axis=0)
    turn = np.sum([x.moment for x in heavy], axis=0)
    place = heavy[0].point
    flat = (force[:, 1:] ** 2).sum(axis=1)
    missing = turn[:, 0] - (place[:, 1] * force[:, 2] - place[:, 2] * force[:, 1])
    aside = in_space(0.0, missing * force[:, 2] / flat, -missing * force[:, 1] / flat, len(place))
    whole = Load("weight", WEIGHT, place + aside, force, way=_way(force))
    some = [dataclasses.replace(x, way=_way(x.force) if x.role == GROUND else x.way) for x in others]
    return dataclasses.replace(load, loads=(whole, *some))


def _way(force: Array) -> Array:
    """Unit vectors (N, 3) of forces' lines of action in the frontal plane; upright where there is no force."""
    flat = force * [0.0, 1.0, 1.0]
    size = np.linalg.norm(flat, axis=1, keepdims=True)
    return np.where(size > 1e-9, flat / np.where(size > 1e-9, size, 1.0), [0.0, 1.0, 0.0])


def _hands(walked: Walked) -> tuple[str, str]:
    """The studied side's hand and the other one."""
    return (LEFT, RIGHT) if walked.side == LEFT else (RIGHT, LEFT)


def _posture(walked: Walked, count: int) -> Posture:
    """What is held, as a standing posture would say it."""
    held, hands = walked.held, _hands(walked)
    return make_posture(
        count, on_right=walked.side == RIGHT, has_cane=[side in held.push for side in hands],
        bag_mass=[held.bags.get(side, 0.0) for side in hands], backpack=held.backpack,
    )  # fmt: skip


def _with_things(walked: Walked) -> Pose:
    """The posed chain with what its hands hold: canes on their tips, bags hanging straight down."""
    joints, frames = dict(walked.posed.joints), dict(walked.posed.frames)
    straight = np.broadcast_to(np.eye(3), (len(walked.cycle.share), 3, 3))
    hang = float(posture_rows()["bag_hang"].value)
    for side in SIDES:
        wrist, knuckle = joints[f"{side}_wrist"], joints[f"{side}_knuckle"]
        frames[f"{side}_bag"] = frame(straight, wrist + hang * (knuckle - wrist))
        cane = walked.canes.get(side)
        joints[f"{side}_tip"] = wrist * [1.0, 0.0, 1.0] if cane is None else cane.tip
        upright = np.broadcast_to([0.0, -1.0, 0.0], wrist.shape) if cane is None else -cane.way
        turned = along(np.asarray(upright), np.broadcast_to([1.0, 0.0, 0.0], wrist.shape))
        frames[f"{side}_cane"] = frame(turned, joints[f"{side}_tip"])
    for name, side in zip(("stance_tip", "swing_tip"), _hands(walked), strict=True):
        joints[name] = joints[f"{side}_tip"]
    return dataclasses.replace(walked.posed, joints=joints, frames=frames)


def _stance(walked: Walked, posture: Posture, rows: Frames) -> Stance:
    """What a balanced posture would say, read off the walk."""
    count, body = len(rows), walked.body
    none, pushes, places = np.zeros(count), np.zeros((count, 2, 2)), np.zeros((count, 2, 2))
    other = SIDES.index(walked.side) == 0
    joints = walked.posed.joints
    hip = joints[f"{walked.side}_hip"][rows]
    limb = [SEGMENTS.index(f"{walked.side}_{name}") for name in LEG]
    mass = float(body.mass[0]) - float(walked.moving.mass[0, limb].sum())
    arm = walked.load.weight_moment_arm[rows]
    outward = 1.0 if walked.side == RIGHT else -1.0
    for n, side in enumerate(_hands(walked)):
        key = f"cane_{'swing' if n else 'stance'}"
        for load in (x for x in walked.load.loads if x.key == key):
            pushes[:, n] = load.force[rows][:, [2, 1]]
            places[:, n] = walked.canes[side].handle[rows][:, [2, 1]] * [outward, 1.0]
    return Stance(
        posture=posture, sine=none, hip_lateral=none, hip_height=hip[:, 1], mass_above=np.full(count, mass),
        mass_moment=-mass * arm, own_mass=np.full(count, mass), own_moment=-mass * arm, wrist=places, carried={},
        hand_force=pushes, tip_lateral=places[..., 0], handle=places,
        other_foot_force=walked.floor.force[rows, int(other), 1], other_foot_lateral=none, pressure_shift=none,
        fall_miss=none, reach_short=np.zeros((count, 2)), foot_short=none, leg=leg_pair(body, posture, lengths(body)),
    )  # fmt: skip


def _below(walked: Walked, rows: Frames) -> LimbCheck:
    """The limb's own free body: its weight with its inertia, and the ground under its foot; hip frame."""
    frame, k = hip_frame(walked.posed, walked.side), SIDES.index(walked.side)
    limb = [SEGMENTS.index(f"{walked.side}_{name}") for name in LEG]
    mass = walked.moving.mass[:, limb]
    centre = (mass[..., None] * walked.moving.centre[:, limb]).sum(axis=1) / mass.sum(axis=1)[:, None]
    pulled = -(mass[..., None] * (walked.moving.acceleration[:, limb] + [0.0, GRAVITY, 0.0])).sum(axis=1)
    down = walked.cycle.stands[:, k, None]
    place = np.where(down, walked.floor.place[:, k], walked.posed.joints[f"{walked.side}_ankle"] * [1.0, 0.0, 1.0])
    right = np.full(len(centre), walked.side == RIGHT)
    loads = (
        Load("limb", WEIGHT, frame.point(centre), frame.vector(pulled), right, above=False),
        Load("foot", GROUND, frame.point(place), frame.vector(walked.floor.force[:, k]), right, above=False),
    )
    none = np.zeros(len(rows))
    return LimbCheck(
        _taken(loads, rows), none, -walked.load.joint_force[rows], walked.load.external_moment[rows],
        np.zeros((len(rows), 3)),
    )  # fmt: skip
