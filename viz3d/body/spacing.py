"""How far apart the hip centres lie, from the width of the pelvis: named rules.

Question answered: with this width between the anterior spines, where are the hip centres?
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from viz3d.arrays import Array
from viz3d.body.person import as_batch, width_over_spacing
from viz3d.errors import InputError
from viz3d.tables import load_values

SPACING_RULES = ("proportion", "harrington", "seidel", "bell")


def hip_spacing_from_pelvis(pelvic_width: ArrayLike, rule: str = "proportion") -> Array:
    """Distance between the hip centres from the width between the anterior superior iliac spines.

    Parameters
    ----------
    pelvic_width : m, spine to spine, scalar or (N,).
    rule : "proportion", "harrington", "seidel" or "bell".

    Returns
    -------
    (N,) metres.

    Raises
    ------
    InputError : unknown rule.

    References
    ----------
    Proportion: as the published means of both, so that the mean width has the mean spacing. Harrington 2007: each
    centre lies 0.33 PW + 7.3 mm from the midline. Seidel 1995 and Bell 1989: 14 % of the width medial of the spine.

    Examples
    --------
    >>> hip_spacing_from_pelvis(0.227).round(4)
    array([0.16])
    """
    width, of = as_batch(pelvic_width), load_values("viz3d.body.tables", "hip_centre.toml")
    if rule == "proportion":
        return np.asarray(width / width_over_spacing())
    if rule == "harrington":
        return np.asarray(2.0 * (of["harrington.per_width"] * width + of["harrington.constant"]))
    if rule in ("seidel", "bell"):
        return np.asarray(width * (1.0 - 2.0 * of[f"{rule}.medial"]))
    raise InputError(f"rule {rule!r}; allowed: {', '.join(SPACING_RULES)}")
