"""Posture: what a person chooses to do, as arrays over situations.

Question answered: on which leg, leaning how far, holding what?

Angles are in space, so the stance leg's inclination only moves what stands above it. *Lateral* l is
measured from the stance side: positive away from the midline. Hands are named by stance: index
:data:`STANCE_HAND` (same side as the stance leg) and :data:`SWING_HAND` (the opposite one).
SI units, radians.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from viz3d.arrays import Array, Flags
from viz3d.errors import InputError
from viz3d.tables import Row, load_rows

STANCE_HAND, SWING_HAND = 0, 1


def posture_rows() -> dict[str, Row]:
    """The sourced rules of posture and cane fitting."""
    return load_rows("viz3d.kinematics", "posture.toml")


def column(default: bool | float | None, per: int = 1) -> Any:
    """A field of :class:`Posture` with its default; ``per``: 2 for one value a hand or foot."""
    return field(metadata={"default": default, "per": per})


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

    on_right: Flags = column(False)
    lean: Array = column(0.0)
    obliquity: Array = column(0.0)
    share: Array = column(1.0)
    lifted: Array = column(1.0)
    clearance: Array = column(None)
    inclination: Array = column(np.nan)
    has_cane: Flags = column(False, per=2)
    cane_force: Array = column(0.0, per=2)
    cane_tip: Array = column(np.nan, per=2)
    cane_tilt: Array = column(0.0, per=2)
    bag_mass: Array = column(0.0, per=2)
    placed_on_two: Flags = column(False)
    trunk_shift: Array = column(0.0)
    backpack: Array = column(0.0)
    stance_width: Array = column(np.nan)
    heel_lift: Array = column(0.0, per=2)
    hip_adduction: Array = column(np.nan)
    swing_abduction: Array = column(0.0)
    grip_from_middle: Array = column(np.nan, per=2)

    def __len__(self) -> int:
        return len(self.lean)

    def feet_apart(self, hips_apart: Array) -> Array:
        """Distance between the feet's midlines while both are down, (N,) m: the hips' where none was asked for."""
        return np.where(np.isnan(self.stance_width), hips_apart, self.stance_width)


def make_posture(count: int = 1, **columns: ArrayLike | None) -> Posture:
    """A batch of postures from scalars and arrays; per-hand values broadcast to (count, 2).

    Parameters
    ----------
    columns : any field of :class:`Posture`; what is left out, or None, has its default.

    Raises
    ------
    InputError : no such column.

    Examples
    --------
    >>> len(make_posture(3, lean=[0.0, 0.1, 0.2]))
    3
    """
    filled = {}
    for one in dataclasses.fields(Posture):
        default, per = one.metadata["default"], one.metadata["per"]
        given = columns.pop(one.name, None)
        value = default if given is None else given
        value = posture_rows()["swing_clearance"].value if value is None else value
        kind = bool if isinstance(default, bool) else float
        shape = (count, per) if per > 1 else (count,)
        filled[one.name] = np.broadcast_to(np.asarray(value, dtype=kind), shape).copy()
    if columns:
        raise InputError(f"unknown column of a posture: {', '.join(columns)}")
    return Posture(**filled)
