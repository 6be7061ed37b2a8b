"""Girths of the drawn person: how wide the body's outline is at each level, by sex and body mass index.

Question answered: how much wider than the drawn body of 22 kg/m² is this person at the waist, the hips, the thigh?

A girth grows linearly with body mass index, each at its own slope: the waist most, the ankle hardly. From memory of
adult surveys; the outline is drawn by them and no force depends on them. SI.
"""

from __future__ import annotations

from viz3d.body.names import SEXES
from viz3d.body.person import Body
from viz3d.tables import load_values

USUAL = 22.0
"""Body mass index of the drawn body, kg/m²."""
LEVELS = (
    "neck", "chest", "waist", "hip", "thigh", "calf", "ankle", "upper_arm", "forearm", "wrist",
)  # fmt: skip
_RANGE = (16.0, 45.0)
"""Body mass indices within which the outline follows; beyond, it stays at the end."""
_STATURE = 1.70


def girths(body: Body) -> dict[str, float]:
    """Girth at every level, m, of one person (first of the batch)."""
    return {name: girth * float(body.stature[0]) / _STATURE for name, girth in _at_drawn_stature(body, None).items()}


def widening(body: Body) -> dict[str, float]:
    """Girth over that of the drawn body of the same sex and stature, by level."""
    here, drawn = _at_drawn_stature(body, None), _at_drawn_stature(body, USUAL)
    return {name: here[name] / drawn[name] for name in LEVELS}


def _at_drawn_stature(body: Body, index: float | None) -> dict[str, float]:
    rows, sex = load_values("viz3d.body.tables", "girths.toml"), SEXES[int(body.sex[0])]
    own = float(body.mass[0] / body.stature[0] ** 2)
    more = min(max(own if index is None else index, _RANGE[0]), _RANGE[1]) - USUAL
    return {name: rows[f"{name}.{sex}"] + rows[f"{name}_slope.{sex}"] * more for name in LEVELS}
