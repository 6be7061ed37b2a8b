"""The glossary: every term of the pictures, in the trade's word and in a patient's, and what it means.

Question answered: what is a lever arm, and what do plain pictures call it?

No word stands here: a term's two names are the entry that pictures and pages use, its meaning an entry of ``meaning``.
Bones, muscles, points and measures are those that plates and tables name.
"""

from __future__ import annotations

from dataclasses import dataclass

from viz3d.words.catalogue import catalogue, letters_alike
from viz3d.words.message import message
from viz3d.words.voice import Voice

TERMS: dict[str, dict[str, str]] = {
    "forces": {
        "bw": "term.bw", "joint": "arrow.joint.name", "weight": "arrow.weight.name",
        "muscle": "arrow.muscle_abductor.name", "cane": "arrow.cane.name", "other_foot": "arrow.other_foot.name",
        "peak": "peak.label",
    },
    "turning": {
        "lever": "term.lever", "moment": "term.moment", "relief": "term.relief", "unweighting": "term.unweighting",
        "leverage": "term.leverage", "strength": "page.set.abductors", "equivalent": "model.equivalent",
        "antagonist": "term.antagonist", "passive": "term.passive", "free_body": "term.free_body",
    },
    "standing": {
        "single_leg": "term.single_leg", "stance_hip": "term.stance_hip", "swing_side": "term.swing_side",
        "contralateral": "term.contralateral", "ipsilateral": "term.ipsilateral", "lean": "page.set.lean",
        "obliquity": "page.set.obliquity", "share": "page.set.share", "adduction": "term.adduction",
        "abduction": "term.abduction", "trendelenburg": "term.trendelenburg", "antalgic": "term.antalgic",
    },
    "measures": {
        "hip_spacing": "measure.hip_spacing", "head_radius": "measure.head_radius",
        "neck_shaft_angle": "measure.neck_shaft_angle", "version": "measure.version", "offset": "measure.offset",
        "trochanter_height": "measure.trochanter_height", "centre_edge_angle": "measure.centre_edge_angle",
        "abductor_lever": "measure.abductor_lever", "socket_inclination": "measure.socket_inclination",
        "socket_version": "measure.socket_version",
    },
}  # fmt: skip
"""Group -> meaning -> the entry that names it."""
NAMES = ("bone", "muscle", "point")
"""Sections whose entries are names in two registers, without a meaning of their own."""


@dataclass(frozen=True)
class Term:
    """One term in a language: its names in both registers, the group it belongs to, and what it means ("": a name)."""

    group: str
    trade: str
    plain: str
    meaning: str = ""

    def holds(self, word: str) -> bool:
        """True where a word stands in it, capitals and accents aside."""
        wanted = letters_alike(word)
        return any(wanted in letters_alike(text) for text in (self.trade, self.plain, self.meaning))


def glossary(language: str) -> list[Term]:
    """Every term of a language, group by group.

    Raises
    ------
    TableError : no such language.

    Examples
    --------
    >>> next(t.plain for t in glossary("en") if t.trade == "Femur")
    'Thigh bone'
    """
    trade, plain = Voice(language, "trade"), Voice(language, "plain")
    terms = [
        Term(group, _first(trade.say(message(key))), _first(plain.say(message(key))), _meaning(trade, name))
        for group, rows in TERMS.items()
        for name, key in rows.items()
    ]
    for group in NAMES:
        keys = [k for k in catalogue(language) if k.startswith(f"{group}.")]
        terms += [Term(group, _first(trade.say(message(k))), _first(plain.say(message(k)))) for k in keys]
    return terms


def _first(name: str) -> str:
    """A name as it begins a line."""
    return name[:1].upper() + name[1:]


def _meaning(voice: Voice, name: str) -> str:
    return voice.say(message(f"meaning.{name}"))
