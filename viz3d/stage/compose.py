"""From a solved batch to a plan: which arrows, levers, moments and words the explanation needs.

Question answered: what does this scene show, with which numbers?

Every number shown is the solver's, formatted by :mod:`viz3d.units`. Arrows, moment arms and moments are read off the
solution's one list of loads in the world.
"""

from __future__ import annotations

import numpy as np

from viz3d import units
from viz3d.body.person import Array
from viz3d.scene.posture import AIDS
from viz3d.scene.schema import Scene
from viz3d.solution.solve import HELD, HORSESHOE, LUNE, WOULD_FALL, Solved
from viz3d.stage.muscles import drawn_muscles
from viz3d.stage.plan import Arrow, Dimension, Plan, Pressure, Spot, Turn
from viz3d.statics.loads import CARRIED, GROUND, HAND, WEIGHT, Load

MODEL_LINE = (
    "Static teaching model: only the muscle force that balance demands; pressure is a smooth lower bound"
    " (measured hips read several times more). Not for diagnosis, nor for choosing or fitting a walking aid."
)
WEIGHT_DROP, FAR_DROP = 0.105, 0.205
"""How far below the hip the weight's lever arm is drawn, and those of cane and ground, m."""
_NOTHING = 1e-6


def compose(scene: Scene, solved: Solved, bodies: bool = True) -> Plan:
    """The plan of a solved scene; frames are the solved situations. ``bodies``: with the muscles' bodies."""
    count = len(solved.times)
    weight = float(solved.body.weight.flat[0])
    above = [x for x in solved.loads if x.above]
    return Plan(
        title=scene.title,
        subtitles=[f"{_view(scene)} · {stance}" for stance in _stances(scene, solved)],
        frames=solved.posed.frames,
        sign=float(solved.sign[0]),
        hip=solved.hip_centre,
        middle_hip=solved.posed.joints["middle_hip"],
        gravity_line=solved.centre_of_mass,
        aids=held_things(scene),
        supports=_supports(scene, solved),
        body_weight=weight,
        arrows=_arrows(scene, solved, above, weight),
        dimensions=_levers(scene, solved, above),
        turns=_turns(solved, above),
        muscles=drawn_muscles(scene, solved) if bodies else [],
        pressure=Pressure(
            solved.pressure.pole, solved.pressure.pole_pressure, solved.pressure.edge, solved.peak_pressure,
            [units.show_megapascals(p) if np.isfinite(p) else "no surface carries it" for p in solved.peak_pressure],
            LUNE if solved.socket is None else HORSESHOE,
            None if solved.socket is None else solved.socket.displacement,
        ),
        times=solved.times,
        joint_force=solved.load.joint_magnitude,
        steps=[scene.steps[int(s)].name for s in solved.step],
        spots=_spots(solved),
        ghost=scene.picture.ghost == "start" and count > 1,
        captions=[scene.steps[int(s)].caption for s in solved.step],
        notices=[_notice(solved, i) for i in range(count)],
        person=person_words(scene),
        person_line=_person_line(scene, solved, weight),
        model_line=MODEL_LINE,
    )  # fmt: skip


def hand_aids(scene: Scene) -> dict[str, str]:
    """Side -> what that hand presses on."""
    held = {s: getattr(scene.hands, s).holds for s in ("left", "right")}
    return {s: what for s, what in held.items() if what in AIDS}


def held_things(scene: Scene) -> dict[str, str]:
    """Side -> what that hand holds, bags too."""
    held = {s: getattr(scene.hands, s).holds for s in ("left", "right")}
    return {s: what for s, what in held.items() if what != "nothing"}


SHORT_AIDS = {"cane": "cane", "elbow crutch": "crutch", "frame": "frame"}
"""What a hand presses on, as labels say it."""


def _aid(scene: Scene, load: Load) -> str:
    """The word for what presses on a hand."""
    right = load.right is not None and bool(load.right[0])
    return SHORT_AIDS[hand_aids(scene)["right" if right else "left"]]


def _view(scene: Scene) -> str:
    side = scene.posture.stance
    return {
        "front": "Front view",
        "back": "Back view",
        "side": f"Side view, from the {side}",
        "three-quarter": f"From the front and the {side}",
        "joint": f"Into the {side} socket, the head drawn out",
    }[scene.picture.view]


def _stances(scene: Scene, solved: Solved) -> list[str]:
    """Per frame: on one leg or on both, leaning how far, the pelvis how level."""
    p, side = solved.posture, scene.posture.stance
    both = (p.share < 1.0) | (p.lifted == 0.0)
    out = []
    for i, down in enumerate(both):
        words = ["both feet down" if down else f"standing on the {side} leg"]
        lean, drop = (units.show_degrees(abs(float(v[i]))) for v in (p.lean, p.obliquity))
        if lean != units.show_degrees(0.0):
            words.append(f"trunk leans {lean}" + (" away" if p.lean[i] < 0 else ""))
        if drop != units.show_degrees(0.0):
            words.append(f"swing side of the pelvis {drop} " + ("lower" if p.obliquity[i] > 0 else "higher"))
        out.append(" · ".join(words))
    return out


