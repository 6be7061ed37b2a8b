"""What pulls besides the muscles that balance: passive tissue, and antagonists that are active as well.

Question answered: how much of the moment does stretched tissue take, and how much do antagonists add to it?

Both are choices of the scene, none by default. *Passive tissue* (iliotibial band, capsule, muscles at rest) resists
adduction in proportion to it, from neutral on. No measured curve of moment against adduction was at hand; the stiffness
is an estimate from where the leg comes to rest in side-lying adduction (Ober's test, mean angles, knee bent: with a
straight knee it would be a third more, with one standard deviation less of the angle more than twice as much). A scene
takes a share of that estimate; beyond the angle of rest it is extended. It pulls along the equivalent abductor's line.

*Antagonists* pull with a share of their strength: the adductors while the abductors balance, and the other way round;
where the moment passes through zero they change over at once. With one equivalent muscle their strength is a torque, in
a set it is that of the lines of the opposite group. SI.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import LEFT, SEXES
from viz3d.body.person import Body, Hip
from viz3d.body.segment_tables import SEGMENTS
from viz3d.body.segments import com_fractions, lengths, mass_fractions
from viz3d.kinematics.frontal import Stance
from viz3d.tables import load_rows
from viz3d.units import GRAVITY


def hip_adduction(stance: Stance) -> Array:
    """Adduction of the stance hip: the pelvis' obliquity and the leg's inclination together, (N,) rad."""
    return np.asarray(stance.posture.obliquity + stance.inclination)


def passive_stiffness(body: Body) -> Array:
    """Moment of all passive tissue per radian of adduction, by the estimate, (N,) N m/rad.

    Notes
    -----
    k = g (m_thigh c L + (m_shank + m_foot) L) / angle of rest, L the thigh.
    """
    rows = load_rows("viz3d.statics", "extra_pulls.toml")
    rest = np.radians([float(rows[f"resting_adduction.{sex}"].value) for sex in SEXES])[body.sex]
    thigh, shank, foot = (SEGMENTS.index(f"{LEFT}_{name}") for name in ("thigh", "shank", "foot"))
    kg, length = mass_fractions(body) * body.mass[:, None], lengths(body).thigh
    held = kg[:, thigh] * com_fractions(body)[:, thigh] + kg[:, shank] + kg[:, foot]
    return np.asarray(GRAVITY * held * length / rest)


def passive_moment(body: Body, stance: Stance, share: float) -> Array:
    """Abduction moment that passive tissue makes, (N,) N m; none in abduction."""
    return stretched_moment(body, hip_adduction(stance), share)


def stretched_moment(body: Body, adduction: Array, share: float) -> Array:
    """The same at hips adducted by angles (N,), rad."""
    if share == 0.0:
        return np.zeros(len(adduction))
    return np.asarray(share * passive_stiffness(body) * np.maximum(adduction, 0.0))


def adductor_torque(hip: Hip) -> Array:
    """Largest adduction moment, (N,) N m: the measured ratio to the abductors' at full strength."""
    return np.asarray(hip.full_torque * float(load_rows("viz3d.statics", "extra_pulls.toml")["adductor_ratio"].value))


def antagonist_moment(hip: Hip, active: Array, share: float) -> Array:
    """Moment of the antagonists against the muscles that make ``active`` (abduction positive), (N,) N m; 0 or more."""
    if share == 0.0:
        return np.zeros(len(active))
    return np.asarray(share * np.where(active >= 0.0, adductor_torque(hip), hip.abductor_torque))
