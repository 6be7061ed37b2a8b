"""The words of a plan as messages: who stands how, what carries the body, what each force is called and does.

Question answered: which sentences of the catalogue does this picture need, with which numbers?

Nothing is said here: a plan holds messages, and the theme's voice says them.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.scene.posture import AIDS
from viz3d.scene.schema import Scene
from viz3d.scene.timeline import resting
from viz3d.solution.notes import notes
from viz3d.solution.solved import HELD, WOULD_FALL, Solved
from viz3d.stage.theme import voice_of
from viz3d.words.message import (
    Message,
    Said,
    angle,
    beside,
    force,
    fraction,
    joined,
    length,
    mass,
    message,
    moment,
    newtons,
    pressure,
    small_length,
    stature,
)
from viz3d.words.voice import BW_AND_N, vanishes

AID_KEYS = {"cane": "cane", "elbow crutch": "crutch", "frame": "frame"}
"""What a hand presses on -> its key in the catalogue."""
_NOTHING = 1e-6


def hand_aids(scene: Scene) -> dict[str, str]:
    """Side -> what that hand presses on."""
    held = {s: getattr(scene.hands, s).holds for s in ("left", "right")}
    return {s: what for s, what in held.items() if what in AIDS}


def view_words(scene: Scene) -> Message:
    """From where the figure is seen."""
    view, side = scene.picture.view, scene.posture.stance
    return message(f"view.{view}" if view in ("front", "back") else f"view.{view}.{side}")


def subtitles(scene: Scene, solved: Solved) -> list[Message]:
    """Per frame: view, then on one leg or on both, leaning how far, the pelvis how level."""
    if solved.phase is not None:
        return [joined("join.dot", [view_words(scene), walking_words(solved, i)]) for i in range(len(solved.phase))]
    p, view = solved.posture, view_words(scene)
    both = (p.share < 1.0) | (p.lifted == 0.0)
    out = []
    for i, down in enumerate(both):
        told = [view, message("stance.feet_down" if down else f"stance.{scene.posture.stance}")]
        lean, drop = float(p.lean[i]), float(p.obliquity[i])
        if not vanishes(angle(lean)):
            told.append(message("stance.lean_away" if lean < 0 else "stance.lean", angle=angle(abs(lean))))
        if not vanishes(angle(drop)):
            told.append(message(f"stance.{_lower_side(scene, drop, down)}", angle=angle(abs(drop))))
        out.append(joined("join.dot", told))
    return out


def _lower_side(scene: Scene, drop: float, both: bool) -> str:
    """What is said of a pelvis that is not level: of the swing side, or on both feet of the side that is lower."""
    if not both:
        return "lower" if drop > 0 else "higher"
    stance = scene.posture.stance
    return f"lower_{stance}" if drop < 0 else f"lower_{'left' if stance == 'right' else 'right'}"


PARTS = ((0.02, "heel_strike"), (0.12, "loading"), (0.31, "mid_stance"), (0.50, "late_stance"), (0.62, "push_off"),
         (1.01, "swing"))  # fmt: skip
"""Until which share of the cycle since heel strike each part of it lasts."""


def walking_words(solved: Solved, i: int) -> Message:
    """Where in the cycle the studied leg is."""
    assert solved.phase is not None
    share = float(solved.phase[i])
    part = next(name for end, name in PARTS if share < end)
    return message(f"phase.{part}.{solved.side(i)}", share=fraction(share))


def supports(scene: Scene, solved: Solved) -> list[Message]:
    """Per frame: what carries the body."""
    held = [AID_KEYS[a] for a in hand_aids(scene).values()]
    aid = "frame" if "frame" in held else "_".join(sorted(set(held)))
    if len(held) == 2 and aid in ("cane", "crutch"):
        aid = {"cane": "canes", "crutch": "crutches"}[aid]
    weight, out = float(solved.body.weight.flat[0]), []
    for i in range(len(solved.times)):
        foot = "feet" if abs(solved.stance.other_foot_force[i]) > _NOTHING else "foot"
        pressed = force(float(np.abs(solved.stance.hand_force[i]).max()), weight)
        out.append(message(f"support.{foot}" if vanishes(pressed) else f"support.{foot}_{aid}"))
    return out


def force_lines(sizes: Array, weight: float) -> list[list[Said]]:
    """Value lines of a force in each frame: in the voice's unit, then in its second one; or that there is none."""
    return [[force(v, weight), beside(v, weight)] if np.isfinite(v) else [message("force.none"), ""] for v in sizes]


def add_moment(lines: list[list[Said]], moments: Array, abducts: str, counted: bool, about: Flags) -> None:
    """Say what a force's moment does, after the force itself, in each frame's value lines.

    ``about`` (N,): where the hip is loaded enough to say what turns about it.

    ``abducts``: key of what is said where it holds the pelvis up. ``counted``: with its
    size, which patients are spared.
    """
    for some, value, said in zip(lines, moments, about, strict=True):
        if not said:
            continue
        size = moment(abs(float(value)))
        key = "adducts" if value >= 0 else abducts
        way = message(f"turn.{key}", moment=size) if counted else message(f"turn.{key}_way")
        some.insert(1, message("turn.none") if vanishes(size) else way)


