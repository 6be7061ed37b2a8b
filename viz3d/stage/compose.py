"""From a solved batch to a plan: which arrows, levers, moments and words the explanation needs.

Question answered: what does this scene show, with which numbers?

Every number shown is the solver's, formatted by :mod:`viz3d.units`. Frontal-plane results are placed in
the world at the stance hip's depth. Called by the output room.
"""

from __future__ import annotations

import numpy as np

from viz3d import units
from viz3d.body.person import Array
from viz3d.body.segments import SEGMENTS, mass_fractions
from viz3d.kinematics.chain import segment_centres
from viz3d.kinematics.frontal import cane_line_distance
from viz3d.scene.schema import AIDS, Scene
from viz3d.solution.solve import HELD, HORSESHOE, LUNE, WOULD_FALL, Solved
from viz3d.stage.muscles import drawn_muscles
from viz3d.stage.plan import Arrow, Dimension, Plan, Pressure, Spot, Turn
from viz3d.units import GRAVITY

MODEL_LINE = (
    "Static teaching model: only the muscle force that balance demands; pressure is a smooth lower bound"
    " (measured hips read several times more). Not for diagnosis, nor for choosing or fitting a walking aid."
)
WEIGHT_DROP, FAR_DROP = 0.105, 0.205
"""How far below the hip the weight's lever arm is drawn, and those of cane and ground, m."""
_NOTHING = 1e-6


