"""Which muscles balance the hip: one equivalent muscle, or a set that shares the moment.

Question answered: what stands for the muscles in this solution, and how strong are they?

Made from a scene by
:mod:`viz3d.solution`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from viz3d.body.muscles import known_muscles
from viz3d.errors import InputError
from viz3d.tables import load_values

EQUIVALENT = "equivalent"
FRONTAL_SET = "frontal set"
SPATIAL_SET = "three-axis set"
MODELS = (EQUIVALENT, FRONTAL_SET, SPATIAL_SET)


SHARING_POWER: float = load_values("viz3d.statics", "model.toml")["sharing_power"]


@dataclass(frozen=True)
class MuscleModel:
    """The choice of muscle model.

    ``power`` is the exponent of the shared stresses (2 or more; inf for the least largest stress);
    ``specific_tension`` in Pa, None to let the measured abduction torque set it; ``left`` is what is left of single
    muscles' strength by name ("gluteus_medius" means all its lines); ``gravity_line`` and ``pressure_ahead`` are the
    sagittal places in metres (line of gravity ahead of the hip; centre of pressure ahead of the ankle), None for the
    sourced defaults. ``co_contraction`` is the share of their strength with which the antagonists pull against the
    muscles that balance; ``passive_tissue`` the share of the estimated passive tissue that counts
    (:mod:`viz3d.statics.extra_pulls`).

    Raises
    ------
    InputError : an unknown model, a power below 2, an unknown muscle, a share outside 0 to 1.
    """

    kind: str = EQUIVALENT
    power: float = SHARING_POWER
    specific_tension: float | None = None
    left: Mapping[str, float] = field(default_factory=dict)
    gravity_line: float | None = None
    pressure_ahead: float | None = None
    co_contraction: float = 0.0
    passive_tissue: float = 0.0

    def __post_init__(self) -> None:
        if self.kind not in MODELS:
            raise InputError(f"muscle model {self.kind!r}; allowed: {', '.join(MODELS)}")
        if not self.power >= 2.0:
            raise InputError(f"power: found {self.power:g}; allowed: 2 or more")
        for name in ("co_contraction", "passive_tissue"):
            if not 0.0 <= getattr(self, name) <= 1.0:
                raise InputError(f"{name}: found {getattr(self, name):g}; allowed: 0 to 1")
        unknown = [name for name in self.left if name not in known_muscles()]
        if unknown:
            raise InputError(f"unknown muscle {unknown[0]!r}; allowed: {', '.join(known_muscles())}")