def _supports(scene: Scene, solved: Solved) -> list[str]:
    """Per frame: what carries the body, in words."""
    out, held = [], [SHORT_AIDS[a] for a in hand_aids(scene).values()]
    aid = "frame" if "frame" in held else " and ".join(dict.fromkeys(held))
    if len(held) == 2 and aid in ("cane", "crutch"):
        aid = {"cane": "canes", "crutch": "crutches"}[aid]
    for i in range(len(solved.times)):
        feet = "feet" if abs(solved.stance.other_foot_force[i]) > _NOTHING else "foot"
        pressed = units.show_bw(float(np.abs(solved.stance.hand_force[i]).max()) / float(solved.body.weight.flat[0]))
        out.append(f"over {feet} and {aid}" if pressed != units.show_bw(0.0) else f"over the {feet}")
    return out


def _arrows(scene: Scene, solved: Solved, above: list[Load], weight: float) -> list[Arrow]:
    """The body's weight, the muscle, the joint, and every other force on the body above the hip."""
    arrows = [_outside(scene, solved, load, weight) for load in above]
    return [arrows[0], _muscle(solved, weight), _joint(solved, weight), *arrows[1:]]


def force_values(newtons: Array, weight: float) -> list[list[str]]:
    """Value lines of a force: body weights, then newtons."""
    return [[units.show_bw(v / weight), units.show_newtons(v)] for v in newtons]


def _outside(scene: Scene, solved: Solved, load: Load, weight: float) -> Arrow:
    """The arrow of a force from outside."""
    label, short, idle = _named(scene, load)
    values = force_values(np.linalg.norm(load.force, axis=1), weight)
    holding = "helps hold it" if load.role == HAND or load.key.startswith("bag") else "holds pelvis"
    _add_moment(values, solved.adducts(load), "drops pelvis", holding)
    side = "stance" if load.key.endswith("stance") else "swing"
    holds = "tip" if load.role == GROUND else "tail"
    return Arrow(load.key, load.role, label, load.point, load.force, holds, side, values, idle, short)


def _named(scene: Scene, load: Load) -> tuple[str, str, str]:
    """A load's label, its short name, and what is said where it is nothing."""
    if load.role == HAND:
        aid = _aid(scene, load)
        return f"{aid.capitalize()} pushes the hand up", aid, "not pressed"
    return {
        "weight": ("Weight above the hip", "weight", ""),
        "backpack": ("Backpack", "backpack", "empty"),
        "other_foot": ("Ground under the other foot", "other foot", "carries nothing"),
    }.get(load.key, ("Bag", "bag", "empty"))


def _muscle(solved: Solved, weight: float) -> Arrow:
    load = solved.load
    label, short = ("Abductor pull", "muscle") if bool(load.abducts.all()) else ("Pull of the hip muscle", "muscle")
    if load.muscles is not None:
        label, short = "All hip muscles together", "muscles"
    values = force_values(load.muscle_force, weight)
    _add_moment(values, -load.external_moment, "drops pelvis", "holds pelvis")
    origin, pull = solved.in_world(load.muscle.origin), solved.turned(load.muscle_pull)
    return Arrow("muscle", "muscle", label, origin, pull, "tail", "stance", values, "not pulling", short)


def _joint(solved: Solved, weight: float) -> Arrow:
    load = solved.load
    values = force_values(load.joint_magnitude, weight)
    for i, lines in enumerate(values):
        angle = units.show_degrees(load.joint_angle[i])
        lines[1] += ", vertical" if angle == units.show_degrees(0.0) else f", {angle} from vertical"
        earlier = np.flatnonzero(solved.step == solved.step[i] - 1)
        if len(earlier):
            lines.append(f"step before: {units.show_bw(load.joint_magnitude[earlier[-1]] / weight)}")
    return Arrow("joint", "joint", "Joint force on the socket", solved.hip_centre, solved.turned(load.joint_force),
                 "tip", "stance", values, short="joint")  # fmt: skip


def _levers(scene: Scene, solved: Solved, above: list[Load]) -> list[Dimension]:
    """Moment arms of the weight, the muscle, each hand's push and the other foot's ground."""
    weight, *others = above
    pushes = [x for x in others if x.role in (HAND, GROUND)]
    return [
        _lever(solved, weight, "weight_lever", "Lever arm of the weight", "weight's lever", WEIGHT_DROP),
        _muscle_lever(solved),
        *(_lever(solved, x, *_lever_words(scene, x), FAR_DROP) for x in pushes),
    ]


