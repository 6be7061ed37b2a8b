"""Moments of inertia of the body's segments about their own centres of mass.

Question answered: how hard is each part of this body to turn?

A segment's principal moment is m (r L)², with r its radius of gyration as a fraction of its length L. Tables: de Leva
1996 by sex, three radii; or Winter 2009 (Dempster), who prints one, about the axes across the segment, so that de
Leva's is taken about the long axis there (his whole trunk's for head, arms and trunk as one).

Axes: those of the segment's ISB frame, x forward, y up, z right, in the anatomical position. The tables' sagittal axis
runs from back to front, the transverse one from side to side, the longitudinal one along the segment: x, z, y in that
order, but for the foot, which lies along x: there longitudinal is x and sagittal y. Left out: products of inertia (the
principal axes are taken along the frame's), soft tissue that moves, and a turn of the forearm, which carries its axes
along. Added masses are points at the segment's centre of mass: they add none. kg m².
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from viz3d.arrays import Array
from viz3d.body.names import SEXES
from viz3d.body.person import Body
from viz3d.body.segment_tables import ARM, LEG, SEGMENTS, bare_name, mass_table, segment_rows
from viz3d.body.segments import lengths

_WHOLE = {"head_arms_trunk": "trunk"}
"""Where de Leva has no segment of the name: the one whose long axis is taken."""
_UPRIGHT, _LYING = (0, 2, 1), (2, 0, 1)
"""Which printed radius (sagittal, transverse, longitudinal) belongs to x, y, z."""


def segment_lengths(body: Body) -> Array:
    """The length that every segment's fractions refer to, (N, segments) metres."""
    size = lengths(body)
    own = {
        "lower_trunk": size.omphalion - size.hip,
        "mid_trunk": size.xiphion - size.omphalion,
        "upper_trunk": size.shoulder - size.xiphion,
        "head": size.vertex - size.chin,
        "head_arms_trunk": size.shoulder - size.hip,
    } | {name: getattr(size, name) for name in (*ARM, *LEG)}
    return np.stack(np.broadcast_arrays(*(own[bare_name(name)] for name in SEGMENTS)), axis=-1)


@lru_cache
def radius_table(segment_table: str) -> Array:
    """Radii of gyration over length about x, y, z, shape (2 sexes, segments, 3).

    References
    ----------
    de Leva 1996, J Biomech 29:1223, Table 4; Winter 2009, Table 4.1.
    """
    rows = segment_rows()
    table = np.zeros((len(SEXES), len(SEGMENTS), 3))
    for s, sex in enumerate(SEXES):
        for i, segment in enumerate(SEGMENTS):
            name = bare_name(segment)
            across = rows.get(f"radii.dempster.{name}") if segment_table == "dempster" else None
            printed = np.array(rows[f"radii.de-leva.{sex}.{_WHOLE.get(name, name)}"].value)
            if across is not None:
                printed[:2] = across.value
            table[s, i] = printed[list(_LYING if name == "foot" else _UPRIGHT)]
    return table


def inertias(body: Body) -> Array:
    """Principal moments of inertia of every segment about its centre of mass.

    Returns
    -------
    (N, segments, 3) kg m² about x, y, z of the segment's frame (forward, up, right in the anatomical position); zero
    for a segment that has no mass in the body's table.

    Notes
    -----
    I = m (r L)². Proportional to mass and to the square of stature, as the tables are; real people's differ by some
    ten to twenty per cent.

    Examples
    --------
    >>> from viz3d.body.person import make_body
    >>> man = make_body("male", 73.0, 1.741)
    >>> inertias(man)[0, SEGMENTS.index("left_thigh")].round(3)
    array([0.204, 0.042, 0.204])
    """
    own = body.mass - body.added.sum(axis=1)
    kg = mass_table(body.segment_table)[body.sex, :, 0] * own[:, None]
    reach = radius_table(body.segment_table)[body.sex] * segment_lengths(body)[..., None]
    return np.asarray(kg[..., None] * reach**2)
