"""Posture: what a person chooses to do, as arrays over situations.

Question answered: on which leg, leaning how far, holding what?

Angles are in space, so the stance leg's inclination only moves what stands above it. *Lateral* l is
measured from the stance side: positive away from the midline. Hands are named by stance: index
:data:`STANCE_HAND` (same side as the stance leg) and :data:`SWING_HAND` (the opposite one).
SI units, radians. Called by :mod:`viz3d.solution`; read by statics through :mod:`viz3d.kinematics.frontal`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viz3d.body.person import Array
from viz3d.tables import Row, load_rows

STANCE_HAND, SWING_HAND = 0, 1
Flags = NDArray[np.bool_]


def posture_rows() -> dict[str, Row]:
    """The sourced rules of posture and cane fitting."""
    return load_rows("viz3d.kinematics", "posture.toml")


@dataclass(frozen=True)
class Posture:
    """A batch of postures; every array has N situations first.

    Attributes
    ----------
    on_right : (N,) True where the right leg is the stance leg.
    lean : trunk lean in space, positive towards the stance side.
    obliquity : pelvic obliquity in space, positive when the swing side is lower.
    share : part of the ground force under the stance foot; 1 in single-leg stance.
    lifted : 0 both feet down to 1 swing leg hanging free of the floor.
    clearance : gap between the lifted foot and the floor, m.
    inclination : stance leg's inclination (positive: hip outward of the foot), NaN to let balance find it.
    has_cane : (N, 2) per hand.
    cane_force : (N, 2) upward force on the hand, N; NaN to let balance find it (then inclination is given).
    cane_tip : (N, 2) distance of the tip outside the cane-side foot's midline, m; NaN for the default place.
    cane_tilt : (N, 2) tilt of the cane, handle towards the body positive; its force acts along it.
    bag_mass : (N, 2) kg hanging in the hand.
    placed_on_two : (N,) True where the cane's tip was placed while standing on both feet.
    trunk_shift : (N,) how far the trunk stands off sideways above the pelvis, towards the stance side, m.
    backpack : (N,) kg on the back.
    stance_width : (N,) distance between the feet's midlines while both are down, m; NaN for the hip spacing.
    heel_lift : (N, 2) lift under the stance and the swing foot, m.
    hip_adduction : (N,) fixed adduction of the stance hip, rad; NaN where the hip is free. Obliquity follows from it.
    swing_abduction : (N,) how far the lifted leg is held outward in space, rad.
    grip_from_middle : (N, 2) where the aid is a frame: its grip and foot beside the body's midline, m; else NaN.
    """

    on_right: Flags
    lean: Array
    obliquity: Array
    share: Array
    lifted: Array
    clearance: Array
    inclination: Array
    has_cane: NDArray[np.bool_]
    cane_force: Array
    cane_tip: Array
    cane_tilt: Array
    bag_mass: Array
    placed_on_two: Flags
    trunk_shift: Array
    backpack: Array
    stance_width: Array
    heel_lift: Array
    hip_adduction: Array
    swing_abduction: Array
    grip_from_middle: Array

    def __len__(self) -> int:
        return len(self.lean)


def make_posture(
    count: int = 1,
    *,
    on_right: ArrayLike = False,
    lean: ArrayLike = 0.0,
    obliquity: ArrayLike = 0.0,
    share: ArrayLike = 1.0,
    lifted: ArrayLike = 1.0,
    clearance: ArrayLike | None = None,
    inclination: ArrayLike = np.nan,
    has_cane: ArrayLike = False,
    cane_force: ArrayLike = 0.0,
    cane_tip: ArrayLike = np.nan,
    cane_tilt: ArrayLike = 0.0,
    bag_mass: ArrayLike = 0.0,
    placed_on_two: ArrayLike = False,
    trunk_shift: ArrayLike = 0.0,
    backpack: ArrayLike = 0.0,
    stance_width: ArrayLike = np.nan,
    heel_lift: ArrayLike = 0.0,
    hip_adduction: ArrayLike = np.nan,
    swing_abduction: ArrayLike = 0.0,
    grip_from_middle: ArrayLike = np.nan,
) -> Posture:
    """A batch of postures from scalars and arrays; per-hand values broadcast to (count, 2).

    Examples
    --------
    >>> len(make_posture(3, lean=[0.0, 0.1, 0.2]))
    3
    """
    gap = posture_rows()["swing_clearance"].value if clearance is None else clearance

    def one(value: ArrayLike) -> Array:
        return np.broadcast_to(np.asarray(value, dtype=float), (count,)).copy()

    def two(value: ArrayLike) -> Array:
        return np.broadcast_to(np.asarray(value, dtype=float), (count, 2)).copy()

    return Posture(
        np.broadcast_to(np.asarray(on_right, dtype=bool), (count,)).copy(),
        one(lean),
        one(obliquity),
        one(share),
        one(lifted),
        one(gap),
        one(inclination),
        np.broadcast_to(np.asarray(has_cane, dtype=bool), (count, 2)).copy(),
        two(cane_force),
        two(cane_tip),
        two(cane_tilt),
        two(bag_mass),
        np.broadcast_to(np.asarray(placed_on_two, dtype=bool), (count,)).copy(),
        one(trunk_shift),
        one(backpack),
        one(stance_width),
        two(heel_lift),
        one(hip_adduction),
        one(swing_abduction),
        two(grip_from_middle),
    )
