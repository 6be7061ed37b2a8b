"""Answers as messages: what target, hold and match found, with their numbers.

Question answered: which sentences of the catalogue tell this answer?

The voice says them.
"""

from __future__ import annotations

from viz3d.questions.hold import Limit, Match
from viz3d.questions.target import Answer
from viz3d.questions.vary import Input
from viz3d.solution.notes import CANE, rare_push
from viz3d.solution.solved import HELD, TOO_WEAK
from viz3d.solution.strain import Hardest
from viz3d.words.message import (
    Amount,
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
    number,
)


def amount(what: Input, value: float, weight: float) -> Said:
    """An input's value, with the units people use; ``weight``: body weight, N."""
    if what.dimension == "force":
        return message("amount.force", force=newtons(value), share=number(100 * value / weight, 1))
    if what.dimension == "angle":
        hike = what.word == "drop" and value < 0
        return message("amount.hike", angle=angle(abs(value))) if hike else angle(value)
    return length(value) if what.dimension == "length" else Amount(float(value), "tenths_mass")


def doing(what: Input, value: float, weight: float, first: bool = False) -> Message:
    """What one does; ``first``: at the start of a sentence."""
    side = f"_{what.key.split('.')[1]}" if what.key.startswith("hands.") else ""
    return message(f"{'by_first' if first else 'by'}.{what.word}{side}", amount=amount(what, value, weight))


def target_messages(answer: Answer, weight: float) -> list[Message]:
    """The answer of a target."""
    what, name = answer.input, message(f"input_word.{answer.input.word}")
    wanted, start = (force(bw * weight, weight) for bw in (answer.wanted_bw, answer.start_bw))
    gives = message(
        "target.gives", by=doing(what, answer.best_value, weight), force=force(answer.best_bw * weight, weight)
    )
    best = joined("join.comma", [gives, message("target.at_end")]) if answer.at_end else gives
    if not answer.roots:
        least = joined("join.semicolon", [best, message("target.limited")]) if answer.limited else best
        none = message("target.none", input=name, start=start, wanted=wanted)
        return [none, message("target.least_is", best=least), *push_notes(what, [answer.best_value], weight)]
    told = [message("target.now", start=start, wanted=wanted, by=doing(what, answer.roots[0], weight))]
    if not answer.held[0]:
        told.append(message("target.weak"))
    told += push_notes(what, answer.roots[:1], weight)
    told += [message("target.other", amount=amount(what, other, weight)) for other in answer.roots[1:]]
    best_is_hard = push_notes(what, [answer.best_value], weight) if answer.best_value not in answer.roots[:1] else []
    noted = [x for x in best_is_hard if x not in told]
    return [*told, message("target.least", best=best), *noted]


def push_notes(what: Input, values: list[float], weight: float) -> list[Message]:
    """That a push on a cane is harder than people give."""
    hard = what.aid == CANE and any(value > rare_push() * weight + 1e-9 for value in values)
    return [message("target.hard_push", most=fraction(rare_push()))] if hard else []


def limit_messages(name: str, limit: Limit, weight: float) -> list[Message]:
    """Whether a step can be held; then the least that helps, one message a remedy."""
    if limit.hardest is not None:
        return [_walk_message(name, limit.hardest)]
    if limit.status == HELD:
        return [message("hold.held", step=name)]
    if limit.status == TOO_WEAK:
        told = [message("hold.weak", step=name, moment=moment(limit.missing))]
    else:
        told = [message("hold.falls", step=name, distance=length(limit.missing))]
    for remedy in limit.remedies:
        what = remedy.input
        if remedy.value is None:
            told.append(message("hold.none", input=message(f"input_word.{what.word}")))
        else:
            told.append(message("hold.least", by=doing(what, remedy.value, weight)))
            told += push_notes(what, [remedy.value], weight)
    return told


def _walk_message(name: str, most: Hardest) -> Message:
    """Whether the muscles can make every moment of a walk, and which is hardest."""
    phase = fraction(most.phase)
    if most.held:
        return message("hold.walk_held", step=name, phase=phase, share=fraction(most.effort))
    return message("hold.walk_weak", step=name, phase=phase, moment=moment(most.missing))


def match_messages(value: float, found: Match, weight: float) -> list[Message]:
    """What does the same to the joint."""
    start, joint = (force(bw * weight, weight) for bw in (found.start_bw, found.joint_bw))
    told = [message("match.takes", by=doing(found.given, value, weight, first=True), start=start, joint=joint)]
    if not found.values:
        told.append(message("match.none", input=message(f"input_word.{found.input.word}")))
    for k, other in enumerate(found.values):
        told.append(message("match.also" if k else "match.same", by=doing(found.input, other, weight)))
    return [*told, *push_notes(found.input, found.values, weight)]
