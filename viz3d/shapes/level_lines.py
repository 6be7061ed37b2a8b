"""Lines of equal value on a surface.

Question answered: where on these triangles does a quantity given at the corners have this value?

Between corners the quantity is taken as linear, as drawn colours are. Any units; points in any frame.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from viz3d.arrays import Array
from viz3d.shapes.surface import Triangles


def level_lines(
    points: Array, triangles: Triangles, values: Array, levels: ArrayLike
) -> tuple[Array, NDArray[np.intp]]:
    """Straight pieces of the lines on which a quantity has given values.

    Parameters
    ----------
    points : (V, 3). triangles : (T, 3). values : (V,). levels : (L,), any order.

    Returns
    -------
    ends (S, 2, 3) of the pieces, and of each the index of its level, (S,).

    Examples
    --------
    >>> import numpy as np
    >>> corners = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]])
    >>> ends, level = level_lines(corners, np.array([[0, 1, 2]]), np.array([0.0, 1.0, 0.0]), [0.25])
    >>> ends[0, :, 0].tolist(), level.tolist()
    ([0.25, 0.25], [0])
    """
    edges = triangles[:, [[0, 1], [1, 2], [2, 0]]]
    low, high = values[edges[..., 0]], values[edges[..., 1]]
    pieces, which = [np.zeros((0, 2, 3))], [np.zeros(0, dtype=np.intp)]
    for k, level in enumerate(np.atleast_1d(np.asarray(levels, dtype=float))):
        crossed = (low < level) != (high < level)
        hit = np.flatnonzero(crossed.sum(axis=1) == 2)
        if len(hit) == 0:
            continue
        row, edge = np.nonzero(crossed[hit])
        row = hit[row]
        share = (level - low[row, edge]) / (high[row, edge] - low[row, edge])
        first, second = (points[edges[row, edge, n]] for n in (0, 1))
        pieces.append((first + share[:, None] * (second - first)).reshape(-1, 2, 3))
        which.append(np.full(len(hit), k, dtype=np.intp))
    return np.concatenate(pieces), np.concatenate(which)
