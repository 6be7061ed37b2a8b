"""A scene's walk: which motion, what is changed about it, from where in the cycle, shown how fast.

Question answered: may a scene walk, and how? What it holds while walking stands under hands and load, as for standing.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from viz3d.scene.inputs import FileName, Keys
from viz3d.scene.quantities import POSING, Quantity


class WalkTable(Keys):
    """Level walking: the scene's time runs through the cycle, from the studied hip's heel strike on."""

    phase: Annotated[
        float, Quantity("fraction", "0 %", "100 %", POSING, "part of the cycle at which the scene begins")
    ] = 0.0
    shown_at: Annotated[
        float, Quantity("fraction", "0 %", "100 %", POSING, "how fast it is shown; the walk itself keeps its speed")
    ] = 1.0
    cycle_shown: (
        Annotated[
            float,
            Quantity(
                "time", "0.5 s", "60 s", POSING, "how long a cycle is shown, whatever its speed; goes before shown_at"
            ),
        ]
        | None
    ) = None
    change: Literal["none", "compensated limp", "no sway", "drop"] = Field(
        "none",
        description="the trunk sways over the painful hip, or a painful hip without sway, or the pelvis drops; of the"
        " painful hip's side, else of the stance's",
    )
    speed: Annotated[
        float,
        Quantity("fraction", "78 %", "130 %", POSING, "speed over the measured one (1.3 m/s at usual leg length)"),
    ] = 1.0
    seen: Literal["on the spot", "passing"] = Field(
        "on the spot",
        description="passing: the floor stays, with its footprints, and the person walks from edge to edge of the"
        " picture; else the picture goes along with the person",
    )
    cycles_passed: Annotated[int, Field(ge=1, le=4)] = Field(
        1, description="cycles from edge to edge while the person passes"
    )
    motion: FileName | None = Field(None, description="a motion of your own beside the scene; left out: one adult's")
    double_stance: Literal["smooth", "measured"] = Field("smooth", description="how both feet share the ground force")

    @property
    def passes(self) -> bool:
        """True where the person goes over a floor that stays."""
        return self.seen == "passing"
