"""What inputs and outputs are called, and in which units a voice shows them.

Question answered: by which factor does a stored number become the one that is read, and what stands beside it?

Stored are %BW for inputs that are forces, BW for outputs, degrees, kg, cm and MPa. Called by charts and by the table of
spreads.
"""

from __future__ import annotations

from dataclasses import dataclass

from viz3d.units import UNITS
from viz3d.words.message import Message, message
from viz3d.words.voice import Voice

INPUTS = {"cane": "force", "lean": "angle", "drop": "angle", "bag": "mass", "mass": "mass", "lever": "length"}
OUTPUTS = {"joint_force_bw": "force", "muscle_force_bw": "force", "muscle_lever_cm": "length",
           "weight_lever_cm": "length", "peak_pressure_MPa": "pressure", "relief": "number"}  # fmt: skip
"""Name -> dimension."""


@dataclass(frozen=True)
class Axis:
    """What stands on an axis: its label, and the factor from the stored unit to the shown one."""

    label: Message
    factor: float


def axis_of(name: str, voice: Voice, weight: float) -> Axis:
    """The axis of an input or an output as a voice says it; ``weight``: body weight, N."""
    kind, is_input = {**OUTPUTS, **INPUTS}[name], name in INPUTS
    unit, factor = {"angle": "degrees", "pressure": "MPa"}.get(kind, ""), 1.0
    if kind == "force":
        one, _, unit = voice.force_axis(weight)
        factor = weight / one / (100.0 if is_input else 1.0)
        if is_input and voice.in_weights:
            unit, factor = "percent_BW", 1.0
    elif kind == "mass":
        unit, factor = voice.units.mass, 1.0 / UNITS["mass"][voice.units.mass]
    elif kind == "length":
        unit, factor = voice.units.length, 0.01 / UNITS["length"][voice.units.length]
    key = f"input.{name}" if is_input else f"output.{name}"
    return Axis(message(key, unit=message(f"unit.{unit}")) if unit else message(key), factor)
