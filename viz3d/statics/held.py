"""What a walker holds, as loads: canes that push up, bags and a backpack that are moved along.

Question answered: which forces do canes, bags and a backpack put on the body over the cycle?

A cane is massless: its push goes along it, from the tip on the floor to the hand. A bag is a point at the wrist, a
backpack one at its centre: each pulls with its weight and its inertia, -m (g + a). World frame of the walk; the same
:class:`viz3d.statics.loads.Load` as standing. SI.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import RIGHT
from viz3d.kinematics.chain import Pose
from viz3d.motion.cycle import Cycle
from viz3d.motion.hands import CaneWay, Held
from viz3d.motion.series import rate
from viz3d.statics.loads import CARRIED, HAND, Load
from viz3d.units import GRAVITY

BACKPACK = "backpack"


def held_loads(held: Held, canes: dict[str, CaneWay], posed: Pose, cycle: Cycle, studied: str) -> tuple[Load, ...]:
    """Loads on the body, world frame.

    Parameters
    ----------
    canes : side of the hand -> where its cane is. studied : side of the hip studied, after which loads are named.
    """
    count, out = len(cycle.share), []
    for side, kg in held.bags.items():
        place = posed.joints[f"{side}_wrist"]
        right = np.full(count, side == RIGHT)
        out.append(Load(f"bag_{_of(side, studied)}", CARRIED, place, _dragged(kg, place, cycle), right))
    if held.backpack:
        place = posed.joints[BACKPACK]
        out.append(Load(BACKPACK, CARRIED, place, _dragged(held.backpack, place, cycle)))
    for side, cane in canes.items():
        push = held.push[side] * cane.pressed
        force = cane.way * (push / cane.way[:, 1])[:, None]
        right = np.full(count, side == RIGHT)
        out.append(Load(f"cane_{_of(side, studied)}", HAND, cane.handle, force, right, way=cane.way))
    return tuple(out)


def _of(side: str, studied: str) -> str:
    return "stance" if side == studied else "swing"


def _dragged(kg: float, place: Array, cycle: Cycle) -> Array:
    """Weight and inertia of a point mass at a place (N, 3), N."""
    speed = rate(place, cycle.frames, cycle.period)
    return np.asarray(-kg * (rate(speed, cycle.frames, cycle.period) + np.array([0.0, GRAVITY, 0.0])))
