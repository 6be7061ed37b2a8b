"""From a solved batch to a plan: which arrows, levers and moments the explanation needs.

Question answered: what does this scene show, with which numbers?

Every number shown is the solver's; what is said of it are messages (:mod:`viz3d.stage.tell`). Arrows, moment arms and
moments are read off the solution's one list of loads in the world.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.body.names import LEFT, RIGHT
from viz3d.scene.schema import Scene
from viz3d.solution.solved import HORSESHOE, LUNE, Solved
from viz3d.stage import tell
from viz3d.stage.muscles import drawn_muscles, named_muscles
from viz3d.stage.plan import LITTLE, Arrow, BoneAngle, Demand, Dimension, Plan, Pressure, Spot, Turn
from viz3d.stage.plate_angles import neck_shaft, trochanter_level
from viz3d.statics.hip import effort
from viz3d.statics.loads import CARRIED, GROUND, HAND, WEIGHT, Load
from viz3d.words import cautions
from viz3d.words.message import Amount, Said, force, fraction, length, message, moment, small_length

WEIGHT_DROP, FAR_DROP, FRAME_DROP = 0.105, 0.205, 0.165
"""How far below the hip the weight's lever arm is drawn, and those of cane and ground, m."""
_NOTHING = 1e-6


def compose(scene: Scene, solved: Solved, bodies: bool = True) -> Plan:
    """The plan of a solved scene; frames are the solved situations. ``bodies``: with the muscles' bodies."""
    count = len(solved.times)
    weight = float(solved.body.weight.flat[0])
    above = [x for x in solved.loads if x.above]
    replaced = bool(np.atleast_1d(solved.hip.replaced)[0])
    return Plan(
        title=scene.title,
        subtitles=tell.subtitles(scene, solved),
        frames=solved.posed.frames,
        sign=float(solved.sign[0]),
        hip=solved.hip_centre,
        middle_hip=solved.posed.joints["middle_hip"],
        gravity_line=solved.centre_of_mass,
        aids=held_things(scene) | ({"middle": "backpack"} if solved.posture.backpack.any() else {}),
        supports=tell.supports(scene, solved),
        body_weight=weight,
        arrows=_arrows(scene, solved, above, weight),
        dimensions=_levers(scene, solved, above),
        turns=_turns(solved, above),
        muscles=drawn_muscles(scene, solved) if bodies else [],
        pressure=Pressure(
            solved.pressure.pole, solved.pressure.pole_pressure, solved.pressure.edge, solved.peak_pressure,
            [tell.peak_words(float(p), replaced) for p in solved.peak_pressure],
            LUNE if solved.socket is None else HORSESHOE,
            None if solved.socket is None else solved.socket.displacement,
        ),
        times=solved.times,
        course=solved.course,
        gait=solved.gait,
        joint_force=solved.load.joint_magnitude,
        lifts=_lifts(scene, solved),
        steps=[scene.steps[int(s)].name for s in solved.step],
        spots=[] if replaced else _spots(solved),
        neck=_neck(scene, solved),
        ghost=scene.picture.ghost == "start" and count > 1,
        dress=scene.picture.dress,
        demand=_demand(solved),
        replaced=replaced,
        named=named_muscles(scene, solved) if bodies else (),
        captions=tell.captions(scene, solved),
        notices=[tell.notice(solved, i) for i in range(count)],
        notes=[tell.note(scene, solved, i) for i in range(count)],
        person=tell.person_words(scene),
        person_line=tell.person_line(scene, weight),
        model_line=cautions.WALKING if scene.walk is not None else cautions.line(scene.model.counts_more),
    )  # fmt: skip


def _demand(solved: Solved) -> Demand:
    """What the abductors must give against what they have: moments, or of a set of muscles shares of strength."""
    load = solved.load
    left = np.asarray(np.broadcast_to(solved.hip.strength, solved.times.shape))
    if load.muscles is not None:
        share = effort(solved.hip, load)
        full = np.ones_like(share)
        return Demand(share, full, [fraction(float(x)) for x in share], [fraction(float(x)) for x in full], left)
    needed = np.where(load.abducts, load.active_moment, 0.0)
    has = np.asarray(np.broadcast_to(solved.hip.abductor_torque, needed.shape))
    return Demand(needed, has, [moment(float(x)) for x in needed], [moment(float(x)) for x in has], left)


def _lifts(scene: Scene, solved: Solved) -> dict[str, Array]:
    """Side -> height of the lift under that foot in each frame, m, of the sides that have one."""
    stance = scene.posture.stance
    sides = (stance, "right" if stance == "left" else "left")
    heights = zip(sides, solved.posture.heel_lift.T, strict=True)
    return {side: height for side, height in heights if (height > _NOTHING).any()}


def held_things(scene: Scene) -> dict[str, str]:
    """Side -> what that hand holds, bags too."""
    held = {s: getattr(scene.hands, s).holds for s in ("left", "right")}
    return {s: what for s, what in held.items() if what != "nothing"}


