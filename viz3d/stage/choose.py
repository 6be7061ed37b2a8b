"""One place for each label: the cheapest choice in which no two share a cell.

Question answered: which of its free places does each label take?

An integer programme (set packing), solved exactly by a library.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

MOST_NODES = 3000
"""Branches the solver may try: a bound on work that does not depend on the machine's speed."""


def choose(owners: Sequence[int], costs: Sequence[float], cells: Sequence[Sequence[int]]) -> list[int] | None:
    """Indices of the chosen places, one for each owner, or None where there is no such choice.

    Parameters
    ----------
    owners : whose place each is, 0 to owners - 1. costs : what it costs. cells : the cells it covers.

    Examples
    --------
    >>> choose([0, 0, 1], [1.0, 5.0, 2.0], [[1], [2], [1]])
    [1, 2]
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    count = len(owners)
    used = {cell: n for n, cell in enumerate(dict.fromkeys(c for some in cells for c in some))}
    rows = [used[c] for some in cells for c in some]
    columns = [k for k, some in enumerate(cells) for _ in some]
    shared = csr_array((np.ones(len(rows)), (rows, columns)), shape=(len(used), count))
    each = csr_array((np.ones(count), (list(owners), range(count))), shape=(max(owners) + 1, count))
    found = milp(
        np.asarray(costs), integrality=np.ones(count), bounds=Bounds(0, 1),
        constraints=[LinearConstraint(shared, -np.inf, 1.0), LinearConstraint(each, 1.0, 1.0)],
        options={"node_limit": MOST_NODES},
    )  # fmt: skip
    return None if found.x is None else [int(k) for k in np.flatnonzero(found.x > 0.5)]
