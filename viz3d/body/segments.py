"""Segment masses, centres of mass and lengths.

Question answered: how heavy is each part of this body, where along it does its weight act, how long is it?

Masses and centres of mass: de Leva 1996 (by sex), or Dempster/Winter, in which head, arms and trunk are
one segment. Mass fractions are normalised to a sum of one on loading; the printed rows stay in the table.
Joint positions: Drillis & Contini stature fractions, one source for all joints. Suprasternale is taken at
shoulder height; the trunk is divided in de Leva's proportions; mid-gonion is taken at chin height; the
head follows the trunk. Left out: tissue that moves, clothing, shoes.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from viz3d.body.person import SEXES, Array, Body
from viz3d.errors import OutOfRange
from viz3d.tables import UNSURE, Row, load_rows

CENTRAL = ("lower_trunk", "mid_trunk", "upper_trunk", "head")
ARM = ("upper_arm", "forearm", "hand")
LEG = ("thigh", "shank", "foot")
SEGMENTS = (
    *CENTRAL,
    *(f"{side}_{name}" for side in ("left", "right") for name in (*ARM, *LEG)),
    "head_arms_trunk",
)
"""All segments, in the order of every per-segment axis. The last one has mass only in Dempster's table."""


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


def bare_name(segment: str) -> str:
    """A segment's name without its side."""
    return segment.removeprefix("left_").removeprefix("right_")


def segment_rows() -> dict[str, Row]:
    """Masses, centres of mass and radii of gyration, as printed."""
    return load_rows("viz3d.body.tables", "segments.toml")


def _length_rows() -> dict[str, Row]:
    return load_rows("viz3d.body.tables", "lengths.toml")


def unsure_rows(segment_table: str, sexes: set[str]) -> list[Row]:
    """Rows in use that are from memory or assumed, for these sexes."""
    rows = [r for r in (*segment_rows().values(), *_length_rows().values()) if r.status in UNSURE]
    others = {s for s in SEXES if s not in sexes}
    rows = [r for r in rows if r.name.rsplit(".", 1)[-1] not in others]
    return [r for r in rows if segment_table == "de-leva" or not r.name.startswith("trunk-parts")]


@lru_cache
def mass_table(segment_table: str) -> Array:
    """Mass fraction and COM fraction, shape (2 sexes, segments, 2); mass fractions sum to one.

    Dempster's arms are part of his head-arms-trunk, so they carry no mass of their own here.

    References
    ----------
    de Leva 1996, J Biomech 29:1223, Table 4; Winter 2009, Table 4.1.
    """
    table = np.zeros((2, len(SEGMENTS), 2))
    for s, sex in enumerate(SEXES):
        for i, name in enumerate(SEGMENTS):
            bare = bare_name(name)
            key = f"de-leva.{sex}.{bare}" if segment_table == "de-leva" else f"dempster.{bare}"
            counted_in_trunk = segment_table == "dempster" and bare in ARM
            if key in segment_rows() and not counted_in_trunk:
                table[s, i] = segment_rows()[key].value
    table[:, :, 0] /= table[:, :, 0].sum(axis=1, keepdims=True)
    return table


def mass_fractions(body: Body) -> Array:
    """Mass fraction per segment, shape (N, segments), summing to one; added masses counted."""
    usual = mass_table(body.segment_table)[body.sex, :, 0]
    if not body.added.any():
        return np.asarray(usual)
    added = body.added / body.mass[:, None]
    return np.asarray(usual * (1.0 - added.sum(axis=1, keepdims=True)) + added)


def check_added(sex: NDArray[np.int64], mass: Array, added: Array, segment_table: str) -> None:
    """Refuse masses that would leave a segment lighter than nothing.

    Raises
    ------
    OutOfRange : the segment, what was taken off, and what it weighs.
    """
    if not added.any():
        return
    usual = mass_table(segment_table)[sex, :, 0] * mass[:, None]
    short = np.argwhere(usual + added < -1e-9)
    if len(short):
        n, s = short[0]
        own = np.broadcast_to(usual, np.broadcast_shapes(usual.shape, added.shape))[n, s]
        name = SEGMENTS[s].replace("_", " ")
        taken = -np.broadcast_to(added, (n + 1, len(SEGMENTS)))[n, s]
        raise OutOfRange(f"mass taken off the {name}", f"{taken:.2f} kg", f"at most what it weighs, {own:.2f} kg")


def com_fractions(body: Body) -> Array:
    """Centre of mass from the first-named end as a fraction of length, shape (N, segments)."""
    return np.asarray(mass_table(body.segment_table)[body.sex, :, 1])


def lengths(body: Body) -> Lengths:
    """Upright heights and lengths of this body.

    References
    ----------
    Drillis & Contini 1966, as printed in Winter 2009, Fig. 4.1.
    """
    rows, height = _length_rows(), body.stature
    part = {name: row.value * height for name, row in rows.items()}
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
        half_shoulder=part["half_shoulder_width"],
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