def _lever_words(scene: Scene, load: Load) -> tuple[str, str, str]:
    """Key, label and short name of a push's moment arm."""
    if load.role == GROUND:
        return "other_foot_lever", "Lever arm of the ground force", "ground's lever"
    aid = _aid(scene, load)
    return load.key.replace("cane", "cane_lever"), f"Lever arm of the {aid}", f"{aid}'s lever"


def _lever(solved: Solved, load: Load, key: str, label: str, short: str, drop: float) -> Dimension:
    """Distance of a load's line of action from the hip: level for an upright force, square to a tilted one."""
    foot = solved.lever_foot(load)
    values = [[units.show_centimetres(v)] for v in np.linalg.norm((foot - solved.hip_centre)[:, 1:], axis=1)]
    side = "stance" if load.key.endswith("stance") else "swing"
    start, drop = (load.point, drop) if load.upright else (foot, np.nan)
    return Dimension(key, load.role, label, start, solved.hip_centre, drop, side, values, short)


def _muscle_lever(solved: Solved) -> Dimension:
    line = solved.load.muscle
    flat = line.direction[:, 1:] / np.linalg.norm(line.direction[:, 1:], axis=1, keepdims=True)
    foot = line.origin.copy()
    foot[:, 1:] -= (line.origin[:, 1:] * flat).sum(axis=1, keepdims=True) * flat
    return Dimension("muscle_lever", "muscle", "Lever arm of the muscle", solved.hip_centre,
                     solved.in_world(foot * [0.0, 1.0, 1.0]), np.nan, "stance",
                     [[units.show_centimetres(abs(v))] for v in line.lever], "muscle's lever")  # fmt: skip


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
    texts = [[units.show_megapascals(p) if np.isfinite(p) else "no surface carries it"] for p in solved.peak_pressure]
    return [Spot("peak", "pressure", "Highest pressure", solved.hip_centre + radius * way, "stance", texts)]


def _turns(solved: Solved, above: list[Load]) -> list[Turn]:
    """Moments about the hip, one a role; those that turn the same way are drawn end to end."""
    moments: dict[str, Array] = {}
    for load in above:
        moments[load.role] = moments.get(load.role, 0.0) + solved.adducts(load)
    muscle = -solved.load.external_moment
    turns = [Turn("weight_turn", WEIGHT, moments.pop(WEIGHT)), Turn("muscle_turn", "muscle", muscle)]
    for role in (CARRIED, HAND, GROUND):
        if role in moments and (np.abs(moments[role]) > _NOTHING).any():
            turns.append(Turn(f"{role}_turn", role, moments[role]))
    return turns


def _add_moment(values: list[list[str]], moment: Array, adducts: str, abducts: str) -> None:
    """Say what a force's moment does, after the force itself, in each frame's value lines."""
    for lines, value in zip(values, moment, strict=True):
        word = adducts if value >= 0 else abducts
        still = units.show_moment(abs(value)) == units.show_moment(0.0)
        lines.insert(1, "does not turn the pelvis" if still else f"{word}: {units.show_moment(abs(value))}")


def _notice(solved: Solved, i: int) -> str:
    if solved.status[i] == HELD:
        return ""
    if solved.load.joint_force[i, 1] <= 0.0:
        return "Cannot be held: the joint would have to pull"
    if solved.status[i] == WOULD_FALL:
        return f"Cannot be held: the body would fall, {units.show_centimetres(solved.shortfall[i])} outside the foot"
    return f"Cannot be held: the abductors are {units.show_moment(solved.shortfall[i])} too weak"


def person_words(scene: Scene) -> str:
    """Who a scene is about: sex, mass, stature."""
    who = "Woman" if scene.person.sex == "female" else "Man"
    return f"{who}, {scene.person.mass:.4g} kg, {scene.person.stature:.2f} m"


def measured_words(scene: Scene) -> str:
    """Which hip measures a scene gives, one side after the other where they differ."""
    hips = {side: getattr(scene.person, f"{side}_hip") for side in ("right", "left")}
    given = {
        side: [
            f"{name.replace('_', ' ')} {_measure(name, value)}"
            for name in type(hip).model_fields
            if isinstance(value := getattr(hip, name), float)
        ]
        for side, hip in hips.items()
    }
    if given["right"] == given["left"]:
        return ", ".join(given["right"])
    return "; ".join(f"{side} {', '.join(some)}" for side, some in given.items() if some)


def _measure(name: str, value: float) -> str:
    angle = name.endswith(("angle", "version", "inclination"))
    return units.show_degrees(value) if angle else units.show_millimetres(value)


def _person_line(scene: Scene, solved: Solved, weight: float) -> str:
    pain = f", painful {scene.person.painful_hip} hip" if scene.person.painful_hip != "none" else ""
    scale = " All arrows to one scale." if scene.picture.view != "joint" else ""
    muscles = "" if solved.load.muscles is None else f" {solved.model.words.capitalize()}."
    return (
        f"{person_words(scene)}{pain}. Standing still. BW = body weight = {units.show_newtons(weight)}.{muscles}{scale}"
    )
