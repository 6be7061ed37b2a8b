"""A planar free body worked out from a record's list of forces, in its own arithmetic: what answers are compared with."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

ABOVE = "body above the hip"


def vector(point: dict[str, float]) -> Any:
    """A record's vector: forward, up, to the person's right."""
    return np.array([point["forward"], point["up"], point["right"]])


def planar(record: dict[str, Any]) -> dict[str, float]:
    """Moment, muscle force and lever, joint force and its slope, seen from the front.

    The muscle's force is not read: it is what its line must pull to balance the moment of the loads.
    """
    hip, out = vector(record["hip_centre_m"]), 1.0 if record["hip"] == "right" else -1.0
    loads = [x for x in record["loads"] if x["on"] == ABOVE and x["force"] not in ("muscle", "joint")]
    muscle = next(x for x in record["loads"] if x["on"] == ABOVE and x["force"] == "muscle")

    def turn(point: Any, force: Any) -> float:
        away = point - hip
        return float(out * (away[2] * force[1] - away[1] * force[2]))

    total = sum(turn(vector(x["point_m"]), vector(x["force_N"])) for x in loads)
    pull = vector(muscle["force_N"])
    size = float(np.hypot(pull[1], pull[2]))
    way = pull / size if size > 1e-9 else np.array([0.0, -1.0, 0.0])
    lever = -turn(vector(muscle["point_m"]), way)
    needed = total / lever if abs(lever) > 1e-9 else 0.0
    whole = sum(vector(x["force_N"]) for x in loads) + needed * way
    return {
        "moment": total, "lever": abs(lever), "muscle": needed, "slope": math.atan2(abs(way[2]), abs(way[1])),
        "joint": float(np.hypot(whole[1], whole[2])), "in_space": float(np.linalg.norm(whole)), "tilt": math.atan2(out * float(whole[2]), -float(whole[1])),
    }  # fmt: skip
