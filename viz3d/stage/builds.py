"""Build-ups: the pictures that add one thing after the other, and what each of them says.

Question answered: in which order does a lecturer bring a picture's parts, and which sentence goes with each?

Causes come before what they ask of muscle and joint: what a hand or the other foot carries is there before them, so
that no arrow has a size whose reason is not yet seen. Each stage has a sentence of its own, without numbers; the step's
own caption, which says what follows from all of it, comes with the last one.
"""

from __future__ import annotations

from collections.abc import Sequence

from viz3d.scene.posture import AIDS
from viz3d.scene.schema import Scene
from viz3d.stage.plan import Plan
from viz3d.words.message import Message, message

ORDER = ("bones", "weight", "lever", "cane", "muscle", "joint", "pressure", "numbers")
"""All layers in the order in which a lecturer brings them."""


def builds_of(scene: Scene) -> list[tuple[str, ...]]:
    """The layers of each picture that builds up to the whole one, as the scene lists them or in the usual order.

    A layer that the scene does not show is none of them; neither is the cane's where nothing but one leg carries.
    """
    if scene.picture.builds is not None:
        return [tuple(layers) for layers in scene.picture.builds]
    held = any(getattr(scene.hands, side).holds in AIDS for side in ("left", "right"))
    helped = held or scene.posture.share < 1.0
    order = [x for x in ORDER if x in scene.picture.shown and (x != "cane" or helped)]
    return [tuple(order[: n + 1]) for n in range(len(order))]


def stage_caption(plan: Plan, i: int, before: Sequence[str], layers: Sequence[str]) -> Message | None:
    """What a stage says of what it adds to the one before; None where that is nothing we have words for."""
    new = [x for x in ORDER if x in layers and x not in before]
    if not new:
        return None
    last = new[-1]
    if last == "cane":
        return message("build.hand" if plan.aids else "build.foot")
    if last == "weight" and any(a.role == "load" and not a.is_idle(i) for a in plan.arrows):
        return message("build.weight_and_load")
    if last == "muscle" and plan.arrow("muscle").is_idle(i):
        return message("build.no_muscle")
    return message(f"build.{last}")
