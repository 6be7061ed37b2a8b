"""What a walking scene may not ask for: what nobody walks with here, and what a walk would not use.

Question answered: which key of a walking scene is refused, what was found, what is allowed?

The measured motion poses the body: of a posture a walk takes the side that is studied and nothing else, and of the
model nothing that finds a standing body's place fore and aft. A key that would make no difference is refused rather
than dropped without a word; a value that is the default says nothing and may stay.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from typing import Any

from viz3d.body.names import LEFT, RIGHT
from viz3d.body.person import Body
from viz3d.errors import OutOfReach, SceneError
from viz3d.scene.inputs import newtons
from viz3d.scene.posture import AIDS, PostureTable
from viz3d.scene.schema import Model, Scene
from viz3d.solution.walking import most_push
from viz3d.units import GRAVITY

UNUSED = {
    "posture": tuple(name for name in PostureTable.model_fields if name != "stance"),
    "model": ("gravity_line", "pressure_ahead", "pressure"),
}
"""Table -> its keys that a walk does not use."""
_WHY = {
    "posture": (
        "is not walked with: the measured motion poses the body", "leave it out, or set walk.change or walk.speed",
    ),
    "model": ("is not used while walking", "leave it out"),
}  # fmt: skip
_FROM = {"side": "the side", "three-quarter": "three quarters"}
Line = tuple[str, str, str]
"""Key, what was found, what is allowed."""


def refuse_walking(scene: Scene, file: str, shown: bool = True, step: int = 0) -> None:
    """Raise for a walking scene that asks for what no walk has, and for questions that vary an input of one.

    Parameters
    ----------
    scene : in force at a step. shown : False where an input is varied. step : its index, to name its own keys.

    Raises
    ------
    SceneError : the key, what was found, what is allowed.
    """
    if not shown:
        raise SceneError(file, "walk", "this question is about standing", "leave out [walk], or use viz3d walk")
    for key, found, allowed in _lines(scene):
        raise SceneError(file, _said_by(scene, key, step), found, allowed)


@contextlib.contextmanager
def telling_reach(scene: Scene, file: str, body: Body, step: int = 0) -> Iterator[None]:
    """Where a walk is solved: a hand that does not reach its cane is told by file and key.

    Raises
    ------
    SceneError : the key, what was found, what is allowed.
    """
    try:
        yield
    except OutOfReach as error:
        raise _out_of_reach(scene, file, body, error, step) from error


def _out_of_reach(scene: Scene, file: str, body: Body, error: OutOfReach, step: int) -> SceneError:
    """What to say of a walking hand that does not reach its cane, and the push with which it would.

    How far it misses is not told: the harder the push, the further the body sways, and no walk was found to measure.
    """
    hand, most = getattr(scene.hands, error.side), most_push(scene, body, error.side)
    push = newtons(hand.force, _weight(scene)) / _weight(scene)
    found = f"the {error.side} hand, pressing with {brief(100.0 * push)} %BW, cannot reach its cane"
    key = f"hands.{error.side}.{'tip_beside_toe' if most is None else 'force'}"
    allowed = "bring the tip closer" if most is None else f"allowed here: at most about {most} %BW"
    return SceneError(file, _said_by(scene, key, step), found, allowed)


def _lines(scene: Scene) -> Iterator[Line]:
    """Every reason to refuse a scene, its worst first."""
    yield from _hands(scene)
    yield from _seen(scene)
    if scene.walk is not None:
        yield from _unused(scene)


def _hands(scene: Scene) -> Iterator[Line]:
    """What nobody walks with here, and pushes beyond the body's weight."""
    weight, pushed = _weight(scene), 0.0
    for side in (LEFT, RIGHT):
        hand = getattr(scene.hands, side)
        if hand.holds == "frame":
            yield f"hands.{side}.holds", "found frame", "allowed while walking: cane, elbow crutch, bag"
        if hand.tilt:
            yield f"hands.{side}.tilt", "found a tilt", "while walking a cane turns about its tip"
        push = newtons(hand.force, weight) if hand.holds in AIDS else 0.0
        if push > weight:
            yield f"hands.{side}.force", too_hard(push, weight), allowed_push(weight)
        pushed += push
    if pushed > weight:
        yield "hands", f"found {brief(pushed / weight * 100.0)} %BW on both canes together", allowed_push(weight)


def too_hard(push: float, weight: float) -> str:
    """A push beyond the body's weight, N, as an error repeats it."""
    return f"found {brief(push / weight * 100.0)} %BW ({brief(push)} N)"


def allowed_push(weight: float) -> str:
    """The most that a hand, or both, may press with."""
    return f"allowed: at most the person's weight, 100 %BW ({weight:.0f} N)"


def brief(value: float) -> str:
    """A number of an error's line: whole, and with its power of ten where it would be long.

    Examples
    --------
    >>> brief(123.4), brief(1.5933e307)
    ('123', '1.59e+307')
    """
    return f"{value:.0f}" if abs(value) < 1e6 else f"{value:.3g}"


def _seen(scene: Scene) -> Iterator[Line]:
    """A body that passes does not fit beside its hip."""
    view, passing = scene.picture.view, scene.walk is not None and scene.walk.passes
    if passing and view in _FROM and scene.picture.framed != "whole":
        found = f"found passing, seen from {_FROM[view]} near the hip"
        yield "walk.seen", found, 'allowed with picture.frame = "whole"'


def _unused(scene: Scene) -> Iterator[Line]:
    """Keys that say something else than their default, and that a walk does not use."""
    defaults: dict[str, Any] = {"posture": PostureTable(stance=scene.posture.stance), "model": Model()}
    for table, names in UNUSED.items():
        for name in names:
            if getattr(getattr(scene, table), name) != getattr(defaults[table], name):
                yield (f"{table}.{name}", *_WHY[table])


def _said_by(scene: Scene, key: str, step: int) -> str:
    """The key as the scene says it, or the step that said it last."""
    for k in range(min(step, len(scene.steps) - 1), -1, -1):
        if key in scene.steps[k].set:
            return f"steps.{k + 1}.set.{key}"
    return key


def _weight(scene: Scene) -> float:
    return scene.person.mass * GRAVITY
