"""What was measured in people, beside what was computed.

Question answered: which published figures belong to this situation, and how do ours compare?

Figures are rows of evidence.toml, with their sources; what is said of each is in the catalogue.
"""

from __future__ import annotations

from collections.abc import Iterator

from viz3d.statics.loads import CARRIED, HAND
from viz3d.tables import Row, load_rows
from viz3d.teach.explanation import Passage, passage
from viz3d.teach.facts import Taught
from viz3d.words.message import Message, Said, angle, force, fraction, length, message, number
from viz3d.words.voice import vanishes


def measured_part(at: Taught) -> Passage:
    """The measured values beside a situation."""
    return passage("measured", list(_all(at)))


def _row(name: str) -> Row:
    return load_rows("viz3d.teach", "evidence.toml")[name]


def _told(name: str, **values: Said) -> Message:
    row = _row(name)
    source: Said = message("explain.common_practice") if row.status == "common-practice" else row.source
    return message(f"explain.measured.{name}", source=source, **values)


def _weights(share: float, at: Taught) -> Said:
    return force(share * at.weight, at.weight)


def _all(at: Taught) -> Iterator[Message]:
    posture, row = at.solved.posture, at.row
    one_leg = posture.share[row] >= 1.0 and posture.lifted[row] > 0.0
    pushed = [x for x in at.above if x.role == HAND and not vanishes(force(at.size(x), at.weight))]
    carried = [x for x in at.above if x.role == CARRIED and not vanishes(force(at.size(x), at.weight))]
    leans = not vanishes(angle(float(posture.lean[row])))
    if one_leg and not (pushed or carried or leans):
        low, high = _row("stance_joint").value
        if at.solved.gait is None:
            yield _told("stance_joint", low=_weights(low, at), high=_weights(high, at))
        yield _told("walking_joint", force=_weights(_row("walking_joint").value, at))
    if one_leg and at.muscle_force:
        yield _told("abductor_arm", lever=length(_row("abductor_arm").value))
    if pushed:
        yield from _of_push(at, str(pushed[0].key))
    if leans:
        yield _told("lean", share=fraction(_row("lean").value))
    if carried:
        yield _told("bag_opposite", share=fraction(_row("bag_opposite").value))


def _of_push(at: Taught, key: str) -> Iterator[Message]:
    mean, deviation = _row("usual_push").value
    yield _told("usual_push", mean=number(100 * mean, 1), deviation=number(100 * deviation, 1))
    if key.endswith("stance"):
        yield _told("same_side")
        return
    low, high = _row("opposite_relief").value
    yield _told("opposite_relief", low=number(low, 0), high=number(high, 0))
    yield _told("cane_left", share=fraction(_row("cane_left").value))
    usual, most = _row("cane_activity").value
    yield _told("cane_activity", usual=fraction(usual), most=fraction(most))
