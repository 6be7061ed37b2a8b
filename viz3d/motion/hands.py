"""What hands hold while walking: where a cane stands and swings, and the arms that hold things.

Question answered: where are each cane's tip and handle over the cycle, and which angles do the arms have then?

A cane is put down with the leg it helps, ahead of the shoulder; its tip stays on the floor, which goes back under the
walker, while the hand goes forward and back by less, so that the cane turns about its tip. In the air it is brought
forward, its tip just clear of the floor. It stays in a plane along the way walked, as far outside as standing. The
elbow bends backward; what the bent arm does not reach the shoulder girdle glides. An arm with a bag hangs straight
down. World frame that moves along with the walker. SI.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.body.names import RIGHT, SIDES
from viz3d.body.person import Body
from viz3d.body.segments import lengths
from viz3d.errors import OutOfReach
from viz3d.kinematics.angles import JointAngles, between, sensed
from viz3d.kinematics.chain import Pose, pose
from viz3d.kinematics.posture import posture_rows
from viz3d.kinematics.standing import along
from viz3d.motion.change import change_rows
from viz3d.motion.cycle import Cycle, leg_ratio
from viz3d.motion.series import waves
from viz3d.motion.table import Motion

_STRAIGHT, _SOFT = 0.98, 0.01
"""Share of the arm's length beyond which the shoulder girdle glides rather than the elbow stretches, and how softly."""
_IN_THE_AIR = 0.5
"""How much a cane's height counts while it is brought forward, against while it is down: enough to keep its tip above
the floor, and the hand no higher for it."""
_BACK = np.array([-1.0, 0.0, 0.0])
_FORWARD = np.array([1.0, 0.0, 0.0])
_DOWN = np.array([0.0, -1.0, 0.0])


@dataclass(frozen=True)
class Held:
    """What a walker holds and carries; nothing by default."""

    push: dict[str, float] = field(default_factory=dict)
    """Side of the hand -> greatest upward force of its cane on the hand, N."""
    beside: dict[str, float] = field(default_factory=dict)
    """Side -> the cane's tip outside the little toe, m, where it is not the usual distance."""
    bags: dict[str, float] = field(default_factory=dict)
    """Side -> kg in the hand."""
    backpack: float = 0.0
    """Kg on the back."""

    @property
    def nothing(self) -> bool:
        return not (self.push or self.bags or self.backpack)


@dataclass(frozen=True)
class CaneWay:
    """Where one hand's cane is; N frames, world."""

    handle: Array
    """(N, 3)."""
    tip: Array
    """(N, 3)."""
    way: Array
    """(N, 3) unit vector from tip to handle."""
    pressed: Array
    """(N,) of its greatest push, 0 to 1."""
    down: Flags


@dataclass(frozen=True)
class Stick:
    """How a cane goes with a walk: all that its way over the cycle hangs on."""

    side: str
    """Of the hand."""
    start: float
    """Share of the cycle at which it comes down."""
    contact: float
    half: float
    """Half of the way of the floor while it is down, m."""
    length: float
    aside: float
    """Of the tip, to the right, m."""

    @property
    def swing(self) -> float:
        """How far the hand goes forward and back, m."""
        return float(change_rows()["cane.hand"].value) * self.half

    def ahead(self, share: Array) -> tuple[Array, Array, Array]:
        """Of hand and tip ahead of the shoulder's mean place, (F,) m each, and how far it is lifted, (F,) m."""
        since = np.mod(share - self.start, 1.0)
        hand = self.swing * np.cos(2.0 * np.pi * (since - self.contact / 2.0 + 0.25))
        gone = since / self.contact
        over = np.clip((since - self.contact) / (1.0 - self.contact), 0.0, 1.0)
        ahead = self.half - self.swing * np.sin(np.pi * self.contact)
        brought = hand - ahead * np.cos(np.pi * over)
        tip = np.where(gone < 1.0, self.half * (1.0 - 2.0 * gone), brought)
        lift = np.where(gone < 1.0, 0.0, change_rows()["cane.lift"].value * np.sin(np.pi * over) ** 2)
        return hand, tip, lift

    def height(self, share: Array, harmonics: int) -> Array:
        """Of the handle, (F,) m, as smooth as the walk, and true above all while the tip is down."""
        hand, tip, lift = self.ahead(share)
        wanted = np.sqrt(self.length**2 - (tip - hand) ** 2) + lift
        counts = np.where(np.mod(share - self.start, 1.0) < self.contact, 1.0, _IN_THE_AIR)
        shapes = waves(share, harmonics)
        found = np.linalg.lstsq(shapes * counts[:, None], wanted * counts, rcond=None)[0]
        return np.asarray(shapes @ found)


@dataclass(frozen=True)
class Holding:
    """What is held, and how each cane goes with the walk."""

    held: Held = field(default_factory=Held)
    sticks: tuple[Stick, ...] = ()

    def canes(self, posed: Pose, cycle: Cycle) -> dict[str, CaneWay]:
        """Side of the hand -> where its cane is in the poses of a walk."""
        return {stick.side: cane_way(stick, posed, cycle.share) for stick in self.sticks}


EMPTY = Holding()


