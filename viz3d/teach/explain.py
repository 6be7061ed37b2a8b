"""One situation explained: the balance in words and numbers, cause before consequence.

Question answered: what pushes, how far from the hip, which way does it turn, what must the muscle do, what does the
joint carry, why does the cane's side matter, and what was measured in people?

The parts follow the free body above the stance hip: its loads, their moments, the muscle that balances them, the vector
sum that the socket has to close. Every number is the solver's (:mod:`viz3d.teach.facts`); products and sums are printed
with their terms and were made before rounding. Trade words show the sums; plain words, for patients, leave out moments
and how hard a hand presses.
"""

from __future__ import annotations

import math

from viz3d.scene.schema import Scene
from viz3d.solution.gait import same_moment
from viz3d.solution.script import Script
from viz3d.stage.compose import load_word, muscle_word
from viz3d.stage.tell import notice, person_words, walking_words
from viz3d.statics.hip import effort
from viz3d.statics.loads import CARRIED, WEIGHT, Load
from viz3d.teach.cane_side import cane_part
from viz3d.teach.explanation import Explanation, Passage, passage, signed
from viz3d.teach.facts import Taught, both, facts, taught
from viz3d.teach.measured import measured_part
from viz3d.words.cautions import full_caution, moving
from viz3d.words.change import change_of
from viz3d.words.message import (
    Message,
    Said,
    angle,
    force,
    fraction,
    joined,
    length,
    message,
    moment,
    newtons,
)
from viz3d.words.voice import vanishes


def explain(scene: Scene, step: int, file: str = "scene") -> Explanation:
    """Explain one step of a scene.

    Parameters
    ----------
    step : counted from 0. file : what errors call the scene.

    Raises
    ------
    SceneError : the step asks for what nobody could do.
    """
    script = Script(scene, file)
    at = taught(script, step)
    parts = [_pushes(at), _turns(at), _muscle(at), _joint(at)]
    parts += [cane_part(script, step, at), _changed(script, step, at), measured_part(at)]
    return Explanation(
        scene.title, scene.steps[step].name, _person(at), tuple(p for p in parts if p and p.told), facts(at),
        tuple(full_caution(at.scene.model.counts_more, moving([at.scene.walk is not None]))),
    )  # fmt: skip


def _person(at: Taught) -> Message:
    """Who stands on which leg, or walks, and where in the cycle."""
    who = person_words(at.scene)
    if at.solved.gait is not None:
        return message("person.walking", person=who, moment=walking_words(at.solved, at.row))
    return message(f"person.on_leg.{at.scene.posture.stance}", person=who)


# ---- what pushes ----------------------------------------


def _pushes(at: Taught) -> Passage:
    own, *others = at.above
    sizes: dict[str, Said] = {"force": both(at.size(own), at.weight), "whole": newtons(at.weight)}
    told: list[Said] = [message("explain.push.weight", **sizes)]
    if at.solved.gait is not None:
        side = message(f"walk.{at.solved.side(at.row)}")
        weight = both(float(at.solved.own_weight[at.row]), at.weight)
        told = [message("explain.push.moving", side=side, own=weight, **sizes)]
    for load in others:
        word = load_word(at.scene, load)
        if vanishes(force(at.size(load), at.weight)):
            told.append(message("explain.push.idle", name=message(f"arrow.{word}.name")))
        else:
            told.append(message(f"explain.push.{word}", force=both(at.size(load), at.weight)))
    return passage("pushes", told)


# ---- how far, and which way it turns ----------------------------------------


def _turns(at: Taught) -> Passage:
    told: list[Said] = []
    for load in at.above:
        size, turn = at.size(load), at.adducts(load)
        if vanishes(force(size, at.weight)):
            continue
        values: dict[str, Said] = {
            "name": _name(load_word(at.scene, load)), "force": newtons(size),
            "lever": length(at.arm(load)), "moment": moment(abs(turn)),
        }  # fmt: skip
        way = "adducts" if turn > 0.0 else "helps" if load.role not in (WEIGHT, CARRIED) else "holds"
        told.append(message(f"explain.turn.{'none' if vanishes(moment(turn)) else way}", **values))
    total = float(at.solved.load.external_moment[at.row])
    if len(told) > 1:
        key = "none" if vanishes(moment(total)) else "adducts" if total > 0.0 else "abducts"
        terms = joined(
            "join.space",
            [signed(moment(abs(at.adducts(x))), at.adducts(x), first=n == 0) for n, x in enumerate(_turning(at))],
        )
        told.append(message(f"explain.total.{key}", terms=terms, moment=moment(abs(total))))
    return passage("turns", told)


def _turning(at: Taught) -> list[Load]:
    """The loads that turn the pelvis."""
    return [x for x in at.above if not vanishes(moment(at.adducts(x)))]


# ---- the muscle ----------------------------------------


