"""Segment masses, centres of mass and lengths.

Question answered: how heavy is each part of this body, where along it does its weight act, how long is it?

Masses and centres of mass: de Leva 1996 (by sex), or Dempster/Winter, in which head, arms and trunk are
one segment. Mass fractions are normalised to a sum of one on loading; the printed rows stay in the table.
Joint positions: Drillis & Contini stature fractions, one source for all joints but the shoulders: their printed width
is that over the upper arms; here they lie below the measured acromions. Suprasternale is taken at shoulder height; the
trunk is divided in de Leva's proportions; mid-gonion is taken at chin height; the head follows the trunk. Left out:
tissue that moves, clothing, shoes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import SEXES
from viz3d.body.person import Body
from viz3d.body.segment_tables import CENTRAL, SEGMENTS, length_rows, mass_table, segment_rows


@dataclass(frozen=True)
class Lengths:
    """Heights above the floor and lengths of a body standing upright, metres, each (N,)."""

    ankle: Array
    knee: Array
    hip: Array
    omphalion: Array
    xiphion: Array
    shoulder: Array
    chin: Array
    vertex: Array
    half_shoulder: Array
    upper_arm: Array
    forearm: Array
    hand: Array
    """Wrist to third metacarpal head."""
    foot: Array
    foot_breadth: Array

    @property
    def thigh(self) -> Array:
        """Hip to knee."""
        return self.hip - self.knee

    @property
    def shank(self) -> Array:
        """Knee to ankle."""
        return self.knee - self.ankle

    @property
    def wrist_crease(self) -> Array:
        """Height of the wrist of the hanging arm."""
        return self.shoulder - self.upper_arm - self.forearm


def mass_fractions(body: Body) -> Array:
    """Mass fraction per segment, shape (N, segments), summing to one; added masses counted."""
    usual = mass_table(body.segment_table)[body.sex, :, 0]
    if not body.added.any():
        return np.asarray(usual)
    added = body.added / body.mass[:, None]
    return np.asarray(usual * (1.0 - added.sum(axis=1, keepdims=True)) + added)


def com_fractions(body: Body) -> Array:
    """Centre of mass from the first-named end as a fraction of length, shape (N, segments)."""
    return np.asarray(mass_table(body.segment_table)[body.sex, :, 1])


def lengths(body: Body) -> Lengths:
    """Upright heights and lengths of this body.

    References
    ----------
    Drillis & Contini 1966, as printed in Winter 2009, Fig. 4.1.
    """
    rows, height = length_rows(), body.stature
    part = {name: row.value * height for name, row in rows.items()}
    apart = np.array([rows[f"half_shoulder_width.{s}"].value for s in SEXES])[body.sex]
    shares = np.array([segment_rows()[f"trunk-parts.{s}"].value for s in SEXES])[body.sex]
    hand = np.array([segment_rows()[f"hand-length.{s}"].value for s in SEXES])[body.sex]
    trunk = part["shoulder_height"] - part["hip_height"]
    omphalion = part["hip_height"] + shares[:, 2] * trunk
    return Lengths(
        ankle=part["ankle_height"],
        knee=part["knee_height"],
        hip=part["hip_height"],
        omphalion=omphalion,
        xiphion=omphalion + shares[:, 1] * trunk,
        shoulder=part["shoulder_height"],
        chin=part["chin_height"],
        vertex=height,
        half_shoulder=apart * height,
        upper_arm=part["upper_arm"],
        forearm=part["forearm"],
        hand=hand * height,
        foot=part["foot_length"],
        foot_breadth=part["foot_breadth"],
    )


def central_com_heights(body: Body) -> Array:
    """Heights of the centres of mass of the central segments above the floor when upright.

    Returns
    -------
    (N, 5) metres: lower trunk, middle trunk, upper trunk, head, head-arms-trunk.
    """
    size, com = lengths(body), com_fractions(body)
    at = {name: com[:, SEGMENTS.index(name)] for name in (*CENTRAL, "head_arms_trunk")}
    top_down = {
        "lower_trunk": (size.omphalion, size.hip),
        "mid_trunk": (size.xiphion, size.omphalion),
        "upper_trunk": (size.shoulder, size.xiphion),
        "head": (size.vertex, size.chin),
        "head_arms_trunk": (size.hip, size.shoulder),
    }
    heights = [first + at[name] * (second - first) for name, (first, second) in top_down.items()]
    return np.stack(np.broadcast_arrays(*heights), axis=-1)