def _aid(scene: Scene, load: Load) -> str:
    """The key of what presses on a hand."""
    right = load.right is not None and bool(load.right[0])
    return tell.AID_KEYS[tell.hand_aids(scene)["right" if right else "left"]]


def _arrows(scene: Scene, solved: Solved, above: list[Load], weight: float) -> list[Arrow]:
    """The body's weight, the muscle, the joint, and every other force on the body above the hip."""
    arrows = [_outside(scene, solved, load, weight) for load in above]
    return [arrows[0], _muscle(scene, solved, weight), _joint(scene, solved, weight), *arrows[1:]]


def _outside(scene: Scene, solved: Solved, load: Load, weight: float) -> Arrow:
    """The arrow of a force from outside."""
    values = tell.force_lines(np.linalg.norm(load.force, axis=1), weight)
    holding = "helps" if load.role == HAND or load.key.startswith("bag") else "holds"
    tell.add_moment(values, solved.adducts(load), holding, _counted(scene), _about(scene, solved))
    side = "stance" if load.key.endswith("stance") else "swing"
    stands = scene.walk is not None or scene.picture.framed == "whole"  # on the floor that is seen
    holds = "tip" if load.role == GROUND and not stands else "tail"
    idle = "" if load.role == WEIGHT else message(f"idle.{load.role}")
    name, short, told = tell.arrow_words(load_word(scene, load) + _without(scene, load))
    return Arrow(load.key, load.role, name, load.point, load.force, holds, side, values, idle, short, told)


def _without(scene: Scene, load: Load) -> str:
    """What the weight's key ends in: the side of the leg that is not part of it."""
    return f"_{scene.posture.stance}" if load.role == WEIGHT else ""


def _about(scene: Scene, solved: Solved) -> Flags:
    """Where the hip carries enough, (N,), that turning effects about it are told: always where nobody walks."""
    return np.asarray((solved.joint_bw >= LITTLE) | (scene.walk is None))


def _counted(scene: Scene) -> bool:
    """True where moments are said with their size: patients are told their way only."""
    return scene.picture.words != "plain"


def load_word(scene: Scene, load: Load) -> str:
    """The key of what a load is called."""
    if load.role == HAND:
        return _aid(scene, load)
    if load.role == WEIGHT and scene.walk is not None:
        return "moving_weight"
    return "bag" if load.key.startswith("bag_") else load.key


def _muscle(scene: Scene, solved: Solved, weight: float) -> Arrow:
    load = solved.load
    name, short, told = tell.arrow_words(muscle_word(solved))
    values = tell.force_lines(load.muscle_force, weight)
    tell.add_moment(values, -load.external_moment, "holds", _counted(scene), _about(scene, solved))
    origin, pull = solved.in_world(load.muscle.origin), solved.turned(load.muscle_pull)
    return Arrow("muscle", "muscle", name, origin, pull, "tail", "stance", values, message("idle.muscle"), short, told)


def muscle_word(solved: Solved) -> str:
    """The key of what the muscle's arrow stands for."""
    load = solved.load
    if bool(load.passive.any() or load.against.any()):
        return "muscle_all"
    if load.muscles is not None:
        return "muscle_set"
    return "muscle_abductor" if bool(load.abducts.all()) else "muscle_any"


def _joint(scene: Scene, solved: Solved, weight: float) -> Arrow:
    load, square = solved.load, scene.picture.view in ("front", "back")
    values = tell.force_lines(load.joint_magnitude, weight)
    for i, lines in enumerate(values):
        if square:  # elsewhere the arrow is not seen at this angle
            told = float(load.joint_angle[i]) if _about(scene, solved)[i] else np.nan
            lines[1] = tell.joint_direction(lines[1], told)
        earlier = np.flatnonzero((solved.step == solved.step[i] - 1) & np.isfinite(load.joint_magnitude))
        if len(earlier) and scene.walk is None:  # in a walk it would seem to be the footstep before
            lines.append(message("joint.before", force=force(load.joint_magnitude[earlier[-1]], weight)))
    name, short = message("arrow.joint.name"), message("arrow.joint.short")
    return Arrow("joint", "joint", name, solved.hip_centre, solved.turned(load.joint_force), "tip", "stance", values,
                 short=short)  # fmt: skip


def _levers(scene: Scene, solved: Solved, above: list[Load]) -> list[Dimension]:
    """Moment arms of the weight, the muscle, each hand's push, each bag and the other foot's ground."""
    weight, *others = above
    pushes = [x for x in others if x.role in (HAND, GROUND) or x.key.startswith("bag_")]
    return [
        _lever(solved, weight, "weight_lever", "weight", WEIGHT_DROP),
        _muscle_lever(solved),
        *(_lever(solved, x, *_lever_keys(scene, x), _far_drop(scene)) for x in pushes),
    ]


def _far_drop(scene: Scene) -> float:
    """How far below the hip the lever arms of hands and ground are drawn: above a walking frame's cross bar."""
    return FRAME_DROP if "frame" in held_things(scene).values() else FAR_DROP


