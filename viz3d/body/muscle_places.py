"""Where each muscle is seen from the views: places on it that a name may point at.

Question answered: which parts of a muscle show from the front, the back, the side or between, in this posture?

Rows of ``tables/muscle_places.toml``, relative to where the muscle begins and ends, so that they move with the person
and with the hip. World frame, metres. Left out: what a posture far from one-legged standing covers.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from viz3d.arrays import Array
from viz3d.body.landmarks import pelvis_frame
from viz3d.body.muscle_bodies import MuscleBody
from viz3d.body.person import Body
from viz3d.tables import read_toml


@lru_cache(maxsize=1)
def _rows() -> dict[str, dict[str, list[list[float]]]]:
    return read_toml("viz3d.body.tables", "muscle_places.toml")


def seen_from(one: MuscleBody, body: Body, pelvis: Array, thigh: Array, flip: Array) -> dict[str, Array]:
    """View -> places on a muscle that it shows, (K, N, 3), world, m.

    Parameters
    ----------
    pelvis, thigh : (N, 4, 4) link frames of the muscle's side. flip : (3,) 1, or -1 outward for a left side.
    """
    begin, end = (_placed(frame, places.reshape(-1, 3).mean(axis=0) * flip) for frame, places in
                  ((pelvis, one.start), (thigh, one.end)))  # fmt: skip
    size, out = float(pelvis_frame(body).size[0]), {}
    for view, row in _rows().get(one.name, {}).items():
        out[view] = np.stack([
            (1.0 - along) * begin + along * end + pelvis[:, :3, :3] @ (size * np.array(off) * flip)
            for along, *off in row
        ])  # fmt: skip
    return out


def _placed(frame: Array, place: Array) -> Array:
    return np.asarray(frame[:, :3, :3] @ place + frame[:, :3, 3])
