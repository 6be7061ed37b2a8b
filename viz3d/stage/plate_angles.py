"""Angles of the hip on plates: the neck against the shaft, the socket's cover.

Question answered: between which lines in space is each angle measured, and where is it drawn?

Lines lie on the bones they describe and are seen from where the view looks; the number is the angle in space. On plates
the
neck-shaft angle is drawn on the right femur, the centre-edge angle (from the vertical, in the frontal plane, to the
socket's outer edge) at the left hip. World axes of a neutral stance, metres.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.body.landmarks import femur_frame, femur_landmark
from viz3d.body.names import LEFT, RIGHT
from viz3d.body.person import Body
from viz3d.stage.camera import Camera
from viz3d.stage.drawing import Mark, Stroke
from viz3d.words.message import Amount, Message, message

_BEYOND = 0.030
"""How far lines go on beyond the bone's point that they pass, m."""
_DOWN = 0.058
"""How far down the shaft its line is drawn, m."""
_BESIDE, _GAP = 0.024, 0.006
"""How far beyond the trochanter's tip the levels of head and tip are drawn, square to the shaft, and where the distance
between them, inward of their ends, m."""
_RADIUS = 0.5
"""Where the arc lies between the corner and the nearer line's end."""


@dataclass(frozen=True)
class PlateAngle:
    """An angle (rad) at ``corner`` between the ways to two ``ends`` (2, 3), m; its arc is drawn at its ``middle``."""

    word: Message
    value: float
    corner: Array
    ends: Array

    def arc(self, steps: int = 24) -> Array:
        """Points (steps, 3) of the arc between the two lines."""
        ways = self.ends - self.corner
        length = np.linalg.norm(ways, axis=1)
        a = ways[0] / length[0]
        b = ways[1] - (ways[1] @ a) * a
        b /= np.linalg.norm(b)
        turn = np.linspace(0.0, self.value, steps)[:, None]
        return np.asarray(self.corner + _RADIUS * length.min() * (np.cos(turn) * a + np.sin(turn) * b))

    @property
    def middle(self) -> Array:
        """The middle of the arc, (3,)."""
        return np.asarray(self.arc(3)[1])

    def marks(self, camera: Camera, text: float, colours: dict[str, str]) -> list[Mark]:
        """Both lines and the arc through a camera; ``text``: height of a label, pixels."""
        lines = [np.stack([end, self.corner]) for end in self.ends]
        return [
            Stroke(camera.project(line), colours["ink"], width * text, dash, halo=0.05 * text)
            for line, width, dash in (
                (lines[0], 0.09, (0.5 * text, 0.25 * text)), (lines[1], 0.09, (0.5 * text, 0.25 * text)),
                (self.arc(), 0.12, None),
            )
        ]  # fmt: skip


def hip_angles(body: Body, frames: Mapping[str, Array]) -> list[PlateAngle]:
    """Neck-shaft angle of the right femur and centre-edge angle of the left socket, of one person.

    Parameters
    ----------
    frames : link -> (4, 4), of the stance that is drawn.
    """
    return [neck_shaft(body, RIGHT, frames[f"{RIGHT}_thigh"]), _centre_edge(body, frames[f"{LEFT}_thigh"])]


def neck_shaft(body: Body, side: str, frame: Array) -> PlateAngle:
    """A femur's neck-shaft angle; ``frame``: (4, 4) of its thigh in the world."""
    hip = body.hip(side)
    femur = femur_frame(body, hip)
    head = femur.head[0]
    beyond = head * (1.0 + _BEYOND / np.linalg.norm(head))
    drawn = femur.from_shaft(np.array([[[0.0, 0.0, 0.0], [0.0, -_DOWN, 0.0], beyond]]))[0]
    drawn = drawn * [1.0, 1.0, 1.0 if side == RIGHT else -1.0]
    corner, down, out = drawn @ frame[:3, :3].T + frame[:3, 3]
    value = float(hip.neck_shaft_angle.flat[0])
    word = message("plate_angle.neck_shaft", angle=Amount(value, "whole_angle"))
    return PlateAngle(word, value, corner, np.array([out, down]))


def trochanter_level(body: Body, side: str, frame: Array) -> tuple[float, Array]:
    """How far up along the shaft the trochanter's tip lies from the head's centre, m, and lines (3, 2, 3) that show it.

    The lines are square to the shaft in space; seen from the front they need not be parallel.

    Parameters
    ----------
    frame : (4, 4) of the thigh in the world.
    """
    hip = body.hip(side)
    femur = femur_frame(body, hip)
    corner, up, out = femur.from_shaft(np.array([[[0.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]]))[0]
    up, out = up - corner, out - corner
    tip = femur_landmark("trochanter_tip", body, hip)[0]
    high, level = float(tip @ up), tip - float(tip @ up) * up  # the head's centre is the thigh's origin
    aside = level + _BESIDE * out
    lines = np.array([
        [np.zeros(3), aside], [tip, aside + high * up], [aside - _GAP * out, aside - _GAP * out + high * up]
    ])  # fmt: skip
    drawn = lines * [1.0, 1.0, 1.0 if side == RIGHT else -1.0]
    return high, np.asarray(drawn @ frame[:3, :3].T + frame[:3, 3])


def _centre_edge(body: Body, frame: Array) -> PlateAngle:
    hip, corner = body.hip(LEFT), frame[:3, 3]
    value = float(hip.centre_edge_angle.flat[0])
    reach = float(hip.cartilage_radius.flat[0]) + _BEYOND
    ways = np.array([[0.0, 1.0, 0.0], [0.0, np.cos(value), -np.sin(value)]])
    word = message("plate_angle.centre_edge", angle=Amount(value, "whole_angle"))
    return PlateAngle(word, value, corner, corner + reach * ways)