def _lever_keys(scene: Scene, load: Load) -> tuple[str, str]:
    """Key of a push's moment arm, and of its words."""
    if load.role == GROUND:
        return "other_foot_lever", "ground"
    if load.role == CARRIED:
        return load.key.replace("bag", "bag_lever"), "bag"
    return load.key.replace("cane", "cane_lever"), _aid(scene, load)


def _lever(solved: Solved, load: Load, key: str, word: str, drop: float) -> Dimension:
    """Distance of a load's line of action from the hip: level for an upright force, square to a tilted one."""
    foot = solved.moment_arm_foot(load)
    sizes = np.linalg.norm((foot - solved.hip_centre)[:, 1:], axis=1)
    values: list[list[Said]] = [[length(v)] for v in sizes]
    side = "stance" if load.key.endswith("stance") else "swing"
    start, drop = (load.point, drop) if load.upright else (foot, np.nan)
    name, short = tell.lever_words(word)
    return Dimension(key, load.role, name, start, solved.hip_centre, drop, side, values, short)


def _muscle_lever(solved: Solved) -> Dimension:
    line = solved.load.muscle
    flat = line.direction[:, 1:] / np.linalg.norm(line.direction[:, 1:], axis=1, keepdims=True)
    foot = line.origin.copy()
    foot[:, 1:] -= (line.origin[:, 1:] * flat).sum(axis=1, keepdims=True) * flat
    name, short = tell.lever_words("muscle")
    return Dimension("muscle_lever", "muscle", name, solved.hip_centre, solved.in_world(foot * [0.0, 1.0, 1.0]),
                     np.nan, "stance", [[length(abs(v))] for v in line.moment_arm], short)  # fmt: skip


def _spots(solved: Solved) -> list[Spot]:
    """Where the pressure is highest, for the joint view."""
    pressure = solved.pressure
    if solved.socket is None:
        highest = np.minimum(pressure.pole, pressure.edge)
        way = solved.turned(np.stack([np.zeros_like(highest), np.cos(highest), np.sin(highest)], axis=-1))
    else:
        local = solved.turned(solved.socket.displacement)
        way = np.einsum("nij,nj->ni", solved.posed.frames["pelvis"][:, :3, :3], local)
    way = way / np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-12)
    radius = np.broadcast_to(solved.hip.cartilage_radius, len(way))[:, None]
    texts = [[tell.peak_words(float(p))] for p in solved.peak_pressure]
    return [Spot("peak", "pressure", message("spot.peak"), solved.hip_centre + radius * way, "stance", texts)]


def _neck(scene: Scene, solved: Solved) -> BoneAngle | None:
    """The neck-shaft angle where a step sets it: of the swing leg's femur where that is set too, clear of arrows."""
    sides = {side for side in (LEFT, RIGHT) for s in scene.steps if f"person.{side}_hip.neck_shaft_angle" in s.set}
    if not sides:
        return None
    swing = LEFT if scene.posture.stance == RIGHT else RIGHT
    side = swing if swing in sides else scene.posture.stance
    lines = [neck_shaft(solved.body, side, frame) for frame in solved.posed.frames[f"{side}_thigh"]]
    tips = [trochanter_level(solved.body, side, frame) for frame in solved.posed.frames[f"{side}_thigh"]]
    values: list[list[Said]] = [
        [
            Amount(one.value, "whole_angle"),
            message(f"plate_angle.neck.{'above' if tip >= 0.0 else 'below'}", length=small_length(abs(tip))),
            message("plate_angle.neck.square"),
        ]
        for one, (tip, _) in zip(lines, tips, strict=True)
    ]
    left, right = (solved.body.hip(s).neck_shaft_angle for s in (LEFT, RIGHT))
    both = np.array_equal(left, right)
    name = message(f"plate_angle.neck.{'pair' if both and len(sides) > 1 else 'name'}")
    short = message("plate_angle.neck.short")
    at, column = np.array([one.middle for one in lines]), "swing" if side == swing else "stance"
    return BoneAngle(lines, Spot("neck_angle", "bones", name, at, column, values, short), [x for _, x in tips])


def _turns(solved: Solved, above: list[Load]) -> list[Turn]:
    """Moments about the hip, one a role; of things on both sides of it two, as they may turn against each other."""
    moments: dict[str, dict[bool, Array]] = {}
    for load in above:
        of_role, beside = moments.setdefault(load.role, {}), load.key.endswith("stance")
        of_role[beside] = of_role.get(beside, 0.0) + solved.adducts(load)
    weight = sum(moments.pop(WEIGHT).values(), np.zeros(len(solved.times)))
    turns = [Turn("weight_turn", WEIGHT, weight), Turn("muscle_turn", "muscle", -solved.load.external_moment)]
    for role in (CARRIED, HAND, GROUND):
        for beside, moment_of in moments.get(role, {}).items():
            if (np.abs(moment_of) > _NOTHING).any():
                both = "_beside" if beside and len(moments[role]) > 1 else ""
                turns.append(Turn(f"{role}_turn{both}", role, moment_of))
    return turns