def compose(scene: Scene, solved: Solved, bodies: bool = True) -> Plan:
    """The plan of a solved scene; frames are the solved situations. ``bodies``: with the muscles' bodies."""
    world = _World(solved)
    count = len(solved.times)
    arrows = [_weight(world), _muscle(world), _joint(world), *_hands(scene, world), *_other_foot(world)]
    return Plan(
        title=scene.title,
        subtitles=[f"{_view(scene)} · {stance}" for stance in _stances(scene, solved)],
        frames=solved.posed.frames,
        sign=world.sign,
        hip=world.hip,
        middle_hip=solved.posed.joints["middle_hip"],
        gravity_line=_whole_body(solved),
        aids=held_things(scene),
        supports=_supports(scene, solved),
        body_weight=world.weight,
        arrows=[a for a in arrows if a is not None],
        dimensions=[
            _weight_lever(world), _muscle_lever(world), *_cane_lever(scene, world), *_ground_lever(world)
        ],
        turns=_turns(world),
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
        spots=_spots(world),
        ghost=scene.picture.ghost == "start" and count > 1,
        captions=[scene.steps[int(s)].caption for s in solved.step],
        notices=[_notice(solved, i) for i in range(count)],
        person=person_words(scene),
        person_line=_person_line(scene, solved, world.weight),
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


def _aid(scene: Scene, world: _World, where: str) -> str:
    """The word for what the stance-side or the other hand presses on."""
    right = (world.sign > 0) == (where == "stance")
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


class _World:
    """Frontal results placed in the world; small helper that lives for one call of :func:`compose`."""

    def __init__(self, solved: Solved) -> None:
        self.solved = solved
        self.sign = 1.0 if solved.posture.on_right[0] else -1.0
        self.hip = solved.posed.joints["stance_hip"]
        self.weight = float(solved.body.weight.flat[0])
        self.centre = _free_body_centre(solved)

    def at_hip(self, lateral: Array, up: Array) -> Array:
        """A frontal point relative to the hip, in the world."""
        zero = np.zeros_like(lateral)
        return self.hip + np.stack([zero, up, self.sign * lateral], axis=-1)

    def vector(self, frontal: Array) -> Array:
        """A frontal vector (N, 2) lateral and up, in the world."""
        return np.stack([np.zeros(len(frontal)), frontal[:, 1], self.sign * frontal[:, 0]], axis=-1)

    def force_values(self, newtons: Array) -> list[list[str]]:
        """Value lines of a force: body weights, then newtons."""
        return [[units.show_bw(v / self.weight), units.show_newtons(v)] for v in newtons]


def _free_body_centre(solved: Solved) -> Array:
    """Centre of mass of the body but for the stance limb, loads not counted, (N, 3)."""
    mass, centre, load, at_load = _mass_points(solved)
    right = solved.posture.on_right
    keep = np.ones(mass.shape)
    for name in ("thigh", "shank", "foot"):
        for side, on in (("right", right), ("left", ~right)):
            keep[:, SEGMENTS.index(f"{side}_{name}")] = np.where(on, 0.0, 1.0)
    return _mean(mass * keep, centre, 0.0 * load, at_load)


def _whole_body(solved: Solved) -> Array:
    return _mean(*_mass_points(solved))


def _mass_points(solved: Solved) -> tuple[Array, Array, Array, Array]:
    centre = segment_centres(solved.body, solved.posed)
    mass = np.broadcast_to(mass_fractions(solved.body) * solved.body.mass[:, None], centre.shape[:2])
    joints = solved.posed.joints
    carried = np.stack([joints[n] for n in ("stance_wrist", "swing_wrist", "backpack")], axis=1)
    loads = np.concatenate([solved.posture.bag_mass, solved.posture.backpack[:, None]], axis=1)
    return mass, centre, loads, carried


def _mean(mass: Array, centre: Array, load: Array, at_load: Array) -> Array:
    moment = (mass[..., None] * centre).sum(axis=1) + (load[..., None] * at_load).sum(axis=1)
    return np.asarray(moment / (mass.sum(axis=1) + load.sum(axis=1))[:, None])


def _weight(world: _World) -> Arrow:
    weight = world.solved.own_weight
    force = world.vector(np.stack([np.zeros_like(weight), -weight], axis=-1))
    values = world.force_values(weight)
    _add_moment(values, weight * world.solved.own_lever, "drops pelvis", "holds pelvis")
    return Arrow(
        "weight", "weight", "Weight above the hip", world.centre, force, "tail", "swing", values, short="weight"
    )


def _muscle(world: _World) -> Arrow:
    load = world.solved.load
    pull = load.muscle_force[:, None] * load.muscle.direction
    origin = world.at_hip(load.muscle.origin[:, 0], load.muscle.origin[:, 1])
    label = "Abductor pull" if bool(load.abducts.all()) else "Pull of the hip muscle"
    if load.muscles is not None:
        label = "All hip muscles together"
    values = world.force_values(load.muscle_force)
    _add_moment(values, -load.external_moment, "drops pelvis", "holds pelvis")
    return Arrow(
        "muscle",
        "muscle",
        label,
        origin,
        world.vector(pull),
        "tail",
        "stance",
        values,
        "not pulling",
        "muscles" if load.muscles is not None else "muscle",
    )


def _joint(world: _World) -> Arrow:
    load = world.solved.load
    values = world.force_values(load.joint_magnitude)
    for i, lines in enumerate(values):
        angle = units.show_degrees(load.joint_angle[i])
        lines[1] += ", vertical" if angle == units.show_degrees(0.0) else f", {angle} from vertical"
        earlier = np.flatnonzero(world.solved.step == world.solved.step[i] - 1)
        if len(earlier):
            lines.append(f"step before: {units.show_bw(load.joint_magnitude[earlier[-1]] / world.weight)}")
    return Arrow("joint", "joint", "Joint force on the socket", world.hip, world.vector(load.joint_force),
                 "tip", "stance", values, short="joint")  # fmt: skip


def _hands(scene: Scene, world: _World) -> list[Arrow]:
    solved, arrows = world.solved, []
    for k, where in enumerate(("stance", "swing")):
        wrist = solved.posed.joints[f"{where}_wrist"]
        if solved.posture.has_cane[:, k].any():
            push = solved.stance.hand_force[:, k]
            handle = solved.stance.handle[:, k]
            at = np.stack([np.zeros(len(handle)), handle[:, 1], world.sign * handle[:, 0]], axis=-1)
            values = world.force_values(np.linalg.norm(push, axis=1))
            _add_moment(values, _hand_moment(solved, k), "drops pelvis", "helps hold it")
            label = f"{_aid(scene, world, where).capitalize()} pushes the hand up"
            arrows.append(Arrow(f"cane_{where}", "hand", label, at, world.vector(push), "tail",
                                where, values, "not pressed", _aid(scene, world, where)))  # fmt: skip
        if solved.posture.bag_mass[:, k].any():
            down = solved.posture.bag_mass[:, k] * GRAVITY
            force = world.vector(np.stack([np.zeros_like(down), -down], axis=-1))
            values = world.force_values(down)
            away = (wrist[:, 2] - world.hip[:, 2]) * world.sign
            _add_moment(values, -down * away, "drops pelvis", "helps hold it")
            arrows.append(Arrow(f"bag_{where}", "load", "Bag", wrist, force, "tail", where, values, "empty", "bag"))
    if solved.posture.backpack.any():
        at, down = solved.posed.joints["backpack"], solved.posture.backpack * GRAVITY
        force = world.vector(np.stack([np.zeros_like(down), -down], axis=-1))
        values = world.force_values(down)
        _add_moment(values, -down * (at[:, 2] - world.hip[:, 2]) * world.sign, "drops pelvis", "holds pelvis")
        arrows.append(Arrow("backpack", "load", "Backpack", at, force, "tail", "swing", values, "empty", "backpack"))
    return arrows


def _other_foot(world: _World) -> list[Arrow]:
    stance = world.solved.stance
    if not (np.abs(stance.other_foot_force) > _NOTHING).any():
        return []
    zero = np.zeros_like(stance.other_foot_force)
    at = np.stack([zero, zero, world.sign * np.broadcast_to(stance.other_foot_lateral, zero.shape)], axis=-1)
    force = world.vector(np.stack([zero, stance.other_foot_force], axis=-1))
    values = world.force_values(stance.other_foot_force)
    _add_moment(values, _ground_moment(world.solved), "drops pelvis", "holds pelvis")
    return [Arrow("other_foot", "ground", "Ground under the other foot", at, force, "tip", "swing", values,
                  "carries nothing", "other foot")]  # fmt: skip


def _weight_lever(world: _World) -> Dimension:
    lever = world.solved.own_lever
    zero = np.zeros_like(lever)
    start = np.array(world.centre)
    return Dimension("weight_lever", "weight", "Lever arm of the weight", start, world.at_hip(zero, zero), WEIGHT_DROP,
                     "swing", [[units.show_centimetres(v)] for v in lever], "weight's lever")  # fmt: skip


def _muscle_lever(world: _World) -> Dimension:
    line = world.solved.load.muscle
    along = (line.origin * line.direction).sum(axis=1)
    foot = line.origin - along[:, None] * line.direction
    zero = np.zeros(len(foot))
    return Dimension("muscle_lever", "muscle", "Lever arm of the muscle", world.at_hip(zero, zero),
                     world.at_hip(foot[:, 0], foot[:, 1]), np.nan, "stance",
                     [[units.show_centimetres(abs(v))] for v in line.lever], "muscle's lever")  # fmt: skip


def _cane_lever(scene: Scene, world: _World) -> list[Dimension]:
    """Distance of each cane's line of force from the hip: level for an upright cane, square to a tilted one."""
    solved, out = world.solved, []
    zero = np.zeros(len(solved.times))
    for k, where in enumerate(("stance", "swing")):
        if not solved.posture.has_cane[:, k].any():
            continue
        handle, tilt = solved.stance.handle[:, k], solved.posture.cane_tilt[:, k]
        tilted = bool((tilt != 0.0).any())
        start = np.stack([zero, handle[:, 1], world.sign * handle[:, 0]], axis=-1)
        if tilted:
            inward = -1.0 if k == 0 else 1.0
            along = np.stack([inward * np.sin(tilt), np.cos(tilt)], axis=-1)
            tip = np.stack([solved.stance.tip_from_hip[:, k], -solved.stance.hip_height], axis=-1)
            foot = tip - (tip * along).sum(axis=1, keepdims=True) * along
            start = world.at_hip(foot[:, 0], foot[:, 1])
        distance = np.abs(cane_line_distance(solved.stance)[:, k])
        values = [[units.show_centimetres(v)] for v in distance]
        drop = np.nan if tilted else FAR_DROP
        label = f"Lever arm of the {_aid(scene, world, where)}"
        out.append(Dimension(f"cane_lever_{where}", "hand", label, start, world.at_hip(zero, zero),
                             drop, where, values, f"{_aid(scene, world, where)}'s lever"))  # fmt: skip
    return out


def _spots(world: _World) -> list[Spot]:
    """Where the pressure is highest, for the joint view."""
    solved, pressure = world.solved, world.solved.pressure
    if solved.socket is None:
        highest = np.minimum(pressure.pole, pressure.edge)
        lateral, up = np.sin(highest), np.cos(highest)
        way = np.stack([np.zeros_like(up), up, world.sign * lateral], axis=-1)
    else:
        local = solved.socket.displacement * np.array([1.0, 1.0, world.sign])
        way = np.einsum("nij,nj->ni", solved.posed.frames["pelvis"][:, :3, :3], local)
    way = way / np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-12)
    radius = np.broadcast_to(solved.hip.cartilage_radius, len(way))[:, None]
    texts = [[units.show_megapascals(p) if np.isfinite(p) else "no surface carries it"] for p in solved.peak_pressure]
    return [Spot("peak", "pressure", "Highest pressure", world.hip + radius * way, "stance", texts)]


