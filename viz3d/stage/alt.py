"""A picture in words, for those who do not see it: one or two sentences made of the plan's own numbers.

Question answered: what would a person who describes this picture say?

The strings are those of the labels. Nothing about the person's size is said, nor their name. Called by every writer.
"""

from __future__ import annotations

from viz3d.stage.plan import Plan
from viz3d.words.voice import USUAL, Voice


def alt_text(plan: Plan, i: int, voice: Voice = USUAL) -> str:
    """Alt text of one frame."""
    view = plan.subtitles[i].replace(" · ", ", ")
    numbers = plan.shown(i)
    lever = numbers["weight_lever"]["lines"][0]
    first = f"{view}: {_force(plan, 'weight', i)} acts {lever} from the hip"
    others = [a for a in plan.arrows if a.key not in ("weight", "muscle", "joint") and not a.is_idle(i)]
    if others:
        first += ", with " + ", ".join(_force(plan, a.key, i) for a in others)
    if plan.arrow("muscle").is_idle(i):
        first += "; the muscle does not pull."
    else:
        first += f"; {_force(plan, 'muscle', i)} balances it {numbers['muscle_lever']['lines'][0]} from the hip."
    joint = _force(plan, "joint", i)
    second = f"{joint[0].upper()}{joint[1:]}, the highest pressure {numbers['peak_pressure']['lines'][0]}."
    return f"{first} {second}" + (f" {plan.notices[i]}." if plan.notices[i] else "")


def _force(plan: Plan, key: str, i: int) -> str:
    arrow = plan.arrow(key)
    name = arrow.label[0].lower() + arrow.label[1:]
    return f"{name} {arrow.values[i][0]}"
