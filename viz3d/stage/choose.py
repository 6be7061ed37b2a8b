"""One place for each label: the cheapest choice in which no two share a cell.

Question answered: which of its free places does each label take?

An integer programme (set packing), solved exactly by a library. Before it is asked, a choice made greedily says what
the best can cost at most; places that cost so much more than their label's cheapest that no such choice can hold them
are struck out, and so are cells that nobody contends for. Neither changes the answer's cost.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from viz3d.arrays import Array

Indices = NDArray[np.int_]

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
    whose, cost = np.asarray(owners), np.asarray(costs, float)
    covers = _covers(cells)
    kept = np.arange(len(cost))
    greedy = _greedy(whose, cost, covers)
    if greedy is not None:
        kept = np.flatnonzero(_worth_trying(whose, cost, float(cost[greedy].sum())))
    found = _exact(whose[kept], cost[kept], covers[:, kept])
    return None if found is None else [int(k) for k in kept[found]]


def _covers(cells: Sequence[Sequence[int]]) -> Any:
    """Which cell (row) each place (column) covers, sparse."""
    from scipy.sparse import csc_array

    used = {cell: n for n, cell in enumerate(dict.fromkeys(c for some in cells for c in some))}
    rows = [used[c] for some in cells for c in some]
    columns = [k for k, some in enumerate(cells) for _ in some]
    return csc_array((np.ones(len(rows)), (rows, columns)), shape=(len(used), len(cells)))


def _greedy(whose: Indices, cost: Array, covers: Any) -> Indices | None:
    """A choice without overlap, each place the cheapest beside the others', (owners,); None where greed finds none."""
    count, across = int(whose.max()) + 1, covers.T.tocsr()
    order = sorted(range(count), key=lambda owner: int((whose == owner).sum()))
    chosen = np.full(count, -1)
    taken = np.zeros(covers.shape[0])
    for _ in range(count + 1):
        before = chosen.copy()
        for owner in order:
            if chosen[owner] >= 0:
                taken -= covers[:, [chosen[owner]]].toarray()[:, 0]
            free = np.flatnonzero((whose == owner) & (across @ taken < 0.5))
            if not len(free):
                return None
            chosen[owner] = free[np.argmin(cost[free])]
            taken += covers[:, [chosen[owner]]].toarray()[:, 0]
        if (before == chosen).all():
            break
    return chosen


def _worth_trying(whose: Indices, cost: Array, most: float) -> NDArray[np.bool_]:
    """Which places a choice at no more than this cost can hold: the others cost at least their cheapest."""
    least = np.full(int(whose.max()) + 1, np.inf)
    np.minimum.at(least, whose, cost)
    worth: NDArray[np.bool_] = cost - least[whose] <= most - least.sum() + 1e-9
    return worth


def _exact(whose: Indices, cost: Array, covers: Any) -> Indices | None:
    """The cheapest choice of one place for each owner, none sharing a cell: indices, or None."""
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    count = len(cost)
    each = csr_array((np.ones(count), (whose, np.arange(count))), shape=(int(whose.max()) + 1, count))
    rules = [LinearConstraint(each, 1.0, 1.0)]
    contended = _contended(whose, covers)
    if contended.shape[0]:
        rules.append(LinearConstraint(contended, -np.inf, 1.0))
    found = milp(
        cost, integrality=np.ones(count), bounds=Bounds(0, 1), constraints=rules, options={"node_limit": MOST_NODES}
    )
    return None if found.x is None else np.flatnonzero(found.x > 0.5)


def _contended(whose: Indices, covers: Any) -> Any:
    """Cells that places of two owners or more cover, each set of places once: rows of :func:`_covers`."""
    rows = covers.tocsr()
    seen: dict[bytes, int] = {}
    for row in range(rows.shape[0]):
        places = rows.indices[rows.indptr[row] : rows.indptr[row + 1]]
        if len(places) > 1 and np.ptp(whose[places]):
            seen.setdefault(np.sort(places).tobytes(), row)
    return rows[list(seen.values())]
