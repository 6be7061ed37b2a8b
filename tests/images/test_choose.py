"""Places for labels: the cheapest choice without overlap, beside every choice there is."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from viz3d.stage.choose import choose


@pytest.mark.parametrize("seed", range(40))
def test_no_choice_is_cheaper(seed: int) -> None:
    """One to four labels with up to seven places each on a small page, against all of their choices."""
    rng = np.random.default_rng(seed)
    owners: list[int] = []
    cells: list[list[int]] = []
    for owner in range(int(rng.integers(1, 5))):
        for _ in range(int(rng.integers(1, 8))):
            (x, y), (wide, high) = rng.integers(0, 5, 2), rng.integers(1, 4, 2)
            owners.append(owner)
            cells.append([int(10 * a + b) for a in range(x, x + wide) for b in range(y, y + high)])
    costs = rng.uniform(0.0, 100.0, len(owners)).tolist()
    places = [[k for k, who in enumerate(owners) if who == owner] for owner in range(max(owners) + 1)]
    free = [
        some for some in itertools.product(*places)
        if all(not set(cells[a]) & set(cells[b]) for a, b in itertools.combinations(some, 2))
    ]  # fmt: skip
    chosen = choose(owners, costs, cells)
    if not free:
        assert chosen is None
    else:
        assert chosen is not None
        assert tuple(chosen) in free
        assert sum(costs[k] for k in chosen) == pytest.approx(min(sum(costs[k] for k in some) for some in free))
