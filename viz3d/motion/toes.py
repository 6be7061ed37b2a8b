"""How far the toes bend when a foot pushes off.

Question answered: which angle keeps the toes on the floor, not in it, while the heel rises?

No motion that is put on a body measures its toes. They bend about one line (:func:`viz3d.body.landmarks.toe_hinge`), up
by what keeps their tip at the floor's height, and by no more than they can; straight as soon as the foot is high
enough. They carry no mass of their own and change no force. Stated with the result. SI.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.body.landmarks import toe_hinge
from viz3d.body.names import SIDES
from viz3d.body.person import Body
from viz3d.body.segments import lengths
from viz3d.kinematics.angles import JointAngles
from viz3d.kinematics.chain import placed, pose
from viz3d.motion.leg import TOE, sole_points
from viz3d.tables import load_values

_SOFT = np.radians(1.0)
"""How softly a toe starts to bend."""


def toe_bend(body: Body, angles: JointAngles) -> Array:
    """Angles of the toes of both feet, (F, 2) rad, up positive."""
    posed, size = pose(body, angles, np.ones(len(angles), dtype=bool)), lengths(body)
    where = toe_hinge(size.foot, size.ankle)[0][0]
    tip = sole_points(float(size.foot[0]), float(size.ankle[0]))[TOE] - where
    long, below = float(np.hypot(tip[0], tip[1])), float(np.arctan2(tip[1], tip[0]))
    most = np.radians(load_values("viz3d.motion", "motion.toml")["most_toe_bend"])
    out = np.zeros((len(angles), len(SIDES)))
    for k, side in enumerate(SIDES):
        foot = posed.frames[f"{side}_foot"]
        height = placed(foot[:, :3, 3], foot[:, :3, :3], *where)[:, 1]
        pitch = np.arctan2(foot[:, 1, 0], foot[:, 1, 1])
        needed = np.arcsin(np.clip(-height / long, -1.0, 1.0)) - below - pitch
        out[:, k] = np.minimum(_SOFT * np.logaddexp(0.0, needed / _SOFT), most)
    return out
