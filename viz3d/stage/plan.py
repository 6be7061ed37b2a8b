"""The plan: what a picture shows, in the world, one batch over all frames, plain data.

Question answered: which meshes, arrows, lever arms, moments, words and numbers does this explanation need?

Meshes are named, never carried. Words are messages with their numbers; the theme's voice says them. Positions
(N, 3) in metres in the world frame of :mod:`viz3d.kinematics.chain`; forces in newtons.
Made by :mod:`viz3d.stage.compose`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from viz3d.arrays import Array
from viz3d.body.names import LEFT, RIGHT
from viz3d.solution.gait import Gait
from viz3d.stage.plate_angles import PlateAngle
from viz3d.words.message import Amount, Message, Said, message
from viz3d.words.voice import USUAL, Voice, vanishes

LITTLE = 0.2
"""A walk that loads the joint with less, in body weights, shows nothing that turns about it: it would be a knot."""


@dataclass(frozen=True)
class Arrow:
    """A force to scale. ``point`` is where it acts: its tail, or its tip when ``holds`` is "tip"."""

    key: str
    role: str
    label: Said
    point: Array
    force: Array
    holds: str
    side: str
    """Column of its label: "stance" or "swing" side."""
    values: list[list[Said]]
    """Per frame: the force first, then smaller lines."""
    idle: Said = ""
    """Said instead of the values where there is no force."""
    short: Said = ""
    """Its name where room is scarce."""
    told: str = ""
    """Key of what it is called inside a sentence."""

    def is_idle(self, index: int) -> bool:
        """True where the force is below half of what is shown."""
        first = self.values[index][0]
        return bool(self.idle) and isinstance(first, Amount) and vanishes(first)


@dataclass(frozen=True)
class Dimension:
    """A lever arm: from ``start`` to ``end`` (N, 3), drawn as a dimension line.

    ``drop`` metres below the hip for level dimension lines with lines of action; NaN to draw it in place.
    """

    key: str
    role: str
    label: Said
    start: Array
    end: Array
    drop: float
    side: str
    values: list[list[Said]]
    short: Said = ""
    """Its name where room is scarce."""


@dataclass(frozen=True)
class Spot:
    """A named place (N, 3) without a force: in close views, and where an angle is drawn."""

    key: str
    role: str
    label: Said
    point: Array
    side: str
    values: list[list[Said]]
    short: Said = ""
    """Its name where room is scarce."""


@dataclass(frozen=True)
class BoneAngle:
    """An angle of a bone that a scene changes: per frame its lines, and the place that is named, on its arc."""

    lines: list[PlateAngle]
    spot: Spot
    levels: list[Array]
    """Per frame: the levels of the head's centre and of the trochanter's tip, and their distance, (3, 2, 3)."""


@dataclass(frozen=True)
class Named:
    """A muscle that has a name beside the figure: its share of all muscle force, per frame.

    ``places``: view -> places on it that are seen, (K, N, 3); views that hide it are missing.
    """

    key: str
    label: Said
    values: list[list[Said]]
    places: dict[str, Array]
    role: str = "muscle"
    side: str = "stance"
    short: Said = ""


Item = Arrow | Dimension | Spot | Named
"""What has a label."""


RESTS = 0.02
"""Below this activation a muscle counts as resting."""


@dataclass(frozen=True)
class Muscle:
    """A muscle of the stance hip that is drawn: its name, and ``activation`` (N,), force over strength, 0 to 1."""

    name: str
    activation: Array

    @property
    def rests(self) -> bool:
        """True where it hardly pulls in any frame."""
        return bool((self.activation < RESTS).all())


@dataclass(frozen=True)
class Turn:
    """A moment about the hip, drawn as an arc. ``moment`` (N,) N m, positive adducts."""

    key: str
    role: str
    moment: Array


@dataclass(frozen=True)
class Pressure:
    """Pressure on the stance socket's cartilage: the lune's parameters per frame, (N,), or the horseshoe's."""

    pole: Array
    pole_pressure: Array
    edge: Array
    peak: Array
    peak_words: list[Said]
    """Per frame: the peak, or that no surface carries the force."""
    surface: str
    """"lune" or "horseshoe"."""
    displacement: Array | None
    """(N, 3) of the head on the horseshoe, Pa, pelvis frame (x forward, y up, l outward): p = max(0, d · n)."""