def stick_of(body: Body, motion: Motion, held: Held, side: str, helped: str, walk: tuple[float, float]) -> Stick:
    """A hand's cane; ``walk``: m/s and s a cycle."""
    size, contact = lengths(body), float(change_rows()["cane.contact"].value)
    usual = float(posture_rows()["tip_beside_toe"].value)
    ratio = leg_ratio(body, motion)
    contact *= float(np.mod(motion.toe_off[helped] - motion.strike[helped], 1.0))
    out = ratio * motion.step_width / 2 + float(size.foot_breadth[0]) / 2 + held.beside.get(side, usual)
    return Stick(
        side, motion.strike[helped], contact, 0.5 * walk[0] * walk[1] * contact, float(size.wrist_crease[0]),
        out if side == RIGHT else -out,
    )  # fmt: skip


def holding(body: Body, holds: Holding, share: Array, harmonics: int, angles: JointAngles) -> JointAngles:
    """The angles of a walk (F frames) with its arms on what they hold.

    Raises
    ------
    OutOfReach : a hand cannot reach its cane.
    """
    for side in holds.held.bags:
        angles = _hanging(body, angles, side)
    for stick in holds.sticks:
        posed = pose(body, angles, np.ones(len(share), dtype=bool))
        wrist = np.empty((len(share), 3))
        wrist[:, 0] = posed.joints[f"{stick.side}_shoulder"][:, 0].mean() + stick.ahead(share)[0]
        wrist[:, 1] = stick.height(share, harmonics) + float(posture_rows()["palm_on_handle"].value)
        wrist[:, 2] = stick.aside
        angles = _reaching(body, angles, stick.side, posed, wrist)
    return angles


def cane_way(stick: Stick, posed: Pose, share: Array) -> CaneWay:
    """Where a cane is in the poses of a walk, at shares (N,) of the cycle."""
    palm = float(posture_rows()["palm_on_handle"].value)
    handle = posed.joints[f"{stick.side}_wrist"] - np.array([0.0, palm, 0.0])
    hand, tip, _ = stick.ahead(share)
    away = np.zeros_like(handle)
    away[:, 0] = hand - tip
    away[:, 1] = np.sqrt(stick.length**2 - away[:, 0] ** 2)
    way = away / stick.length
    since = np.mod(share - stick.start, 1.0) / stick.contact
    down = since < 1.0
    pressed = np.where(down, np.sin(np.pi * np.clip(since, 0.0, 1.0)), 0.0)
    return CaneWay(handle, handle - away, way, pressed, down)


def _hanging(body: Body, angles: JointAngles, side: str) -> JointAngles:
    """An arm that hangs straight down."""
    posed = pose(body, angles, np.ones(len(angles), dtype=bool))
    straight = np.broadcast_to(np.eye(3), (len(angles), 3, 3))
    return _with_arm(angles, side, posed, (straight, straight, straight), np.zeros((len(angles), 3)))


def _reaching(body: Body, angles: JointAngles, side: str, posed: Pose, wrist: Array) -> JointAngles:
    """An arm whose wrist is at a place (F, 3), the hand straight down on its handle."""
    size, shoulder = lengths(body), posed.joints[f"{side}_shoulder"]
    upper, lower = float(size.upper_arm[0]), float(size.forearm[0])
    span = wrist - shoulder
    far = np.linalg.norm(span, axis=1)
    beyond = _SOFT * np.logaddexp(0.0, (far / (upper + lower) - _STRAIGHT) / _SOFT) * (upper + lower)
    most = float(posture_rows()["shoulder_glide"].value)
    if float(beyond.max()) > most:
        raise OutOfReach(side)
    line = span / far[:, None]
    reach = far - beyond
    along_it = (reach**2 + upper**2 - lower**2) / (2.0 * reach)
    bend = _BACK - (line @ _BACK)[:, None] * line
    bend /= np.linalg.norm(bend, axis=1, keepdims=True)
    glide = line * beyond[:, None]
    moved = shoulder + glide
    elbow = moved + line * along_it[:, None] + bend * np.sqrt(upper**2 - along_it**2)[:, None]
    forward = np.broadcast_to(_FORWARD, span.shape)
    down = np.broadcast_to(_DOWN, span.shape)
    turns = (along(elbow - moved, forward), along(wrist - elbow, forward), along(down, forward))
    return _with_arm(angles, side, posed, turns, glide)


def _with_arm(
    angles: JointAngles, side: str, posed: Pose, turns: tuple[Array, Array, Array], glide: Array
) -> JointAngles:
    """Angles with one arm's parts turned so in space, and its shoulder moved by ``glide`` (F, 3)."""
    k, trunk = SIDES.index(side), posed.frames["trunk"][:, :3, :3]
    upper, fore, hand = turns
    parts = {"shoulders": between(trunk, upper), "elbows": between(upper, fore), "wrists": between(fore, hand)}
    changed = {}
    for name, found in parts.items():
        changed[name] = getattr(angles, name).copy()
        changed[name][:, k] = sensed(found, side)
    changed["shoulder_slide"] = angles.shoulder_slide.copy()
    changed["shoulder_slide"][:, k] = np.einsum("fji,fj->fi", trunk, glide)
    return dataclasses.replace(angles, **changed)
