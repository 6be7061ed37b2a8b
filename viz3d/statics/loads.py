"""The forces on the two free bodies at the hip, as one list in space.

Question answered: which forces from outside act on the body above the stance hip and on the leg below it, where, and
how do they turn the body about the hip?

A :class:`Load` is a force with its point of application. The free body above the hip carries its own weight, each thing
that is carried, each hand's force and the ground under the other foot; the stance limb below carries its own weight and
the ground under its foot (:mod:`viz3d.statics.limb`). Moments, moment arms, arrows and the printed list are all read
off these. A new load is one more function that returns one.

Hip frame: origin at the stance hip centre, x forward, y up, l outward from the stance side; so one code serves both
sides, and the world's z is the sign of the side times l. The frontal models keep every point in the plane through the
hip; the muscle set about three axes takes them all at one sourced distance ahead of it (``ahead``). A weight stands
anywhere on its vertical line of action until the posed chain gives its height. A moving body's inertia is one more
load, with a couple (:mod:`viz3d.statics.moving`). SI.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array, Flags
from viz3d.kinematics.carried import THINGS, Carried
from viz3d.kinematics.frontal import Stance
from viz3d.units import GRAVITY

WEIGHT, CARRIED, HAND, GROUND, INERTIA = "weight", "load", "hand", "ground", "inertia"
"""Roles of loads."""
SIDES = ("stance", "swing")
"""The stance side and the other one: the order of every axis over hands and feet."""


@dataclass(frozen=True)
class Load:
    """A force from outside on one of the two free bodies.

    ``point`` and ``force`` (N, 3): metres and newtons. ``right`` (N,) True where it acts on the right hand or foot,
    None for the middle of the body. ``above``: True on the body above the hip, False on the stance limb. ``way``
    (N, 3): unit vector of its line of action, also where there is no force; None for upright. ``couple`` (N, 3): a
    moment that comes with the force, N m; None for none.
    """

    key: str
    role: str
    point: Array
    force: Array
    right: Flags | None = None
    above: bool = True
    way: Array | None = None
    couple: Array | None = None

    @property
    def line(self) -> Array:
        """Unit vector of the line of action, (N, 3)."""
        return in_space(0.0, 1.0, 0.0, len(self.point)) if self.way is None else self.way

    @property
    def upright(self) -> bool:
        """True where the line of action is vertical in every situation."""
        return self.way is None or not bool(self.way[:, 2].any())

    @property
    def moment(self) -> Array:
        """Moment about the origin of the points, r x F and its couple, (N, 3) N m."""
        turn = cross(self.point, self.force)
        return turn if self.couple is None else turn + self.couple

    @property
    def adducts(self) -> Array:
        """Moment about the hip in the frontal plane, positive where it adducts, (N,) N m; points in the hip frame."""
        return np.asarray(self.point[:, 2] * self.force[:, 1] - self.point[:, 1] * self.force[:, 2])


def cross(a: Array, b: Array) -> Array:
    """a x b of (N, 3) vectors."""
    out = np.empty(np.broadcast_shapes(a.shape, b.shape))
    out[..., 0] = a[..., 1] * b[..., 2] - a[..., 2] * b[..., 1]
    out[..., 1] = a[..., 2] * b[..., 0] - a[..., 0] * b[..., 2]
    out[..., 2] = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return out


def in_space(forward: Array | float, up: Array | float, outward: Array | float, count: int) -> Array:
    """Vectors (N, 3) from their three parts, each (N,) or a number."""
    out = np.empty((count, 3))
    out[:, 0], out[:, 1], out[:, 2] = forward, up, outward
    return out


def total(loads: Iterable[Load], count: int) -> tuple[Array, Array]:
    """Sum of forces and of moments about the origin, (N, 3) each."""
    force, turn = np.zeros((count, 3)), np.zeros((count, 3))
    for load in loads:
        force += load.force
        turn += load.moment
    return force, turn


def loads_above(stance: Stance, ahead: float = 0.0, height: Array | float = 0.0) -> tuple[Load, ...]:
    """Every force from outside on the body above the stance hip, hip frame.

    Parameters
    ----------
    stance : N balanced postures.
    ahead : how far ahead of the hip all of them are taken, m.
    height : (N,) height of the free body's own centre of mass above the hip, m; 0 leaves it level with the hip.
    """
    some = [_own_weight(stance, ahead, height)]
    for k in range(len(SIDES)):
        if stance.posture.bag_mass[:, k].any():
            some.append(_bag(stance, k, ahead))
    some += [_carried(stance, thing, ahead) for thing in THINGS if thing.mass(stance.posture).any()]
    for k in range(len(SIDES)):
        if stance.posture.has_cane[:, k].any():
            some.append(_hand(stance, k, ahead))
    if stance.other_foot_force.any():
        some.append(_other_foot(stance, ahead))
    return tuple(some)


def _own_weight(stance: Stance, ahead: float, height: Array | float) -> Load:
    """Weight of the body above the hip, without what it carries."""
    count = len(stance.sine)
    point = in_space(ahead, height, stance.own_moment / stance.own_mass, count)
    return Load("weight", WEIGHT, point, in_space(0.0, -GRAVITY * stance.own_mass, 0.0, count))


def _bag(stance: Stance, k: int, ahead: float) -> Load:
    """A bag, hanging from the wrist of hand ``k``."""
    count = len(stance.sine)
    point = in_space(ahead, stance.wrist[:, k, 1], stance.wrist[:, k, 0], count)
    force = in_space(0.0, -GRAVITY * stance.posture.bag_mass[:, k], 0.0, count)
    return Load(f"bag_{SIDES[k]}", CARRIED, point, force, _right(stance, k))


def _carried(stance: Stance, thing: Carried, ahead: float) -> Load:
    """What trunk or pelvis carries."""
    count, at = len(stance.sine), stance.carried[thing.key]
    point = in_space(ahead, at[:, 1], at[:, 0], count)
    return Load(thing.key, CARRIED, point, in_space(0.0, -GRAVITY * thing.mass(stance.posture), 0.0, count))


def _hand(stance: Stance, k: int, ahead: float) -> Load:
    """The aid's push on hand ``k``, at its handle, along the aid."""
    count, tilt = len(stance.sine), stance.posture.cane_tilt[:, k]
    point = in_space(
        ahead, stance.handle[:, k, 1] - stance.hip_height, stance.handle[:, k, 0] - stance.hip_lateral, count
    )
    force = in_space(0.0, stance.hand_force[:, k, 1], stance.hand_force[:, k, 0], count)
    way = in_space(0.0, np.cos(tilt), (-1.0 if k == 0 else 1.0) * np.sin(tilt), count) if tilt.any() else None
    return Load(f"cane_{SIDES[k]}", HAND, point, force, _right(stance, k), way=way)


def _other_foot(stance: Stance, ahead: float) -> Load:
    """The ground under the other foot."""
    count = len(stance.sine)
    point = in_space(ahead, -stance.hip_height, stance.other_foot_lateral - stance.hip_lateral, count)
    return Load("other_foot", GROUND, point, in_space(0.0, stance.other_foot_force, 0.0, count), _right(stance, 1))


def _right(stance: Stance, k: int) -> Flags:
    """(N,) True where the stance side's (0) or the other side's (1) limb is the right one."""
    return stance.posture.on_right if k == 0 else ~stance.posture.on_right