def _ground_lever(world: _World) -> list[Dimension]:
    """Distance of the other foot's ground force from the hip."""
    stance = world.solved.stance
    if not (np.abs(stance.other_foot_force) > _NOTHING).any():
        return []
    zero = np.zeros(len(stance.other_foot_force))
    lateral = np.broadcast_to(stance.other_foot_lateral, zero.shape)
    start = np.stack([zero, zero, world.sign * lateral], axis=-1)
    values = [[units.show_centimetres(abs(v))] for v in lateral - stance.hip_lateral]
    return [Dimension("other_foot_lever", "ground", "Lever arm of the ground force", start, world.at_hip(zero, zero),
                      FAR_DROP, "swing", values, "ground's lever")]  # fmt: skip


def _turns(world: _World) -> list[Turn]:
    """Moments about the hip; those that turn the same way are drawn end to end."""
    solved = world.solved
    weight = solved.own_weight * solved.own_lever
    loads = -GRAVITY * solved.stance.mass_moment - weight
    hand = _hand_moment(solved, 0) + _hand_moment(solved, 1)
    other = _ground_moment(solved)
    muscle = -solved.load.external_moment
    turns = [Turn("weight_turn", "weight", weight), Turn("muscle_turn", "muscle", muscle)]
    if (np.abs(loads) > _NOTHING).any():
        turns.append(Turn("load_turn", "load", loads))
    if (np.abs(hand) > _NOTHING).any():
        turns.append(Turn("hand_turn", "hand", hand))
    if (np.abs(other) > _NOTHING).any():
        turns.append(Turn("ground_turn", "ground", other))
    return turns


def _hand_moment(solved: Solved, hand: int) -> Array:
    """Moment of one hand's force about the stance hip, N m, positive adducts."""
    stance = solved.stance
    force = stance.hand_force[:, hand]
    return stance.tip_from_hip[:, hand] * force[:, 1] + stance.hip_height * force[:, 0]


def _ground_moment(solved: Solved) -> Array:
    """Moment of the other foot's ground force about the stance hip, N m, positive adducts."""
    stance = solved.stance
    return stance.other_foot_force * (stance.other_foot_lateral - stance.hip_lateral)


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
    scale = " All arrows to one scale." if scene.picture.view in ("front", "back") else ""
    muscles = "" if solved.load.muscles is None else f" {solved.model.words.capitalize()}."
    return (
        f"{person_words(scene)}{pain}. Standing still. BW = body weight = {units.show_newtons(weight)}.{muscles}{scale}"
    )
