"""A free body as a sketch: forces as arrows to scale on a plain pelvis, for exercises on paper.

Question answered: where do the forces of a situation act, seen from the front, and how long are their arrows?

Page coordinates: x to the reader's right (the person's left, seen from the front), y up, millimetres, the stance hip at
the origin. Lengths of the body are drawn 1 to 4, forces 20 N to a millimetre; both at full size on paper.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.tables import read_toml
from viz3d.teach.facts import Taught
from viz3d.words.message import Message, message, newtons

NEWTONS_PER_MM = 20.0
SCALE_BAR = 500.0
"""What the scale bar stands for, N."""
_BODY = 250.0
"""Millimetres of page a metre of body."""
_HIGHEST = 60.0
"""Weights higher above the hip than this are drawn here, mm."""


@dataclass(frozen=True)
class SketchArrow:
    """A force: role (a colour), name, tail and tip (x, y) mm."""

    role: str
    name: Message
    tail: tuple[float, float]
    tip: tuple[float, float]


@dataclass(frozen=True)
class Sketch:
    """A drawn free body; ``outlines`` (P, 2) mm each, holes too; ``hips``: centres; ``bar``: mm of the scale bar."""

    arrows: tuple[SketchArrow, ...]
    outlines: tuple[Array, ...]
    hips: tuple[tuple[float, float], tuple[float, float]]
    bar: float
    bar_name: Message
    alt: Message


def free_body(at: Taught) -> Sketch:
    """The free body above the stance hip with every force on it."""
    solved, i = at.solved, at.row
    hip = solved.hip_centre[i]

    def page(point: Array) -> tuple[float, float]:
        away = (point - hip) * _BODY
        return float(-away[2]), float(away[1])

    def arrow(role: str, name: str, point: Array, force: Array, holds: str = "tail") -> SketchArrow:
        x, y = page(point)
        y = min(y, _HIGHEST)  # weights may slide along their upright lines
        long = float(-force[2]) / NEWTONS_PER_MM, float(force[1]) / NEWTONS_PER_MM
        if holds == "tip":
            return SketchArrow(role, message(f"arrow.{name}.short"), (x - long[0], y - long[1]), (x, y))
        return SketchArrow(role, message(f"arrow.{name}.short"), (x, y), (x + long[0], y + long[1]))

    others = [
        arrow(x.role, "weight" if x.role == "weight" else _thing(x.key), x.point[i], x.force[i]) for x in at.above
    ]
    muscle = solved.in_world(solved.load.muscle.origin)[i], solved.turned(solved.load.muscle_pull)[i]
    joint = solved.turned(solved.load.joint_force)[i]
    arrows = (
        *others, arrow("muscle", "muscle_any", *muscle), arrow("joint", "joint", hip, joint, "tip"),
    )  # fmt: skip
    middle = page(solved.posed.joints["middle_hip"][i])
    other = (2 * middle[0], 2 * middle[1])
    return Sketch(
        arrows, _pelvis(middle, other), ((0.0, 0.0), other), SCALE_BAR / NEWTONS_PER_MM, newtons_name(),
        message("exercise.sketch"),
    )  # fmt: skip


def newtons_name() -> Message:
    """What the scale bar says."""
    return message("exercise.bar", force=newtons(SCALE_BAR))


def _thing(key: str) -> str:
    return "cane" if key.startswith("cane") else "bag" if key.startswith("bag") else key


def _pelvis(middle: tuple[float, float], other: tuple[float, float]) -> tuple[Array, ...]:
    """The pelvis' outlines on the page, as wide and as oblique as its hips."""
    drawn = read_toml("viz3d.teach", "pelvis_outline.toml")
    across = np.array(other)
    apart = float(np.hypot(*across))
    along = across / apart * (1.0 if other[0] > 0 else -1.0)
    turn = np.array([[along[0], along[1]], [-along[1], along[0]]]) * apart / drawn["hips_apart"]
    return tuple(np.array(middle) + np.array(line) @ turn for line in drawn["outlines"])
