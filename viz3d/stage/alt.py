"""A picture in words, for those who do not see it: one or two sentences made of the plan's own numbers.

Question answered: what would a person who describes this picture say?

The numbers are those of the labels. Nothing about the person's size is said, nor their name.
"""

from __future__ import annotations

from viz3d.stage.plan import Plan
from viz3d.words.message import Message, Said, joined, message
from viz3d.words.voice import USUAL, Voice


def alt_text(plan: Plan, i: int, voice: Voice = USUAL) -> str:
    """Alt text of one frame."""
    return voice.say(alt_message(plan, i))


def alt_message(plan: Plan, i: int) -> Message:
    """What is to be said of one frame."""
    levers = {d.key: d.values[i][0] for d in plan.dimensions}
    view = Message("join.comma", plan.subtitles[i].values)
    first: list[Said] = [
        message("alt.weight", view=view, weight=_told(plan, "weight", i), lever=levers["weight_lever"])
    ]
    others = [a for a in plan.arrows if a.key not in ("weight", "muscle", "joint") and not a.is_idle(i)]
    if others:
        every = joined("join.comma", [_told(plan, a.key, i) for a in others])
        first.append(message("alt.others", others=every))
    if plan.arrow("muscle").is_idle(i):
        first.append(message("alt.idle"))
    else:
        first.append(message("alt.muscle", muscle=_told(plan, "muscle", i), lever=levers["muscle_lever"]))
    force, peak = plan.arrow("joint").values[i][0], plan.pressure.peak_words[i]
    told = [joined("join.none", first), message("alt.joint", force=force, pressure=peak)]
    if plan.notices[i]:
        told.append(message("alt.notice", notice=plan.notices[i]))
    if plan.notes[i]:
        told.append(message("alt.notice", notice=plan.notes[i]))
    return joined("join.space", told)


def _told(plan: Plan, key: str, i: int) -> Message:
    """A force inside a sentence."""
    arrow = plan.arrow(key)
    return message(arrow.told, force=arrow.values[i][0])