@dataclass(frozen=True)
class Demand:
    """What the abductors must give and what they have, (N,) each in one unit, and per frame how both are said."""

    needed: Array
    has: Array
    needed_words: list[Said]
    has_words: list[Said]
    strength: Array
    """(N,) share of full strength that is left."""


CARRIED_THINGS = ("bag", "backpack")
"""Things that come and go with their load."""


@dataclass(frozen=True)
class Plan:
    """Everything a picture or a film shows, N frames."""

    title: str
    subtitles: list[Message]
    """Per frame: view and stance."""
    frames: dict[str, Array]
    """Link -> (N, 4, 4) world transforms."""
    sign: float
    """+1 when the stance leg is the right one."""
    hip: Array
    """(N, 3) stance hip centre."""
    middle_hip: Array
    gravity_line: Array
    """(N, 3) whole-body centre of mass."""
    aids: dict[str, str]
    """Side -> what that hand holds: cane, elbow crutch, frame or bag; "middle" -> what is on the back."""
    supports: list[Message]
    """Per frame: what the body balances over."""
    body_weight: float
    arrows: list[Arrow]
    dimensions: list[Dimension]
    turns: list[Turn]
    muscles: list[Muscle]
    pressure: Pressure
    times: Array
    """(N,) seconds."""
    joint_force: Array
    """(N,) size of the joint force, N."""
    lifts: dict[str, Array]
    """Side -> (N,) height of what lies under that foot, m; none where nothing does."""
    steps: list[str]
    """Per frame: the step's name."""
    spots: list[Spot]
    """Places that the joint view names."""
    captions: list[str]
    notices: list[Said]
    """Per frame: "" or why the posture could not be held."""
    notes: list[Said]
    """Per frame: "" or what else is to be said of it, below the figure where it can be held."""
    ghost: bool
    """True where the first frame's outline stands behind."""
    person: Message
    """Sex, mass and stature."""
    person_line: Message
    model_line: Message
    dress: str = "anatomy"
    """How the person is seen: "anatomy", bones in a pale shell, or "patient", in clothes."""
    demand: Demand | None = None
    replaced: bool = False
    """True where the stance hip is a replacement: it has no cartilage whose pressure could be shown."""
    named: tuple[Named, ...] = ()
    """Muscles that have a name, the hardest-working first."""
    neck: BoneAngle | None = None
    """A femur's neck against its shaft, where steps change that."""
    gait: Gait | None = None
    """Of a body that walks: its cycle, events, ground force and footprints."""
    course: tuple[Array, Array] | None = None
    """Times (F,) in seconds and joint force (F,) in body weights of the whole film, where this plan is part of one."""

    def __len__(self) -> int:
        return len(self.hip)

    @property
    def side(self) -> str:
        """The stance side."""
        return RIGHT if self.sign > 0 else LEFT

    @property
    def flesh(self) -> str:
        """The side whose muscles are drawn, "" for none."""
        return self.side if self.muscles else ""

    def unloaded(self, i: int) -> bool:
        """True in frames of a walk in which the hip carries too little for lever arms, arcs and a ring round it."""
        return self.gait is not None and bool(self.joint_force[i] < LITTLE * self.body_weight)

    def arrow(self, key: str) -> Arrow:
        """The arrow of a key."""
        return next(a for a in self.arrows if a.key == key)

    def held_at(self, i: int) -> dict[str, str]:
        """``aids`` in frame ``i``: a bag or a backpack is there only while there is something in it."""
        stance = "right" if self.sign > 0 else "left"
        there = {a.key for a in self.arrows if not a.is_idle(i)}

        def load(side: str) -> str:
            return "backpack" if side == "middle" else "bag_stance" if side == stance else "bag_swing"

        return {s: what for s, what in self.aids.items() if what not in CARRIED_THINGS or load(s) in there}

    def empty_hands(self, i: int) -> frozenset[str]:
        """Sides whose hands hold nothing in frame ``i`` and something in another."""
        return frozenset(side for side, what in self.aids.items() if what == "bag") - frozenset(self.held_at(i))

    def shown(self, i: int, voice: Voice = USUAL) -> dict[str, Any]:
        """Every number of one frame as it is written in pictures: key -> its label and lines."""
        items: list[Arrow | Dimension] = [*self.arrows, *self.dimensions]
        told = {x.key: (x.label, x.values[i]) for x in items}
        told["peak_pressure"] = (message("peak.label"), [self.pressure.peak_words[i]])
        return {k: {"label": voice.say(label), "lines": voice.lines(lines)} for k, (label, lines) in told.items()}
