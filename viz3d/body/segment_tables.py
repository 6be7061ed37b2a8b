"""Segments by name, and the printed shares of mass: what is known of a body before anybody stands there.

Question answered: which segments are there, which share of the mass has each, where along it does its weight act?

Mass fractions are normalised to a sum of one on loading; the printed rows stay in the table. Kept apart from the people
(:mod:`viz3d.body.person`), who are checked against it.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array
from viz3d.body.names import SEXES
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


def bare_name(segment: str) -> str:
    """A segment's name without its side."""
    return segment.removeprefix("left_").removeprefix("right_")


def segment_rows() -> dict[str, Row]:
    """Masses, centres of mass and radii of gyration, as printed."""
    return load_rows("viz3d.body.tables", "segments.toml")


def length_rows() -> dict[str, Row]:
    return load_rows("viz3d.body.tables", "lengths.toml")


def unsure_rows(segment_table: str, sexes: set[str]) -> list[Row]:
    """Rows in use that are from memory or assumed, for these sexes."""
    rows = [r for r in (*segment_rows().values(), *length_rows().values()) if r.status in UNSURE]
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