def arrow_words(word: str) -> tuple[Message, Message, str]:
    """An arrow's name, its short name, and the key of what it is called inside a sentence."""
    return message(f"arrow.{word}.name"), message(f"arrow.{word}.short"), f"arrow.{word}.told"


def lever_words(word: str) -> tuple[Message, Message]:
    """A lever arm's name and its short name."""
    return message(f"lever.{word}.name"), message(f"lever.{word}.short")


def joint_direction(value: Said, tilt: float) -> Message:
    """The joint force's second value and its direction."""
    if not np.isfinite(tilt):
        return joined("join.none", [value])
    way = message("joint.vertical") if vanishes(angle(tilt)) else message("joint.angle", angle=angle(tilt))
    return joined("join.comma", [value, way])


def peak_words(pascals: float, replaced: bool = False) -> Said:
    """The highest pressure, or that there is none, or that a replaced hip's is not stated."""
    if replaced:
        return message("peak.replaced")
    return pressure(pascals) if np.isfinite(pascals) else message("peak.none")


def captions(scene: Scene, solved: Solved) -> list[str]:
    """Per frame: the step's caption once its change is complete; while it lasts its name, which concludes nothing."""
    steps = [scene.steps[int(s)] for s in solved.step]
    rests = resting(scene, solved.times, solved.step)
    return [one.caption if rest or not one.caption else one.name for one, rest in zip(steps, rests, strict=True)]


def note(scene: Scene, solved: Solved, i: int) -> Said:
    """What is to be said beside a posture, the first of its notes; "" for nothing."""
    return next(iter(notes(scene, solved, i)), "")


def notice(solved: Solved, i: int) -> Said:
    """Why a posture cannot be held, "" where it can."""
    if solved.status[i] == HELD:
        return ""
    missing = float(solved.shortfall[i])
    if solved.gait is not None:
        return message("notice.weak_walk", phase=fraction(solved.gait.hardest.phase), moment=moment(missing))
    if solved.load.joint_force[i, 1] <= 0.0:
        return message("notice.pulled")
    if solved.status[i] == WOULD_FALL:
        return message("notice.falls", distance=length(missing))
    return message("notice.weak", moment=moment(missing))


def person_words(scene: Scene) -> Message:
    """Who a scene is about: sex, mass, stature."""
    person = scene.person
    return message(f"person.{person.sex}", mass=mass(person.mass), stature=stature(person.stature))


def measured_words(scene: Scene) -> Said:
    """Which hip measures a scene gives, one side after the other where they differ."""
    hips = {side: getattr(scene.person, f"{side}_hip") for side in ("right", "left")}
    given = {
        side: [
            message("measured.one", name=message(f"measure.{name}"), value=_measure(name, value))
            for name in type(hip).model_fields
            if isinstance(value := getattr(hip, name), float)
        ]
        for side, hip in hips.items()
    }
    lists = {side: joined("join.comma", some) for side, some in given.items() if some}
    if given["right"] == given["left"]:
        return lists.get("right", "")
    return joined("join.semicolon", [message(f"measured.{side}", all=some) for side, some in lists.items()])


def _measure(name: str, value: float) -> Said:
    turned = name.endswith(("angle", "version", "inclination"))
    return angle(value) if turned else small_length(value)


def person_line(scene: Scene, weight: float) -> Message:
    """Who stands there and in which units, what shares the work, and that arrows are to scale."""
    scale = [message("figure.scale")] if scene.picture.view != "joint" else []
    still = message(f"figure.{_WAYS.get(scene.picture.view, 'walking') if passes(scene) else 'walking'}")
    still = message("figure.still") if scene.walk is None else still
    return joined("join.space", [*_about(scene, weight, still), *scale])


_WAYS = {"front": "walking_towards", "back": "walking_away", "side": "walking_past", "three-quarter": "walking_past"}
"""View -> what is said of a walker who goes over a floor that stays."""


def passes(scene: Scene) -> bool:
    """True where a walker goes over a floor that stays."""
    return scene.walk is not None and scene.walk.passes


def page_line(scene: Scene, weight: float) -> Message:
    """The same for pages, which say themselves where arrows are to scale: on which leg, too."""
    if scene.walk is not None:
        return joined("join.space", _about(scene, weight, message("figure.walking")))
    stands = scene.posture.stance if scene.posture.lifted > 0.0 else "both"
    return joined("join.space", _about(scene, weight, message(f"figure.still_{stands}")))


def _about(scene: Scene, weight: float, still: Message) -> list[Message]:
    told, pain, voice = [still], scene.person.painful_hip, voice_of(scene)
    who = "figure.person" if pain == "none" else f"figure.painful.{pain}"
    if voice.units.force == "BW":
        told.append(message("figure.weight_once"))
    else:
        kind = "figure.weight_twice" if voice.units.force == BW_AND_N else "figure.weight_plain"
        told.append(message(kind, weight=newtons(weight)))
    model = scene.model
    if model.muscles != "equivalent":
        told.append(message(f"model_sentence.{model.muscles.replace(' ', '_')}"))
    for name in ("co_contraction", "passive_tissue"):
        if getattr(model, name):
            told.append(message(f"model_sentence.{name}", share=fraction(getattr(model, name))))
    return [message(who, person=person_words(scene)), *told]