def _muscle(at: Taught) -> Passage:
    total, pull = float(at.solved.load.external_moment[at.row]), at.muscle_force
    if not math.isfinite(pull):
        return passage("muscle", [message("explain.muscle.cannot", moment=moment(abs(total)))])
    if not pull:
        return passage("muscle", [message("explain.muscle.none")])
    across = float(math.hypot(*at.solved.load.muscle_pull[at.row][1:]))
    told: list[Said] = [
        message(
            f"explain.muscle.{_puller(at, total)}",
            moment=moment(abs(total)), lever=length(at.muscle_arm), force=both(across, at.weight),
        )
    ]  # fmt: skip
    if not vanishes(force(pull - across, at.weight)):
        told.append(message("explain.muscle.in_space", force=both(pull, at.weight)))
    if total > 0.0:
        share = fraction(float(effort(at.solved.hip, at.solved.load)[at.row]))
        told.append(message(f"explain.muscle.strength{'_set' if at.solved.load.muscles else ''}", share=share))
    if at.solved.gait is not None and at.solved.gait.hardest.held:
        most = at.solved.gait.hardest
        told.append(message("explain.muscle.hardest", phase=fraction(most.phase), share=fraction(most.effort)))
    wrong = notice(at.solved, at.row)
    return passage("muscle", told if not wrong else [*told, message("alt.notice", notice=wrong)])


def _puller(at: Taught, total: float) -> str:
    """Key of what is said of the muscle that balances."""
    word = muscle_word(at.solved)
    if word in ("muscle_all", "muscle_set"):
        return "together"
    return "abductor" if total > 0.0 else "adductor"


# ---- the joint ----------------------------------------


def _joint(at: Taught) -> Passage | None:
    size = at.joint_force
    if not math.isfinite(size):
        return None
    forward, up, outward = (float(v) for v in at.solved.load.joint_force[at.row])
    tilt = float(at.solved.load.joint_angle[at.row])
    told: list[Said] = [
        message("explain.joint.upright", parts=_components(at, 1), sum=_component(up, 1))
        if up >= 0.0
        else message("explain.joint.hangs", parts=_components(at, 1), sum=newtons(-up)),
        message("explain.joint.sideways", parts=_components(at, 2), sum=_component(outward, 2)),
    ]
    whole: dict[str, Said] = {
        "force": both(size, at.weight), "angle": angle(tilt), "up": newtons(abs(up)), "inward": newtons(abs(outward)),
    }  # fmt: skip
    if vanishes(force(forward, at.weight)):
        told.append(message("explain.joint.size", **whole))
    else:
        told.append(message("explain.joint.fore_aft", parts=_components(at, 0), sum=_component(forward, 0)))
        told.append(message("explain.joint.size_in_space", forward=newtons(abs(forward)), **whole))
    added = at.muscle_force + sum(at.size(x) for x in at.above)
    if not vanishes(force(added - size, at.weight)):
        told.append(message("explain.joint.added", added=both(added, at.weight), force=both(size, at.weight)))
    return passage("joint", told)


def _components(at: Taught, axis: int) -> Message:
    """What each force on the body above the hip adds along an axis of the hip frame (0 forward, 1 up, 2 outward)."""
    pull = at.solved.load.muscle_pull[at.row]
    named = [(load_word(at.scene, x), at.solved.turned(x.force)[at.row]) for x in at.above]
    named.append((muscle_word(at.solved), pull))
    told = [
        message("explain.joint.part", name=_name(word), size=_component(float(v[axis]), axis))
        for word, v in named
        if not vanishes(force(float(v[axis]), at.weight))
    ]
    return joined("join.comma", told) if told else message("explain.joint.nothing")


def _name(word: str) -> Message:
    """What a force is called within a sum; of a body that moves, that its weight counts with its inertia."""
    return message("explain.moving" if word == "moving_weight" else f"arrow.{word}.short")


def _component(value: float, axis: int) -> Message:
    """A part of a force along an axis, with its way in words."""
    way = (("forward", "back"), ("up", "down"), ("outward", "inward"))[axis]
    return message(f"explain.way.{way[0] if value >= 0.0 else way[1]}", size=newtons(abs(value)))


# ---- against the first step ----------------------------------------


def _changed(script: Script, step: int, at: Taught) -> Passage | None:
    if step == 0:
        return None
    first = taught(script, 0)
    if first.weight != at.weight or not (math.isfinite(first.joint_force) and math.isfinite(at.joint_force)):
        return None
    moments = [x.solved.gait.phase[x.row] for x in (first, at) if x.solved.gait is not None]
    if not same_moment(moments):
        then, now = (fraction(float(x)) for x in moments)
        return passage(
            "changed", [message("explain.changed.moment", step=script.scene.steps[0].name, before=then, now=now)]
        )
    values: dict[str, Said] = {
        "before": both(first.joint_force, first.weight), "now": both(at.joint_force, at.weight),
        "step": script.scene.steps[0].name,
    }  # fmt: skip
    change = change_of(first.joint_force, at.joint_force)
    hole = {} if change.way == "same" else change.hole
    return passage("changed", [message(f"explain.changed.{change.way}", **hole, **values)])
