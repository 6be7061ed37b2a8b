"""Replacement hips on paper: what a stem, a neck and a cup change of a person's own hip.

Question answered: with this choice, how do offset, trochanter height, hip centre and leg length differ from the own?

Each choice is a few changes of ``tables/replacement.toml``. A longer neck moves the head along the neck: outward, which
adds offset, and upward, which lowers the trochanter against it and lengthens the leg. Left out: the implant's shape,
its fit in bone, stability, wear. For teaching; no operation can be planned with it. SI.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from viz3d.arrays import Array
from viz3d.tables import load_values

Choice = Literal[
    "own hip", "high offset", "offset lost", "longer neck", "shorter neck", "deep cup", "deep cup, high offset",
    "shallow cup",
]  # fmt: skip
OWN: Choice = "own hip"
CHOICES: dict[Choice, tuple[str, ...]] = {
    OWN: (),
    "high offset": ("stem.more_offset",),
    "offset lost": ("stem.less_offset",),
    "longer neck": ("neck.longer",),
    "shorter neck": ("neck.shorter",),
    "deep cup": ("cup.inward",),
    "deep cup, high offset": ("cup.inward", "stem.more_offset"),
    "shallow cup": ("cup.outward",),
}
"""Choice -> rows of the table that it takes."""


@dataclass(frozen=True)
class Change:
    """What a choice adds to a hip, m: offset, length along the neck, hip centre outward."""

    offset: float = 0.0
    neck: float = 0.0
    outward: float = 0.0

    def applied(self, values: dict[str, Array]) -> dict[str, Array]:
        """A hip's values with the change; ``neck_shaft_angle`` in radians, lengths in metres."""
        angle = values["neck_shaft_angle"]
        rise = -self.neck * np.cos(angle)
        return values | {
            "offset": values["offset"] + self.offset + self.neck * np.sin(angle),
            "trochanter_height": values["trochanter_height"] - rise,
            "shortening": values["shortening"] - rise,
            "socket_out": values["socket_out"] + self.outward,
        }


def change_of(choice: Choice) -> Change:
    """The change of a choice."""
    of = load_values("viz3d.body.tables", "replacement.toml")
    sums = {"stem": 0.0, "neck": 0.0, "cup": 0.0}
    for row in CHOICES[choice]:
        sums[row.split(".")[0]] += of[row] * 1e-3
    return Change(sums["stem"], sums["neck"], sums["cup"])
